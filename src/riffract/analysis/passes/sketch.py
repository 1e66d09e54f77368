"""What a riff or some riffs would save, quickly and nearly.

A cover (see `cover`) is exact and slow. A sketch looks only at statements without added or missing
attacks, whole ones and those of which the beginning or the end is left; it prices thousands of sets
of templates in the time of a few covers, and says which ones are worth covering with.
"""

from collections.abc import Callable, Iterable, Sequence
from typing import Any, Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from riffract.analysis.description import Ids, Spelling, same_values
from riffract.analysis.passes.cover import (
    A_SEMITONE_OFF,
    KEEP,
    KEEP_MOVED,
    NEW_BOTH,
    NEW_PITCHES,
    NEW_VALUE,
    OTHER_OFF_BAR_LINE,
    OTHER_ON_BAR_LINE,
    PASS_OFF_BAR_LINE,
    PASS_ON_BAR_LINE,
    Template,
    moved_tables,
    other_bits,
)
from riffract.analysis.passes.template_prices import all_tokens

Gains = NDArray[np.float32]

_BREAK_BITS: Final = 4.0
"""A pass that an added or missing attack breaks costs about this for each half; a real truncation
costs more, which is for the cover to say."""
_LEAST_GAIN_BITS: Final = 3.0
"""What a statement must save to be listed, eight to one: a few attacks agree everywhere, and each
statement listed has to be carried along."""
_ATTACKS_AT_ONCE: Final = 4096
"""Attacks of a block. Passages that fit into one keep what they looked up; longer ones would need
too much memory for that."""
_CELLS_AT_ONCE: Final = 200_000
"""Templates times attacks looked up together: their sums and places take about 6 MB."""
_NEVER: Final = np.float32(-1e6)


class _Statements(NamedTuple):
    """Where a template may be stated: from, up to, and the bits saved, by start."""

    starts: Ids
    ends: Ids
    gains: Gains


