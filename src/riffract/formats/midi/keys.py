"""Which keys are held, how far each channel is bent, and what else the messages ask for."""

from bisect import bisect_left, bisect_right
from collections import Counter, defaultdict, deque
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from heapq import merge
from typing import Final, NamedTuple

from riffract.formats.midi.events import (
    BEND,
    CONTROL,
    KEY_PRESSURE,
    NOTE_OFF,
    NOTE_ON,
    PORT,
    PRESSURE,
    PROGRAM,
    Message,
    Track,
)

CHANNELS: Final = 16
DRUM_CHANNEL: Final = 9
"""The tenth channel. Source: General MIDI 1."""

BEND_CENTRE: Final = 8192
USUAL_REACH_SEMITONES: Final = 2
"""How far the wheel bends if nothing is said. Source: MIDI 1.0, pitch-bend sensitivity."""

DATA: Final = 6
DATA_FINE: Final = 38
PARAMETER_FINE: Final = 100
PARAMETER: Final = 101
NO_PARAMETER: Final = 127
_OTHER_PARAMETERS: Final = (98, 99)
_SILENCE: Final = (120, 123)
_RESET: Final = 121

_NAMES: Final = {
    1: "the modulation wheel",
    5: "portamento",
    64: "the sustain pedal",
    65: "portamento",
    66: "the sostenuto pedal",
    84: "portamento",
}
"""Control changes that alter what sounds when. Source: MIDI 1.0, table of controllers."""


class Key(NamedTuple):
    """A key that is held.

    Attributes:
        start_tick, end_tick: when; the end may be the start.
        track: from 0.
        channel: from 0; 16 more for each port.
        pitch: MIDI pitch.
        velocity: 1 to 127.
    """

    start_tick: int
    end_tick: int
    track: int
    channel: int
    pitch: int
    velocity: int

    @property
    def is_drum(self) -> bool:
        """Whether it is on the drums' channel."""
        return self.channel % CHANNELS == DRUM_CHANNEL


@dataclass(slots=True)
class Wheel:
    """How far a channel is bent, from moment to moment.

    Attributes:
        ticks: when it changes, in order.
        cents: to what.
    """

    ticks: list[int] = field(default_factory=list)
    cents: list[float] = field(default_factory=list)

    def within(self, start_tick: int, end_tick: int) -> tuple[list[int], list[float]]:
        """Give what it does in a stretch, first where it stands when that starts."""
        first = bisect_right(self.ticks, start_tick)
        last = bisect_left(self.ticks, end_tick, lo=first)
        at_start = self.cents[first - 1] if first else 0.0
        return [start_tick, *self.ticks[first:last]], [at_start, *self.cents[first:last]]


@dataclass(slots=True)
class Keys:
    """What all tracks play.

    Attributes:
        keys: by start, then track.
        wheels: by channel.
        programs: the first program of a channel, from 0.
        left_out: what is asked for by messages that are not read, by channel.
        endless: how many keys are never let go.
    """

    keys: list[Key] = field(default_factory=list)
    wheels: dict[int, Wheel] = field(default_factory=lambda: defaultdict(Wheel))
    programs: dict[int, int] = field(default_factory=dict)
    left_out: dict[int, Counter[str]] = field(default_factory=lambda: defaultdict(Counter))
    endless: int = 0


def keys_of(tracks: Iterable[Track]) -> Keys:
    """Follow all messages.

    A key that is struck again before it is let go sounds twice: the first to be let go is the one
    struck first. A key that is never let go ends with its track.
    """
    found = Keys()
    player = _Player(found)
    tracks = list(tracks)
    for index, message in _in_order(tracks):
        player.follow(index, message)
    player.end([track.end_tick for track in tracks])
    found.keys.sort()
    return found


def _in_order(tracks: Sequence[Track]) -> Iterator[tuple[int, Message]]:
    """Give the messages of all tracks by time, each with its track; ports become channels."""
    rows = [
        [(message.tick, index, _on_port(message, port)) for message in track.messages]
        for index, track in enumerate(tracks)
        for port in [_port(track)]
    ]
    for _, index, message in merge(*rows, key=lambda row: row[:2]):
        yield index, message


