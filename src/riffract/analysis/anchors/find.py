"""What sits above the lowest open string, or above the lowest note?"""

from collections import Counter
from collections.abc import Mapping, Sequence
from fractions import Fraction
from types import MappingProxyType
from typing import Final

import numpy as np

from riffract.analysis.anchors.emphasis import emphasis_above
from riffract.analysis.attacks import FEWEST_STROKES, Attack, anchor_notes
from riffract.analysis.finding import Anchor, Finding, IntervalCount, Kind
from riffract.analysis.interval_name import interval_name
from riffract.analysis.saying import in_digits, say
from riffract.analysis.sounding import stop_ticks
from riffract.analysis.spelling import names_in, pitch_spelled
from riffract.analysis.what.anchor import Emphasis
from riffract.analysis.wording import percent, place_in_words, times
from riffract.music import NoteTable, Passage, Place, Span

LEAST_STROKE_SHARE: Final = 0.125
"""A lowest note that is struck less often is where a line turns, not what it comes back to. The
lowest open string is an anchor by its place."""

_EMPHASIS: Final = {"semitone": 1, "minor_third": 3}


def find_anchor(
    passage: Passage, attacks: Sequence[Attack], *, collections: Sequence[Finding] = ()
) -> tuple[Finding, ...]:
    """Measure every pitch from the lowest open string, and list when that string is struck.

    Every note with a pitch counts, the anchor's own strokes too, by how often it is struck and for
    how long it sounds. What a riff leans on is set against what its scales give by themselves: a
    riff in a scale that has the semitone above the anchor will play it now and then.

    Args:
        passage: what is studied.
        attacks: its attacks.
        collections: what was found of its scales.

    Returns:
        One finding: of the lowest open string if it is struck open three times; else of the lowest
        note, if one attack in eight strikes it, and three do. None if neither is.
    """
    notes = passage.notes
    strokes, is_lowest_open = _strokes(notes, sorted(anchor_notes(passage)), len(attacks))
    if not strokes:
        return ()
    onsets = tuple(notes.quarters(t) for t in np.unique(notes.onset_ticks[strokes]).tolist())
    pitch = int(notes.pitch[strokes[0]])
    what = Anchor(
        pitch=pitch,
        intervals=_intervals(passage, pitch),
        timeline=onsets,
        is_lowest_open=is_lowest_open,
        emphasis=emphasis_above(passage, pitch, collections),
    )
    above = counts_above(what.intervals)
    measures = {
        **_emphasis(above),
        **_against_the_scale(what.emphasis),
        "strokes": len(onsets),
        "stroke_share": len(onsets) / len(attacks),
        "bar_start_share": _bar_start_share(passage, set(onsets)),
    }
    names = names_in(passage)
    end = notes.quarters(int(stop_ticks(notes)[strokes].max()))
    return (
        Finding(
            kind=Kind.ANCHOR,
            spans=(Span(onsets[0], end),),
            notes=tuple(strokes),
            what=what,
            measures=MappingProxyType({name: float(value) for name, value in measures.items()}),
            sentence=_sentence(what, above, names),
            detail=_detail(what, above, measures, names, passage.place(onsets[0])),
        ),
    )


def _strokes(notes: NoteTable, of_open: list[int], attacks: int) -> tuple[list[int], bool]:
    """Choose the anchor's notes, and say whether they are the lowest open string's."""
    if len(np.unique(notes.onset_ticks[of_open])) >= FEWEST_STROKES:
        return of_open, True
    pitched = np.flatnonzero(notes.is_pitched)
    if not len(pitched):
        return [], False
    lowest = pitched[notes.pitch[pitched] == notes.pitch[pitched].min()]
    struck = len(np.unique(notes.onset_ticks[lowest]))
    enough = struck >= max(FEWEST_STROKES, LEAST_STROKE_SHARE * attacks)
    return (lowest.tolist() if enough else []), False


def _intervals(passage: Passage, lowest: int) -> Mapping[int, IntervalCount]:
    notes = passage.notes
    pitched = notes.is_pitched
    above = notes.pitch[pitched] - lowest
    sounding = (stop_ticks(notes) - notes.onset_ticks)[pitched]
    kinds, row = np.unique(above, return_inverse=True)
    counts, lengths = np.bincount(row), np.zeros(len(kinds), dtype=np.int64)
    np.add.at(lengths, row, sounding)
    return MappingProxyType(
        {
            semitones: IntervalCount(count=count, quarters=Fraction(ticks, notes.ticks_per_quarter))
            for semitones, count, ticks in zip(
                kinds.tolist(), counts.tolist(), lengths.tolist(), strict=True
            )
        }
    )


def counts_above(intervals: Mapping[int, IntervalCount]) -> Counter[int]:
    """Count the notes above the anchor, octaves left aside; the anchor in any octave left out."""
    counts: Counter[int] = Counter()
    for semitones, found in intervals.items():
        if semitones % 12:
            counts[semitones % 12] += found.count
    return counts


