"""Which riff, or which set of riffs, tells a passage best.

Stretches that may be a riff (see `stretches`) are priced by their best cover (see `cover`), first
each alone. Two riffs may each be worth little alone and much together, so the stretches that are
most unlike one another are all tried in pairs, and the best pairs with a third. The best sets are
then mended: a riff moved by an attack or two at its start or its end, parted in two, dropped, or
exchanged for another, for as long as that saves bits.
"""

from collections.abc import Iterable, Iterator, Sequence
from itertools import combinations, product
from typing import Final

import numpy as np

from riffract.analysis.cover import KEEP, Template
from riffract.analysis.description import Ids, Spelling
from riffract.analysis.stretches import SHORTEST_STRETCH, priced_stretches
from riffract.analysis.template_prices import (
    TemplateSet,
    all_tokens,
    price_order,
    prices_of,
    tokens_of,
)

_CANDIDATES: Final = 32
_CELLS_IN_PAIRS: Final = 120_000
_CELLS_IN_PARTS: Final = 10_000
_LEADERS_COMBINED: Final = 8
_MOST_RIFFS: Final = 3
_ALIKE_SHARE: Final = 0.4
_SAME_SHARE: Final = 0.75
_RIVAL_BITS: Final = 10.0
_HOPELESS_SET_BITS: Final = 20.0
_MOVES: Final = (-2, -1, 0, 1, 2)
_ROUNDS: Final = 6


def rank_template_sets(spelling: Spelling, plain_bits: float) -> list[tuple[TemplateSet, float]]:
    """Find the riff or riffs of a passage, and price the best cover by them.

    Riffs of one set are unlike one another: a variant is the same riff with departures.

    Args:
        spelling: the passage.
        plain_bits: its price without a template; lengths that come nowhere near are dropped.

    Returns:
        Sets of templates with their prices, cheapest first, then fewer riffs, then the earlier.
    """
    singles = priced_stretches(spelling, plain_bits)
    prices: dict[TemplateSet, float] = {(t,): bits for t, bits in singles.items()}
    candidates = _different_riffs(spelling, list(singles))
    sets: Iterable[TemplateSet] = _affordable(combinations(candidates, 2))
    for _ in range(_MOST_RIFFS - 1):
        enough = min([plain_bits, *prices.values()]) + _RIVAL_BITS
        new = prices_of(spelling, _promising(spelling, sets, enough))
        if not new:
            break
        ranked = sorted(new.items(), key=price_order)
        prices |= new
        if ranked[0][1] < enough + _HOPELESS_SET_BITS:
            prices |= _mended(spelling, *ranked[0], candidates, enough)
        leaders = [leader for leader, _ in ranked[:_LEADERS_COMBINED]]
        sets = ((*leader, more) for leader in leaders for more in candidates)
    return sorted(prices.items(), key=price_order)


