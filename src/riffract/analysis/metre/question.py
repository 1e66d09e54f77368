"""Which bars are asked for their grouping, in which pulse, and which strokes count as stressed."""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import cached_property
from math import lcm
from typing import Final

import numpy as np
from numpy.typing import NDArray

from riffract.analysis.attacks import Attack, anchor_notes
from riffract.analysis.description import numbered
from riffract.analysis.metre.grouping import (
    PLAIN_STROKE,
    SMALL_GROUPS,
    STRESSED_STROKE,
    Candidates,
    Grouping,
    Strokes,
    grouping_bits,
    groupings_of,
    saved_bits,
    saving_of,
)
from riffract.analysis.reordering import Reordering
from riffract.analysis.saying import say
from riffract.music import Bar, Metre, Passage, Technique
from riffract.music.notes import Ints

MOST_PULSES: Final = 24
"""Longer bars have thousands of groupings, of which some fit any strokes."""

ON_PULSE_SHARE: Final = 0.9
"""Where so many attacks fall on eighths, eighths are grouped; else sixteenths."""

LONG_TIMES: Final = 1.5
"""An attack that is held so many times the mean is heard as long."""

COMMON_SHARE: Final = 0.5
"""What more than half of the attacks have stresses none of them."""

LONGEST_ROW: Final = 4_000
"""Attacks that are asked; no more are needed, since bars that are alike count once."""

_LONG_VALUE_UNIT: Final = 8
"""From eighths on, a metre is counted in its own unit: 7/8 is seven eighths. One in quarters or
longer values is felt in eighths or sixteenths, whichever the attacks fall on."""
_SIXTEENTH: Final = Fraction(1, 4)


@dataclass(frozen=True, kw_only=True, eq=False)
class GroupingQuestion:
    """The strokes of a passage, and the groupings that they are asked for.

    Attributes:
        metre: of the bars that are asked.
        bars: all bars of that metre, those too whose rhythm another one has.
        pulse_quarters: what is grouped.
        strokes: the strokes.
        candidates: the possible groupings.
    """

    metre: Metre
    bars: tuple[Bar, ...]
    pulse_quarters: Fraction
    strokes: Strokes
    candidates: Candidates

    @cached_property
    def bits(self) -> NDArray[np.float64]:
        """What the bars cost by each grouping; last without one. Shape: (groupings + 1,)."""
        return np.asarray(grouping_bits(self.strokes.as_they_are()[None], self.candidates)[0])

    @property
    def saves_bits(self) -> bool:
        """Whether any grouping tells the strokes in fewer bits than none does."""
        return bool(self.bits[:-1].min() < self.bits[-1])

    @property
    def is_stated(self) -> bool:
        """Whether the metre says how it is grouped, beyond what every such metre is."""
        return len(self.metre.groups) > 1

    def reorderings(self) -> tuple[Reordering, ...]:
        """Ask for the best grouping, were the values in another order.

        Where a riff chugs, values dealt out one by one lose its texture, so runs are kept as well.
        """
        items = numbered(
            zip(self.strokes.values.tolist(), self.strokes.kinds.tolist(), strict=True)
        )
        return tuple(
            Reordering(
                items=items,
                attacks=np.arange(len(items)),
                statistic=saving_of(self.strokes, self.candidates),
                kept=say(kept),
                one_note_weighs=self.one_stroke_weighs,
                keeps_runs=keeps_runs,
            )
            for kept, keeps_runs in (
                ("values and stresses kept, their order changed", False),
                ("runs of equal values and stresses kept, their order changed", True),
            )
        )

    @property
    def one_stroke_weighs(self) -> float:
        """The most that leaving out one stroke takes from the best grouping, in bits."""
        counts = self.strokes.as_they_are()
        cells = np.argwhere(counts[:, 1:] > 0)
        without = np.repeat(counts[None], len(cells), axis=0)
        for row, (pulse, kind) in enumerate(cells.tolist()):
            without[row, pulse, kind + 1] -= 1
            without[row, pulse, 0] += 1
        if not len(cells):
            return 0.0
        bits = grouping_bits(without, self.candidates)
        left = np.maximum(bits[:, -1] - bits[:, :-1].min(axis=1), 0.0)
        whole = saved_bits(self.strokes, self.candidates, np.arange(len(self.strokes.values))[None])
        return float(whole[0] - left.min())


def question_of(passage: Passage, attacks: Sequence[Attack]) -> GroupingQuestion | None:
    """Choose what to ask: the metre that fills most of the time, and the pulse that its bars show.

    Returns:
        `None` if no full bar holds an attack, or if the metre can be grouped in one way only, or
        in too many.
    """
    row = attacks[:LONGEST_ROW]
    metre = _main_metre(passage, row)
    if metre is None:
        return None
    pulse = _pulse(passage, row, metre)
    written = _written(metre, pulse)
    candidates = Candidates(groupings=_possible(metre, pulse, written), written=written)
    if len(candidates.groupings) < 2:
        return None
    bars = tuple(bar for bar in passage.bars if _is_full(bar) and bar.metre == metre)
    strokes = _strokes(passage, row, bars, pulse)
    if not strokes.is_asked.any():
        return None
    return GroupingQuestion(
        metre=metre,
        bars=bars,
        pulse_quarters=pulse,
        strokes=strokes,
        candidates=candidates,
    )


