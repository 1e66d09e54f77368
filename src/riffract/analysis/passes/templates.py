"""Which riff, or which set of riffs, tells a passage best.

Stretches that may be a riff (see `stretches`) are sketched (see `sketch`), first each alone. Two
riffs may each be worth little alone and much together, so the stretches that are most unlike one
another are all tried in pairs, and the best pairs with a third. The sets that look best are covered
with (see `cover`), and then mended: a riff moved by an attack or two at its start or its end,
parted in two, dropped, or exchanged for another, for as long as that saves bits.
"""

from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from itertools import combinations, product
from typing import Final

import numpy as np

from riffract.analysis.description import Ids, Spelling
from riffract.analysis.passes.cover import KEEP, Step, Template
from riffract.analysis.passes.cover_steps import cover, runs_of
from riffract.analysis.passes.sketch import Sketch
from riffract.analysis.passes.stretches import (
    SHORTEST_STRETCH,
    is_within,
    likely_stretches,
    moved_stretches,
    one_of_each_content,
)
from riffract.analysis.passes.template_prices import (
    TemplateSet,
    all_tokens,
    price_order,
    prices_of,
    set_bits,
    tokens_of,
)

_CANDIDATES: Final = 24
"""Riffs tried with one another: 276 pairs, all of which are sketched."""
_LEADERS_COMBINED: Final = 6
"""Sets that a further riff is tried with: with all candidates about half as many sketches again as
the pairs took."""
_MOST_RIFFS: Final = 5
"""Riffs of one passage: intro, verse, chorus, bridge and one more; with more, what is told is the
form of a piece, and each has to be spelled out."""
_ALIKE_SHARE: Final = 0.4
"""Riffs that share more of the shorter one's steps are one riff and its variant: two riffs that
keep returning to one open string share some of their steps by that alone."""
_SAME_SHARE: Final = 0.75
"""A stretch that shares so much of the longer one's steps is the same riff in another phase or with
departures: a change at one attack in eight spoils two steps in eight."""
_HOPELESS_BITS: Final = 30.0
"""A sketch that lies so far above the passage spelled out is not looked at again."""
_RIVAL_BITS: Final = 20.0
"""More riffs are worth a try if they cost no more than this above the best that is known."""
_SETS_COVERED: Final = 48
"""Sets that are covered, which takes far longer than a sketch; sketches have ranked them, so what
comes after some dozens can hardly be the best."""
_CELLS_COVERED: Final = 4_000
"""Places of all these sets: of long riffs fewer are covered, so that the time is bounded."""
_CLOSE_LENGTHS: Final = 2
"""Lengths that are looked into at every start: the best may be the double of a riff, or its
half."""
_CLOSE_PLACES: Final = 3_000
"""Attacks of the stretches on each side of the best: all starts within a riff of up to 54
attacks."""
_CELLS_IN_PARTS: Final = 2_000
"""A stretch is parted at every attack up to 44 attacks, and the further apart the longer it is, so
that the number of parts stops growing."""
_PHASE_PLACES: Final = 1_500
"""A riff of up to 27 attacks is tried from every start; a longer one from fewer, so that their
attacks together stay as many."""
_MOVES: Final = (-2, -1, 0, 1, 2)
_FEWEST_CUTS: Final = 2
"""Passes that are cut at one place before the riff is: once, a pass is cut short."""
_ROUNDS: Final = 4
"""How often the best set is mended: one change in each, and most sets are at rest before."""

Units = tuple[TemplateSet, ...]


def rank_template_sets(spelling: Spelling, plain_bits: float) -> list[tuple[TemplateSet, float]]:
    """Find the riff or riffs of a passage, and price the best cover by them.

    Riffs of one set are unlike one another: a variant is the same riff with departures.

    Args:
        spelling: the passage.
        plain_bits: its price without a template; what comes nowhere near is dropped.

    Returns:
        Sets of templates with their prices, cheapest first, then fewer riffs, then the earlier.
    """
    search = _Search(spelling, plain_bits)
    search.try_alone()
    search.try_together()
    return search.covered()


