"""Covering a passage by statements of one or a few templates, in as few bits as possible.

The code, in bits. An attack spelled out costs the surprise of its pitches and of its value,
`-log2` of their shares in the passage. A description pays for the choice of the template, for the
template spelled out once, and then for each statement only its departures: keeping an attack is
cheap, every departure costs a fixed price and what it spells out, and a run of missing or added
attacks is cheaper than its members one by one. A statement that starts on a bar line is cheaper
than one that does not. A template that has been moved up or down is one more template, which costs
its distance instead of its attacks. Because every price is a probability's logarithm, a passage of
independent attacks is shortened by k bits with probability at most 2^-k.

Source: Rissanen, Automatica 14 (1978), 465-471 (from memory). The prices are ours.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import log2
from typing import Final, Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from riffract.analysis.description import Ids, Spelling, same_values

Bits = NDArray[np.float32]

# What happens at an attack within a pass; the probabilities of one step add up to 1.
KEEP: Final = -log2(0.91)
NEW_VALUE: Final = -log2(0.02)
NEW_PITCHES: Final = -log2(0.025)
NEW_BOTH: Final = -log2(0.01)
INSERT: Final = -log2(0.0175)
DELETE: Final = -log2(0.0125)
STOP: Final = -log2(0.005)
# A pass that is moved within a scale has its steps a semitone wider or narrower here and there.
KEEP_MOVED: Final = -log2(0.81)
A_SEMITONE_OFF: Final = -log2(0.05)
RUN_ON: Final = 1.0
"""A run of added or missing attacks goes on as often as not."""
# What comes next at a seam. On a bar line a pass is likely; off it, whatever comes is not, since
# statements of a riff start and end on bar lines more often than not.
PASS_ON_BAR_LINE: Final = -log2(0.8)
OTHER_ON_BAR_LINE: Final = -log2(0.2)
PASS_OFF_BAR_LINE: Final = -log2(0.05)
OTHER_OFF_BAR_LINE: Final = -log2(0.05)
# A pass starts at the template's start; what comes before the first one may be its tail, but music
# more often starts with the riff than with its tail: F S F S F S F X is F S, and not S F.
FROM_THE_START: Final = -log2(0.98)
FROM_INSIDE: Final = -log2(0.02)
FROM_INSIDE_AT_FIRST: Final = -log2(0.03)

_OTHER_ATTACKS: Final = 10
"""How long other material lasts on average: about a bar of eighths or a little more."""
_OTHERS_IN_A_PIECE: Final = 100
"""In a long piece other material lasts for a hundredth of it, if that is longer: a riff of one song
out of twenty would else pay for all the others."""

_MATCHES_KEPT: Final = 4_000_000
"""Prices remembered for attacks that come again: in single precision these take 16 MB."""


def other_bits(attacks: int) -> tuple[float, float]:
    """Price of other material going on, and of its end.

    It lasts for ten attacks or so, and in a long piece for a hundredth of it: else a riff of one
    song out of twenty would have to pay for all the others.

    >>> [round(bits, 3) for bits in other_bits(300)]
    [0.152, 3.322]
    """
    ends = 1.0 / max(_OTHER_ATTACKS, attacks / _OTHERS_IN_A_PIECE)
    return -log2(1.0 - ends), -log2(ends)


class Template(NamedTuple):
    """A stretch of attacks that may be the riff: `[start, start + length)`, maybe moved.

    Attributes:
        start: its first attack.
        length: how many attacks.
        semitones: how far it is moved up.
        keeps_anchor: whether the lowest open string stays where it is meanwhile.
    """

    start: int
    length: int
    semitones: int = 0
    keeps_anchor: bool = False

    @property
    def at_home(self) -> "Template":
        """The same stretch where it stands, not moved."""
        return Template(start=self.start, length=self.length)


Op = Literal["keep", "value", "pitches", "both", "insert", "delete", "other"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One step of a cover: what an attack (or a missing one) is to the template.

    Attributes:
        attack: index in the passage; for a missing attack, of the next one there.
        place: place in the template; -1 for other material; for an added attack, the place that
            it follows.
        op: what happens.
        begins: whether a pass or a stretch of other material begins here.
        template: which of the templates; -1 for other material.
    """

    attack: int
    place: int
    op: Op
    begins: bool = False
    template: int = 0


