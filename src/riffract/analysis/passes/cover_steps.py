"""The steps of a cheapest cover: which attack stands for which place of which template.

The search (see `cover`) goes forward and keeps prices; the steps are read off backwards. Of a long
passage only some moments are kept, and what lies between is searched again.
"""

from collections.abc import Iterator, Sequence
from typing import Final

import numpy as np

from riffract.analysis.description import Ids, Spelling, same_values
from riffract.analysis.passes.cover import (
    INSERT,
    RUN_ON,
    STOP,
    CoverPrices,
    CoverStates,
    Op,
    Step,
    Template,
)

_STATE_CELLS: Final = 8_000_000
"""How many numbers of the search are kept at once, about 32 MB; the rest is searched again."""


def cover(spelling: Spelling, templates: Sequence[Template]) -> tuple[Step, ...]:
    """Find the cheapest cover of the passage by one set of templates.

    Returns:
        Steps in order of time; every attack of the passage is in exactly one step that is not a
        deletion.

    >>> word = Spelling.of("abcdabcxd", "111111111", [True] + [False] * 8)
    >>> [s.op for s in cover(word, [Template(start=0, length=4)])]
    ['keep', 'keep', 'keep', 'keep', 'keep', 'keep', 'keep', 'insert', 'keep']
    """
    (steps,) = covers(spelling, [templates])
    return steps


def covers(spelling: Spelling, sets: Sequence[Sequence[Template]]) -> tuple[tuple[Step, ...], ...]:
    """Find the cheapest cover by each of some sets of templates; as `cover`, set by set."""
    if not sets:
        return ()
    cells = sum(map(len, sets)) * max(t.length for one in sets for t in one)
    if len(sets) > 1 and 3 * cells * len(spelling) > _STATE_CELLS:
        return tuple(cover(spelling, one) for one in sets)
    prices = CoverPrices(spelling, sets)
    search = _Search(spelling, prices)
    return tuple(_Trace(spelling, prices, search, number).steps() for number in range(len(sets)))


def op_of_pair(spelling: Spelling, moved: Ids, attack: int, source: int) -> Op:
    """Say how an attack departs from the attack of the passage that its template holds there.

    Args:
        spelling: the passage.
        moved: the number of each kind of pitches at the level of the pass; see `Spelling.moved`.
        attack: the attack that is found.
        source: the attack that the template holds.

    >>> word = Spelling.of("abaca", "11121", [True] * 5)
    >>> [op_of_pair(word, np.arange(3), attack, 0) for attack in range(4)]
    ['keep', 'pitches', 'keep', 'both']
    """
    pitches, values = spelling.pitches, spelling.values
    has_value = bool(same_values(values[attack : attack + 1], values[source])[0])
    if pitches[attack] == moved[pitches[source]]:
        return "keep" if has_value else "value"
    return "pitches" if has_value else "both"


