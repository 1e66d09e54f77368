"""One system of tab: its frets, and where each moment stands under the notation."""

from bisect import bisect_left
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import accumulate, pairwise

from riffract.music import Passage, Span
from riffract.publish.staff.frets import WrittenFret
from riffract.publish.staff.places import SystemPlaces


@dataclass(frozen=True, slots=True, kw_only=True)
class TabSystem:
    """What a tab staff shows under one system of notation.

    Attributes:
        places: of the notation, in page units.
        frets: those that stand in it, in the order of the file.
        span: its bars.
        onsets: where the notes of a moment stand, by the moment.
        bar_ends: where the bar ends that ends at a moment.
    """

    places: SystemPlaces
    frets: tuple[WrittenFret, ...]
    span: Span
    onsets: Mapping[Fraction, float]
    bar_ends: Mapping[Fraction, float]

    def x_at(self, quarters: Fraction) -> float:
        """Tell where a moment stands; straight on between two that have notes."""
        known = {self.span.start_quarters: self.places.left, **self.bar_ends, **self.onsets}
        moments = sorted(known)
        place = bisect_left(moments, quarters)
        if place == len(moments) or moments[place] == quarters or place == 0:
            return known[moments[min(place, len(moments) - 1)]]
        before, after = moments[place - 1], moments[place]
        share = float((quarters - before) / (after - before))
        return known[before] + share * (known[after] - known[before])

    def end_x(self, quarters: Fraction) -> float:
        """Tell where what ends at a moment ends: at the bar line if a bar ends, too."""
        end = self.bar_ends.get(quarters)
        return self.x_at(quarters) if end is None else end

    def x_of(self, fret: WrittenFret) -> float:
        """Tell where a fret stands: all of a moment in one column, graces under their heads."""
        is_apart = fret.is_grace or fret.at_quarters not in self.onsets
        return self.places.middles[fret.id] if is_apart else self.onsets[fret.at_quarters]

    def next_x(self, quarters: Fraction) -> float:
        """Tell where the next moment with notes stands, or where the bar ends before it."""
        places = (*self.onsets.items(), *self.bar_ends.items())
        return min((x for moment, x in places if moment > quarters), default=self.places.right)


def tab_systems(
    passage: Passage, frets: Sequence[WrittenFret], places: Iterable[SystemPlaces]
) -> Iterator[TabSystem]:
    """Cut the frets of a passage as the engraver has cut its bars."""
    systems = list(places)
    cuts = accumulate((len(system.bar_ends) for system in systems), initial=0)
    for system, (first, end) in zip(systems, pairwise(cuts), strict=True):
        bars = passage.bars[first:end]
        there = tuple(fret for fret in frets if fret.id in system.middles)
        yield TabSystem(
            places=system,
            frets=there,
            span=Span(bars[0].start_quarters, bars[-1].span.end_quarters),
            onsets=_columns(there, system.middles),
            bar_ends={
                bar.span.end_quarters: x for bar, x in zip(bars, system.bar_ends, strict=True)
            },
        )


def _columns(frets: Sequence[WrittenFret], middles: Mapping[str, float]) -> dict[Fraction, float]:
    """Give each moment one place: its leftmost head, since seconds push heads to the right."""
    columns: dict[Fraction, float] = {}
    for fret in frets:
        if not fret.is_grace:
            x = middles[fret.id]
            columns[fret.at_quarters] = min(columns.get(fret.at_quarters, x), x)
    return columns