class CoverPrices:
    """Prices of a batch of sets of templates against the attacks of the passage.

    Shape of the arrays: (templates, places), padded beyond a template's end with infinity. The
    templates of one set stand below one another and share their seams.
    """

    def __init__(self, spelling: Spelling, sets: Sequence[Sequence[Template]]) -> None:
        templates = [template for one_set in sets for template in one_set]
        sizes = np.array([len(one_set) for one_set in sets], dtype=np.int64)
        self.set_of_row = np.repeat(np.arange(len(sets)), sizes)
        self.first_rows = np.concatenate([[0], np.cumsum(sizes)[:-1]])
        self.choice_bits = np.log2(sizes).astype(np.float32)
        self.lengths = np.array([t.length for t in templates], dtype=np.int64)
        places = np.arange(int(self.lengths.max()))
        starts = np.array([t.start for t in templates], dtype=np.int64)
        self._outside = places[None, :] >= self.lengths[:, None]
        index = np.minimum(starts[:, None] + places[None, :], len(spelling) - 1)
        self.pitches, self._lower, self._higher = _moved_pitches(spelling, templates, index)
        self._is_moved = np.array([bool(t.semitones) for t in templates])[:, None]
        self.values = spelling.values[index]
        self._spelling = spelling
        self._match_of: dict[tuple[int, int], Bits] = {}
        self._entry = self._priced_entry(FROM_INSIDE)
        self._entry_at_first = self._priced_entry(FROM_INSIDE_AT_FIRST)
        self.other_goes_on, self.other_ends = other_bits(len(spelling))
        self.slope: Bits = (places * np.float32(RUN_ON)).astype(np.float32)
        self.rows = np.arange(len(templates))

    def _priced_entry(self, from_inside: float) -> Bits:
        entry: Bits = np.full(self.pitches.shape, from_inside, dtype=np.float32)
        entry += np.log2(np.maximum(self.lengths, 2))[:, None].astype(np.float32)
        entry[:, 0] = FROM_THE_START
        return entry

    def entry_at(self, attack: int) -> Bits:
        """Price of a pass that begins at an attack beginning at each place of the templates."""
        return self._entry if attack else self._entry_at_first

    def match(self, attack: int) -> Bits:
        """Price of an attack standing for each place of the templates."""
        token = (int(self._spelling.pitches[attack]), int(self._spelling.values[attack]))
        price = self._match_of.get(token)
        if price is None:
            if len(self._match_of) * self.pitches.size > _MATCHES_KEPT:
                self._match_of.clear()
            price = self._match_of[token] = self._priced_match(attack)
        return price

    def _priced_match(self, attack: int) -> Bits:
        own = self._spelling.pitches[attack]
        same_value = same_values(self.values, self._spelling.values[attack])
        pitch_bits = self._spelling.pitch_bits[attack]
        value_bits = self._spelling.value_bits[attack]
        price = np.where(same_value, NEW_PITCHES + pitch_bits, NEW_BOTH + pitch_bits + value_bits)
        if self._is_moved.any():
            is_near = (own == self._lower) | (own == self._higher)
            price = np.where(self._is_moved & is_near & same_value, A_SEMITONE_OFF, price)
        kept = np.where(self._is_moved, KEEP_MOVED, KEEP)
        price = np.where(
            own == self.pitches, np.where(same_value, kept, NEW_VALUE + value_bits), price
        ).astype(np.float32)
        price[self._outside] = np.inf
        return price

    def pass_next(self, attack: int) -> float:
        """Price of beginning a pass at an attack."""
        return PASS_ON_BAR_LINE if self._spelling.on_bar_line[attack] else PASS_OFF_BAR_LINE

    def other_next(self, attack: int) -> float:
        """Price of beginning other material at an attack."""
        return OTHER_ON_BAR_LINE if self._spelling.on_bar_line[attack] else OTHER_OFF_BAR_LINE


def moved_tables(spelling: Spelling, template: Template) -> tuple[Ids, Ids, Ids]:
    """Give what each kind of pitches becomes in a template: as moved, a semitone less, and more."""
    keeps = template.keeps_anchor
    moves = (template.semitones + off for off in (0, -1, 1))
    as_moved, lower, higher = (spelling.moved(by, keeps_anchor=keeps) for by in moves)
    return as_moved, lower, higher


