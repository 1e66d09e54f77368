"""Which stretches may be the riff, or the riffs, of a passage.

A passage may play one riff, or two or three one after the other. All candidates are priced by
what they would save (see `cover`): first each alone, then the best in pairs, then, if a pair pays,
with a third.
"""

from collections import Counter
from collections.abc import Iterable, Sequence
from itertools import combinations
from math import log2
from typing import Final

import numpy as np

from riffract.analysis.cover import (
    PASS_OFF_BAR_LINE,
    PASS_ON_BAR_LINE,
    Template,
    cheapest_covers,
)
from riffract.analysis.description import Spelling, same_values

TemplateSet = tuple[Template, ...]

_SHORTEST_TEMPLATE: Final = 2
_LONGEST_LAG: Final = 4096
_CELLS_AT_ONCE: Final = 24_000
_LAGS_TRIED: Final = 8
_LAGS_TRIED_CLOSELY: Final = 2
_TELLING_RUN_BITS: Final = 10.0
_HOPELESS_BITS: Final = 30.0
_CLOSE_LOOK_CELLS: Final = 40_000
_CONTENTS_COMBINED: Final = 32
_LEADERS_COMBINED: Final = 4
_MOST_RIFFS: Final = 3
_ALIKE_SHARE: Final = 0.4


def rank_template_sets(spelling: Spelling, plain_bits: float) -> list[tuple[TemplateSet, float]]:
    """Find the riff or riffs of a passage, and price the best cover by them.

    The lengths of templates are the distances at which the passage best resembles itself. At first
    they start on bar lines and where a resemblance starts; for the best lengths, anywhere. None
    ends with the last attack, whose value is not known. Riffs of one set are unlike one another: a
    variant is the same riff with departures.

    Args:
        spelling: the passage.
        plain_bits: its price without a template; lengths that come nowhere near are dropped.

    Returns:
        Sets of templates with their prices, cheapest first, then fewer riffs, then the earlier.
    """
    singles = _ranked_singles(spelling, plain_bits)
    ranked = list(singles)
    candidates = _different_contents(spelling, [templates[0] for templates, _ in singles])
    best = singles[0][1] if singles else plain_bits
    sets: list[TemplateSet] = [
        pair
        for pair in combinations(candidates, 2)
        if pair[0] in candidates[:_LEADERS_COMBINED] and _are_unlike(spelling, pair)
    ]
    for _ in range(_MOST_RIFFS - 1):
        priced = _priced(spelling, sets)
        if not priced or priced[0][1] >= best:
            break
        ranked += priced
        leader, best = priced[0]
        sets = [
            (*leader, more)
            for more in candidates
            if all(_are_unlike(spelling, (one, more)) for one in leader)
        ]
    return sorted(ranked, key=_by_price)


def _by_price(priced: tuple[TemplateSet, float]) -> tuple[float, int, int, int]:
    templates, bits = priced
    return round(bits, 3), len(templates), templates[0].start, templates[0].length


