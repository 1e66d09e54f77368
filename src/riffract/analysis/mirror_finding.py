"""A mirror as a finding: its measures and its words."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from types import MappingProxyType
from typing import Final

from riffract.analysis.finding import Finding, Kind, Mirror, MirrorOf
from riffract.analysis.mirror_departures import departures_text
from riffract.analysis.reordering import Reordering
from riffract.analysis.wording import axis_text, heard_length_text, in_words, times
from riffract.music import Passage, Span
from riffract.music.pitch import pitch_name

FEWEST_PAIRS: Final = 3
"""Fewer pairs make no mirror: any neighbour returns now and then."""

SAME_PACE: Final = 0.15
"""Up to so much faster or slower, the ear takes two limbs to go at one pace."""

STEADY_SHARE: Final = 0.1
"""A limb goes at one pace if its notes lie no farther from it than this share of its length."""

MOST_DEPARTURES_SHARE: Final = 0.25
"""Where more of its pairs depart than one in four, nobody hears a mirror, however rare the rest."""

FEWEST_ITEMS: Final = 6
"""Shorter rows are not asked."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ReorderableMirror:
    """A mirror, and the questions to ask of chance: it has to stand against all of them.

    Attributes:
        finding: the mirror.
        reorderings: the rows to draw random versions of, with their statistics.
        is_best: whether it is the best of its row, told or not what chance makes of it.
    """

    finding: Finding
    reorderings: tuple[Reordering, ...]
    is_best: bool = True


def is_plain(finding: Finding) -> bool:
    """Tell whether a mirror is one to the ear: few departures, and upside down a steady pace.

    What comes back upside down is known by its rhythm; bent in pitch and in pace, it is another
    line. Notes in reverse may be spread over time as they like.
    """
    what, measures = finding.what, finding.measures
    if not isinstance(what, Mirror) or what.of in ("gesture", "passes"):
        return True
    if len(what.deviations) > MOST_DEPARTURES_SHARE * measures["pairs"]:
        return False
    is_turned = what.of in ("inversion", "retrograde_inversion")
    is_steady = measures.get("residual_share", 0.0) <= STEADY_SHARE
    return is_steady or not (is_turned and what.deviations)


def mirror_finding(
    passage: Passage,
    what: Mirror,
    *,
    spans: Sequence[Span],
    notes: tuple[int, ...],
    bits: float | None,
    pairs_agree: int,
    voice: str,
    falls_first: bool = False,
    letters: str = "",
    more: Mapping[str, float] | None = None,
) -> Finding:
    """Make the finding of a mirror.

    Args:
        passage: the passage.
        what: the mirror.
        spans: where it stands, each time that it comes.
        notes: the notes that it is made of.
        bits: evidence, where the kind of mirror has such a measure.
        pairs_agree: pairs without a deviation.
        voice: which notes were looked at, in words.
        falls_first: for a gesture, whether the fall comes before the climb.
        letters: for a form, its items as letters.
        more: further measures.
    """
    measures = {
        "pairs": float(max(len(what.pairs), pairs_agree)),
        "pairs_agree": float(pairs_agree),
        "deviations": float(len(what.deviations)),
        "times": float(1 if what.of == "inversion" else len(spans)),
        **({} if bits is None else {"bits": round(bits, 6)}),
        **(more or {}),
    }
    is_steady = measures.get("residual_share", 0.0) <= STEADY_SHARE
    return Finding(
        kind=Kind.MIRROR,
        spans=tuple(sorted(spans)),
        notes=notes,
        what=what,
        measures=MappingProxyType(measures),
        sentence=(
            _form_sentence(voice, letters)
            if letters
            else _sentence(what, pairs_agree, voice, falls_first=falls_first, is_steady=is_steady)
        ),
        detail=_detail(passage, what, measures, voice),
    )


_SENTENCES: Final[Mapping[MirrorOf, str]] = MappingProxyType(
    {
        "rhythm": "The rhythm reads the same backwards",
        "inversion": "A stretch of the line comes back upside down",
        "retrograde_inversion": "The line comes back turned half around, backwards and upside down",
    }
)


_WEIGHTS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "the lowest open string": "The low string falls",
        "the accents": "The accents fall",
        "the palm-muted strokes": "The muted strokes fall",
    }
)


def _sentence(
    what: Mirror, pairs_agree: int, voice: str, *, falls_first: bool, is_steady: bool
) -> str:
    bends = len(what.deviations)
    places = {0: "", 1: ", except in one place"}.get(bends, f", except in {in_words(bends)} places")
    pace = _pace(what.scale) if is_steady else ""
    if what.of == "retrograde":
        return f"The notes come back in reverse order{pace}{places}."
    if what.of == "weight":
        return f"{_WEIGHTS[voice]} at equal distances on both sides of one point{places}."
    if what.of == "gesture":
        first, second = ("fall", "climb") if falls_first else ("climb", "fall")
        return (
            f"The {second} mirrors the {first}{pace}: "
            f"{pairs_agree} of {len(what.pairs)} pairs meet on one pitch."
        )
    return f"{_SENTENCES[what.of]}{places}."


def _form_sentence(voice: str, letters: str) -> str:
    return f"The {voice} come back in reverse order: {letters}."


def _pace(scale: float) -> str:
    if abs(scale - 1.0) < SAME_PACE:
        return ""
    factor = round(max(scale, 1 / scale), 1)
    often = times(int(factor)) if factor.is_integer() else f"{factor} times"
    return f", {often} as {'fast' if scale > 1 else 'slowly'}"


def _detail(passage: Passage, what: Mirror, measures: Mapping[str, float], voice: str) -> str:
    name = what.of.replace("_", " ")
    axis = axis_text(passage, what.axis_quarters)
    metre = passage.bar_at(what.left.start_quarters).metre
    left, right = what.left.length_quarters, what.right.length_quarters
    about = "" if what.axis_pitch is None else f", turned about {_pitch_text(what.axis_pitch)}"
    return (
        f"Mirror of {name} in {voice}: axis at {axis}{about}; "
        f"{measures['pairs_agree']:g} of {measures['pairs']:g} pairs agree; "
        f"exact for {heard_length_text(what.core_quarters, metre)}, "
        f"holds for {heard_length_text(what.reach_quarters, metre)}{_repeats(measures)}; "
        f"limbs {heard_length_text(left, metre)} and {heard_length_text(right, metre)}, "
        f"ratio {what.limb_ratio:.2f}, pace {what.scale:.2f} : 1{_residual(measures)}; "
        f"{departures_text(passage, what.deviations)}."
    )


def _repeats(measures: Mapping[str, float]) -> str:
    """Say that the mirror goes on where it was not followed, in the repeats of its riff."""
    if "pairs_with_repeats" not in measures:
        return ""
    return (
        f", one statement of the riff ({measures['pairs_with_repeats']:g} pairs with its repeats)"
    )


def _residual(measures: Mapping[str, float]) -> str:
    if "residual_quarters" not in measures:
        return ""
    return f" within {measures['residual_quarters']:.2g} quarters"


def _pitch_text(pitch: Fraction) -> str:
    if pitch.denominator == 1:
        return pitch_name(int(pitch))
    return f"a point between {pitch_name(int(pitch))} and {pitch_name(int(pitch) + 1)}"
