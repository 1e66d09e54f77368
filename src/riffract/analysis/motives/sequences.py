"""Sequences: a figure stated three times or more in a row, each as far from the one before.

Definition: with the line's notes counted in steps of a scale, s(i), and their times to the next
note, v(i), a figure of f notes goes on in sequence from note i on as long as s(i + f) - s(i) is the
same and not nought, and v(i + f) = v(i). What so goes on over f notes twice is three statements.
Steps are counted in the scales that hold the line, and in semitones, so that a diatonic sequence,
whose semitones differ from statement to statement, is as exact as one moved by one interval.

An interval that comes back as the sequence has it says as many bits as it is rare in the line; one
that also repeats what was two notes before says nothing, so that scales and trills are none.

Source: common practice (a "real" sequence keeps its intervals, a "tonal" one its scale steps).
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from riffract.analysis.collections.form import FORMS
from riffract.analysis.motives.line import MotiveLine
from riffract.analysis.reordering import Floats, Ids

FEWEST_FIGURE_NOTES, MOST_FIGURE_NOTES = 3, 32
"""Two notes are an interval, no figure; beyond four bars of eighths, it is told by passes."""

FEWEST_STATEMENTS: Final = 3
"""Two statements are a return; the third makes it a sequence (common practice)."""

MOST_SEQUENCES: Final = 3
"""More would not be read."""

INSIDE_SHARE: Final = 0.9
"""A scale that holds so many of the notes holds the line: the others are passing or altered."""

OWN_SCALE_SIZES: Final = range(5, 9)
"""So many pitch classes are a scale of their own, even one without a name."""

MOST_GAIN_BITS: Final = 4.5
"""What one interval may say: a rare one in a short line is not much rarer than the others."""

_SEVEN_NOTES: Final = ("diatonic", "acoustic", "harmonic minor")
_CHROMATIC: Final = tuple(range(12))
_MOST_SCALES: Final = 4
"""Scales tried of those that hold most of the line, the fullest first: a sequence in any of them
shows in its neighbours, which share six of its seven notes."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Chain:
    """A figure that goes on in sequence.

    Attributes:
        first: the event that it starts with.
        figure: how many events each statement has.
        count: how many statements there are.
        steps: how many steps of the scale each is higher than the one before.
        scale: the pitch classes that steps are counted in; all twelve if it is moved by one
            interval.
        bits: how telling it is.
    """

    first: int
    figure: int
    count: int
    steps: int
    scale: tuple[int, ...]
    bits: float

    @property
    def is_exact(self) -> bool:
        """Whether every statement is moved by the same interval."""
        return self.scale == _CHROMATIC

    @property
    def statements(self) -> tuple[range, ...]:
        """The events of each statement."""
        starts = range(self.first, self.first + self.count * self.figure, self.figure)
        return tuple(range(start, start + self.figure) for start in starts)


def find_sequences(line: MotiveLine, *, least_bits: float = 0.0) -> tuple[Chain, ...]:
    """Find the sequences of a line, each once, those that last longest first.

    Args:
        line: the moving voice, with every repeat of the riff.
        least_bits: those that say less are left out.

    Returns:
        At most three, that share no note; empty where there is none.
    """
    if not _figures(len(line)):
        return ()
    scales = scales_of(line.heights)
    follows = _follows_anyway(line.heights[None], scales)
    found = sorted(
        (
            one
            for scale in scales
            for one in _in_scale(line, scale, follows)
            if one.bits >= least_bits
        ),
        key=lambda one: (-one.figure * one.count, not one.is_exact, one.figure, -one.bits),
    )
    told: list[Chain] = []
    for one in found:
        events = set(_events(one))
        if len(told) < MOST_SEQUENCES and not any(events & set(_events(t)) for t in told):
            told.append(one)
    return tuple(told)


def best_bits(line: MotiveLine, heights: Ids) -> Floats:
    """Give the bits of the most telling sequence of each version of a line.

    Args:
        line: the line; its times are kept, and intervals say as much as they are rare in it.
        heights: pitches of its versions. Shape: (versions, events).

    Returns:
        0 where there is none. Shape: (versions,).
    """
    best = np.zeros(len(heights))
    if not _figures(len(line)):
        return best
    scales = scales_of(line.heights)
    follows = _follows_anyway(heights, scales)
    for scale in scales:
        steps = _steps(heights, scale)
        gains = _gains(_steps(line.heights, scale), steps, follows)
        for figure in _figures(len(line)):
            bits, lengths = _runs(steps, line.value_ticks, gains, figure)
            told = np.where(lengths >= _least_length(figure), bits, 0.0)
            best = np.maximum(best, told.max(axis=1, initial=0.0))
    return best


def places_of(line: MotiveLine) -> int:
    """Count where a sequence could start, for all figures and scales."""
    return len(line) * len(_figures(len(line))) * len(scales_of(line.heights))


def scales_of(heights: Ids) -> tuple[tuple[int, ...], ...]:
    """List the scales that hold a line, the semitones last.

    Args:
        heights: its pitches. Shape: (events,).

    >>> scales_of(np.array([60, 62, 64, 65, 67, 69, 71]))[0]
    (0, 2, 4, 5, 7, 9, 11)
    """
    pcs, counts = np.unique(heights % 12, return_counts=True)
    often = dict(zip(pcs.tolist(), counts.tolist(), strict=True))
    own = [tuple(often)] if len(often) in OWN_SCALE_SIZES else []
    forms = [form.pcs for form in FORMS if form.family.name in _SEVEN_NOTES]
    inside = [(sum(often.get(pc, 0) for pc in pcs), pcs) for pcs in forms]
    holding = [one for one in inside if one[0] >= INSIDE_SHARE * len(heights)]
    holding.sort(key=lambda one: -one[0])
    chosen = dict.fromkeys([*own, *(pcs for _, pcs in holding[:_MOST_SCALES])])
    return (*chosen, _CHROMATIC)


