"""What it costs to tell a passage by some of its own stretches, its riffs."""

from collections.abc import Iterable, Sequence
from math import log2
from typing import Final

import numpy as np

from riffract.analysis.description import Ids, Spelling
from riffract.analysis.passes.cover import (
    PASS_OFF_BAR_LINE,
    PASS_ON_BAR_LINE,
    Template,
    cheapest_covers,
)

TemplateSet = tuple[Template, ...]

MOVE_BITS: Final = 1.0 + log2(48)
"""Price of a moved form: two octaves up or down, with the lowest open string or without it."""

_CELLS_AT_ONCE: Final = 24_000
"""Templates times places covered together: a layer of prices takes some 100 kB, so that the few
that one attack needs fit into a processor's cache."""


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
            prices[templates] = set_bits(spelling, templates) + float(bits)
    return prices


def naming_bits(spelling: Spelling, templates: TemplateSet) -> float:
    """Price of saying where the second riff stands, and every further one, unless it is moved."""
    moved = {t.at_home for t in templates if t.semitones}
    named = (t for t in templates[1:] if not t.semitones and t not in moved)
    return sum(_where_bits(spelling, t) for t in named)


def tokens_of(spelling: Spelling, template: Template) -> tuple[int, ...]:
    """Give the numbers of a stretch's attacks (see `all_tokens`)."""
    stretch = slice(template.start, template.start + template.length)
    return tuple(all_tokens(spelling)[stretch].tolist())


def all_tokens(spelling: Spelling) -> Ids:
    """Give a number for each attack; equal numbers mean equal attacks. Shape: (attacks,)."""
    kinds = int(spelling.values.max()) + 2
    return np.asarray(spelling.pitches * kinds + spelling.values + 1, dtype=np.int64)


def set_bits(spelling: Spelling, templates: TemplateSet) -> float:
    """Price of saying how many riffs there are, where the first is, and of spelling each out.

    A moved form costs its distance, and whether the lowest open string stays where it is. A riff
    with moved forms says where it stands even if it is not the first: of two riffs that are played
    in turn each comes back, but a few attacks that come back elsewhere once are soon found.
    """
    before, bits = spelling.bits_before, float(len(templates))
    moved = {t[:2] for t in templates if t.semitones}
    for number, t in enumerate(templates):
        if t.semitones:
            bits += MOVE_BITS
            continue
        bits += float(before[t.start + t.length] - before[t.start])
        if number == 0 or t[:2] in moved:
            bits += _where_bits(spelling, t)
    return bits


def _where_bits(spelling: Spelling, template: Template) -> float:
    """Price of saying where a template starts and how long it is."""
    count = len(spelling)
    bar_lines = np.count_nonzero(spelling.on_bar_line)
    start = (
        PASS_ON_BAR_LINE + log2(bar_lines)
        if spelling.on_bar_line[template.start]
        else PASS_OFF_BAR_LINE + log2(count)
    )
    return start + log2(count)


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


def price_order(priced: tuple[TemplateSet, float]) -> tuple[float, int, int, int]:
    """Order sets with their prices: cheapest first, then fewer riffs, then the earlier."""
    templates, bits = priced
    return round(bits, 3), len(templates), templates[0].start, templates[0].length
