"""Which stretches may be the riff, or the riffs, of a passage.

A riff starts or ends where a resemblance of the passage with itself starts or ends: the distances
at which most comes back give the lengths of riffs that follow upon themselves, and the edges of
what comes back there part the riffs that follow one another. All stretches are priced by their
best cover (see `cover`), first each alone.

Two riffs may each be worth little alone and much together, so the stretches that are most unlike
one another are all tried in pairs, and the best pairs with a third. The best sets are then mended:
a riff moved by an attack or two at its start or its end, parted in two, dropped, or exchanged for
another, for as long as that saves bits.
"""

from collections.abc import Iterable, Iterator, Sequence
from itertools import combinations, product
from math import log2
from typing import Final

import numpy as np
from numpy.typing import NDArray

from riffract.analysis.cover import (
    KEEP,
    PASS_OFF_BAR_LINE,
    PASS_ON_BAR_LINE,
    Template,
    cheapest_covers,
)
from riffract.analysis.description import Ids, Spelling, same_values

TemplateSet = tuple[Template, ...]

_SHORTEST_TEMPLATE: Final = 2
_LONGEST_LAG: Final = 4096
_CELLS_AT_ONCE: Final = 24_000
_LAGS_TRIED: Final = 8
_LAGS_TRIED_CLOSELY: Final = 2
_TELLING_RUN_BITS: Final = 10.0
_LONGEST_SLIP: Final = 2
_SLIP_BITS: Final = 8.0
_EDGES_TRIED: Final = 32
_EDGES_SPANNED: Final = 4
_HOPELESS_BITS: Final = 30.0
_CLOSE_LOOK_CELLS: Final = 40_000
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
    singles = _priced_stretches(spelling, plain_bits)
    prices: dict[TemplateSet, float] = {(t,): bits for t, bits in singles.items()}
    candidates = _different_riffs(spelling, list(singles))
    sets: Iterable[TemplateSet] = _affordable(combinations(candidates, 2))
    for _ in range(_MOST_RIFFS - 1):
        enough = min([plain_bits, *prices.values()]) + _RIVAL_BITS
        new = prices_of(spelling, _promising(spelling, sets, enough))
        if not new:
            break
        ranked = sorted(new.items(), key=_price_order)
        prices |= new
        if ranked[0][1] < enough + _HOPELESS_SET_BITS:
            prices |= _mended(spelling, *ranked[0], candidates, enough)
        leaders = [leader for leader, _ in ranked[:_LEADERS_COMBINED]]
        sets = ((*leader, more) for leader in leaders for more in candidates)
    return sorted(prices.items(), key=_price_order)


