"""Where does the riff start and end, what is its basic version, how does each repeat differ?

A reading says: this stretch is the template; the passage is a row of statements of it, each with
its few departures, maybe higher or lower, and of other material. Of two readings the one that
describes the passage in fewer bits is the better one (`riffract.analysis.passes.cover` holds the
code and its sources). A reading is told only if it describes the passage in fewer bits than
spelling it out would. A passage may play up to five riffs, one after the other or in turn; each is
a finding of its own. Where the rhythm alone, or the pitches alone, come back and say more than
notes that come back would, that is told; and so are both where they go round within a riff (see
`isorhythm`).

Strings and techniques play no part: a riff moved to other strings is the same riff.
"""

from collections.abc import Sequence
from typing import Final

import numpy as np

from riffract.analysis.attacks import Attack
from riffract.analysis.description import Spelling
from riffract.analysis.finding import Finding, Ignored, Kind, Passes, Reading
from riffract.analysis.passes.accounts import (
    PART_BITS,
    Account,
    Part,
    Search,
    account_of,
    search_riffs,
)
from riffract.analysis.passes.cover import KEEP
from riffract.analysis.passes.isorhythm import isorhythm_of
from riffract.analysis.passes.places import neck_places
from riffract.analysis.passes.reading import opening_bars
from riffract.analysis.passes.template_prices import all_tokens
from riffract.analysis.passes.words import detail_of, drift_of, sentence_of
from riffract.analysis.saying import say
from riffract.music import Passage

_FEWEST_ATTACKS: Final = 4
"""Of three attacks, none can come back as a riff of two."""

_MOST_ATTACKS_APART: Final = 5_000
"""Rhythm and pitches are not read apart in a longer piece: nobody hears one rhythm through it."""


def find_passes(passage: Passage, attacks: Sequence[Attack]) -> tuple[Finding, ...]:
    """Read a passage as statements of one riff, or of a few.

    Returns:
        A finding for each riff, the one that fills most of the passage first; of its readings the
        one told comes first, then its rivals by bits. Then the rhythm or the pitches, where these
        alone say more by coming back, or go round within the riff. Nothing when no
        reading describes the passage in fewer bits than spelling it out.
    """
    if len(attacks) < _FEWEST_ATTACKS:
        return ()
    spelling = spelling_of(passage, attacks)
    notes = search_riffs(spelling, "notes")
    accounts = [] if notes is None else [account_of(passage, attacks, notes)]
    turning = None if notes is None else isorhythm_of(passage, attacks, notes)
    accounts += turning or _parts(passage, attacks, spelling, notes)
    return tuple(
        _finding(passage, attacks, spelling, account, readings)
        for account in accounts
        for readings in account.told
    )


def left_out_of_passes(attacks: Sequence[Attack]) -> tuple[Ignored, ...]:
    """Say what a long piece is not asked.

    Returns:
        Nothing for a piece that is read in full.
    """
    if len(attacks) <= _MOST_ATTACKS_APART:
        return ()
    what = say("rhythms that come back with other notes")
    why = say(
        "the piece has more than {count} attacks; its notes are compared, and its five best riffs "
        "are told, but its rhythm and its pitches are not compared apart",
        count=_MOST_ATTACKS_APART,
    )
    return (Ignored(what=what, why=why, where=say("everywhere")),)


def spelling_of(passage: Passage, attacks: Sequence[Attack]) -> Spelling:
    """Spell out attacks by their pitches, dead notes and values."""
    bar_starts = {bar.start_quarters for bar in passage.bars}
    after_rest = opening_bars(passage, attacks) if attacks else frozenset()
    struck = [(a.pitches, len(a.notes) - len(a.pitches)) for a in attacks]
    anchor = ((passage.tuning.open_pitch(passage.tuning.lowest_string),), 0)
    return Spelling.of(
        struck,
        [a.value_quarters for a in attacks],
        [a.onset_quarters in bar_starts or a.index in after_rest for a in attacks],
    ).with_struck(struck, anchor)


