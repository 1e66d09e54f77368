"""Covering a passage by statements of one template, in as few bits as possible.

The code, in bits. An attack spelled out costs the surprise of its pitches and of its value,
`-log2` of their shares in the passage. A description pays for the choice of the template, for the
template spelled out once, and then for each statement only its departures: keeping an attack is
cheap, every departure costs a fixed price and what it spells out, and a run of missing or added
attacks is cheaper than its members one by one. A statement that starts on a bar line is cheaper
than one that does not. Because every price is a probability's logarithm, a passage of independent
attacks is shortened by k bits with probability at most 2^-k.

Sources: Rissanen, Automatica 14 (1978), 465-471 (description length); Grünwald, The Minimum
Description Length Principle (2007), on the no-hypercompression inequality; Krichevsky & Trofimov,
IEEE Trans. Inf. Theory 27 (1981), 199-207 (the chain's estimator). All from memory. The prices
are ours.
"""

from collections.abc import Hashable, Iterable, Sequence
from dataclasses import dataclass
from math import log2
from typing import Final, Literal

import numpy as np
from numpy.typing import NDArray

Bits = NDArray[np.float32]
Ids = NDArray[np.int64]

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

ANY_VALUE: Final = -1

_SHORTEST_TEMPLATE: Final = 2
_LONGEST_LAG: Final = 4096
_CELLS_AT_ONCE: Final = 24_000
_LAGS_TRIED: Final = 8
_LAGS_TRIED_CLOSELY: Final = 2
_TELLING_RUN_BITS: Final = 10.0
_HOPELESS_BITS: Final = 30.0
_CLOSE_LOOK_CELLS: Final = 40_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Spelling:
    """Attacks as numbers, with the price of spelling each one out.

    Attributes:
        pitches, values: equal numbers mean equal pitches, equal values; the last value is
            `ANY_VALUE`, since how long the last attack is left to sound says nothing about the
            riff. Shape: (attacks,).
        pitch_bits, value_bits: price of each. Shape: (attacks,).
        on_bar_line: attacks that start a bar. Shape: (attacks,).
    """

    pitches: Ids
    values: Ids
    pitch_bits: NDArray[np.float64]
    value_bits: NDArray[np.float64]
    on_bar_line: NDArray[np.bool_]

    @classmethod
    def of(
        cls,
        pitches: Iterable[Hashable],
        values: Iterable[Hashable],
        on_bar_line: Sequence[bool],
    ) -> "Spelling":
        """Spell out attacks: what is struck, how long until the next one, and where bars start."""
        pitch_ids, value_ids = numbered(pitches), numbered(values)
        value_bits = surprise_bits(value_ids)
        value_ids[-1:], value_bits[-1:] = ANY_VALUE, 0.0
        return cls(
            pitches=pitch_ids,
            values=value_ids,
            pitch_bits=surprise_bits(pitch_ids),
            value_bits=value_bits,
            on_bar_line=np.array(on_bar_line, dtype=np.bool_),
        )

    def __len__(self) -> int:
        return len(self.pitches)

    @property
    def bits(self) -> NDArray[np.float64]:
        """Price of each attack. Shape: (attacks,)."""
        return np.add(self.pitch_bits, self.value_bits)


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
    """

    attack: int
    place: int
    op: Op
    begins: bool = False


def numbered(things: Iterable[Hashable]) -> Ids:
    """Give equal things equal numbers, from 0 in order of first appearance.

    >>> numbered("riff").tolist()
    [0, 1, 2, 2]
    """
    numbers: dict[Hashable, int] = {}
    return np.array([numbers.setdefault(thing, len(numbers)) for thing in things], dtype=np.int64)


def surprise_bits(numbers: Ids) -> NDArray[np.float64]:
    """Price each item by its share of all: `-log2(share)`. Shape: as given.

    >>> surprise_bits(numbered("aabc")).tolist()
    [1.0, 1.0, 2.0, 2.0]
    """
    counts = np.bincount(numbers)
    return np.asarray(-np.log2(counts[numbers] / len(numbers)) + 0.0, dtype=np.float64)


def same_values(these: Ids, those: Ids | np.int64) -> NDArray[np.bool_]:
    """Compare values number by number; `ANY_VALUE` equals all. Shape: as given."""
    return np.asarray((these == those) | (these == ANY_VALUE) | (those == ANY_VALUE))


def plain_description_bits(spelling: Spelling) -> float:
    """Price the passage without any template: attack by attack, or as a first-order chain.

    Definition: the chain codes an attack that followed the last one n times out of m with
    probability (n + 1/2) / (m + K/2), K being the number of different attacks. The cheaper of
    the two counts, so that a mere habit of succession is not called a repeat.
    """
    tokens = numbered(zip(spelling.pitches.tolist(), spelling.values.tolist(), strict=True))
    kinds = int(tokens.max()) + 1
    pairs: dict[tuple[int, int], int] = {}
    starts: dict[int, int] = {}
    chain_bits = log2(kinds)
    for here, following in zip(tokens[:-1].tolist(), tokens[1:].tolist(), strict=True):
        seen, total = pairs.get((here, following), 0), starts.get(here, 0)
        chain_bits -= log2((seen + 0.5) / (total + kinds / 2))
        pairs[here, following] = seen + 1
        starts[here] = total + 1
    return min(float(spelling.bits.sum()), chain_bits)


def rank_templates(spelling: Spelling, plain_bits: float) -> list[tuple[Template, float]]:
    """Find stretches that may be the riff, and price the best cover by each.

    Their lengths are the distances at which the passage best resembles itself. At first they
    start on bar lines and where a resemblance starts; for the best lengths, anywhere. None ends
    with the last attack, whose value is not known.

    Args:
        spelling: the passage.
        plain_bits: its price without a template; lengths that come nowhere near are dropped.

    Returns:
        Templates with their prices, cheapest first, then the earlier start.
    """
    lags = _lags(spelling)
    coarse = {
        Template(start=start, length=lag): None
        for lag in lags
        for start in _likely_starts(spelling, lag)
        if start + lag < len(spelling)
    }
    ranked = _priced(spelling, tuple(coarse))
    near = [t.length for t, bits in ranked if bits < plain_bits + _HOPELESS_BITS]
    close = {
        Template(start=start, length=lag): None
        for lag in list(dict.fromkeys(near))[:_LAGS_TRIED_CLOSELY]
        for start in range(min(_CLOSE_LOOK_CELLS // lag, 2 * lag, len(spelling) - lag))
    }
    ranked += _priced(spelling, tuple(t for t in close if t not in coarse))
    return sorted(ranked, key=lambda pair: (round(pair[1], 3), pair[0].start, pair[0].length))


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


def _priced(spelling: Spelling, templates: Sequence[Template]) -> list[tuple[Template, float]]:
    priced: list[tuple[Template, float]] = []
    for batch in _batches(sorted(templates, key=lambda t: t.length)):
        cheapest = _cheapest_covers(spelling, batch)
        priced += [
            (template, _template_bits(spelling, template) + float(bits))
            for template, bits in zip(batch, cheapest, strict=True)
        ]
    return priced


def _batches(templates: Sequence[Template]) -> Iterable[list[Template]]:
    batch: list[Template] = []
    for template in templates:
        if batch and (len(batch) + 1) * template.length > _CELLS_AT_ONCE:
            yield batch
            batch = []
        batch.append(template)
    if batch:
        yield batch


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


class _Prices:
    """Prices of a batch of templates against the attacks of the passage.

    Shape of the arrays: (templates, places), padded beyond a template's end with infinity.
    """

    def __init__(self, spelling: Spelling, templates: Sequence[Template]) -> None:
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
        other: the last attack is other material. Shape: (templates,).
        seam: a pass or other material has just ended. Shape: (templates,).
    """

    matched: Bits
    added: Bits
    skipped: Bits
    other: Bits
    seam: Bits


