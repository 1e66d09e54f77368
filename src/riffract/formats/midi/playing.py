"""Notes on their strings, one at a time, with bends and accents."""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from statistics import median
from typing import Final

from riffract.formats.midi.bends import STRAIGHT, Way, way_of
from riffract.formats.midi.file import MidiFile
from riffract.formats.midi.keys import Key, Wheel
from riffract.formats.midi.placing import Placing
from riffract.formats.midi.report import Report, counted
from riffract.formats.midi.timing import Timing
from riffract.music import Technique

SAME_LEVEL: Final = 16
"""Velocities that lie nearer to each other are of one level; a level is no wider than that."""

MOST_LEVELS: Final = 3


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
    accents = _accents(keys, report)
    by_string: dict[int, list[int]] = defaultdict(list)
    for index in sorted(range(len(keys)), key=lambda i: (timing.starts[i], keys[i].start_tick)):
        place = placing.places[index]
        if place is not None:
            by_string[place[0]].append(index)
    doubled = sum(place is None for place in placing.places)
    cut = 0
    notes: list[PlayedNote] = []
    for string, row in by_string.items():
        kept = _one_at_a_time(row, timing)
        doubled += len(row) - len(kept)
        for index, following in zip(kept, [*kept[1:], None], strict=True):
            key, place = keys[index], placing.places[index]
            assert place is not None
            end = timing.ends[index]
            end_tick = key.end_tick
            if following is not None:
                cut += end > timing.starts[following]
                end = min(end, timing.starts[following])
                end_tick = min(end_tick, keys[following].start_tick)
            way = _way(key, end_tick, file, wheels)
            notes.append(
                PlayedNote(
                    start_quarters=timing.starts[index],
                    end_quarters=end,
                    string=string,
                    fret=place[1],
                    pitch=key.pitch,
                    techniques=accents[index]
                    | (Technique.VIBRATO if way.has_vibrato else Technique(0)),
                    bend=way.bend,
                )
            )
    _tell(cut, doubled, report)
    return notes


def _one_at_a_time(row: Sequence[int], timing: Timing) -> list[int]:
    """Keep the first of notes that start together on one string."""
    kept: list[int] = []
    for index in row:
        if not kept or timing.starts[index] != timing.starts[kept[-1]]:
            kept.append(index)
    return kept


def _tell(cut: int, doubled: int, report: Report) -> None:
    if cut:
        report.warn(
            f"{counted(cut, 'note')} held into the next on the same string; each is cut where that "
            "starts",
            "nothing, if they are played one after the other; else put them on other strings",
        )
    if doubled:
        report.warn(
            f"{counted(doubled, 'note')} left out: another starts with it on the same string",
            "put them on other strings, or ask for a finer grid",
        )


def _way(key: Key, end_tick: int, file: MidiFile, wheels: Mapping[int, Wheel]) -> Way:
    wheel = wheels.get(key.channel)
    if wheel is None:
        return STRAIGHT
    ticks, cents = wheel.within(key.start_tick, end_tick)
    if not any(cents):
        return STRAIGHT
    a_tick = file.seconds_a_tick(key.start_tick)
    return way_of([(tick - key.start_tick) * a_tick for tick in ticks], cents)


def _accents(keys: Sequence[Key], report: Report) -> list[Technique]:
    """Take the notes above the level of the middle one as accents, if velocities form levels."""
    levels = _levels({key.velocity for key in keys})
    if len(levels) == 1 and levels[0][0] == levels[0][1]:
        return [Technique(0)] * len(keys)
    middle = median(key.velocity for key in keys)
    are_clear = 1 < len(levels) <= MOST_LEVELS and all(
        high - low <= SAME_LEVEL for low, high in levels
    )
    if not are_clear:
        report.warn(
            "how hard the notes are struck is not kept: it forms no clear levels",
            "accent notes by hand if that matters",
        )
        return [Technique(0)] * len(keys)
    plain = max(high for low, high in levels if low <= middle)
    return [Technique.ACCENT if key.velocity > plain else Technique(0) for key in keys]


def _levels(velocities: set[int]) -> list[tuple[int, int]]:
    """Part velocities into levels, each with its lowest and highest."""
    levels: list[tuple[int, int]] = []
    for velocity in sorted(velocities):
        if levels and velocity - levels[-1][1] < SAME_LEVEL:
            levels[-1] = (levels[-1][0], velocity)
        else:
            levels.append((velocity, velocity))
    return levels