def cell_of(spelling: Spelling, template: Template) -> Template:
    """Give the shortest stretch that a template repeats, itself if it repeats none.

    A template that is its own beginning over and over saves a few bits for saying where each pass
    starts, but nobody would call it the riff.
    """
    tokens = tokens_of(spelling, template)
    for length in range(SHORTEST_STRETCH, template.length // 2 + 1):
        is_whole = template.length % length == 0
        if is_whole and tokens == tokens[:length] * (template.length // length):
            return Template(start=template.start, length=length)
    return template


def _promising(spelling: Spelling, sets: Iterable[TemplateSet], enough: float) -> list[TemplateSet]:
    """Keep the sets that may cost no more than `enough`, and whose riffs are unlike one another.

    However well a set fits, its riffs are spelled out once and every attack costs a little.
    """
    so_far = np.concatenate([[0.0], np.cumsum(spelling.bits)])
    most = enough - KEEP * len(spelling)
    ordered = dict.fromkeys(tuple(sorted(one, key=_place)) for one in sets)
    return _unlike(
        spelling,
        [
            one
            for one in ordered
            if sum(so_far[t.start + t.length] - so_far[t.start] for t in one) <= most
        ],
    )


def _different_riffs(spelling: Spelling, templates: Sequence[Template]) -> list[Template]:
    """Keep the first of each riff, whatever its phase or its departures, and of those a few."""
    if not templates:
        return []
    steps = _steps_of(spelling, templates)
    lengths = steps.sum(axis=1)
    is_left = np.ones(len(templates), dtype=np.bool_)
    kept: list[Template] = []
    while is_left.any() and len(kept) < _CANDIDATES:
        first = int(np.argmax(is_left))
        kept.append(templates[first])
        shared = np.minimum(steps, steps[first]).sum(axis=1)
        is_left &= shared < _SAME_SHARE * np.maximum(lengths, lengths[first])
        is_left[first] = False
    return kept


def _unlike(spelling: Spelling, sets: Sequence[TemplateSet]) -> list[TemplateSet]:
    """Keep the sets of which no two riffs share more than a few of their steps."""
    templates = list(dict.fromkeys(t for one in sets for t in one))
    if not templates:
        return []
    row_of = {template: row for row, template in enumerate(templates)}
    steps = _steps_of(spelling, templates)
    lengths = steps.sum(axis=1)
    shared = np.array([np.minimum(steps, own).sum(axis=1) for own in steps])
    unlike = shared <= _ALIKE_SHARE * np.minimum(lengths[:, None], lengths)
    return [
        one for one in sets if all(unlike[row_of[a], row_of[b]] for a, b in combinations(one, 2))
    ]


def _place(template: Template) -> tuple[int, int]:
    return template.start, template.length


def _affordable(sets: Iterable[TemplateSet]) -> Iterator[TemplateSet]:
    """Give the first sets, as many as are quickly priced."""
    cells = 0
    for one in sets:
        cells += len(one) * max(t.length for t in one)
        if cells > _CELLS_IN_PAIRS:
            return
        yield one


def _mended(
    spelling: Spelling,
    templates: TemplateSet,
    bits: float,
    candidates: Sequence[Template],
    enough: float,
) -> dict[TemplateSet, float]:
    """Change one riff of a set at a time, as long as that saves bits; give all that was tried."""
    tried = {templates: bits}
    for _ in range(_ROUNDS):
        changes = _changes(len(spelling), templates, candidates)
        changed = _promising(spelling, changes, min(enough, bits + _RIVAL_BITS))
        tried |= prices_of(spelling, [one for one in changed if one not in tried])
        best, bits = min(tried.items(), key=price_order)
        if best == templates:
            break
        templates = best
    return tried


def _changes(
    count: int, templates: TemplateSet, candidates: Sequence[Template]
) -> Iterator[TemplateSet]:
    for one in templates:
        others = tuple(t for t in templates if t != one)
        if others:
            yield others
        if len(templates) < _MOST_RIFFS:
            yield from ((*others, *parts) for parts in _parted(one))
        moved = (
            Template(start=one.start + first, length=one.length + last - first)
            for first, last in product(_MOVES, repeat=2)
        )
        for new in (*(t for t in moved if _is_within(t, count)), *candidates):
            if new not in templates:
                yield (*others, new)


def _parted(template: Template) -> Iterator[TemplateSet]:
    """Part a stretch in two; a long one not everywhere, since moves by an attack or two follow."""
    start, length = template.start, template.length
    for first in range(2, length - 1, 1 + length**2 // _CELLS_IN_PARTS):
        yield (
            Template(start=start, length=first),
            Template(start=start + first, length=length - first),
        )


def _is_within(template: Template, count: int) -> bool:
    """Whether a stretch lies before the last attack, whose value is not known."""
    return template.start >= 0 and template.length >= 2 and template.start + template.length < count


def _steps_of(spelling: Spelling, templates: Sequence[Template]) -> Ids:
    """Count the steps from one attack to the next, round from the last to the first.

    Two phases of one riff have the same steps. Shape: (templates, kinds of steps).
    """
    tokens = all_tokens(spelling)
    rows, firsts, seconds = [], [], []
    for row, template in enumerate(templates):
        stretch = tokens[template.start : template.start + template.length]
        rows.append(np.full(template.length, row, dtype=np.int64))
        firsts.append(stretch)
        seconds.append(np.roll(stretch, -1))
    pairs = np.concatenate(firsts) * (int(tokens.max()) + 1) + np.concatenate(seconds)
    kinds, numbers = np.unique(pairs, return_inverse=True)
    counts = np.zeros((len(templates), len(kinds)), dtype=np.int64)
    np.add.at(counts, (np.concatenate(rows), numbers), 1)
    return counts
