"""Notes on their strings, one at a time, with their bends."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from riffract.formats.midi.bends import STRAIGHT, Way, way_of
from riffract.formats.midi.file import MidiFile
from riffract.formats.midi.keys import Key, Wheel
from riffract.formats.midi.placing import Place, Placing
from riffract.formats.midi.report import Report, counted
from riffract.formats.midi.timing import Timing
from riffract.formats.midi.velocities import accents
from riffract.music import Technique
from riffract.music.notes import PLAIN

MOST_WHEEL_MOVES: Final = 60_000
"""Under all notes together: as many as a file may have events, so that a channel that plays one
note at a time is always followed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PlayedNote:
    """A note as it goes into the table; fields as in `Note`."""

    start_quarters: Fraction
    end_quarters: Fraction
    string: int
    fret: int
    pitch: int
    techniques: Technique
    bend: tuple[int, ...]


def played_notes(
    keys: Sequence[Key],
    timing: Timing,
    placing: Placing,
    report: Report,
    *,
    file: MidiFile,
    wheels: Mapping[int, Wheel],
) -> list[PlayedNote]:
    """Put each key on its string, ended by the next one there; what has to go is told.

    Args:
        keys: what is played.
        timing: when.
        placing: where.
        report: told what was cut or left out.
        file: its unit and tempos.
        wheels: how far each channel is bent.
    """
    accented = accents(keys, report)
    kept = _one_at_a_time(keys, timing, placing, report)
    ways = _Ways(file=file, wheels=wheels)
    notes: list[PlayedNote] = []
    cut = 0
    for (index, place), following in kept:
        key, end, end_tick = keys[index], timing.ends[index], keys[index].end_tick
        if following is not None:
            cut += end > timing.starts[following]
            end = min(end, timing.starts[following])
            end_tick = min(end_tick, keys[following].start_tick)
        way = ways.of(key, end_tick)
        notes.append(
            PlayedNote(
                start_quarters=timing.starts[index],
                end_quarters=end,
                string=place[0],
                fret=place[1],
                pitch=key.pitch,
                techniques=accented[index] | (Technique.VIBRATO if way.has_vibrato else PLAIN),
                bend=way.bend,
            )
        )
    if cut:
        report.warn(
            f"{counted(cut, 'note')} held into the next on the same string; each is cut where that "
            "starts",
            "nothing, if they are played one after the other; else put them on other strings",
        )
    if ways.are_too_long:
        report.error(
            "the pitch wheel turns more often under held notes than can be followed",
            "thin out the pitch bend where the file comes from",
        )
    return notes


def _one_at_a_time(
    keys: Sequence[Key], timing: Timing, placing: Placing, report: Report
) -> list[tuple[tuple[int, Place], int | None]]:
    """Give each key that is kept with its place, and the one that follows it on its string.

    Of keys that start together on one string the first is kept.
    """
    by_string: dict[int, list[tuple[int, Place]]] = defaultdict(list)
    left_out = 0
    for index in sorted(range(len(keys)), key=lambda i: (timing.starts[i], keys[i].start_tick)):
        place = placing.places[index]
        row = [] if place is None else by_string[place[0]]
        if place is None or (row and timing.starts[row[-1][0]] == timing.starts[index]):
            left_out += 1
        else:
            row.append((index, place))
    if left_out:
        report.warn(
            f"{counted(left_out, 'note')} left out: another starts with it on the same string",
            "put them on other strings, or ask for a finer grid",
        )
    followers = ((row, [*(index for index, _ in row[1:]), None]) for row in by_string.values())
    return [pair for row, following in followers for pair in zip(row, following, strict=True)]


@dataclass(slots=True, kw_only=True)
class _Ways:
    """Follows the wheel under one note after the other; not for ever."""

    file: MidiFile
    wheels: Mapping[int, Wheel]
    moves: int = 0

    @property
    def are_too_long(self) -> bool:
        return self.moves > MOST_WHEEL_MOVES

    def of(self, key: Key, end_tick: int) -> Way:
        wheel = self.wheels.get(key.channel)
        if wheel is None or self.are_too_long:
            return STRAIGHT
        ticks, cents = wheel.within(key.start_tick, end_tick)
        self.moves += len(ticks) - 1
        if not any(cents) or self.are_too_long:
            return STRAIGHT
        a_tick = self.file.seconds_a_tick(key.start_tick)
        return way_of([(tick - key.start_tick) * a_tick for tick in ticks], cents)