def _start(prices: _Prices) -> _State:
    nowhere = np.full(prices.pitches.shape, np.inf, dtype=np.float32)
    nothing = np.full(len(prices.lengths), np.inf, dtype=np.float32)
    return _State(
        matched=nowhere,
        added=nowhere,
        skipped=nowhere,
        other=nothing,
        seam=np.zeros(len(prices.lengths), dtype=np.float32),
    )


def _advance(state: _State, spelling: Spelling, prices: _Prices, attack: int) -> _State:
    """Take in one more attack of the passage."""
    literal = np.float32(spelling.bits[attack])
    begin = state.seam + np.float32(prices.pass_next(attack))
    matched = prices.entry_at(attack) + begin[:, None]
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
    seam = np.minimum(np.minimum(complete, stopped), other + np.float32(OTHER_ENDS))
    return _State(matched=matched, added=added, skipped=skipped, other=other, seam=seam)


def _cheapest_covers(spelling: Spelling, templates: Sequence[Template]) -> Bits:
    """Price of the cheapest cover by each template. Shape: (templates,)."""
    prices = _Prices(spelling, templates)
    state = _start(prices)
    for attack in range(len(spelling)):
        state = _advance(state, spelling, prices, attack)
    return state.seam


def cover(spelling: Spelling, template: Template) -> tuple[Step, ...]:
    """Find the cheapest cover of the passage by one template.

    Returns:
        Steps in order of time; every attack of the passage is in exactly one step that is not a
        deletion.

    >>> word = Spelling.of("abcdabcxd", "111111111", [True] + [False] * 8)
    >>> [s.op for s in cover(word, Template(start=0, length=4))]
    ['keep', 'keep', 'keep', 'keep', 'keep', 'keep', 'keep', 'insert', 'keep']
    """
    prices = _Prices(spelling, [template])
    states = [_start(prices)]
    for attack in range(len(spelling)):
        states.append(_advance(states[-1], spelling, prices, attack))
    return _Trace(spelling, prices, states).steps()