def _parts(
    passage: Passage, attacks: Sequence[Attack], spelling: Spelling, notes: Search | None
) -> list[Account]:
    """Read the rhythm and the pitches apart, where that says more than the notes do."""
    saved = 0.0 if notes is None else notes.saved_bits
    if 2 * saved >= spelling.bits.sum() or len(spelling) > _MOST_ATTACKS_APART:
        return []
    # Keeping costs a little at each attack, so no part can save more than it costs less that. Both
    # parts together can, but then little of the notes comes back.
    least = saved + PART_BITS if 4 * saved >= spelling.bits.sum() else 0.0
    parts: tuple[tuple[Spelling, Part], ...] = (
        (spelling.rhythm_only(), "rhythm"),
        (spelling.pitches_only(), "pitches"),
    )
    searches = [
        search_riffs(part, of)
        for part, of in parts
        if float(part.bits.sum()) - KEEP * len(part) > least
    ]
    found = [one for one in searches if one is not None and one.saved_bits > PART_BITS]
    together = sum(one.saved_bits for one in found)
    if max((one.saved_bits for one in found), default=0.0) > saved + PART_BITS:
        found = [one for one in found if one.saved_bits > saved + PART_BITS]
    elif together <= saved + len(found) * PART_BITS:
        found = []
    return [account_of(passage, attacks, one) for one in found]


def framing_of(spelling: Spelling, first: int, length: int) -> int:
    """Count the attacks with which a stretch both begins and ends.

    Definition: the largest m, at most half of the stretch and at least 2, such that its first m
    attacks equal its last m. One attack over and over frames nothing, so two kinds are needed.

    Returns:
        0 if the stretch is not framed.
    """
    tokens = all_tokens(spelling)[first : first + length]
    for size in range(length // 2, 1, -1):
        head = tokens[:size]
        if np.array_equal(head, tokens[length - size :]) and len(set(head.tolist())) > 1:
            return size
    return 0


def _finding(
    passage: Passage,
    attacks: Sequence[Attack],
    spelling: Spelling,
    account: Account,
    readings: tuple[Reading, ...],
) -> Finding:
    best = readings[0]
    covered = {attack for one in best.passes for _, attack in one.pairs}
    inside = [a.index for a in attacks if best.template.holds(a.onset_quarters)]
    framing = framing_of(spelling, inside[0], len(inside)) if account.of == "notes" else 0
    drift = drift_of(passage, best) if account.of != "pitches" else None
    moved = {one.transposition for one in best.passes}
    measures = {
        "passes": float(len(best.passes)),
        "complete_passes": float(sum(one.truncated == "none" for one in best.passes)),
        "edits": float(sum(len(one.edits) for one in best.passes)),
        "bits": round(account.full_bits, 6),
        "plain_bits": round(account.plain_bits, 6),
        "saved_bits": round(account.saved_bits, 6),
        "template_quarters": float(best.template.length_quarters),
        "covered_share": round(len(covered) / len(attacks), 6),
        "riffs": float(len(account.told)),
        "transpositions": float(len(moved - {0})),
        "framing_attacks": float(framing),
    }
    if account.turning_attacks:
        measures["turning_attacks"] = float(account.turning_attacks)
    if drift is not None:
        measures["passes_until_bar_line"] = float(drift[0])
    return Finding(
        kind=Kind.PASSES,
        spans=tuple(one.span for one in best.passes),
        notes=tuple(sorted(i for attack in covered for i in attacks[attack].notes)),
        what=Passes(readings=readings, of=account.of),
        measures=measures,
        sentence=sentence_of(
            passage,
            best,
            of=account.of,
            riffs=len(account.told),
            neck_places=neck_places(passage, attacks, best),
            attacks=(len(inside), account.turning_attacks),
        ),
        detail=detail_of(
            passage,
            readings,
            of=account.of,
            plain_bits=account.plain_bits,
            full_bits=account.full_bits,
            framing=framing,
            riffs=len(account.told),
            attacks=(len(inside), account.turning_attacks),
        ),
    )
