"""Small passages for tests, spelled as pitches and values."""

from collections.abc import Iterable, Sequence
from fractions import Fraction

from riffract.music import (
    Metre,
    NoteTableBuilder,
    Passage,
    Technique,
    TempoMark,
    Tuning,
    bars_in_row,
)

SEVEN = Tuning(open_pitches=(35, 40, 45, 50, 55, 59, 64))

Struck = int | Sequence[int] | None
Value = Fraction | int | str
Spelled = tuple[Struck, Value]


def place_on(tuning: Tuning, pitch: int, taken: Iterable[int] = ()) -> tuple[int, int]:
    """Give a string and fret for a pitch: the highest-lying free string that holds it."""
    for string in range(1, tuning.string_count + 1):
        fret = pitch - tuning.open_pitch(string)
        if string not in taken and 0 <= fret <= tuning.frets:
            return string, fret
    raise ValueError(f"no free string for pitch {pitch}")


def passage(
    attacks: Iterable[Spelled],
    *,
    metres: Sequence[Metre] = (Metre(groups=(4,), unit=4),),
    tuning: Tuning = SEVEN,
    ringing: Iterable[int] = (),
    muted: Iterable[int] = (),
    title: str = "Test",
) -> Passage:
    """Build a passage from (pitch, pitches or `None` for a rest, value in quarters).

    Args:
        attacks: in order of time.
        metres: repeated bar by bar until all is held.
        tuning: the strings.
        ringing: pitches that ring until their string is struck again, or to the end.
        muted: pitches that are palm-muted.
    """
    builder = NoteTableBuilder()
    rows: list[tuple[Fraction, Fraction, int, int, int]] = []
    now = Fraction(0)
    for struck, value in attacks:
        length = Fraction(value)
        taken: list[int] = []
        pitches = () if struck is None else (struck,) if isinstance(struck, int) else struck
        for pitch in sorted(pitches, reverse=True):
            string, fret = place_on(tuning, pitch, taken)
            taken.append(string)
            rows.append((now, length, string, fret, pitch))
        now += length
    lengths = [m.length_quarters for m in metres]
    bars: list[tuple[Metre, Fraction | None, int]] = []
    filled = Fraction(0)
    while filled < now or not bars:
        number = len(bars)
        bars.append((metres[number % len(metres)], None, number + 1))
        filled += lengths[number % len(metres)]
    for onset, length, string, fret, pitch in rows:
        rings = pitch in set(ringing)
        nexts = [o for o, _, s, _, _ in rows if s == string and o > onset]
        builder.add(
            onset_quarters=onset,
            duration_quarters=length,
            string=string,
            fret=fret,
            pitch=pitch,
            ring_end_quarters=min([*nexts, filled]) if rings else None,
            techniques=(Technique.LET_RING if rings else Technique(0))
            | (Technique.PALM_MUTE if pitch in set(muted) else Technique(0)),
        )
    return Passage(
        title=title,
        tuning=tuning,
        bars=bars_in_row(bars),
        tempos=(TempoMark(at_quarters=Fraction(0), quarters_per_minute=120.0),),
        notes=builder.build(),
    )
