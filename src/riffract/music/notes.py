"""Notes as columns, and a light view of one of them."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, fields, replace
from enum import IntFlag
from fractions import Fraction
from functools import cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

Ints = NDArray[np.int64]

NO_PITCH: Final = -1
NO_FRET: Final = -1
FINEST_TICKS_PER_QUARTER: Final = 10_000_000


class Technique(IntFlag):
    """How a note is played. A sign between two notes belongs to the one it leads to.

    A slide from or to nowhere has the names of MusicXML: a scoop comes from below, a plop from
    above; a doit goes off upwards, a falloff downwards.
    """

    PALM_MUTE = 1
    LET_RING = 2
    HAMMER_ON = 4
    PULL_OFF = 8
    SLIDE = 16
    BEND = 32
    VIBRATO = 64
    DEAD = 128
    NATURAL_HARMONIC = 256
    ACCENT = 512
    STACCATO = 1024
    TAP = 1 << 11
    TREMOLO = 1 << 12
    TRILL = 1 << 13
    ARTIFICIAL_HARMONIC = 1 << 14
    PINCH_HARMONIC = 1 << 15
    DOWN_STROKE = 1 << 16
    UP_STROKE = 1 << 17
    SCOOP = 1 << 18
    PLOP = 1 << 19
    DOIT = 1 << 20
    FALLOFF = 1 << 21

    @property
    def labels(self) -> tuple[str, ...]:
        """Names in lower case with underscores, as the answer of a study prints them.

        >>> (Technique.PALM_MUTE | Technique.ACCENT).labels
        ('palm_mute', 'accent')
        """
        return tuple(flag.name.lower() for flag in self if flag.name)


PLAIN: Final = Technique(0)
"""Picked, with nothing said about how."""

LEGATO: Final = Technique.HAMMER_ON | Technique.PULL_OFF | Technique.SLIDE
"""Notes that no pick stroke starts."""

HARMONIC: Final = (
    Technique.NATURAL_HARMONIC | Technique.ARTIFICIAL_HARMONIC | Technique.PINCH_HARMONIC
)
"""Notes of which a touch leaves some partials only."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Note:
    """One row of a `NoteTable`, in exact quarter notes.

    Attributes:
        index: its row.
        onset_quarters: when it starts.
        duration_quarters: its written value, ties joined.
        ring_end_quarters: when the string really stops sounding.
        string: 1 is the highest-lying string.
        fret: 0 is the open string; for a natural harmonic the fret it is touched over.
        pitch: sounding MIDI pitch, `None` for a dead note.
        techniques: how it is played.
        line, column: where it stands in its source, from 1; 0 if that is not known.
        bend: cents above its fret that it passes through, in order; the first is 0 unless it is
            bent before it sounds; empty if it is not bent.
        other_fret: the fret that a trill goes to and fro with, or that an artificial harmonic is
            touched over; `None` if there is none.
        tremolo_marks: how fast tremolo picking strikes it: 1 every eighth, 2 every sixteenth, 3
            every thirty-second …; 0 without tremolo.
    """

    index: int
    onset_quarters: Fraction
    duration_quarters: Fraction
    ring_end_quarters: Fraction
    string: int
    fret: int
    pitch: int | None
    techniques: Technique
    line: int
    column: int
    bend: tuple[int, ...] = ()
    other_fret: int | None = None
    tremolo_marks: int = 0

    @property
    def bend_cents(self) -> int:
        """How far it is bent where it is bent most; 0 if it is not."""
        return widest_cents(self.bend)

    @property
    def end_quarters(self) -> Fraction:
        """When its written value ends."""
        return self.onset_quarters + self.duration_quarters


def slides_from(earlier: Note, note: Note) -> bool:
    """Say whether a slide starts on an earlier note of its string.

    It does if that sounds until then and has a pitch to slide; else the slide comes from nowhere.
    """
    unslidable = Technique.DEAD | HARMONIC
    return bool(
        Technique.SLIDE in note.techniques
        and earlier.onset_quarters < note.onset_quarters <= earlier.ring_end_quarters
        and earlier.pitch is not None
        and note.pitch is not None
        and not (earlier.techniques | note.techniques) & unslidable
    )


