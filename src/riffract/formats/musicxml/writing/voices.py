"""Voices: notes that overlap stand side by side, each voice one thing after the other."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from riffract.formats.musicxml.writing.bar_edges import BarEdges
from riffract.formats.musicxml.writing.note_values import NoteValue
from riffract.formats.musicxml.writing.strips import BarStrips, Strip
from riffract.formats.musicxml.writing.tuplet_cuts import tuplet_cuts
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
    filled = [list(_filled(lines[0], bar)), *lines[1:]]
    voices = [list(_events(line, edges, divisions)) for line in filled]
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


def _filled(line: Iterable[_Chord], bar: BarStrips) -> Iterator[_Chord]:
    """Put rests where no note sounds, cut at the moments that need a sign."""
    now = 0
    for chord in (*line, _Chord(bar.length_ticks, bar.length_ticks, ())):
        cuts = (cut for cut in bar.silent_cuts if now < cut < chord.start)
        yield from (_Chord(a, b, ()) for a, b in pairwise([now, *cuts, chord.start]) if a < b)
        if chord.strips:
            yield chord
        now = chord.end


def _events(chords: Sequence[_Chord], edges: BarEdges, divisions: int) -> Iterator[Event]:
    times = [(Fraction(c.start, divisions), Fraction(c.end, divisions)) for c in chords]
    cuts = {moment * divisions for moment in tuplet_cuts(times, edges)}
    inside = sorted(int(cut) for cut in cuts if cut.denominator == 1)
    for chord in chords:
        for event in _written(chord, inside, edges, divisions):
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
    chord: _Chord, cuts: Sequence[int], edges: BarEdges, divisions: int
) -> Iterator[Event]:
    """Fill the time of a chord or rest with note values."""
    parts = [chord.start, *(cut for cut in cuts if chord.start < cut < chord.end), chord.end]
    for start, end in pairwise(parts):
        stretch = Fraction(start, divisions), Fraction(end, divisions)
        now = start
        for value in values_in_bar(*stretch, edges, is_rest=not chord.strips):
            ticks = int(value.quarters * divisions)
            yield Event(now, ticks, value)
            now += ticks


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