def _port(track: Track) -> int:
    return next((meta.data[0] for meta in track.metas if meta.kind == PORT and meta.data), 0)


def _on_port(message: Message, port: int) -> Message:
    if not port:
        return message
    return message._replace(channel=message.channel + CHANNELS * port)


@dataclass(slots=True)
class _Channel:
    """Attributes: the parameter that data goes to; how far the wheel reaches, and stands."""

    parameter: list[int] = field(default_factory=lambda: [NO_PARAMETER, NO_PARAMETER])
    semitones: int = USUAL_REACH_SEMITONES
    fine_cents: int = 0
    wheel: int = BEND_CENTRE

    def set_reach(self, number: int, value: int) -> bool:
        """Follow the control changes that set how far the wheel reaches; say if one has."""
        if number in {PARAMETER, PARAMETER_FINE}:
            self.parameter[number == PARAMETER_FINE] = value
        elif number in _OTHER_PARAMETERS:
            self.parameter = [NO_PARAMETER, NO_PARAMETER]
        elif self.parameter != [0, 0]:
            return False
        elif number == DATA:
            self.semitones = value
        elif number == DATA_FINE:
            self.fine_cents = value
        return number in {DATA, DATA_FINE}

    @property
    def cents(self) -> float:
        reach = 100.0 * self.semitones + self.fine_cents
        return (self.wheel - BEND_CENTRE) / BEND_CENTRE * reach


class _Player:
    def __init__(self, found: Keys) -> None:
        self.found = found
        self.channels: dict[int, _Channel] = defaultdict(_Channel)
        self.held: dict[int, dict[tuple[int, int], deque[Message]]] = defaultdict(dict)

    def follow(self, track: int, message: Message) -> None:
        kind, channel = message.kind, message.channel
        if kind == NOTE_ON and message.second:
            self.held[channel].setdefault((message.first, track), deque()).append(message)
        elif kind in {NOTE_ON, NOTE_OFF}:
            self._let_go(channel, (message.first, track), message.tick)
        elif kind == BEND:
            self.channels[channel].wheel = message.second << 7 | message.first
            self._turn_wheel(message)
        elif kind == CONTROL:
            self._control(message)
        elif kind == PROGRAM:
            self.found.programs.setdefault(channel, message.first)
        elif kind in {KEY_PRESSURE, PRESSURE} and (
            message.second if kind == KEY_PRESSURE else message.first
        ):
            self.found.left_out[channel]["key pressure"] += 1

    def end(self, end_ticks: Sequence[int]) -> None:
        for channel, held in self.held.items():
            for key, waiting in list(held.items()):
                self.found.endless += len(waiting)
                for _ in range(len(waiting)):
                    self._let_go(channel, key, end_ticks[key[1]])

    def _let_go(self, channel: int, key: tuple[int, int], tick: int) -> None:
        waiting = self.held[channel].get(key)
        if not waiting:
            return
        struck = waiting.popleft()
        if not waiting:
            del self.held[channel][key]
        pitch, track = key
        self.found.keys.append(Key(struck.tick, tick, track, channel, pitch, struck.second))

    def _turn_wheel(self, message: Message) -> None:
        wheel = self.found.wheels[message.channel]
        wheel.ticks.append(message.tick)
        wheel.cents.append(self.channels[message.channel].cents)

    def _control(self, message: Message) -> None:
        state, number, value = self.channels[message.channel], message.first, message.second
        if number in _SILENCE:
            for key, waiting in list(self.held[message.channel].items()):
                for _ in range(len(waiting)):
                    self._let_go(message.channel, key, message.tick)
        elif number == _RESET:
            state.wheel = BEND_CENTRE
            self._turn_wheel(message)
        elif number in _NAMES and value:
            self.found.left_out[message.channel][_NAMES[number]] += 1
        elif state.set_reach(number, value):
            self._turn_wheel(message)