def _moved_pitches(
    spelling: Spelling, templates: Sequence[Template], index: Ids
) -> tuple[Ids, Ids, Ids]:
    """Give the pitches of templates as moved, a semitone less and more. Shape: as `index`."""
    pitches = spelling.pitches[index]
    if not any(t.semitones for t in templates):
        return pitches, pitches, pitches
    lower, higher = pitches.copy(), pitches.copy()
    for row, template in enumerate(templates):
        if template.semitones:
            home = pitches[row].copy()
            tables = moved_tables(spelling, template)
            pitches[row], lower[row], higher[row] = (table[home] for table in tables)
    return pitches, lower, higher


class CoverStates:
    """Cheapest prices after some attacks in a row, in buffers that are filled step by step.

    Attributes:
        matched: the last attack stands for this place. Shape: (moments, templates, places).
        added: the last attack was added after this place. Shape: as before.
        skipped: this place was skipped last. Shape: as before.
        other: the last attack is other material. Shape: (moments, sets).
        seam: a pass or other material has just ended. Shape: (moments, sets).
    """

    def __init__(self, prices: CoverPrices, moments: int) -> None:
        self._prices = prices
        shape = (moments, *prices.pitches.shape)
        self.matched = np.full(shape, np.inf, dtype=np.float32)
        self.added = np.full(shape, np.inf, dtype=np.float32)
        self.skipped = np.full(shape, np.inf, dtype=np.float32)
        self.other = np.full((moments, len(prices.first_rows)), np.inf, dtype=np.float32)
        self.seam = np.zeros((moments, len(prices.first_rows)), dtype=np.float32)
        self._open = np.empty(shape[1:], dtype=np.float32)
        self._held = np.empty(shape[1:], dtype=np.float32)
        self._skip_on: Bits = prices.slope[1:] + np.float32(DELETE - RUN_ON)

    def layers(self) -> tuple[Bits, ...]:
        """All buffers, to copy moments from one set of states to another."""
        return self.matched, self.added, self.skipped, self.other, self.seam

    def advance(self, spelling: Spelling, attack: int, now: int, then: int) -> None:
        """Take in one more attack of the passage: from the moment `now` to the moment `then`."""
        prices, held, left_open = self._prices, self._held, self._open
        literal = np.float32(spelling.bits[attack])
        matched, added, skipped = self.matched[then], self.added[then], self.skipped[then]
        np.minimum(self.matched[now], self.skipped[now], out=left_open)
        np.minimum(left_open, self.added[now], out=held)
        begin = self.seam[now] + prices.choice_bits
        begin += np.float32(prices.pass_next(attack))
        np.add(self.added[now], np.float32(RUN_ON), out=added)
        np.add(prices.entry_at(attack), begin[prices.set_of_row, None], out=matched)
        np.minimum(matched[:, 1:], held[:, :-1], out=matched[:, 1:])
        matched += prices.match(attack)
        left_open += np.float32(INSERT)
        np.minimum(added, left_open, out=added)
        added += literal
        # A run of skipped places after place k costs DELETE and RUN_ON for each further place: a
        # running minimum over k of (price - k * RUN_ON) finds the best k for every place at once.
        np.minimum(matched, added, out=held)
        np.subtract(held, prices.slope, out=left_open)
        np.minimum.accumulate(left_open, axis=1, out=left_open)
        skipped[:, 0] = np.inf
        np.add(left_open[:, :-1], self._skip_on, out=skipped[:, 1:])
        self._close(spelling, attack, now, then)

    def _close(self, spelling: Spelling, attack: int, now: int, then: int) -> None:
        """Price other material and the seam after an attack."""
        prices, held = self._prices, self._held
        other = self.other[then]
        np.minimum(
            self.seam[now] + np.float32(prices.other_next(attack)),
            self.other[now] + np.float32(prices.other_goes_on),
            out=other,
        )
        other += np.float32(spelling.bits[attack])
        stopped = held.min(axis=1)
        stopped += np.float32(STOP)
        np.minimum(stopped, held[prices.rows, prices.lengths - 1], out=stopped)
        ended = np.minimum.reduceat(stopped, prices.first_rows)
        np.minimum(ended, other + np.float32(prices.other_ends), out=self.seam[then])


def cheapest_covers(spelling: Spelling, sets: Sequence[Sequence[Template]]) -> Bits:
    """Price the cheapest cover by each set of templates. Shape: (sets,)."""
    states = CoverStates(CoverPrices(spelling, sets), 2)
    for attack in range(len(spelling)):
        states.advance(spelling, attack, attack % 2, (attack + 1) % 2)
    return np.asarray(states.seam[len(spelling) % 2])
