"""Covering a passage by statements of one or a few templates, in as few bits as possible.

The code, in bits. An attack spelled out costs the surprise of its pitches and of its value,
`-log2` of their shares in the passage. A description pays for the choice of the template, for the
template spelled out once, and then for each statement only its departures: keeping an attack is
cheap, every departure costs a fixed price and what it spells out, and a run of missing or added
attacks is cheaper than its members one by one. A statement that starts on a bar line is cheaper
than one that does not. Because every price is a probability's logarithm, a passage of independent
attacks is shortened by k bits with probability at most 2^-k.

Source: Rissanen, Automatica 14 (1978), 465-471 (from memory). The prices are ours.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import log2
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

from riffract.analysis.description import Spelling, same_values

Bits = NDArray[np.float32]

# What happens at an attack within a pass; the probabilities of one step add up to 1.
KEEP: Final = -log2(0.91)
NEW_VALUE: Final = -log2(0.02)
NEW_PITCHES: Final = -log2(0.025)
NEW_BOTH: Final = -log2(0.01)
INSERT: Final = -log2(0.0175)
DELETE: Final = -log2(0.0125)
STOP: Final = -log2(0.005)
# A run of added or missing attacks goes on as often as not.
RUN_ON: Final = 1.0
# What comes next at a seam. On a bar line a pass is likely; off it, whatever comes is not, since
# statements of a riff start and end on bar lines more often than not.
PASS_ON_BAR_LINE: Final = -log2(0.8)
OTHER_ON_BAR_LINE: Final = -log2(0.2)
PASS_OFF_BAR_LINE: Final = -log2(0.05)
OTHER_OFF_BAR_LINE: Final = -log2(0.05)
# Other material goes on more often than not. A pass starts at the template's start; what comes
# before the first one may well be its tail.
OTHER_GOES_ON: Final = -log2(0.9)
OTHER_ENDS: Final = -log2(0.1)
FROM_THE_START: Final = -log2(0.98)
FROM_INSIDE: Final = -log2(0.02)
FROM_INSIDE_AT_FIRST: Final = -log2(0.1)


@dataclass(frozen=True, slots=True, kw_only=True)
class Template:
    """A stretch of attacks that may be the riff: `[start, start + length)`."""

    start: int
    length: int


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


class _Prices:
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
        self.pitches = spelling.pitches[index]
        self.values = spelling.values[index]
        self._spelling = spelling
        self._match_of: dict[tuple[int, int], Bits] = {}
        self._entry = self._priced_entry(FROM_INSIDE)
        self._entry_at_first = self._priced_entry(FROM_INSIDE_AT_FIRST)
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
        if token not in self._match_of:
            self._match_of[token] = self._priced_match(attack)
        return self._match_of[token]

    def _priced_match(self, attack: int) -> Bits:
        same_pitches = self.pitches == self._spelling.pitches[attack]
        same_value = same_values(self.values, self._spelling.values[attack])
        pitch_bits = self._spelling.pitch_bits[attack]
        value_bits = self._spelling.value_bits[attack]
        price = np.where(
            same_pitches,
            np.where(same_value, KEEP, NEW_VALUE + value_bits),
            np.where(same_value, NEW_PITCHES + pitch_bits, NEW_BOTH + pitch_bits + value_bits),
        ).astype(np.float32)
        price[self._outside] = np.inf
        return price

    def pass_next(self, attack: int) -> float:
        """Price of beginning a pass at an attack."""
        return PASS_ON_BAR_LINE if self._spelling.on_bar_line[attack] else PASS_OFF_BAR_LINE

    def other_next(self, attack: int) -> float:
        """Price of beginning other material at an attack."""
        return OTHER_ON_BAR_LINE if self._spelling.on_bar_line[attack] else OTHER_OFF_BAR_LINE


@dataclass(frozen=True, slots=True, kw_only=True)
class _State:
    """Cheapest prices after some attacks.

    Attributes:
        matched: the last attack stands for this place. Shape: (templates, places).
        added: the last attack was added after this place. Shape: (templates, places).
        skipped: this place was skipped last. Shape: (templates, places).
        other: the last attack is other material. Shape: (sets,).
        seam: a pass or other material has just ended. Shape: (sets,).
    """

    matched: Bits
    added: Bits
    skipped: Bits
    other: Bits
    seam: Bits


def _start(prices: _Prices) -> _State:
    nowhere = np.full(prices.pitches.shape, np.inf, dtype=np.float32)
    nothing = np.full(len(prices.first_rows), np.inf, dtype=np.float32)
    return _State(
        matched=nowhere,
        added=nowhere,
        skipped=nowhere,
        other=nothing,
        seam=np.zeros(len(prices.first_rows), dtype=np.float32),
    )


def _advance(state: _State, spelling: Spelling, prices: _Prices, attack: int) -> _State:
    """Take in one more attack of the passage."""
    literal = np.float32(spelling.bits[attack])
    begin = state.seam + prices.choice_bits + np.float32(prices.pass_next(attack))
    matched = prices.entry_at(attack) + begin[prices.set_of_row, None]
    left_open = np.minimum(state.matched, state.skipped)
    before = np.minimum(left_open, state.added)
    np.minimum(matched[:, 1:], before[:, :-1], out=matched[:, 1:])
    matched += prices.match(attack)
    left_open += np.float32(INSERT)
    added = state.added + np.float32(RUN_ON)
    np.minimum(added, left_open, out=added)
    added += literal
    # A run of skipped places after place k costs DELETE and RUN_ON for each further place: a
    # running minimum over k of (price - k * RUN_ON) finds the best k for every place at once.
    held = np.minimum(matched, added)
    best = np.minimum.accumulate(held - prices.slope, axis=1)
    skipped = np.empty_like(matched)
    skipped[:, 0] = np.inf
    np.add(best[:, :-1], prices.slope[1:] + np.float32(DELETE - RUN_ON), out=skipped[:, 1:])
    other = literal + np.minimum(
        state.seam + np.float32(prices.other_next(attack)),
        state.other + np.float32(OTHER_GOES_ON),
    )
    complete = held[prices.rows, prices.lengths - 1]
    stopped = held.min(axis=1) + np.float32(STOP)
    ended = np.minimum.reduceat(np.minimum(complete, stopped), prices.first_rows)
    seam = np.minimum(ended, other + np.float32(OTHER_ENDS))
    return _State(matched=matched, added=added, skipped=skipped, other=other, seam=seam)


def cheapest_covers(spelling: Spelling, sets: Sequence[Sequence[Template]]) -> Bits:
    """Price the cheapest cover by each set of templates. Shape: (sets,)."""
    prices = _Prices(spelling, sets)
    state = _start(prices)
    for attack in range(len(spelling)):
        state = _advance(state, spelling, prices, attack)
    return state.seam


def cover(spelling: Spelling, templates: Sequence[Template]) -> tuple[Step, ...]:
    """Find the cheapest cover of the passage by one set of templates.

    Returns:
        Steps in order of time; every attack of the passage is in exactly one step that is not a
        deletion.

    >>> word = Spelling.of("abcdabcxd", "111111111", [True] + [False] * 8)
    >>> [s.op for s in cover(word, [Template(start=0, length=4)])]
    ['keep', 'keep', 'keep', 'keep', 'keep', 'keep', 'keep', 'insert', 'keep']
    """
    prices = _Prices(spelling, [templates])
    states = [_start(prices)]
    for attack in range(len(spelling)):
        states.append(_advance(states[-1], spelling, prices, attack))
    return _Trace(spelling, prices, states).steps()


class _Trace:
    """Walks back through the states of one set of templates, and gathers the steps."""

    def __init__(self, spelling: Spelling, prices: _Prices, states: Sequence[_State]) -> None:
        self._spelling = spelling
        self._prices = prices
        self._states = states
        self._steps: list[Step] = []

    def steps(self) -> tuple[Step, ...]:
        attack = len(self._states) - 1
        while attack > 0:
            attack = self._back_to_seam(attack)
        return tuple(reversed(self._steps))

    def _back_to_seam(self, attack: int) -> int:
        """Undo the pass or the other material that ended just after `attack` attacks."""
        state, prices = self._states[attack], self._prices
        held = np.minimum(state.matched, state.added)
        complete = held[prices.rows, prices.lengths - 1]
        endings = {
            "complete": float(complete.min()),
            "stopped": float(held.min()) + STOP,
            "other": float(state.other[0]) + OTHER_ENDS,
        }
        ending = min(endings, key=lambda name: endings[name])
        if ending == "other":
            return self._back_through_other(attack)
        if ending == "complete":
            row = int(np.argmin(complete))
            return self._back_through_pass(attack, row, int(prices.lengths[row]) - 1)
        row, place = divmod(int(np.argmin(held)), held.shape[1])
        return self._back_through_pass(attack, row, place)

    def _back_through_other(self, attack: int) -> int:
        while True:
            before = self._states[attack - 1]
            begins = bool(
                before.seam[0] + self._prices.other_next(attack - 1)
                <= before.other[0] + OTHER_GOES_ON
            )
            attack -= 1
            step = Step(attack=attack, place=-1, op="other", begins=begins, template=-1)
            self._steps.append(step)
            if begins:
                return attack

    def _back_through_pass(self, attack: int, row: int, place: int) -> int:
        layer = _cheaper(self._states[attack], row, place, ("matched", "added"))
        choice = float(self._prices.choice_bits[0])
        while True:
            if layer == "skipped":
                place, layer = self._back_over_skipped(attack, row, place)
                continue
            before = self._states[attack - 1]
            attack -= 1
            if layer == "added":
                self._steps.append(Step(attack=attack, place=place, op="insert", template=row))
                opened = _cheaper(before, row, place, ("matched", "skipped"))
                if (
                    getattr(before, opened)[row, place] + INSERT
                    <= before.added[row, place] + RUN_ON
                ):
                    layer = opened
                continue
            entry = float(self._prices.entry_at(attack)[row, place])
            entered = before.seam[0] + choice + self._prices.pass_next(attack) + entry
            layer = _cheaper(before, row, place - 1, ("matched", "skipped", "added"))
            begins = place == 0 or bool(entered <= getattr(before, layer)[row, place - 1])
            op = self._op(attack, row, place)
            step = Step(attack=attack, place=place, op=op, begins=begins, template=row)
            self._steps.append(step)
            if begins:
                return attack
            place -= 1

    def _back_over_skipped(self, attack: int, row: int, place: int) -> tuple[int, str]:
        """Undo a run of skipped places that ends at `place`."""
        state = self._states[attack]
        held = np.minimum(state.matched[row, :place], state.added[row, :place])
        source = int(np.argmin(held - self._prices.slope[:place]))
        self._steps.extend(
            Step(attack=attack, place=skipped, op="delete", template=row)
            for skipped in range(place, source, -1)
        )
        return source, _cheaper(state, row, source, ("matched", "added"))

    def _op(self, attack: int, row: int, place: int) -> Op:
        same_pitches = self._spelling.pitches[attack] == self._prices.pitches[row, place]
        same_value = same_values(self._prices.values[row, place], self._spelling.values[attack])
        if same_pitches:
            return "keep" if same_value else "value"
        return "pitches" if same_value else "both"


def _cheaper(state: _State, row: int, place: int, layers: Sequence[str]) -> str:
    return min(layers, key=lambda layer: float(getattr(state, layer)[row, place]))