def cell_of(spelling: Spelling, template: Template) -> Template:
    """Give the shortest stretch that a template repeats, itself if it repeats none.

    A template that is its own beginning over and over saves a few bits for saying where each pass
    starts, but nobody would call it the riff.
    """
    tokens = tokens_of(spelling, template)
    for length in range(_SHORTEST_TEMPLATE, template.length // 2 + 1):
        is_whole = template.length % length == 0
        if is_whole and tokens == tokens[:length] * (template.length // length):
            return Template(start=template.start, length=length)
    return template


def tokens_of(spelling: Spelling, template: Template) -> tuple[int, ...]:
    """Give a number for each attack of a stretch; equal numbers mean equal attacks."""
    stretch = slice(template.start, template.start + template.length)
    return tuple(_all_tokens(spelling)[stretch].tolist())


def prices_of(spelling: Spelling, sets: Iterable[TemplateSet]) -> dict[TemplateSet, float]:
    """Price sets of templates, each with its best cover.

    Where the first riff stands is paid for; where further ones do is not (see `naming_bits`), so
    that these prices compare sets of different sizes: how much it costs to name one more riff is a
    matter of our code, and would make one riff of two that are merely played in turn.
    """
    prices: dict[TemplateSet, float] = {}
    for batch in _batches(sorted(sets, key=_longest)):
        cheapest = cheapest_covers(spelling, batch)
        for templates, bits in zip(batch, cheapest, strict=True):
            prices[templates] = _set_bits(spelling, templates) + float(bits)
    return prices


def naming_bits(spelling: Spelling, templates: TemplateSet) -> float:
    """Price of saying where the second riff stands, and every further one."""
    return sum(_where_bits(spelling, template) for template in templates[1:])


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
        best, bits = min(tried.items(), key=_price_order)
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


def _priced_stretches(spelling: Spelling, plain_bits: float) -> dict[Template, float]:
    """Price the stretches of a passage that may be a riff, each alone with its best cover.

    At first they start on bar lines and where a resemblance starts or ends; for the best lengths,
    anywhere. None ends with the last attack, whose value is not known. Of equal stretches one is
    priced, on a bar line if any is, then the earliest.

    Args:
        spelling: the passage.
        plain_bits: its price without a template; lengths that come nowhere near are dropped.

    Returns:
        Prices in bits, cheapest first, then the earlier, then the shorter.
    """
    lags = _lags(spelling)
    coarse = [
        Template(start=start, length=lag)
        for lag in lags
        for start in _likely_starts(spelling, lag)
        if start + lag < len(spelling)
    ]
    stretches = _one_of_each_content(spelling, [*coarse, *_between_edges(spelling, lags)])
    priced = prices_of(spelling, [(t,) for t in stretches])
    ranked = sorted(priced, key=priced.__getitem__)
    near = [t.length for (t,) in ranked if priced[(t,)] < plain_bits + _HOPELESS_BITS]
    close = [
        Template(start=start, length=length)
        for length in [length for length in dict.fromkeys(near) if length in lags][
            :_LAGS_TRIED_CLOSELY
        ]
        for start in range(min(_CLOSE_LOOK_CELLS // length, 2 * length, len(spelling) - length))
    ]
    everything = _one_of_each_content(spelling, [*stretches, *close])
    priced |= prices_of(spelling, [(t,) for t in everything if (t,) not in priced])
    return {t: bits for (t,), bits in sorted(priced.items(), key=_price_order)}


def _price_order(priced: tuple[TemplateSet, float]) -> tuple[float, int, int, int]:
    """Order sets with their prices: cheapest first, then fewer riffs, then the earlier."""
    templates, bits = priced
    return round(bits, 3), len(templates), templates[0].start, templates[0].length


def _steps_of(spelling: Spelling, templates: Sequence[Template]) -> Ids:
    """Count the steps from one attack to the next, round from the last to the first.

    Two phases of one riff have the same steps. Shape: (templates, kinds of steps).
    """
    tokens = _all_tokens(spelling)
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


def _all_tokens(spelling: Spelling) -> Ids:
    kinds = int(spelling.values.max()) + 2
    return np.asarray(spelling.pitches * kinds + spelling.values + 1, dtype=np.int64)


def _one_of_each_content(spelling: Spelling, templates: Iterable[Template]) -> list[Template]:
    kept: dict[tuple[int, ...], Template] = {}
    for template in sorted(
        set(templates), key=lambda t: (not spelling.on_bar_line[t.start], t.start, t.length)
    ):
        kept.setdefault(tokens_of(spelling, template), template)
    return list(kept.values())


def _comes_back(spelling: Spelling, lag: int) -> NDArray[np.bool_]:
    """Which attacks come back `lag` attacks later. Shape: (attacks - lag,)."""
    same_value = same_values(spelling.values[lag:], spelling.values[:-lag])
    return np.asarray((spelling.pitches[lag:] == spelling.pitches[:-lag]) & same_value)


def _lags(spelling: Spelling) -> tuple[int, ...]:
    """Distances in attacks at which most bits come back, best first, none twice."""
    count = len(spelling)
    bits = spelling.bits
    lags = range(_SHORTEST_TEMPLATE, min(count - _SHORTEST_TEMPLATE, _LONGEST_LAG) + 1)
    scores = np.zeros(lags.stop)
    for lag in lags:
        same_pitches = spelling.pitches[lag:] == spelling.pitches[:-lag]
        same_value = same_values(spelling.values[lag:], spelling.values[:-lag])
        shared = np.where(same_value, bits[lag:], 0.5 * spelling.pitch_bits[lag:])
        scores[lag] = shared[same_pitches].sum() / (count - lag) ** 0.5
    order = [int(lag) for lag in np.argsort(-scores, kind="stable") if scores[lag] > 0.0]
    return tuple(order[:_LAGS_TRIED])


def _runs_of(same: NDArray[np.bool_]) -> tuple[Ids, Ids]:
    edges = np.diff(np.concatenate([[0], same.astype(np.int64), [0]]))
    return np.flatnonzero(edges == 1), np.flatnonzero(edges == -1)


def _likely_starts(spelling: Spelling, lag: int) -> list[int]:
    """The first attack, those on bar lines, and those where a resemblance at `lag` starts."""
    starts, ends = _runs_of(_comes_back(spelling, lag))
    so_far = np.concatenate([[0.0], np.cumsum(spelling.bits)])
    telling = so_far[ends] - so_far[starts] >= _TELLING_RUN_BITS
    on_bar_lines = np.flatnonzero(spelling.on_bar_line)
    most = max(_CELLS_AT_ONCE // lag, 8)
    return sorted({0, *on_bar_lines.tolist()[:most], *starts[telling].tolist()[:most]})


def _between_edges(spelling: Spelling, lags: Iterable[int]) -> list[Template]:
    """Stretches between two edges of resemblances, not too far from one another."""
    edges = _edges(spelling, lags)
    found: list[Template] = []
    for k, start in enumerate(edges):
        found += [
            Template(start=start, length=end - start)
            for end in edges[k + 1 : k + 1 + _EDGES_SPANNED]
            if end - start >= _SHORTEST_TEMPLATE and end < len(spelling)
        ]
    return found


def _edges(spelling: Spelling, lags: Iterable[int]) -> list[int]:
    """Where the longest resemblances start and end, both what comes back and its return.

    A departure of one or two attacks does not end a resemblance.
    """
    best: dict[int, float] = {}
    for lag in lags:
        same = _comes_back(spelling, lag)
        kept = np.concatenate([[0.0], np.cumsum(np.where(same, spelling.bits[:-lag], -_SLIP_BITS))])
        for start, end in zip(*_runs_of(_without_slips(same)), strict=True):
            bits = float(kept[end] - kept[start])
            if bits < _TELLING_RUN_BITS:
                continue
            for edge in (start, end, start + lag, end + lag):
                best[int(edge)] = max(best.get(int(edge), 0.0), bits)
    telling = sorted(best, key=lambda edge: (-best[edge], edge))[:_EDGES_TRIED]
    return sorted({0, *telling})


def _without_slips(same: NDArray[np.bool_]) -> NDArray[np.bool_]:
    closed = same.copy()
    for start, end in zip(*_runs_of(~same), strict=True):
        if start > 0 and end < len(same) and end - start <= _LONGEST_SLIP:
            closed[start:end] = True
    return closed


def _longest(templates: TemplateSet) -> int:
    return max(t.length for t in templates)


def _batches(sets: Sequence[TemplateSet]) -> Iterable[list[TemplateSet]]:
    batch: list[TemplateSet] = []
    rows = 0
    for templates in sets:
        rows += len(templates)
        if batch and rows * _longest(templates) > _CELLS_AT_ONCE:
            yield batch
            batch, rows = [], len(templates)
        batch.append(templates)
    if batch:
        yield batch


def _set_bits(spelling: Spelling, templates: TemplateSet) -> float:
    """Price of saying how many riffs there are, where the first is, and of spelling each out."""
    own = sum(float(spelling.bits[t.start : t.start + t.length].sum()) for t in templates)
    return len(templates) + _where_bits(spelling, templates[0]) + own


def _where_bits(spelling: Spelling, template: Template) -> float:
    """Price of saying where a template starts and how long it is."""
    count = len(spelling)
    bar_lines = int(spelling.on_bar_line.sum())
    start = (
        PASS_ON_BAR_LINE + log2(bar_lines)
        if spelling.on_bar_line[template.start]
        else PASS_OFF_BAR_LINE + log2(count)
    )
    return start + log2(count)