def cell_of(spelling: Spelling, template: Template) -> Template:
    """Give the shortest stretch that a template repeats, itself if it repeats none.

    A template that is its own beginning over and over saves a few bits for saying where each pass
    starts, but nobody would call it the riff.
    """
    tokens = tokens_of(spelling, template)
    for length in range(SHORTEST_STRETCH, template.length // 2 + 1):
        is_whole = template.length % length == 0
        if is_whole and tokens == tokens[:length] * (template.length // length):
            return template._replace(length=length)
    return template


def riffs_of(templates: Iterable[Template]) -> Units:
    """Gather each riff of a set with its moved forms, in order of place."""
    units: dict[tuple[int, int], list[Template]] = {}
    for one in in_order(templates):
        units.setdefault(one[:2], []).append(one)
    return tuple(tuple(unit) for unit in units.values())


def in_order(templates: Iterable[Template]) -> TemplateSet:
    """Order the templates of a set by place, each before its moved forms."""
    return tuple(sorted(templates, key=_place_and_move))


def _place_and_move(template: Template) -> tuple[int, int, bool, int, bool]:
    start, length, semitones, keeps_anchor = template
    return start, length, semitones != 0, semitones, keeps_anchor


class _Search:
    """Sketches sets of templates, then covers the passage with the best."""

    def __init__(self, spelling: Spelling, plain_bits: float) -> None:
        self._spelling = spelling
        self._plain_bits = plain_bits
        self._sketch = Sketch(spelling)
        self._sketched: dict[TemplateSet, float] = {}
        self._candidates: list[TemplateSet] = []
        self._mended: set[TemplateSet] = set()

    def try_alone(self) -> None:
        """Sketch each riff alone, then what lies about the best."""
        stretches = likely_stretches(self._spelling)
        moved = moved_stretches(self._spelling)
        self._try([*((t,) for t in stretches), *moved])
        self._try((t,) for t in self._close_to_the_best())
        ranked = [one for one in self._ranked() if self._is_hopeful(one, 2 * _HOPELESS_BITS)]
        self._candidates = self._different(ranked)

    def try_together(self) -> None:
        """Sketch riffs in pairs, then the best pairs with a third, and mend what looks best."""
        ranked = self._ranked()
        if not ranked or not self._is_hopeful(ranked[0], _HOPELESS_BITS):
            return
        sets: Iterable[TemplateSet] = (a + b for a, b in combinations(self._candidates, 2))
        for _ in range(_MOST_RIFFS - 1):
            enough = self._sketched[self._ranked()[0]] + _RIVAL_BITS
            new = self._try(self._unlike(self._affordable(sets, enough)))
            ranked = sorted(new, key=self._order)
            if not ranked or self._sketched[ranked[0]] > enough:
                break
            self._mend(ranked[0])
            leaders = ranked[:_LEADERS_COMBINED]
            sets = (leader + more for leader in leaders for more in self._candidates)
        self._mend(self._ranked()[0])

    def _affordable(self, sets: Iterable[TemplateSet], enough: float) -> Iterator[TemplateSet]:
        """Keep the sets that may cost no more than `enough`.

        However well a set fits, its riffs are spelled out once and every attack costs a little.
        """
        most = enough - KEEP * len(self._spelling)
        return (one for one in sets if set_bits(self._spelling, one) <= most)

    def covered(self) -> list[tuple[TemplateSet, float]]:
        """Cover the passage with the sets that look best, and mend the best of these."""
        ranked = [one for one in self._ranked() if self._is_hopeful(one, _HOPELESS_BITS)]
        prices = prices_of(self._spelling, self._to_cover(ranked))
        for _ in range(_ROUNDS):
            if not prices:
                break
            best, bits = min(prices.items(), key=price_order)
            tried = {one for one in self._try(self._changes(best)) if one not in prices}
            near = self._unlike(sorted(tried, key=self._order)[: _SETS_COVERED // 2])
            prices |= prices_of(self._spelling, self._to_cover(near))
            if min(prices.values()) >= bits - 1e-3:
                cuts = [one for one in self._unlike(self._cut(best)) if one not in prices]
                prices |= prices_of(self._spelling, cuts)
            if min(prices.values()) >= bits - 1e-3:
                break
        return sorted(prices.items(), key=price_order)

    def _try(self, sets: Iterable[TemplateSet]) -> list[TemplateSet]:
        """Sketch sets that have not been; give all that were asked for."""
        asked = list(dict.fromkeys(in_order(one) for one in sets))
        new = [one for one in asked if one not in self._sketched]
        if new:
            saved = self._sketch.savings(new)
            for one, bits in zip(new, saved.tolist(), strict=True):
                own = set_bits(self._spelling, one)
                self._sketched[one] = own + self._plain_bits - bits
        return asked

    def _order(self, one: TemplateSet) -> tuple[float, int, Template]:
        return round(self._sketched[one], 3), len(one), one[0]

    def _ranked(self) -> list[TemplateSet]:
        return sorted(self._sketched, key=self._order)

    def _is_hopeful(self, one: TemplateSet, within: float) -> bool:
        return self._sketched[one] < self._plain_bits + within

    def _to_cover(self, ranked: Sequence[TemplateSet]) -> list[TemplateSet]:
        """Keep as many as are quickly covered."""
        kept: list[TemplateSet] = []
        cells = 0
        for one in ranked[:_SETS_COVERED]:
            cells += len(one) * max(t.length for t in one)
            if kept and cells > _CELLS_COVERED:
                break
            kept.append(one)
        return kept

    def _close_to_the_best(self) -> list[Template]:
        """List all stretches of the best lengths that start near the best."""
        best: dict[int, int] = {}
        for one in self._ranked():
            if len(best) >= _CLOSE_LENGTHS or not self._is_hopeful(one, _HOPELESS_BITS):
                break
            best.setdefault(one[0].length, one[0].start)
        return one_of_each_content(
            self._spelling,
            [
                Template(start=start + off, length=length)
                for length, start in best.items()
                for off in range(-length, length + 1)
                if abs(off) <= _CLOSE_PLACES // length
            ],
        )

    def _different(self, ranked: Sequence[TemplateSet]) -> list[TemplateSet]:
        """Keep the first of each riff, whatever its phase or its departures, and of those a few."""
        if not ranked:
            return []
        steps = self._steps_of([one[0] for one in ranked])
        lengths = steps.sum(axis=1)
        is_left = np.ones(len(ranked), dtype=np.bool_)
        kept: list[TemplateSet] = []
        while is_left.any() and len(kept) < _CANDIDATES:
            first = int(np.argmax(is_left))
            kept.append(ranked[first])
            shared = np.minimum(steps, steps[first]).sum(axis=1)
            is_left &= shared < _SAME_SHARE * np.maximum(lengths, lengths[first])
            is_left[first] = False
        return kept

    def _unlike(self, sets: Iterable[TemplateSet]) -> list[TemplateSet]:
        """Keep the sets of which no two riffs share more than a few of their steps."""
        units = {one: [u[0].at_home for u in riffs_of(one)] for one in sets}
        templates = list(dict.fromkeys(t for own in units.values() for t in own))
        if not templates:
            return []
        row_of = {template: row for row, template in enumerate(templates)}
        steps = self._steps_of(templates)
        lengths = steps.sum(axis=1)
        shared = np.array([np.minimum(steps, own).sum(axis=1) for own in steps])
        unlike = shared <= _ALIKE_SHARE * np.minimum(lengths[:, None], lengths)
        return [
            one
            for one, own in units.items()
            if all(unlike[row_of[a], row_of[b]] for a, b in combinations(own, 2))
        ]

    def _mend(self, one: TemplateSet) -> None:
        """Change one riff of a set at a time, as long as the sketch says that it saves bits."""
        best = in_order(one)
        for _ in range(_ROUNDS):
            if best in self._mended:
                return
            self._mended.add(best)
            bits = self._sketched[best]
            better = [o for o in self._try(self._changes(best)) if self._sketched[o] < bits - 1e-3]
            best = min(self._unlike(better), key=self._order, default=best)

    def _changes(self, templates: TemplateSet) -> Iterator[TemplateSet]:
        units = riffs_of(templates)
        for unit in units:
            others = tuple(t for u in units if u != unit for t in u)
            if others:
                yield others
            yield from ((*others, *unit[:k], *unit[k + 1 :]) for k in range(1, len(unit)))
            if len(units) < _MOST_RIFFS and len(unit) == 1:
                yield from ((*others, *parts) for parts in _parted(unit[0]))
            for new in (*self._moved_edges(unit), *self._phases(unit), *self._candidates):
                if new[0].at_home not in templates:
                    yield (*others, *new)

    def _cut(self, templates: TemplateSet) -> Iterator[TemplateSet]:
        """Cut riffs where their passes come in late or break off at one place again and again.

        One such pass is a pass cut short; two tell that the riff starts or ends there, and that
        what is beyond is other music, or another riff.
        """
        runs = list(runs_of(cover(self._spelling, templates)))
        units = riffs_of(templates)
        for unit in units:
            others = tuple(t for u in units if u != unit for t in u)
            for place in _places_of_cuts(runs, templates, unit):
                head = tuple(t._replace(length=place) for t in unit)
                tail = tuple(
                    t._replace(start=t.start + place, length=t.length - place) for t in unit
                )
                parts = [part for part in (head, tail) if part[0].length >= SHORTEST_STRETCH]
                yield from (in_order((*others, *part)) for part in parts)
                if len(parts) == 2 and len(units) < _MOST_RIFFS:
                    yield in_order((*others, *head, *tail))

    def _moved_edges(self, unit: TemplateSet) -> Iterator[TemplateSet]:
        for first, last in product(_MOVES, repeat=2):
            new = tuple(
                t._replace(start=t.start + first, length=t.length + last - first) for t in unit
            )
            if is_within(self._spelling, new[0]):
                yield new

    def _phases(self, unit: TemplateSet) -> Iterator[TemplateSet]:
        """Let the same riff start elsewhere, anywhere within its length if it is short."""
        start, length = unit[0][:2]
        reach = min(length, _PHASE_PLACES // (2 * length))
        for off in range(-reach, reach + 1):
            new = tuple(t._replace(start=start + off) for t in unit)
            if off and is_within(self._spelling, new[0]):
                yield new

    def _steps_of(self, templates: Sequence[Template]) -> Ids:
        """Count the steps from one attack to the next, round from the last to the first.

        Two phases of one riff have the same steps. Shape: (templates, kinds of steps).
        """
        tokens = all_tokens(self._spelling)
        stretches = [tokens[t.start : t.start + t.length] for t in templates]
        rows = np.repeat(np.arange(len(templates)), [t.length for t in templates])
        nexts = np.concatenate([np.roll(stretch, -1) for stretch in stretches])
        pairs = np.concatenate(stretches) * (int(tokens.max()) + 1) + nexts
        kinds, numbers = np.unique(pairs, return_inverse=True)
        counts = np.zeros((len(templates), len(kinds)), dtype=np.int64)
        np.add.at(counts, (rows, numbers), 1)
        return counts


def _places_of_cuts(
    runs: Iterable[Sequence[Step]], templates: TemplateSet, unit: TemplateSet
) -> list[int]:
    """List the places of a riff where several passes come in late or break off."""
    counts: Counter[int] = Counter()
    for run in runs:
        if run[0].op == "other" or templates[run[0].template] not in unit:
            continue
        edges = {run[0].place, run[-1].place + 1}
        counts.update(edges - {0, unit[0].length})
    return sorted(place for place, count in counts.items() if count >= _FEWEST_CUTS)


def _parted(template: Template) -> Iterator[TemplateSet]:
    """Part a stretch in two; a long one not everywhere, since moves by an attack or two follow."""
    start, length = template.start, template.length
    for first in range(2, length - 1, 1 + length**2 // _CELLS_IN_PARTS):
        yield (
            Template(start=start, length=first),
            Template(start=start + first, length=length - first),
        )


_SETS_READ: Final = 4
"""Sets read as rivals: two are named, and some are heard in the same passes once they are read."""


def different_sets(
    spelling: Spelling, ranked: Sequence[tuple[TemplateSet, float]]
) -> list[tuple[TemplateSet, float]]:
    """Give the next-best sets that hear other riffs than the best and than one another."""
    seen = [ranked[0]]
    for templates, bits in ranked[1:]:
        if not any(_are_alike(spelling, templates, other) for other, _ in seen):
            seen.append((templates, bits))
        if len(seen) > _SETS_READ:
            break
    return seen[1:]


def _are_alike(spelling: Spelling, these: TemplateSet, those: TemplateSet) -> bool:
    """Whether two sets name the same riffs by other statements of them."""
    ours, theirs = riffs_of(these), riffs_of(those)
    return len(ours) == len(theirs) and all(
        any(_is_same_riff(spelling, one[0], other[0]) for other in theirs) for one in ours
    )


def _is_same_riff(spelling: Spelling, one: Template, other: Template) -> bool:
    if one.length != other.length:
        return False
    pairs = zip(tokens_of(spelling, one), tokens_of(spelling, other), strict=True)
    same = sum(a == b for a, b in pairs)
    in_phase = (one.start - other.start) % one.length == 0
    return same == one.length or (in_phase and 2 * same >= one.length)