def cell_of(spelling: Spelling, template: Template) -> Template:
    """Give the shortest stretch that a template repeats, itself if it repeats none.

    A template that is its own beginning over and over saves a few bits for saying where each pass
    starts, but nobody would call it the riff.
    """
    tokens = _tokens(spelling, template)
    for length in range(_SHORTEST_TEMPLATE, template.length // 2 + 1):
        is_whole = template.length % length == 0
        if is_whole and tokens == tokens[:length] * (template.length // length):
            return Template(start=template.start, length=length)
    return template


def set_bits(spelling: Spelling, templates: TemplateSet) -> float:
    """Price one set of templates with its best cover."""
    return _priced(spelling, [templates])[0][1]


def _ranked_singles(spelling: Spelling, plain_bits: float) -> list[tuple[TemplateSet, float]]:
    coarse = {
        Template(start=start, length=lag): None
        for lag in _lags(spelling)
        for start in _likely_starts(spelling, lag)
        if start + lag < len(spelling)
    }
    ranked = _priced(spelling, [(t,) for t in coarse])
    near = [t[0].length for t, bits in ranked if bits < plain_bits + _HOPELESS_BITS]
    close = {
        Template(start=start, length=lag): None
        for lag in list(dict.fromkeys(near))[:_LAGS_TRIED_CLOSELY]
        for start in range(min(_CLOSE_LOOK_CELLS // lag, 2 * lag, len(spelling) - lag))
    }
    ranked += _priced(spelling, [(t,) for t in close if t not in coarse])
    return sorted(ranked, key=_by_price)


def _different_contents(spelling: Spelling, templates: Iterable[Template]) -> list[Template]:
    """Keep the best template of each content, and of those the best few."""
    kept: dict[tuple[int, ...], Template] = {}
    for template in templates:
        kept.setdefault(tuple(_tokens(spelling, template)), template)
        if len(kept) == _CONTENTS_COMBINED:
            break
    return list(kept.values())


def _tokens(spelling: Spelling, template: Template) -> list[int]:
    stretch = slice(template.start, template.start + template.length)
    kinds = int(spelling.values.max()) + 2
    tokens: list[int] = (spelling.pitches[stretch] * kinds + spelling.values[stretch]).tolist()
    return tokens


def _are_unlike(spelling: Spelling, pair: tuple[Template, Template]) -> bool:
    """Whether two stretches share only a few of their steps from one attack to the next."""
    steps = []
    for template in pair:
        tokens = _tokens(spelling, template)
        steps.append(Counter(zip(tokens, [*tokens[1:], tokens[0]], strict=True)))
    shared = sum((steps[0] & steps[1]).values())
    return shared <= _ALIKE_SHARE * min(steps[0].total(), steps[1].total())


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


def _likely_starts(spelling: Spelling, lag: int) -> list[int]:
    """The first attack, those on bar lines, and those where a resemblance at `lag` starts."""
    same = (spelling.pitches[lag:] == spelling.pitches[:-lag]) & same_values(
        spelling.values[lag:], spelling.values[:-lag]
    )
    edges = np.diff(np.concatenate([[0], same.astype(np.int64), [0]]))
    starts, ends = np.flatnonzero(edges == 1), np.flatnonzero(edges == -1)
    so_far = np.concatenate([[0.0], np.cumsum(spelling.bits)])
    telling = so_far[ends] - so_far[starts] >= _TELLING_RUN_BITS
    on_bar_lines = np.flatnonzero(spelling.on_bar_line)
    most = max(_CELLS_AT_ONCE // lag, 8)
    return sorted({0, *on_bar_lines.tolist()[:most], *starts[telling].tolist()[:most]})


def _priced(spelling: Spelling, sets: Sequence[TemplateSet]) -> list[tuple[TemplateSet, float]]:
    priced: list[tuple[TemplateSet, float]] = []
    for batch in _batches(sorted(sets, key=_longest)):
        cheapest = cheapest_covers(spelling, batch)
        priced += [
            (templates, _set_bits(spelling, templates) + float(bits))
            for templates, bits in zip(batch, cheapest, strict=True)
        ]
    return sorted(priced, key=_by_price)


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
    """Price of saying how many riffs there are, where they stand, and of spelling each out once."""
    return sum(_template_bits(spelling, t) for t in templates) + len(templates)


def _template_bits(spelling: Spelling, template: Template) -> float:
    """Price of saying where the template is and of spelling it out once."""
    count = len(spelling)
    bar_lines = int(spelling.on_bar_line.sum())
    where = (
        PASS_ON_BAR_LINE + log2(bar_lines)
        if spelling.on_bar_line[template.start]
        else PASS_OFF_BAR_LINE + log2(count)
    )
    own = spelling.bits[template.start : template.start + template.length].sum()
    return where + log2(count) + float(own)