def _emphasis(above: Counter[int]) -> dict[str, float]:
    """Compare semitone and minor third with an even use of the pitch classes that occur.

    `..._share` is the share of the notes above the anchor, octaves left aside; `..._emphasis` that
    share over what each pitch class would have if all that occur came equally often.
    """
    total, kinds = above.total(), len(above)
    measures: dict[str, float] = {"pcs_above": kinds}
    for name, semitones in _EMPHASIS.items():
        share = above[semitones] / total if total else 0.0
        measures[f"{name}_share"] = share
        measures[f"{name}_emphasis"] = share * kinds
    return measures


def _against_the_scale(emphasis: Sequence[Emphasis]) -> dict[str, float]:
    """Set semitone and minor third against what the scales give by themselves.

    `..._over_scale` is the share by count over the expected one; none if the scales hold no such
    note, so that every one of them is foreign.
    """
    measures: dict[str, float] = {}
    for name, semitones in _EMPHASIS.items():
        row = next((e for e in emphasis if e.semitones == semitones), None)
        if row is None:
            continue
        measures[f"{name}_time_share"] = row.time_share
        measures[f"{name}_metrical_share"] = row.metrical_share
        measures[f"{name}_expected_share"] = row.expected_share
        if row.expected_share > 0:
            measures[f"{name}_over_scale"] = row.count_share / row.expected_share
    return measures


def _bar_start_share(passage: Passage, onsets: set[Fraction]) -> float:
    return sum(bar.start_quarters in onsets for bar in passage.bars) / len(passage.bars)


def _sentence(what: Anchor, above: Counter[int], names: Mapping[int, str]) -> str:
    name = names[what.pitch % 12]
    often = times(len(what.timeline))
    if what.is_lowest_open:
        struck = say("The open low {note} string is struck {often}", note=name, often=often)
    else:
        struck = say("The lowest note, {note}, is struck {often}", note=name, often=often)
    if not above.total():
        return say("{struck}, and nothing else sounds.", struck=struck)
    if len(above) == 1:
        return say(
            "{struck}; of what lies above it, all is the {interval}.",
            struck=struck,
            interval=interval_name(next(iter(above))),
        )
    return say(
        "{struck}; of what lies above it, {favoured}.", struck=struck, favoured=_favoured(above)
    )


def _favoured(above: Counter[int]) -> str:
    """Name the interval that comes most often, and the one of the two asked that stands out.

    What chance is asked is whether one of them goes beyond an even share, so no other one is named
    beside it as if it did.
    """
    total, even = above.total(), percent(1 / len(above))
    most = max(above, key=lambda semitones: above[semitones])
    asked = max(_EMPHASIS.values(), key=lambda semitones: above[semitones])
    share = percent(above[asked] / total)
    if above[asked] == above[most]:
        return say(
            "the {interval} comes most often ({share}, where an even share would be {even})",
            interval=interval_name(asked),
            share=share,
            even=even,
        )
    first = say(
        "the {interval} comes most often ({share})",
        interval=interval_name(most),
        share=percent(above[most] / total),
    )
    if above[asked] * len(above) <= total:
        return first
    return say(
        "{first}, but the {interval} too goes beyond an even share ({share}, {even})",
        first=first,
        interval=interval_name(asked),
        share=share,
        even=even,
    )


def _detail(
    what: Anchor,
    above: Counter[int],
    measures: Mapping[str, float],
    names: Mapping[int, str],
    first: Place,
) -> str:
    total = above.total()
    series = ", ".join(
        f"{interval_name(semitones)} ({names[(what.pitch + semitones) % 12]}) {count}"
        for semitones, count in sorted(above.items())
    )
    emphasis = "; ".join(
        say(
            "{interval} {share}, {factor} times an even share{scale}",
            interval=interval_name(semitones),
            share=percent(measures[f"{name}_share"]),
            factor=in_digits(f"{measures[f'{name}_emphasis']:.2g}"),
            scale=_over_scale(name, measures),
        )
        for name, semitones in _EMPHASIS.items()
    )
    return say(
        "{pitch}, first struck at {first}, on {stroke_share} of the attacks and at the start of "
        "{bar_start_share} of the bars. Above it, octaves left aside, {total} notes: {series}. "
        "Emphasis: {emphasis}.",
        pitch=pitch_spelled(what.pitch, names),
        first=place_in_words(first),
        stroke_share=percent(measures["stroke_share"]),
        bar_start_share=percent(measures["bar_start_share"]),
        total=total,
        series=series or say("none"),
        emphasis=emphasis,
    )


def _over_scale(name: str, measures: Mapping[str, float]) -> str:
    """Say what the scales give by themselves, and how much comes by time and on strong beats."""
    if f"{name}_expected_share" not in measures:
        return ""
    by_itself = measures[f"{name}_expected_share"]
    gives = say("no scale here holds it")
    if by_itself:
        gives = say("its scales give {share}", share=percent(by_itself))
    return say(
        " ({gives}; {time} by time, {weight} by metrical weight)",
        gives=gives,
        time=percent(measures[f"{name}_time_share"]),
        weight=percent(measures[f"{name}_metrical_share"]),
    )
