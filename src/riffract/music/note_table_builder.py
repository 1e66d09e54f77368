"""Notes in any order, gathered into a table."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from math import lcm

import numpy as np

from riffract.music.notes import (
    FINEST_TICKS_PER_QUARTER,
    NO_FRET,
    NO_PITCH,
    PLAIN,
    Ints,
    Note,
    NoteTable,
    Technique,
)


@dataclass(slots=True)
class NoteTableBuilder:
    """Gathers notes in any order, then makes the table at the one resolution that fits them."""

    _rows: list[Note] = field(default_factory=list)

    def add(
        self,
        *,
        onset_quarters: Fraction,
        duration_quarters: Fraction,
        string: int,
        fret: int,
        pitch: int | None,
        ring_end_quarters: Fraction | None = None,
        techniques: Technique = PLAIN,
        bend: Sequence[int] = (),
        other_fret: int | None = None,
        tremolo_marks: int = 0,
        line: int = 0,
        column: int = 0,
    ) -> None:
        """Add a note; without a ring end the string stops when the written value does.

        A bend and tremolo marks bring their technique with them.

        Raises:
            ValueError: if the note lasts no time, starts before 0, or stops before it starts; if
                a bend has no way to go.
        """
        if techniques & Technique.BEND and not bend:
            raise ValueError("a bent note must say through which cents it goes")
        if bend:
            techniques |= Technique.BEND
        if tremolo_marks:
            techniques |= Technique.TREMOLO
        end = onset_quarters + duration_quarters if ring_end_quarters is None else ring_end_quarters
        if onset_quarters < 0 or duration_quarters <= 0 or end <= onset_quarters:
            raise ValueError(
                f"a note must start at 0 or later and last some time, got onset {onset_quarters}, "
                f"duration {duration_quarters}, ring end {end}"
            )
        self._rows.append(
            Note(
                index=len(self._rows),
                onset_quarters=onset_quarters,
                duration_quarters=duration_quarters,
                ring_end_quarters=end,
                string=string,
                fret=fret,
                pitch=pitch,
                techniques=techniques,
                bend=tuple(bend),
                other_fret=other_fret,
                tremolo_marks=tremolo_marks,
                line=line,
                column=column,
            )
        )

    def build(self) -> NoteTable:
        """Make the table.

        Raises:
            ValueError: if the times need a resolution finer than a ten-millionth of a quarter.
        """
        resolution = _resolution(self._rows)

        def exact(value: Fraction) -> int:
            # The resolution is a multiple of each denominator: no fraction needs to be made.
            return value.numerator * (resolution // value.denominator)

        rows = sorted(self._rows, key=lambda n: (exact(n.onset_quarters), -n.string))
        path_of: dict[tuple[int, ...], int] = {(): 0}
        for n in rows:
            path_of.setdefault(n.bend, len(path_of))

        def ticks(values: list[Fraction]) -> Ints:
            return np.array([exact(v) for v in values], dtype=np.int64)

        def ints(values: list[int]) -> Ints:
            return np.array(values, dtype=np.int64)

        return NoteTable(
            ticks_per_quarter=resolution,
            onset_ticks=ticks([n.onset_quarters for n in rows]),
            duration_ticks=ticks([n.duration_quarters for n in rows]),
            ring_end_ticks=ticks([n.ring_end_quarters for n in rows]),
            string=ints([n.string for n in rows]),
            fret=ints([n.fret for n in rows]),
            pitch=ints([NO_PITCH if n.pitch is None else n.pitch for n in rows]),
            techniques=ints([int(n.techniques) for n in rows]),
            bend_path=ints([path_of[n.bend] for n in rows]),
            bend_paths=tuple(path_of),
            other_fret=ints([NO_FRET if n.other_fret is None else n.other_fret for n in rows]),
            tremolo_marks=ints([n.tremolo_marks for n in rows]),
            line=ints([n.line for n in rows]),
            column=ints([n.column for n in rows]),
        )


def _resolution(notes: Iterable[Note]) -> int:
    """Find the fewest ticks a quarter in which all times of some notes are whole."""
    resolution = 1
    for note in notes:
        resolution = lcm(
            resolution,
            note.onset_quarters.denominator,
            note.duration_quarters.denominator,
            note.ring_end_quarters.denominator,
        )
        if resolution > FINEST_TICKS_PER_QUARTER:
            raise ValueError(
                f"the note values need more than {FINEST_TICKS_PER_QUARTER} steps a quarter; "
                "use fewer kinds of tuplets in one passage"
            )
    return resolution
