"""Accounts of a passage: the riffs by which it is told in fewest bits, and what rivals them.

A search gives sets of riffs and their prices; an account reads the passage by the best of them in
bars and beats, and by the next-best ones, by the phrase that the riffs make up, and by the riff
that they are made of.
"""

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Final, Literal

from riffract.analysis.attacks import Attack
from riffract.analysis.description import Spelling
from riffract.analysis.finding import Reading
from riffract.analysis.passes.cover import Step
from riffract.analysis.passes.cover_steps import cover, covers, runs_of
from riffract.analysis.passes.phrases import cells_below, from_first_statement, phrase_above
from riffract.analysis.passes.reading import Reader, opening_bars
from riffract.analysis.passes.rivals import rivals_of, whole_phrase
from riffract.analysis.passes.stretches import is_within
from riffract.analysis.passes.template_prices import TemplateSet, naming_bits, prices_of
from riffract.analysis.passes.templates import cell_of, different_sets, rank_template_sets
from riffract.music import Passage

Part = Literal["notes", "rhythm", "pitches"]

SHORTEST_PART: Final = 3
"""A rhythm of two values that comes back is a way of playing, and so is a pair of pitches."""

PART_BITS: Final = 2.0
"""What it costs to say that only the rhythm, or only the pitches, come back."""

_FIRST_STATEMENT_BITS: Final = 6.0
"""What it may cost to tell a moved riff from its first statement: a changed note, not two."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Search:
    """The sets of riffs by which a passage is told in fewer bits.

    Attributes:
        of: what is spelled out of the passage.
        spelling: the passage, spelled out.
        ranked: sets of riffs with their prices, cheapest first.
        plain_bits: the price of the passage without a riff.
    """

    of: Part
    spelling: Spelling
    ranked: tuple[tuple[TemplateSet, float], ...]
    plain_bits: float

    @property
    def full_bits(self) -> float:
        """Price of the passage by the best set, with all its riffs named."""
        best, bits = self.ranked[0]
        return bits + naming_bits(self.spelling, best)

    @property
    def saved_bits(self) -> float:
        """How much cheaper that is."""
        return self.plain_bits - self.full_bits


@dataclass(frozen=True, slots=True, kw_only=True)
class Account:
    """The readings by which a passage is told in fewest bits.

    Attributes:
        of: what comes back.
        told: one reading a riff, each followed by its rivals.
        plain_bits: the passage without a riff; of a part that goes round within a riff, told by it.
        full_bits: the passage with them.
        turning_attacks: how long the row is that this part turns through, if it goes round within a
            riff; else 0.
    """

    of: Part
    told: tuple[tuple[Reading, ...], ...]
    plain_bits: float
    full_bits: float
    turning_attacks: int = 0

    @property
    def saved_bits(self) -> float:
        """How much cheaper the passage is with them."""
        return self.plain_bits - self.full_bits


def search_riffs(spelling: Spelling, of: Part) -> Search | None:
    """Find the riff or riffs of what is spelled out; `None` if that saves nothing."""
    plain_bits = float(spelling.bits.sum())
    ranked = [
        (templates, bits)
        for templates, bits in rank_template_sets(spelling, plain_bits)
        if bits + naming_bits(spelling, templates) < plain_bits
        and (of == "notes" or all(t.length >= SHORTEST_PART for t in templates))
    ]
    if not ranked:
        return None
    best = tuple(dict.fromkeys(cell_of(spelling, template) for template in ranked[0][0]))
    if best != ranked[0][0]:
        ranked[0] = (best, prices_of(spelling, [best])[best])
    found = Search(of=of, spelling=spelling, ranked=tuple(ranked), plain_bits=plain_bits)
    return found if found.saved_bits > 0.0 else None


def account_of(passage: Passage, attacks: Sequence[Attack], search: Search) -> Account:
    """Read the passage by the best set of riffs, and by those that rival it."""
    search = _at_home_first(search)
    spelling, full_bits = search.spelling, search.full_bits
    sets = [search.ranked[0], *different_sets(spelling, search.ranked)]
    steps = list(covers(spelling, [templates for templates, _ in sets]))
    related = _related(search, steps[0], known={templates for templates, _ in sets})
    sets += related
    steps += covers(spelling, [templates for templates, _ in related])
    reader = Reader(passage, attacks, spelling, opening_bars(passage, attacks))
    read = [
        reader.readings(templates, own, price)
        for (templates, price), own in zip(sets, steps, strict=True)
    ]
    told = sorted((r for r in read[0] if len(r.passes) >= 2), key=_covered, reverse=True)
    others = read[1:]
    phrase = whole_phrase(passage, told, others, full_bits)
    if phrase is not None:
        others = [told, *others]
        told, full_bits = [phrase], phrase.bits
    return Account(
        of=search.of,
        told=tuple(
            (reading, *rivals_of(reading, others, related=len(related))) for reading in told
        ),
        plain_bits=search.plain_bits,
        full_bits=full_bits,
    )


def _at_home_first(search: Search) -> Search:
    """Let a riff with moved forms be told from its first whole statement, where that costs little.

    Which of its levels is called its own is a matter of the code; a listener takes the first.
    """
    best, bits = search.ranked[0]
    if not any(t.semitones for t in best):
        return search
    new = from_first_statement(best, list(runs_of(cover(search.spelling, best))))
    if new == best or not all(is_within(search.spelling, t) for t in new):
        return search
    price = prices_of(search.spelling, [new])[new]
    if price > bits + _FIRST_STATEMENT_BITS:
        return search
    return replace(search, ranked=((new, price), *search.ranked[1:]))


def _related(
    search: Search, steps: Sequence[Step], *, known: Collection[TemplateSet]
) -> list[tuple[TemplateSet, float]]:
    """Price the phrase that the riffs make up, and give the riff that they are made of."""
    best, _ = search.ranked[0]
    found: list[tuple[TemplateSet, float]] = []
    phrase = phrase_above(best, list(runs_of(steps)))
    if phrase is not None and is_within(search.spelling, phrase):
        found += prices_of(search.spelling, [(phrase,)]).items()
    cells = cells_below(best, search.ranked)
    # A riff within the riff is worth naming if it says at least half of what the riff does.
    if cells is not None and 2 * cells[1] <= search.plain_bits + search.full_bits:
        found.append(cells)
    return [one for one in found if one[0] not in known and one[1] < search.plain_bits]


def _covered(reading: Reading) -> Fraction:
    return sum((p.span.length_quarters for p in reading.passes), Fraction(0))