def _in_scale(
    line: MotiveLine, scale: tuple[int, ...], follows: NDArray[np.bool_]
) -> Iterator[Chain]:
    steps = _steps(line.heights[None], scale)
    gains = _gains(steps[0], steps, follows)
    for figure in _figures(len(line)):
        bits, lengths = _runs(steps, line.value_ticks, gains, figure)
        ends = np.append(lengths[0, 1:] == 0, True)
        for end in np.flatnonzero(ends & (lengths[0] >= _least_length(figure))).tolist():
            events = int(lengths[0, end]) + 1 + figure
            first = end + 1 - int(lengths[0, end])
            count = events // figure
            start = _start(line, range(first, first + events - count * figure + 1))
            if _is_figure(line.heights[start : start + figure]):
                yield Chain(
                    first=start,
                    figure=figure,
                    count=count,
                    steps=int(steps[0, start + figure] - steps[0, start]) // 2,
                    scale=scale,
                    bits=float(bits[0, end]),
                )


def _events(one: Chain) -> range:
    return range(one.first, one.first + one.figure * one.count)


def _figures(events: int) -> range:
    return range(FEWEST_FIGURE_NOTES, min(MOST_FIGURE_NOTES, events // FEWEST_STATEMENTS) + 1)


def _least_length(figure: int) -> int:
    """How many intervals in a row have to agree so that there are enough statements."""
    return (FEWEST_STATEMENTS - 1) * figure - 1


def _is_figure(heights: Ids) -> bool:
    """Whether a figure has three notes, what is struck again counted once."""
    return int(np.count_nonzero(np.diff(heights))) >= FEWEST_FIGURE_NOTES - 1


def _start(line: MotiveLine, possible: range) -> int:
    """Of the notes that a sequence may be heard from, choose one on a bar line, or the first."""
    notes, passage = line.passage.notes, line.passage
    for event in possible:
        if passage.place(notes[line.note_of(event)].onset_quarters).beat == 1:
            return event
    return possible[0]


def _steps(heights: Ids, scale: tuple[int, ...]) -> Ids:
    """Count pitches in half steps of a scale: even ones are its own, odd ones lie between."""
    own = np.array(scale)
    octave, pc = np.divmod(heights, 12)
    below = np.searchsorted(own, pc, side="right") - 1
    return np.asarray(2 * (octave * len(own) + below) + (own[below] != pc))


def _gains(own: Ids, steps: Ids, follows: NDArray[np.bool_]) -> Floats:
    """Tell what each interval says if a sequence gives it. Shape: (versions, events - 1)."""
    moves = np.diff(steps, axis=1)
    sizes, counts = np.unique(np.diff(own), return_counts=True)
    at = np.clip(np.searchsorted(sizes, moves), 0, len(sizes) - 1)
    known = np.where(sizes[at] == moves, counts[at], 1)
    gains = np.minimum(np.log2(moves.shape[1] / known), MOST_GAIN_BITS)
    return np.where(follows | (moves == 0), 0.0, gains)


def _follows_anyway(heights: Ids, scales: Iterable[tuple[int, ...]]) -> NDArray[np.bool_]:
    """Tell which intervals repeat, in some scale, what was two before, notes struck again apart.

    Returns:
        Shape: (versions, events - 1).
    """
    follows = np.zeros((len(heights), heights.shape[1] - 1), dtype=np.bool_)
    for scale in scales:
        moves = np.diff(_steps(heights, scale), axis=1)
        at = np.where(moves != 0, np.arange(1, moves.shape[1] + 1), 0)
        last = np.maximum.accumulate(at, axis=1)
        # Places count from 1, so that 0 stands for "none yet"; one before, two before.
        before = np.pad(last, ((0, 0), (1, 0)))
        one = before[:, :-1]
        two = np.take_along_axis(before, np.maximum(one - 1, 0), axis=1)
        earlier = np.take_along_axis(moves, np.maximum(two - 1, 0), axis=1)
        follows |= (two > 0) & (earlier == moves)
    return follows


def _runs(steps: Ids, values: Ids, gains: Floats, figure: int) -> tuple[Floats, NDArray[np.int64]]:
    """Add up, for each pair of notes `figure` apart, the run of agreeing intervals up to it.

    Returns:
        bits and number of intervals. Shape of both: (versions, events - figure - 1).
    """
    moved = steps[:, figure:] - steps[:, :-figure]
    agrees = (moved[:, 1:] == moved[:, :-1]) & (moved[:, 1:] != 0) & (moved[:, 1:] % 2 == 0)
    agrees &= (values[figure:-1] == values[: -figure - 1])[None]
    bits = np.cumsum(np.where(agrees, gains[:, figure:], 0.0), axis=1)
    at = np.arange(1, agrees.shape[1] + 1)
    before = np.maximum.accumulate(np.where(agrees, 0, at), axis=1)
    base = np.maximum.accumulate(np.where(agrees, 0.0, bits), axis=1)
    return bits - base, at - before