def stressed(passage: Passage, attacks: Sequence[Attack]) -> NDArray[np.bool_]:
    """Mark the attacks that stand out: accented, long, low, undamped among damped ones, or chords.

    What more than half of the attacks have makes none of them stand out; so a chord does among
    single notes only. The lowest open string stands out unless it is damped: damped strokes of it
    fill the time between others. Shape: (attacks,).
    """
    notes = passage.notes
    accented = notes.has(Technique.ACCENT)
    damped = notes.has(Technique.PALM_MUTE)
    anchors = anchor_notes(passage)
    low = {i for i in anchors if not damped[i]} or anchors
    values = np.array([float(a.value_quarters) for a in attacks])
    # How long the last attack is left to sound says nothing.
    values[-1:] = 0.0
    signs = (
        np.array([bool(accented[list(a.notes)].any()) for a in attacks], dtype=np.bool_),
        np.array([not low.isdisjoint(a.notes) for a in attacks], dtype=np.bool_),
        np.array([not damped[list(a.notes)].any() for a in attacks], dtype=np.bool_),
        np.array([len(a.notes) > 1 for a in attacks], dtype=np.bool_),
        values >= LONG_TIMES * values.mean() if len(attacks) else np.zeros(0, dtype=np.bool_),
    )
    stands_out = np.zeros(len(attacks), dtype=np.bool_)
    for sign in signs:
        if sign.sum() <= COMMON_SHARE * len(attacks):
            stands_out |= sign
    return stands_out


def _is_full(bar: Bar) -> bool:
    return not bar.is_free and bar.length_quarters == bar.metre.length_quarters


def _main_metre(passage: Passage, attacks: Sequence[Attack]) -> Metre | None:
    struck = {passage.bar_at(attack.onset_quarters).number for attack in attacks}
    time: defaultdict[Metre, Fraction] = defaultdict(Fraction)
    for bar in passage.bars:
        if bar.number in struck and _is_full(bar):
            time[bar.metre] += bar.length_quarters
    return max(time, key=lambda metre: time[metre], default=None)


def _pulse(passage: Passage, attacks: Sequence[Attack], metre: Metre) -> Fraction:
    if metre.unit >= _LONG_VALUE_UNIT:
        return metre.unit_quarters
    eighth = 2 * _SIXTEENTH
    on = [
        (a.onset_quarters - passage.bar_at(a.onset_quarters).start_quarters) % eighth == 0
        for a in attacks
    ]
    return eighth if sum(on) >= ON_PULSE_SHARE * len(on) else _SIXTEENTH


def _written(metre: Metre, pulse: Fraction) -> Grouping | None:
    if len(metre.beats) == metre.units and metre.unit_quarters == pulse:
        return None
    times = int(metre.unit_quarters / pulse)
    return tuple(beat * times for beat in metre.beats)


def _possible(metre: Metre, pulse: Fraction, written: Grouping | None) -> tuple[Grouping, ...]:
    pulses = int(metre.length_quarters / pulse)
    if pulses > MOST_PULSES:
        return ()
    # Sixteenths of a quarter are felt as four as well as two and two.
    sizes = SMALL_GROUPS if metre.unit >= _LONG_VALUE_UNIT or pulse > _SIXTEENTH else (2, 3, 4)
    found = groupings_of(pulses, sizes)
    return found if written is None or written in found else (*found, written)


def _strokes(
    passage: Passage, attacks: Sequence[Attack], bars: Sequence[Bar], pulse: Fraction
) -> Strokes:
    times = [*(bar.start_quarters for bar in passage.bars), pulse]
    resolution = lcm(passage.notes.ticks_per_quarter, *{t.denominator for t in times})
    onsets = [int(a.onset_quarters * resolution) for a in attacks]
    strokes = Strokes(
        values=np.array([int(a.value_quarters * resolution) for a in attacks], dtype=np.int64),
        kinds=np.where(stressed(passage, attacks), STRESSED_STROKE, PLAIN_STROKE),
        first_tick=onsets[0],
        bar_starts=_ticks([bar.start_quarters for bar in passage.bars], resolution),
        is_asked=np.zeros(len(passage.bars), dtype=np.bool_),
        pulse_ticks=int(pulse * resolution),
        pulses=int(bars[0].length_quarters / pulse) if bars else 1,
    )
    strokes.is_asked[_first_of_each_rhythm(strokes, onsets, [bar.number - 1 for bar in bars])] = (
        True
    )
    return strokes


def _ticks(times: Sequence[Fraction], resolution: int) -> Ints:
    return np.array([int(t * resolution) for t in times], dtype=np.int64)


def _first_of_each_rhythm(
    strokes: Strokes, onsets: Sequence[int], bars: Sequence[int]
) -> list[int]:
    """The bars with strokes, but of those that hold the same the first only."""
    held: dict[int, list[tuple[int, int]]] = {}
    bar_of = (np.searchsorted(strokes.bar_starts, onsets, side="right") - 1).tolist()
    starts = strokes.bar_starts.tolist()
    for bar, onset, kind in zip(bar_of, onsets, strokes.kinds.tolist(), strict=True):
        held.setdefault(bar, []).append((onset - starts[bar], kind))
    first: dict[tuple[tuple[int, int], ...], int] = {}
    for bar in bars:
        if bar in held:
            first.setdefault(tuple(held[bar]), bar)
    return list(first.values())
