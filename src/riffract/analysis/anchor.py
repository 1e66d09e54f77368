"""What sits above the lowest open string?"""

from collections import Counter
from collections.abc import Mapping, Sequence
from fractions import Fraction
from types import MappingProxyType
from typing import Final

from riffract.analysis.attacks import FEWEST_STROKES, Attack, anchor_notes
from riffract.analysis.finding import Anchor, Finding, IntervalCount, Kind
from riffract.analysis.interval_name import interval_name
from riffract.analysis.sounding import stop_ticks
from riffract.analysis.spelling import pitch_spelled, twelve_names
from riffract.analysis.wording import listed, percent, times
from riffract.music import Passage, Place, Span

_EMPHASIS: Final = {"semitone": 1, "minor_third": 3}


def find_anchor(passage: Passage, attacks: Sequence[Attack]) -> tuple[Finding, ...]:
    """Measure every pitch from the lowest open string, and list when that string is struck.

    Every note with a pitch counts, the anchor's own strokes too, by how often it is struck and for
    how long it sounds.

    Args:
        passage: what is studied.
        attacks: its attacks.

    Returns:
        One finding; none if the lowest string is struck open fewer than three times.
    """
    strokes = sorted(anchor_notes(passage))
    timeline = sorted({passage.notes.onset_ticks[i] for i in strokes})
    if len(timeline) < FEWEST_STROKES:
        return ()
    notes = passage.notes
    onsets = tuple(notes.quarters(ticks) for ticks in timeline)
    what = Anchor(pitch=passage.tuning.lowest_pitch, intervals=_intervals(passage), timeline=onsets)
    above = counts_above(what.intervals)
    measures = {
        **_emphasis(above),
        "strokes": len(onsets),
        "stroke_share": len(onsets) / len(attacks),
        "bar_start_share": _bar_start_share(passage, set(onsets)),
    }
    names = twelve_names(notes.pitch[notes.is_pitched].tolist())
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


def _intervals(passage: Passage) -> Mapping[int, IntervalCount]:
    notes = passage.notes
    sounding = (stop_ticks(notes) - notes.onset_ticks).tolist()
    lowest = passage.tuning.lowest_pitch
    counts: Counter[int] = Counter()
    lengths: Counter[int] = Counter()
    for pitch, ticks, is_pitched in zip(
        notes.pitch.tolist(), sounding, notes.is_pitched.tolist(), strict=True
    ):
        if is_pitched:
            counts[pitch - lowest] += 1
            lengths[pitch - lowest] += ticks
    return MappingProxyType(
        {
            semitones: IntervalCount(
                count=counts[semitones],
                quarters=Fraction(lengths[semitones], notes.ticks_per_quarter),
            )
            for semitones in sorted(counts)
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


def _bar_start_share(passage: Passage, onsets: set[Fraction]) -> float:
    return sum(bar.start_quarters in onsets for bar in passage.bars) / len(passage.bars)


def _sentence(what: Anchor, above: Counter[int], names: Mapping[int, str]) -> str:
    struck = f"The open low {names[what.pitch % 12]} string is struck {times(len(what.timeline))}"
    total = above.total()
    if not total:
        return f"{struck}, and nothing else sounds."
    most = [
        f"the {interval_name(semitones)} ({percent(count / total)})"
        for semitones, count in above.most_common(2)
    ]
    verb = "comes" if len(most) == 1 else "come"
    return f"{struck}; of what lies above it, {listed(most)} {verb} most often."


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
        f"{name.replace('_', ' ')} {percent(measures[f'{name}_share'])}, "
        f"{measures[f'{name}_emphasis']:.2g} times an even share"
        for name in _EMPHASIS
    )
    return (
        f"{pitch_spelled(what.pitch, names)}, first struck at {first}, on "
        f"{percent(measures['stroke_share'])} of the attacks and at the start of "
        f"{percent(measures['bar_start_share'])} of the bars. Above it, octaves left aside, "
        f"{total} notes: {series or 'none'}. Emphasis: {emphasis}."
    )
