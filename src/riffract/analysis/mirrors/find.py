"""What mirrors what, around which point, how far does it go, and where does it bend?

Kinds of mirror, each asked of the passage on its own:

- `rhythm`: the row of note values, rests among them, reads the same backwards;
- `retrograde`: the pitches of the attacks come back in reverse; their pace may differ;
- `inversion`: a stretch of the moving voice comes back upside down, in the same order;
- `retrograde_inversion`: the intervals of the moving voice come back in reverse, signs kept;
- `weight`: the lowest open string, the accents or the palm-muted strokes fall at equal distances on
  both sides;
- `gesture`: a fall answers a climb (or a climb a fall), note by note, at another pace.

An axis of attacks stands where their onsets mirror: on an attack, or midway between two. Where
values and not onsets mirror (long short | short long), it stands where the values meet.
"""

from collections.abc import Sequence
from dataclasses import replace

from riffract.analysis.attacks import Attack
from riffract.analysis.finding import Finding, Gesture, Mirror, MirrorOf
from riffract.analysis.mirrors.finding import ReorderableMirror
from riffract.analysis.mirrors.in_pitch import inversion_mirrors, retrograde_inversion_mirrors
from riffract.analysis.mirrors.in_time import (
    retrograde_mirrors,
    rhythm_mirrors,
    weight_mirrors,
)
from riffract.analysis.mirrors.limits import StatementRun
from riffract.analysis.mirrors.measures import with_anchor, with_contour, with_density
from riffract.analysis.mirrors.of_limbs import gesture_mirrors
from riffract.analysis.mirrors.rows import attack_items, voice_items
from riffract.music import Passage


def find_mirrors(
    passage: Passage,
    attacks: Sequence[Attack],
    lead: Sequence[int],
    *,
    anchors: frozenset[int],
    gesture: Gesture | None,
    runs: Sequence[StatementRun] = (),
) -> tuple[ReorderableMirror, ...]:
    """Find the mirrors of a passage, of all kinds.

    Args:
        passage: the passage.
        attacks: its attacks.
        lead: indices of the moving voice's notes.
        anchors: indices of the notes on the lowest open string.
        gesture: the shape of the moving voice, if there is one.
        runs: where riffs are repeated at once; within them mirrors in time are not followed beyond
            one statement.

    Returns:
        By kind; within a kind the one with most evidence first; further ones only if they have
        at least 60 % of its evidence and stand elsewhere.
    """
    everything = attack_items(passage, attacks)
    voice = voice_items(passage, attacks, lead)
    tested = [
        *rhythm_mirrors(passage, attacks, runs),
        *retrograde_mirrors(passage, everything, "all strings", runs),
    ]
    of_voice = retrograde_mirrors(passage, voice, "the moving voice", runs)
    tested += _at_other_axes(of_voice, tested, of="retrograde")
    tested += inversion_mirrors(passage, voice)
    tested += retrograde_inversion_mirrors(passage, voice, runs)
    tested += weight_mirrors(passage, attacks, anchors, runs)
    if gesture is not None:
        tested += gesture_mirrors(passage, voice, gesture)
    return tuple(
        replace(one, finding=_measured(passage, attacks, anchors, one.finding)) for one in tested
    )


def _measured(
    passage: Passage, attacks: Sequence[Attack], anchors: frozenset[int], finding: Finding
) -> Finding:
    finding = with_contour(passage, with_anchor(passage, anchors, finding))
    return with_density(passage, attacks, finding)


def _at_other_axes(
    mirrors: Sequence[ReorderableMirror], told: Sequence[ReorderableMirror], of: MirrorOf
) -> list[ReorderableMirror]:
    """Drop mirrors about an axis at which one of a kind is told already."""
    answers = [mirror_in(one.finding) for one in told]
    taken = {what.axis_quarters for what in answers if what.of == of}
    return [one for one in mirrors if mirror_in(one.finding).axis_quarters not in taken]


def mirror_in(finding: Finding) -> Mirror:
    """Give the mirror that a finding tells.

    Raises:
        TypeError: if it tells something else.
    """
    if not isinstance(finding.what, Mirror):
        raise TypeError(f"a mirror is needed, got {finding.kind}")
    return finding.what