def widest_cents(bend: Sequence[int]) -> int:
    """Give the furthest point of a bend, in cents; 0 for none.

    >>> widest_cents((0, 200, 0)), widest_cents((0, -50)), widest_cents(())
    (200, -50, 0)
    """
    return max(bend, key=abs, default=0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Grace:
    """A note without time of its own, played just before an attack.

    Attributes:
        at_quarters: the onset of the attack it leads to.
        place: its place among the graces that lead there, from 0; equal places sound together.
        string, fret, pitch, techniques, bend: as in `Note`.
        value_quarters: the value it is written as; it takes its time from its neighbours.
        is_slashed: whether it is as short as can be, rather than leaning on the beat.
        line, column: place in the source, 0 if not known.
    """

    at_quarters: Fraction
    place: int
    string: int
    fret: int
    pitch: int | None
    techniques: Technique = PLAIN
    bend: tuple[int, ...] = ()
    value_quarters: Fraction = Fraction(1, 2)
    is_slashed: bool = True
    line: int = field(default=0, compare=False)
    column: int = field(default=0, compare=False)

    def as_note(self, onset_quarters: Fraction, end_quarters: Fraction, *, index: int = -1) -> Note:
        """Take it for a note that has a time of its own."""
        return Note(
            index=index,
            onset_quarters=onset_quarters,
            duration_quarters=end_quarters - onset_quarters,
            ring_end_quarters=end_quarters,
            string=self.string,
            fret=self.fret,
            pitch=self.pitch,
            techniques=self.techniques,
            line=self.line,
            column=self.column,
            bend=self.bend,
        )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class NoteTable:
    """Notes as read-only columns of equal length, sorted by onset, then from the lowest string up.

    Attributes:
        ticks_per_quarter: one resolution that holds every time of the passage exactly.
        onset_ticks, duration_ticks, ring_end_ticks: times (see `Note`).
        string, fret, pitch: pitch is `NO_PITCH` (-1) for a dead note.
        techniques: bits of `Technique`.
        bend_path: which of `bend_paths` a note takes; 0 where it is not bent.
        other_fret: `NO_FRET` (-1) where there is none.
        tremolo_marks: 0 where there is no tremolo.
        line, column: place in the source, 0 if not known.
        bend_paths: the different bends, each as in `Note`; the first is the empty one.
    """

    ticks_per_quarter: int
    onset_ticks: Ints
    duration_ticks: Ints
    ring_end_ticks: Ints
    string: Ints
    fret: Ints
    pitch: Ints
    techniques: Ints
    bend_path: Ints
    other_fret: Ints
    tremolo_marks: Ints
    line: Ints
    column: Ints
    bend_paths: tuple[tuple[int, ...], ...] = ((),)
    _rows: tuple[Note, ...] | None = field(default=None, init=False, repr=False)
    """All notes, once they were asked for: columns are read-only, so they stay as they are."""

    def __post_init__(self) -> None:
        for name in self.column_names():
            getattr(self, name).setflags(write=False)
        lengths = {len(getattr(self, name)) for name in self.column_names()}
        if len(lengths) != 1:
            raise ValueError(f"columns of a note table must be of one length, got {lengths}")

    @classmethod
    def column_names(cls) -> tuple[str, ...]:
        """Name the columns: all fields that have one value a note."""
        return tuple(f.name for f in fields(cls) if f.name not in _NOT_COLUMNS)

    def __len__(self) -> int:
        return len(self.onset_ticks)

    def __iter__(self) -> Iterator[Note]:
        if self._rows is None:
            object.__setattr__(self, "_rows", tuple(self._all()))
        return iter(self._rows or ())

    def __getitem__(self, index: int) -> Note:
        if self._rows is not None:
            return self._rows[index]
        values = [int(getattr(self, name)[index]) for name in _COLUMNS]
        return self._note(index, values, self.quarters, Technique)

    def _all(self) -> Iterator[Note]:
        """Make all notes; equal times share one fraction, since fractions are slow to make."""
        columns = [getattr(self, name).tolist() for name in _COLUMNS]
        quarters = cache(self.quarters)
        technique = cache(Technique)
        for index, values in enumerate(zip(*columns, strict=True)):
            yield self._note(index, values, quarters, technique)

    def _note(
        self,
        index: int,
        values: Sequence[int],
        quarters: Callable[[int], Fraction],
        technique: Callable[[int], Technique],
    ) -> Note:
        """Make a note from its values in the order of `_COLUMNS`."""
        onset, duration, ring_end, string, fret, pitch, flags, path, other, marks, *place = values
        return Note(
            index=index,
            onset_quarters=quarters(onset),
            duration_quarters=quarters(duration),
            ring_end_quarters=quarters(ring_end),
            string=string,
            fret=fret,
            pitch=None if pitch == NO_PITCH else pitch,
            techniques=technique(flags),
            line=place[0],
            column=place[1],
            bend=self.bend_paths[path],
            other_fret=None if other == NO_FRET else other,
            tremolo_marks=marks,
        )

    def __eq__(self, other: object) -> bool:
        """Say whether both hold the same music; places in the source do not matter."""
        if not isinstance(other, NoteTable):
            return NotImplemented
        return len(self) == len(other) and all(
            _without_source(a) == _without_source(b) for a, b in zip(self, other, strict=True)
        )

    __hash__ = None  # type: ignore[assignment]  # tables compare by content and are never keys

    def quarters(self, ticks: int | np.int64) -> Fraction:
        """Turn ticks of this table into exact quarters."""
        return Fraction(int(ticks), self.ticks_per_quarter)

    @property
    def bend_cents(self) -> Ints:
        """How far each note is bent where it is bent most; 0 where it is not. Shape: (notes,)."""
        widest = np.array([widest_cents(path) for path in self.bend_paths], dtype=np.int64)
        return widest[self.bend_path]

    def has(self, technique: Technique) -> NDArray[np.bool_]:
        """Mark the notes that carry any of the given techniques. Shape: (notes,)."""
        return np.bitwise_and(self.techniques, int(technique)).astype(np.bool_)

    @property
    def is_pitched(self) -> NDArray[np.bool_]:
        """Mark the notes that have a pitch: all but dead ones. Shape: (notes,)."""
        return np.not_equal(self.pitch, NO_PITCH)


_NOT_COLUMNS: Final = ("ticks_per_quarter", "bend_paths", "_rows")
_COLUMNS: Final = NoteTable.column_names()


def _without_source(note: Note) -> Note:
    return replace(note, line=0, column=0)
