"""Which string each channel is, and which tuning the notes are for."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from riffract.formats.midi.keys import CHANNELS, DRUM_CHANNEL, Key
from riffract.formats.standard_tuning import USUAL_STRINGS, standard_tuning
from riffract.music import Tuning
from riffract.music.tuning import MOST_FRETS, MOST_STRINGS

BASS_STRINGS: Final = (4, 5)
GUITAR_STRINGS: Final = tuple(range(USUAL_STRINGS, MOST_STRINGS + 1))
DROP_SEMITONES: Final = 2
LOWEST_SHIFT_SEMITONES: Final = 12
LARGEST_OVERLAP_SHARE: Final = 0.5
"""Notes that follow each other on a string may overlap by half of the shorter one; if they overlap
more they are played together."""


@dataclass(frozen=True, slots=True, kw_only=True)
class StringChannels:
    """Channels that are strings.

    Attributes:
        tuning: the open strings.
        string_of: by channel.
        rule: how channels and strings go together, for people to read.
    """

    tuning: Tuning
    string_of: Mapping[int, int]
    rule: str


def string_channels(
    keys: Sequence[Key],
    tuning: Tuning | None,
    *,
    is_bass: bool = False,
    are_said: bool = False,
) -> StringChannels | None:
    """Recognise a channel for each string; `None` if the channels are none.

    At least two channels must play one note at a time, and all their notes must lie on the strings
    that they stand for. Tried in order: channel 1 is string 1 (as guitar controllers send), the
    lowest channel used is string 1, channel 1 is the lowest-lying string, the lowest channel used
    is the lowest-lying string. Channel 10, the drums', is passed over in counting.

    Args:
        keys: what a part plays, by start.
        tuning: its strings, if known; else the standard tuning and lower ones are tried.
        is_bass: whether the part plays a bass.
        are_said: whether the file says that channels are strings: then one is enough, and a note
            may lie beyond its string.

    Source: common practice of guitar controllers in mono mode (MIDI mode 4).
    """
    reach = _reach(keys)
    slots = {channel: slot(channel) for channel in reach}
    ports = {channel // CHANNELS for channel in reach}
    if len(ports) > 1 or not (are_said or (len(reach) > 1 and _is_one_at_a_time(keys))):
        return None
    highest = max(slots.values())
    span = highest - min(slots.values()) + 1
    for tried in [tuning] if tuning else _tunings(highest, span, is_bass=is_bass):
        for rule, string_of in _orders(slots, tried.string_count):
            if are_said or _holds(tried, reach, string_of, is_known=tuning is not None):
                return StringChannels(tuning=tried, string_of=string_of, rule=rule)
    return None


def slot(channel: int) -> int:
    """Count channels from 1 without the drums'.

    >>> [slot(channel) for channel in (0, 8, 10, 12)]
    [1, 9, 10, 12]
    """
    number = channel % CHANNELS
    return number + 1 if number < DRUM_CHANNEL else number


def channel_of_string(string: int) -> int:
    """Give the channel that a string is written to.

    >>> [channel_of_string(string) for string in (1, 9, 10, 12)]
    [0, 8, 10, 12]
    """
    return string - 1 if string <= DRUM_CHANNEL else string


def _reach(keys: Sequence[Key]) -> dict[int, tuple[int, int]]:
    reach: dict[int, tuple[int, int]] = {}
    for key in keys:
        low, high = reach.get(key.channel, (key.pitch, key.pitch))
        reach[key.channel] = (min(low, key.pitch), max(high, key.pitch))
    return dict(sorted(reach.items()))


def _is_one_at_a_time(keys: Sequence[Key]) -> bool:
    before: dict[int, Key] = {}
    for key in keys:
        last = before.get(key.channel)
        if last is not None:
            shorter = min(last.end_tick - last.start_tick, key.end_tick - key.start_tick)
            overlap = min(last.end_tick, key.end_tick) - key.start_tick
            if key.start_tick == last.start_tick or overlap > LARGEST_OVERLAP_SHARE * shorter:
                return False
        before[key.channel] = key
    return True


def _tunings(highest: int, span: int, *, is_bass: bool) -> Iterator[Tuning]:
    """Give the tunings to try, from the standard one down, with a string for each channel.

    If channels are counted from 1, the highest one tells how many strings there are at least;
    else how far they reach does.
    """
    usual = BASS_STRINGS[0] if is_bass else USUAL_STRINGS
    counts = dict.fromkeys(max(usual, least) for least in (highest, span))
    for strings in (count for count in counts if count <= MOST_STRINGS):
        for shift in range(LOWEST_SHIFT_SEMITONES + 1):
            opens = tuple(pitch - shift for pitch in standard_tuning(strings))
            if opens[0] >= DROP_SEMITONES:
                yield Tuning(open_pitches=opens)
                yield Tuning(open_pitches=(opens[0] - DROP_SEMITONES, *opens[1:]))


def _orders(slots: Mapping[int, int], strings: int) -> Iterator[tuple[str, dict[int, int]]]:
    lowest = min(slots.values())
    starts = {1: "channel 1", lowest: f"channel {min(slots) % CHANNELS + 1}"}
    for first, name in starts.items():
        counted = {channel: number - first + 1 for channel, number in slots.items()}
        if max(counted.values()) <= strings:
            yield f"{name} is string 1", counted
    for first, name in starts.items():
        counted = {channel: strings - (number - first) for channel, number in slots.items()}
        if min(counted.values()) >= 1:
            yield f"{name} is string {strings}, the lowest", counted


def _holds(
    tuning: Tuning,
    reach: Mapping[int, tuple[int, int]],
    string_of: Mapping[int, int],
    *,
    is_known: bool,
) -> bool:
    frets = MOST_FRETS - tuning.capo if is_known else tuning.frets
    return all(
        low >= tuning.open_pitch(string_of[channel])
        and high - tuning.open_pitch(string_of[channel]) <= frets
        for channel, (low, high) in reach.items()
    )


def fitting_tuning(lowest_pitch: int, highest_pitch: int, *, is_bass: bool = False) -> Tuning:
    """Give the standard tuning if it holds all pitches, else the nearest lower one that does.

    Lower than the standard tuning come, in order: its lowest string a whole tone down; a seventh
    string; that one a whole tone down; an eighth string; and so on. A bass has four strings, then
    five. If none fits, the one with all strings is given, and higher pitches are left beyond it.

    >>> fitting_tuning(40, 76).label(), fitting_tuning(38, 76).label()
    ('E2 A2 D3 G3 B3 E4', 'D2 A2 D3 G3 B3 E4')
    >>> fitting_tuning(36, 76).label()
    'B1 E2 A2 D3 G3 B3 E4'
    """
    tried = [
        Tuning(open_pitches=(opens[0] - drop, *opens[1:]))
        for strings in (BASS_STRINGS if is_bass else GUITAR_STRINGS)
        for opens in [standard_tuning(strings)]
        for drop in (0, DROP_SEMITONES)
        if opens[0] >= drop
    ]
    low_enough = [tuning for tuning in tried if tuning.lowest_pitch <= lowest_pitch]
    chosen = low_enough[0] if low_enough else tried[-1]
    return with_frets(chosen, highest_pitch - chosen.open_pitches[-1])


def with_frets(tuning: Tuning, fret: int) -> Tuning:
    """Give a neck that is long enough for a fret, if there is one."""
    needed = min(max(tuning.frets, fret + tuning.capo), MOST_FRETS)
    return replace(tuning, frets=needed) if needed > tuning.frets else tuning