class Sketch:
    """Prices sets of templates for one passage, and remembers where each template is stated."""

    def __init__(self, spelling: Spelling) -> None:
        self._spelling = spelling
        self._statements_of: dict[Template, _Statements] = {}
        kinds, self._attack_of, self._tokens = np.unique(
            all_tokens(spelling), return_index=True, return_inverse=True
        )
        self._kinds = len(kinds)
        self._moves: dict[tuple[int, bool], int] = {(0, False): 0}
        self._tables: dict[int, tuple[Ids, Ids, Ids]] = {}
        self._rows_of: dict[int, Gains] = {}
        on_bar = spelling.on_bar_line
        self._pass_next = np.where(on_bar, PASS_ON_BAR_LINE, PASS_OFF_BAR_LINE).astype(np.float32)
        self._other_next = np.where(on_bar, OTHER_ON_BAR_LINE, OTHER_OFF_BAR_LINE).tolist()

    def savings(self, sets: Sequence[Sequence[Template]]) -> Gains:
        """Bits that each set saves, without its own price. Shape: (sets,)."""
        templates = dict.fromkeys(t for one in sets for t in one)
        self._look_up([t for t in templates if t not in self._statements_of])
        rows, starts, ends, gains = self._events(sets)
        order = np.argsort(starts, kind="stable")
        rows, starts, ends, gains = rows[order], starts[order], ends[order], gains[order]
        edges = np.searchsorted(starts, np.arange(len(self._spelling) + 1))
        return self._best_row(len(sets), rows, ends, gains, edges.tolist())

    def _events(self, sets: Sequence[Sequence[Template]]) -> tuple[Ids, Ids, Ids, Gains]:
        """List all statements of all sets: row, start, end, and gain with the price of the seam."""
        found = [(row, self._statements_of[t]) for row, one in enumerate(sets) for t in one]
        counts = [len(s.starts) for _, s in found]
        rows = np.repeat([row for row, _ in found], counts).astype(np.int64)
        starts = np.concatenate([s.starts for _, s in found])
        ends = np.concatenate([s.ends for _, s in found])
        choice = np.log2([len(one) for one in sets]).astype(np.float32)
        gains = np.concatenate([s.gains for _, s in found]) - choice[rows]
        keep = gains > 0.0
        return rows[keep], starts[keep], ends[keep], gains[keep]

    def _best_row(
        self, sets: int, rows: Ids, ends: Ids, gains: Gains, edges: Sequence[int]
    ) -> Gains:
        """Choose, set by set, the statements in a row that save most."""
        count = len(self._spelling)
        seam = np.full((count + 1, sets), _NEVER, dtype=np.float32)
        seam[0] = 0.0
        other = np.full(sets, _NEVER, dtype=np.float32)
        opened = np.empty(sets, dtype=np.float32)
        goes_on, ends_at = other_bits(count)
        for attack in range(count):
            here = seam[attack]
            first, last = edges[attack], edges[attack + 1]
            if first < last:
                own = rows[first:last]
                places = ends[first:last] * sets + own
                np.maximum.at(seam.reshape(-1), places, here[own] + gains[first:last])
            np.subtract(here, np.float32(self._other_next[attack]), out=opened)
            other -= np.float32(goes_on)
            np.maximum(other, opened, out=other)
            np.maximum(seam[attack + 1], other - np.float32(ends_at), out=seam[attack + 1])
        return np.asarray(seam[count])

    def _look_up(self, templates: Iterable[Template]) -> None:
        """Find where templates are stated, some of them and some attacks at a time."""
        ordered = sorted(templates, key=lambda t: -t.length)
        width = min(_ATTACKS_AT_ONCE, len(self._spelling))
        size = max(_CELLS_AT_ONCE // width, 1)
        for first in range(0, len(ordered), size):
            self._look_up_some(ordered[first : first + size])

    def _look_up_some(self, templates: Sequence[Template]) -> None:
        """Find where templates are stated; the longest comes first."""
        lengths = np.array([t.length for t in templates], dtype=np.int64)
        longest = int(lengths[0])
        codes = np.zeros((len(templates), longest), dtype=np.int64)
        for row, template in enumerate(templates):
            codes[row, : template.length] = self._codes(template)
        distinct, index = np.unique(codes, return_inverse=True)
        index = index.reshape(codes.shape)
        parts: list[list[_Statements]] = [[] for _ in templates]
        for first in range(0, len(self._spelling), _ATTACKS_AT_ONCE):
            end = first + min(_ATTACKS_AT_ONCE, len(self._spelling) - first) + longest - 1
            gain = self._gains(distinct, first, end)
            for row, statements in enumerate(self._block(first, lengths, index, gain)):
                parts[row].append(statements)
        for template, own in zip(templates, parts, strict=True):
            self._statements_of[template] = _Statements(
                *(np.concatenate(columns) for columns in zip(*own, strict=True))
            )

    def _codes(self, template: Template) -> Ids:
        """Number the places of a template, so that places which match alike have one number."""
        move = (template.semitones, template.keeps_anchor and template.semitones != 0)
        number = self._moves.setdefault(move, len(self._moves))
        end = template.start + template.length
        return self._tokens[template.start : end] + number * self._kinds

    def _gains(self, codes: Ids, first: int, end: int) -> Gains:
        """Bits saved where attacks stand for places. Shape: (codes, end - first)."""
        count = min(end, len(self._spelling)) - first
        rows = np.empty((len(codes), end - first), dtype=np.float32)
        rows[:, count:] = _NEVER
        is_small = len(self._spelling) <= _ATTACKS_AT_ONCE
        known = self._rows_of if is_small else {}
        new = [code for code in codes.tolist() if code not in known]
        if new:
            places = np.array([self._place(code) for code in new], dtype=np.int64).T
            known.update(zip(new, self._gain(places, slice(first, first + count)), strict=True))
        for row, code in enumerate(codes.tolist()):
            rows[row, :count] = known[code]
        return rows

    def _place(self, code: int) -> tuple[int, int, int, int, int]:
        """Give pitches, the same a semitone lower and higher, a value, and whether it is moved."""
        number, token = divmod(code, self._kinds)
        attack = int(self._attack_of[token])
        home, value = int(self._spelling.pitches[attack]), int(self._spelling.values[attack])
        semitones, keeps = tuple(self._moves)[number]
        if not semitones:
            return home, home, home, value, 0
        if number not in self._tables:
            example = Template(0, 1, semitones=semitones, keeps_anchor=keeps)
            self._tables[number] = moved_tables(self._spelling, example)
        moved, lower, higher = (int(table[home]) for table in self._tables[number])
        return moved, lower, higher, value, 1

    def _block(self, first: int, lengths: Ids, index: Ids, gain: Gains) -> list[_Statements]:
        """Find the statements that start in a block of attacks, template by template."""
        width = gain.shape[1] - int(lengths[0]) + 1
        summed = np.zeros((len(index), width), dtype=np.float32)
        most, least = np.full_like(summed, _NEVER), np.zeros_like(summed)
        most_at = np.zeros(summed.shape, dtype=np.int64)
        least_at = np.zeros(summed.shape, dtype=np.int64)
        for place in range(int(lengths[0])):
            # Rows stand longest first, so those that go on are the first ones.
            here, beyond = np.searchsorted(-lengths, [-place, -place - 1])
            own = summed[:here]
            own += gain[index[:here, place], place : place + width]
            _keep_better(own, most[:here], most_at[:here], place + 1, np.greater)
            _keep_better(own[:beyond], least[:beyond], least_at[:beyond], place + 1, np.less)
        seams = self._pass_next[first : first + width]
        whole = summed - seams
        head = most - (seams + np.float32(_BREAK_BITS))
        tail = summed - least - np.float32(_BREAK_BITS)
        starts, ends = np.arange(width), np.arange(width) + lengths[:, None]
        is_head = (head > _LEAST_GAIN_BITS) & (most_at < lengths[:, None]) & (head > whole)
        is_tail = (tail > _LEAST_GAIN_BITS) & (least_at > 0) & (tail > whole)
        starts = np.broadcast_to(starts, summed.shape)
        kinds = (
            (whole > _LEAST_GAIN_BITS, starts, ends, whole),
            (is_head, starts, starts + most_at, head),
            (is_tail, starts + least_at, ends, tail),
        )
        return [_statements(kinds, row, first) for row in range(len(index))]

    def _gain(self, places: Ids, inside: slice) -> Gains:
        """Bits saved where attacks stand for distinct places. Shape: (places, attacks)."""
        spelling = self._spelling
        own, values = spelling.pitches[inside], spelling.values[inside]
        pitch_bits = spelling.pitch_bits[inside].astype(np.float32)
        value_bits = spelling.value_bits[inside].astype(np.float32)
        pitch, lower, higher, value, moved = (column[:, None] for column in places)
        same_pitch, same_value = own == pitch, same_values(value, values)
        is_near = ((own == lower) | (own == higher)) & same_value & (moved > 0) & ~same_pitch
        kept = np.where(moved > 0, KEEP_MOVED, KEEP).astype(np.float32)
        gain = np.where(
            same_pitch,
            pitch_bits + np.where(same_value, value_bits - kept, np.float32(-NEW_VALUE)),
            np.where(same_value, value_bits - np.float32(NEW_PITCHES), np.float32(-NEW_BOTH)),
        )
        near = pitch_bits + value_bits - np.float32(A_SEMITONE_OFF)
        return np.asarray(np.where(is_near, near, gain), dtype=np.float32)


def _keep_better(
    own: Gains, best: Gains, best_at: Ids, place: int, is_better: Callable[..., Any]
) -> None:
    better = is_better(own, best)
    np.copyto(best, own, where=better)
    np.copyto(best_at, place, where=better)


def _statements(
    kinds: Sequence[tuple[NDArray[np.bool_], Ids, Ids, Gains]], row: int, first: int
) -> _Statements:
    """Gather the statements of one template: which there are, their starts, ends and gains."""
    starts = np.concatenate([starts[row][which[row]] for which, starts, _, _ in kinds])
    ends = np.concatenate([ends[row][which[row]] for which, _, ends, _ in kinds])
    gains = np.concatenate([gains[row][which[row]] for which, _, _, gains in kinds])
    return _Statements(starts + first, ends + first, gains)