class _Trace:
    """Walks back through the states of one template, and gathers the steps."""

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
        state = self._states[attack]
        held = np.minimum(state.matched[0], state.added[0])
        last = int(self._prices.lengths[0]) - 1
        endings = [held[last], held.min() + STOP, state.other[0] + OTHER_ENDS]
        ending = int(np.argmin(endings))
        if ending == 2:
            return self._back_through_other(attack)
        return self._back_through_pass(attack, last if ending == 0 else int(np.argmin(held)))

    def _back_through_other(self, attack: int) -> int:
        while True:
            before = self._states[attack - 1]
            begins = bool(
                before.seam[0] + self._prices.other_next(attack - 1)
                <= before.other[0] + OTHER_GOES_ON
            )
            attack -= 1
            self._steps.append(Step(attack=attack, place=-1, op="other", begins=begins))
            if begins:
                return attack

    def _back_through_pass(self, attack: int, place: int) -> int:
        layer = _cheaper(self._states[attack], place, ("matched", "added"))
        while True:
            if layer == "skipped":
                place, layer = self._back_over_skipped(attack, place)
                continue
            before = self._states[attack - 1]
            attack -= 1
            if layer == "added":
                self._steps.append(Step(attack=attack, place=place, op="insert"))
                opened = _cheaper(before, place, ("matched", "skipped"))
                if getattr(before, opened)[0, place] + INSERT <= before.added[0, place] + RUN_ON:
                    layer = opened
                continue
            entry = self._prices.entry_at(attack)[0, place]
            entered = before.seam[0] + self._prices.pass_next(attack) + entry
            layer = _cheaper(before, place - 1, ("matched", "skipped", "added"))
            begins = place == 0 or bool(entered <= getattr(before, layer)[0, place - 1])
            op = self._op(attack, place)
            self._steps.append(Step(attack=attack, place=place, op=op, begins=begins))
            if begins:
                return attack
            place -= 1

    def _back_over_skipped(self, attack: int, place: int) -> tuple[int, str]:
        """Undo a run of skipped places that ends at `place`."""
        state = self._states[attack]
        held = np.minimum(state.matched[0, :place], state.added[0, :place])
        source = int(np.argmin(held - self._prices.slope[:place]))
        self._steps.extend(
            Step(attack=attack, place=skipped, op="delete") for skipped in range(place, source, -1)
        )
        return source, _cheaper(state, source, ("matched", "added"))

    def _op(self, attack: int, place: int) -> Op:
        same_pitches = self._spelling.pitches[attack] == self._prices.pitches[0, place]
        same_value = same_values(self._prices.values[0, place], self._spelling.values[attack])
        if same_pitches:
            return "keep" if same_value else "value"
        return "pitches" if same_value else "both"


def _cheaper(state: _State, place: int, layers: Sequence[str]) -> str:
    return min(layers, key=lambda layer: float(getattr(state, layer)[0, place]))
