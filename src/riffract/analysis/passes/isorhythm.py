"""A riff made of a rhythm and of a row of pitches that turn through one another.

Where a rhythm of t attacks and a row of c pitches go round together, both meet again after lcm(t,
c) attacks: that is the riff that comes back. What a listener follows are the shorter two. So the
values of the riff are told by a rhythm that goes round within it, and its pitches by a row that
goes round within it; each must save bits against telling them by the whole riff.

Source: talea (the rhythm) and color (the row of pitches) of the isorhythmic motet: common practice.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import product
from math import lcm, log2
from typing import Final, NamedTuple

import numpy as np

from riffract.analysis.attacks import Attack
from riffract.analysis.description import Spelling
from riffract.analysis.passes.accounts import (
    PART_BITS,
    SHORTEST_PART,
    Account,
    Part,
    Search,
    account_of,
)
from riffract.analysis.passes.cover import KEEP, Template
from riffract.analysis.passes.template_prices import prices_of, tokens_of
from riffract.music import Passage

CHANGE: Final = -log2(1.0 - 2.0**-KEEP)
"""What a change costs within a riff, beside what it spells out: whatever keeping leaves."""

_MOST_RIFF_ATTACKS: Final = 512
"""Longer riffs are not asked: nobody hears a rhythm turn through a row for so long."""


class Isorhythm(NamedTuple):
    """The rhythm and the row of pitches of a riff, each as an account of the passage."""

    talea: Account
    color: Account


def isorhythm_of(passage: Passage, attacks: Sequence[Attack], notes: Search) -> Isorhythm | None:
    """Find the rhythm and the row of pitches that turn through one another within a riff.

    Definition: for a riff of n attacks, lengths t and c with lcm(t, c) = n, both shorter than n,
    such that its values, spelled out by their first t going round, and its pitches, by their first
    c, each cost fewer bits than spelled out one by one. If the riff comes back, but its attacks are
    drawn one by one, a part saves k bits with a chance of at most 2^-k.

    Args:
        passage: what is read.
        attacks: its attacks.
        notes: by which riff its notes are told.

    Returns:
        Those of the longest riff that is one of this sort; `None` if none is.
    """
    riffs = sorted((t for t in notes.ranked[0][0] if not t.semitones), key=lambda t: -t.length)
    pairs = (_pair_within(notes.spelling, t) for t in riffs if t.length <= _MOST_RIFF_ATTACKS)
    pair = next((one for one in pairs if one is not None), None)
    if pair is None:
        return None
    talea, color = pair
    return Isorhythm(
        *(
            replace(account_of(passage, attacks, one), turning_attacks=_length(other))
            for one, other in ((talea, color), (color, talea))
        )
    )


def _pair_within(spelling: Spelling, riff: Template) -> tuple[Search, Search] | None:
    """Find the rhythm and the row of one riff that save most together."""
    # Few riffs have either, so that the row is not looked for where there is no rhythm.
    taleae = list(_rounds(spelling.rhythm_only(), riff, "rhythm"))
    colors = list(_rounds(spelling.pitches_only(), riff, "pitches")) if taleae else []
    turning = [
        (talea, color)
        for talea, color in product(taleae, colors)
        if lcm(_length(talea), _length(color)) == riff.length
    ]
    return max(turning, key=lambda pair: pair[0].saved_bits + pair[1].saved_bits, default=None)


def _rounds(spelling: Spelling, riff: Template, of: Part) -> Iterator[Search]:
    """Tell one part of a riff by what goes round within it, as often as it fits."""
    lengths = [n for n in range(SHORTEST_PART, riff.length // 2 + 1) if riff.length % n == 0]
    # Where both go round, bar lines tell neither where it starts.
    spelling = replace(spelling, on_bar_line=np.ones_like(spelling.on_bar_line))
    for length in lengths:
        saved = _saved_within(spelling, riff, length) - PART_BITS - log2(len(lengths))
        if saved > 0.0:
            plain_bits = prices_of(spelling, [(riff,)])[(riff,)]
            one = _from_its_first(spelling, riff._replace(length=length))
            yield Search(
                of=of,
                spelling=spelling,
                ranked=(((one,), plain_bits - saved),),
                plain_bits=plain_bits,
            )


def _saved_within(spelling: Spelling, riff: Template, length: int) -> float:
    """Tell what is saved where a riff is spelled out by its first attacks, going round.

    Returns:
        Bits; those of each later attack that is as it was a round before, less what keeping or
        changing it costs. None if one thing only is repeated.
    """
    tokens = np.array(tokens_of(spelling, riff))
    if len(np.unique(tokens[:length])) < 2:
        return 0.0
    is_kept = tokens[length:] == np.resize(tokens[:length], len(tokens) - length)
    bits = spelling.bits[riff.start + length : riff.start + riff.length]
    return float(np.where(is_kept, bits - KEEP, -CHANGE).sum())


def _from_its_first(spelling: Spelling, one: Template) -> Template:
    """Go back to the first of the statements that lead up to this one."""
    own = tokens_of(spelling, one)
    while one.start >= one.length:
        before = one._replace(start=one.start - one.length)
        if tokens_of(spelling, before) != own:
            break
        one = before
    return one


def _length(search: Search) -> int:
    return search.ranked[0][0][0].length
