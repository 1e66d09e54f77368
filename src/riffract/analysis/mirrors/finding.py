"""A mirror as a finding: its measures and its words."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from riffract.analysis.finding import Finding, Kind, Mirror, MirrorOf
from riffract.analysis.mirrors.departures import departures_text
from riffract.analysis.mirrors.turn import turn_of
from riffract.analysis.reordering import Reordering
from riffract.analysis.saying import in_digits, say, say_count
from riffract.analysis.spelling import names_in, pitch_axis_spelled
from riffract.analysis.wording import heard_length_text, in_words, times
from riffract.music import Passage, Span

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
            say(_FORMS[what.voice], letters=letters)
            if letters
            else _sentence(what, pairs_agree, falls_first=falls_first, is_steady=is_steady)
        ),
        detail=_detail(passage, what, measures),
    )


_SENTENCES: Final[Mapping[MirrorOf, str]] = MappingProxyType(
    {
        "rhythm": "The rhythm reads the same backwards{but}.",
        "inversion": "A stretch of the line comes back upside down{but}.",
        "retrograde_inversion": (
            "The line comes back turned half around, backwards and upside down{but}."
        ),
    }
)


_WEIGHTS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "the lowest open string": (
            "The low string falls at equal distances on both sides of one point{but}."
        ),
        "the accents": "The accents fall at equal distances on both sides of one point{but}.",
        "the palm-muted strokes": (
            "The muted strokes fall at equal distances on both sides of one point{but}."
        ),
    }
)


_FORMS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "riffs": "The riffs come back in reverse order: {letters}.",
        "statements, departures and all,": (
            "The statements, departures and all, come back in reverse order: {letters}."
        ),
        "lengths of the statements": (
            "The lengths of the statements come back in reverse order: {letters}."
        ),
        "sections": "The sections come back in reverse order: {letters}.",
    }
)


_NAMES: Final[Mapping[MirrorOf, str]] = MappingProxyType(
    {
        "rhythm": "rhythm",
        "retrograde": "retrograde",
        "inversion": "inversion",
        "retrograde_inversion": "retrograde inversion",
        "gesture": "gesture",
        "weight": "weight",
        "passes": "passes",
    }
)

VOICES: Final = ("all strings", "the moving voice", *_WEIGHTS, *_FORMS)
"""What a mirror may be of, in words."""


def _sentence(what: Mirror, pairs_agree: int, *, falls_first: bool, is_steady: bool) -> str:
    but = _exceptions(len(what.deviations))
    pace = _pace(what.scale) if is_steady else ""
    if what.of == "retrograde":
        return say("The notes come back in reverse order{pace}{but}.", pace=pace, but=but)
    if what.of == "weight":
        return say(_WEIGHTS[what.voice], but=but)
    if what.of != "gesture":
        return say(_SENTENCES[what.of], but=but)
    pairs = {"pace": pace, "agree": pairs_agree, "pairs": len(what.pairs)}
    if falls_first:
        return say(
            "The climb mirrors the fall{pace}: {agree} of {pairs} pairs meet on one pitch.", **pairs
        )
    return say(
        "The fall mirrors the climb{pace}: {agree} of {pairs} pairs meet on one pitch.", **pairs
    )


def _exceptions(count: int) -> str:
    if not count:
        return ""
    number = in_words(count)
    return say_count(count, ", except in one place", ", except in {number} places", number=number)


def _pace(scale: float) -> str:
    if abs(scale - 1.0) < SAME_PACE:
        return ""
    factor = round(max(scale, 1 / scale), 1)
    if factor == 2:
        return say(", twice as fast") if scale > 1 else say(", twice as slowly")
    if factor.is_integer():
        often = times(int(factor))
    else:
        often = say("{number} times", number=in_digits(f"{factor}"))
    if scale > 1:
        return say(", {often} as fast", often=often)
    return say(", {often} as slowly", often=often)


def _detail(passage: Passage, what: Mirror, measures: Mapping[str, float]) -> str:
    metre = passage.bar_at(what.left.start_quarters).metre
    about, names = "", names_in(passage)
    if what.axis_pitch is not None:
        pitch = pitch_axis_spelled(what.axis_pitch, names)
        about = say(", turned about {pitch}", pitch=pitch)
    turn = turn_of(passage, what)
    return say(
        "Mirror of {name} in {voice}: axis {axis}{about}; {agree} of {pairs} pairs agree; "
        "exact for {core}, holds for {reach}{repeats}; limbs {left} and {right}, ratio {ratio}, "
        "pace {pace} : 1{residual}; {departures}.",
        name=say(_NAMES[what.of]),
        voice=say(what.voice),
        axis=turn.place,
        about=about,
        agree=f"{measures['pairs_agree']:g}",
        pairs=f"{measures['pairs']:g}",
        core=heard_length_text(turn.reach_quarters(what.core_quarters), metre),
        reach=heard_length_text(turn.reach_quarters(what.reach_quarters), metre),
        repeats=_repeats(measures),
        left=heard_length_text(turn.left.length_quarters, metre),
        right=heard_length_text(turn.right.length_quarters, metre),
        ratio=in_digits(f"{what.limb_ratio:.2f}"),
        pace=in_digits(f"{what.scale:.2f}"),
        residual=_residual(measures),
        departures=departures_text(passage, what.deviations, names),
    )


def _repeats(measures: Mapping[str, float]) -> str:
    """Say that the mirror goes on where it was not followed, in the repeats of its riff."""
    if "pairs_with_repeats" not in measures:
        return ""
    return say(
        ", one statement of the riff ({pairs} pairs with its repeats)",
        pairs=f"{measures['pairs_with_repeats']:g}",
    )


def _residual(measures: Mapping[str, float]) -> str:
    if "residual_quarters" not in measures:
        return ""
    quarters = in_digits(f"{measures['residual_quarters']:.2g}")
    return say(" within {quarters} quarters", quarters=quarters)
