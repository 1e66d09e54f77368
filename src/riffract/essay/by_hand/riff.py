"""A riff whose start and length the analyst sets: how the passage reads by it."""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from riffract.analysis.attacks import Attack, attacks_of
from riffract.analysis.finding import Kind, Passes, Reading
from riffract.analysis.passes.cover import Template
from riffract.analysis.passes.cover_steps import cover
from riffract.analysis.passes.find import spelling_of
from riffract.analysis.passes.places import neck_places
from riffract.analysis.passes.reading import Reader, opening_bars
from riffract.analysis.passes.template_prices import prices_of
from riffract.analysis.passes.words import sentence_of
from riffract.analysis.saying import say
from riffract.music import Passage, Span
from riffract.weighing.study import Study

FEWEST_ATTACKS: Final = 2
"""One attack is no riff."""


@dataclass(frozen=True, slots=True, kw_only=True)
class HandRiff:
    """A riff that was set, measured.

    Attributes:
        first, count: its attacks in the passage.
        reading: the passage, read by it.
        plain_bits: what the passage costs without a riff.
        sentence: what it comes to.
    """

    first: int
    count: int
    reading: Reading
    plain_bits: float
    sentence: str

    @property
    def saved_bits(self) -> float:
        """How much cheaper the passage is with the riff; negative if it is dearer."""
        return self.plain_bits - self.reading.bits

    @property
    def most_chance(self) -> float:
        """The chance that music without riffs saves as much is at most so large.

        Definition: 2 to the power of minus the saved bits. No code can save k bits on more than
        that share of what its rival describes, since its words' shares add up to 1 at most.

        Source: the no-hypercompression inequality, Grünwald, The Minimum Description Length
        Principle (2007), from memory.
        """
        return 1.0 if self.saved_bits <= 0 else max(2.0**-self.saved_bits, 1.0 / _MOST_ODDS)


_MOST_ODDS: Final = 1e6
"""Nobody can tell smaller chances apart; the code itself is not so certain."""


def riff_by_hand(passage: Passage, first: int, count: int) -> HandRiff:
    """Read a passage by a riff that was set, whatever else would be cheaper.

    Moved forms of it are not looked for: a pass at another pitch is read as other material.

    Args:
        passage: bent notes at the pitch that they start with.
        first: its first attack, from 0.
        count: how many attacks.

    Raises:
        ValueError: if there are no such attacks.
    """
    attacks = attacks_of(passage)
    if first < 0 or count < FEWEST_ATTACKS or first + count > len(attacks):
        raise ValueError(
            f"a riff is {FEWEST_ATTACKS} or more of {len(attacks)} attacks, "
            f"got {count} from number {first}"
        )
    spelling = spelling_of(passage, attacks)
    templates = (Template(start=first, length=count),)
    bits = prices_of(spelling, [templates])[templates]
    reader = Reader(passage, attacks, spelling, opening_bars(passage, attacks))
    reading = reader.readings(templates, cover(spelling, templates), bits)[0]
    return HandRiff(
        first=first,
        count=count,
        reading=reading,
        plain_bits=float(spelling.bits.sum()),
        sentence=_sentence(passage, attacks, reading, count),
    )


def best_riff_bits(study: Study) -> float | None:
    """Give what the passage costs by the riff that was found; `None` if none was."""
    readings = [
        found.finding.what.readings[0].bits
        for found in study.of_kind(Kind.PASSES)
        if isinstance(found.finding.what, Passes) and found.finding.what.of == "notes"
    ]
    return min(readings, default=None)


def attacks_within(attacks: Sequence[Attack], span: Span) -> tuple[int, int]:
    """Give the first attack of a stretch, and how many there are; (0, 0) for none."""
    inside = [attack.index for attack in attacks if span.holds(attack.onset_quarters)]
    return (inside[0], len(inside)) if inside else (0, 0)


def span_of_attacks(attacks: Sequence[Attack], first: int, count: int) -> Span:
    """Give the stretch that attacks fill, up to the one behind the last."""
    last = attacks[first + count - 1]
    ends_quarters: Fraction = last.onset_quarters + last.value_quarters
    return Span(attacks[first].onset_quarters, ends_quarters)


def _sentence(passage: Passage, attacks: Sequence[Attack], reading: Reading, count: int) -> str:
    if len(reading.passes) < 2:
        return say("This stretch does not come back.")
    return sentence_of(
        passage,
        reading,
        of="notes",
        riffs=1,
        neck_places=neck_places(passage, attacks, reading),
        attacks=(count, 0),
    )
