"""Voices: notes that overlap stand side by side, each voice one thing after the other."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from riffract.formats.musicxml.writing.bar_edges import BarEdges
from riffract.formats.musicxml.writing.note_values import NoteValue
from riffract.formats.musicxml.writing.strips import BarStrips, Strip
from riffract.formats.musicxml.writing.values_in_bar import values_in_bar
from riffract.music import NoteTable


@dataclass(frozen=True, slots=True)
class Head:
    """One written note of a chord.

    Attributes:
        row: the note's row in the table.
        is_start, is_end: whether the note starts, or ends, with it; else ties lead here, or on.
    """

    row: int
    is_start: bool
    is_end: bool


@dataclass(slots=True)
class Event:
    """A chord or rest as it is written.

    Attributes:
        start_ticks: from the start of the bar.
        duration_ticks: how long it lasts.
        value: how it is written.
        heads: its notes, lowest string first; none in a rest.
        fills_bar: whether it is the rest of a whole bar, which has no note value.
        opens_tuplet, closes_tuplet: whether a bracket starts or ends here.
    """

    start_ticks: int
    duration_ticks: int
    value: NoteValue
    heads: tuple[Head, ...] = ()
    fills_bar: bool = False
    opens_tuplet: bool = False
    closes_tuplet: bool = False

    @property
    def end_ticks(self) -> int:
        """When it ends."""
        return self.start_ticks + self.duration_ticks


Voice = list[Event]


def voices_of(bar: BarStrips, edges: BarEdges, notes: NoteTable, divisions: int) -> list[Voice]:
    """Lay the strips of a bar into voices.

    Notes that start and end together are a chord. Each chord goes to the first voice that is
    free; of those that start together the one on the highest string chooses first. Rests fill
    the first voice, so that the bar is complete; gaps in the other ones stay empty.

    Args:
        bar: what lies in it.
        edges: of its groups, which the written values show.
        notes: the table that the strips speak of.
        divisions: ticks of a quarter.

    Returns:
        At least one voice.
    """
    lines: list[list[_Chord]] = [[]]
    for chord in _chords(bar.strips, notes):
        line = next((line for line in lines if not line or line[-1].end <= chord.start), None)
        if line is None:
            line = []
            lines.append(line)
        line.append(chord)
    voices = [list(_events(chords, edges, divisions)) for chords in lines]
    voices[0] = list(_with_rests(voices[0], bar, edges, divisions))
    for voice in voices:
        _bracket_tuplets(voice, divisions)
    return voices


@dataclass(frozen=True, slots=True)
class _Chord:
    start: int
    end: int
    strips: tuple[Strip, ...]


def _chords(strips: Iterable[Strip], notes: NoteTable) -> list[_Chord]:
    together: dict[tuple[int, int], list[Strip]] = {}
    for strip in strips:
        together.setdefault((strip.start_ticks, strip.end_ticks), []).append(strip)
    chords = [
        _Chord(start, end, tuple(sorted(found, key=lambda strip: -notes.string[strip.row])))
        for (start, end), found in together.items()
    ]
    return sorted(chords, key=lambda chord: (chord.start, notes.string[chord.strips[-1].row]))


def _events(chords: Iterable[_Chord], edges: BarEdges, divisions: int) -> Iterator[Event]:
    for chord in chords:
        for event in _written(chord.start, chord.end, edges, divisions, is_rest=False):
            event.heads = tuple(
                Head(
                    strip.row,
                    is_start=strip.is_start and event.start_ticks == chord.start,
                    is_end=strip.is_end and event.end_ticks == chord.end,
                )
                for strip in chord.strips
            )
            yield event


def _written(
    start: int, end: int, edges: BarEdges, divisions: int, *, is_rest: bool
) -> Iterator[Event]:
    """Fill a stretch with note values."""
    stretch = Fraction(start, divisions), Fraction(end, divisions)
    for value in values_in_bar(*stretch, edges, is_rest=is_rest):
        ticks = int(value.quarters * divisions)
        yield Event(start, ticks, value)
        start += ticks


def _with_rests(
    voice: Sequence[Event], bar: BarStrips, edges: BarEdges, divisions: int
) -> Iterator[Event]:
    now = 0
    for event in voice:
        yield from _rests(now, event.start_ticks, bar.silent_cuts, edges, divisions)
        yield event
        now = event.end_ticks
    yield from _rests(now, bar.length_ticks, bar.silent_cuts, edges, divisions)


def _rests(
    start: int, end: int, cuts: Sequence[int], edges: BarEdges, divisions: int
) -> Iterator[Event]:
    for a, b in pairwise([start, *(cut for cut in cuts if start < cut < end), end]):
        if a < b:
            yield from _written(a, b, edges, divisions, is_rest=True)


def _bracket_tuplets(voice: Voice, divisions: int) -> None:
    """Put brackets around tuplets: each ends where its sum is no longer broken.

    A bracket also ends where the ratio changes or the notes do not follow at once.
    """
    opened: Event | None = None
    for event, following in zip(voice, [*voice[1:], None], strict=True):
        if not event.value.is_in_tuplet:
            continue
        if opened is None:
            opened = event
            event.opens_tuplet = True
        goes_on = (
            following is not None
            and following.start_ticks == event.end_ticks
            and _ratio(following) == _ratio(event)
        )
        length = Fraction(event.end_ticks - opened.start_ticks, divisions)
        if not goes_on or length.denominator & (length.denominator - 1) == 0:
            event.closes_tuplet = True
            opened = None


def _ratio(event: Event) -> tuple[int, int]:
    return event.value.actual, event.value.normal