class _Search:
    """All states of a search, of which a block of moments is kept at a time."""

    def __init__(self, spelling: Spelling, prices: CoverPrices) -> None:
        self._spelling = spelling
        count = len(spelling)
        self._size = min(count, max(64, _STATE_CELLS // (3 * prices.pitches.size)))
        self._marks = CoverStates(prices, -(-count // self._size))
        self._block = CoverStates(prices, self._size + 1)
        self._first = 0
        for first in range(0, count, self._size):
            if first:
                _copy(self._block, self._size, self._marks, first // self._size)
            self._fill(first)

    def _fill(self, first: int) -> None:
        """Search from a mark to the end of its block."""
        if first or self._first:
            _copy(self._marks, first // self._size, self._block, 0)
        self._first = first
        for moment in range(min(self._size, len(self._spelling) - first)):
            self._block.advance(self._spelling, first + moment, moment, moment + 1)

    def at(self, moment: int) -> tuple[CoverStates, int]:
        """Give the states of the block that holds a moment, and where in it."""
        if not self._first <= moment <= self._first + self._size:
            self._fill(moment // self._size * self._size)
        return self._block, moment - self._first


def _copy(source: CoverStates, here: int, target: CoverStates, there: int) -> None:
    for own, other in zip(source.layers(), target.layers(), strict=True):
        other[there] = own[here]


class _Trace:
    """Walks back through the states of one set of templates, and gathers the steps.

    Rows are those of the batch; the steps count templates within their set.
    """

    def __init__(
        self, spelling: Spelling, prices: CoverPrices, search: _Search, number: int
    ) -> None:
        self._spelling = spelling
        self._prices = prices
        self._search = search
        self._set = number
        first = int(prices.first_rows[number])
        ends = [*prices.first_rows[1:].tolist(), len(prices.rows)]
        self._rows = slice(first, ends[number])
        self._steps: list[Step] = []

    def steps(self) -> tuple[Step, ...]:
        attack = len(self._spelling)
        while attack > 0:
            attack = self._back_to_seam(attack)
        return tuple(reversed(self._steps))

    def _step(self, attack: int, row: int, place: int, op: Op, *, begins: bool = False) -> None:
        template = row - self._rows.start
        self._steps.append(
            Step(attack=attack, place=place, op=op, begins=begins, template=template)
        )

    def _back_to_seam(self, attack: int) -> int:
        """Undo the pass or the other material that ended just after `attack` attacks."""
        prices = self._prices
        states, now = self._search.at(attack)
        held = np.minimum(states.matched[now, self._rows], states.added[now, self._rows])
        lengths = prices.lengths[self._rows]
        complete = held[np.arange(len(held)), lengths - 1]
        endings = {
            "complete": float(complete.min()),
            "stopped": float(held.min()) + STOP,
            "other": float(states.other[now, self._set]) + prices.other_ends,
        }
        ending = min(endings, key=lambda name: endings[name])
        if ending == "other":
            return self._back_through_other(attack)
        if ending == "complete":
            row = int(np.argmin(complete))
            return self._back_through_pass(attack, self._rows.start + row, int(lengths[row]) - 1)
        row, place = divmod(int(np.argmin(held)), held.shape[1])
        return self._back_through_pass(attack, self._rows.start + row, place)

    def _back_through_other(self, attack: int) -> int:
        while True:
            states, now = self._search.at(attack - 1)
            begins = bool(
                states.seam[now, self._set] + self._prices.other_next(attack - 1)
                <= states.other[now, self._set] + self._prices.other_goes_on
            )
            attack -= 1
            step = Step(attack=attack, place=-1, op="other", begins=begins, template=-1)
            self._steps.append(step)
            if begins:
                return attack

    def _back_through_pass(self, attack: int, row: int, place: int) -> int:
        layer = self._cheaper(attack, row, place, ("matched", "added"))
        while True:
            if layer == "skipped":
                place, layer = self._back_over_skipped(attack, row, place)
                continue
            attack -= 1
            if layer == "added":
                self._step(attack, row, place, "insert")
                opened = self._cheaper(attack, row, place, ("matched", "skipped"))
                run_on = self._price(attack, row, place, "added") + RUN_ON
                if self._price(attack, row, place, opened) + INSERT <= run_on:
                    layer = opened
                continue
            layer = self._cheaper(attack, row, place - 1, ("matched", "skipped", "added"))
            goes_on = self._price(attack, row, place - 1, layer)
            begins = place == 0 or self._entered(attack, row, place) <= goes_on
            self._step(attack, row, place, self._op(attack, row, place), begins=begins)
            if begins:
                return attack
            place -= 1

    def _entered(self, attack: int, row: int, place: int) -> float:
        """Price of a pass that begins at this attack, at this place."""
        states, now = self._search.at(attack)
        prices = self._prices
        entry = float(prices.entry_at(attack)[row, place])
        choice = float(prices.choice_bits[self._set])
        return float(states.seam[now, self._set]) + choice + prices.pass_next(attack) + entry

    def _back_over_skipped(self, attack: int, row: int, place: int) -> tuple[int, str]:
        """Undo a run of skipped places that ends at `place`."""
        states, now = self._search.at(attack)
        held = np.minimum(states.matched[now, row, :place], states.added[now, row, :place])
        source = int(np.argmin(held - self._prices.slope[:place]))
        for skipped in range(place, source, -1):
            self._step(attack, row, skipped, "delete")
        return source, self._cheaper(attack, row, source, ("matched", "added"))

    def _price(self, moment: int, row: int, place: int, layer: str) -> float:
        states, now = self._search.at(moment)
        return float(getattr(states, layer)[now, row, place])

    def _cheaper(self, moment: int, row: int, place: int, layers: Sequence[str]) -> str:
        states, now = self._search.at(moment)
        prices = [getattr(states, layer)[now, row, place] for layer in layers]
        return layers[prices.index(min(prices))]

    def _op(self, attack: int, row: int, place: int) -> Op:
        same_pitches = self._spelling.pitches[attack] == self._prices.pitches[row, place]
        same_value = same_values(self._prices.values[row, place], self._spelling.values[attack])
        if same_pitches:
            return "keep" if same_value else "value"
        return "pitches" if same_value else "both"


def runs_of(steps: Sequence[Step]) -> Iterator[list[Step]]:
    """Split steps into passes and stretches of other material."""
    run: list[Step] = []
    for step in steps:
        if step.begins and run:
            yield run
            run = []
        run.append(step)
    if run:
        yield run
