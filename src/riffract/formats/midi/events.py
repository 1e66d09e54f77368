"""The events of a track: messages to channels, and what the file says about itself."""

from dataclasses import dataclass, field
from typing import Final, NamedTuple

from riffract.formats.midi.numbers import BrokenFileError, variable_number

NOTE_OFF: Final = 0x80
NOTE_ON: Final = 0x90
KEY_PRESSURE: Final = 0xA0
CONTROL: Final = 0xB0
PROGRAM: Final = 0xC0
PRESSURE: Final = 0xD0
BEND: Final = 0xE0

TEXT: Final = 0x01
COPYRIGHT: Final = 0x02
NAME: Final = 0x03
INSTRUMENT: Final = 0x04
LYRIC: Final = 0x05
MARKER: Final = 0x06
CUE: Final = 0x07
PORT: Final = 0x21
END: Final = 0x2F
TEMPO: Final = 0x51
METRE: Final = 0x58

_META: Final = 0xFF
_SYSTEM_EXCLUSIVE: Final = (0xF0, 0xF7)
_SYSTEM: Final = 0xF0
_WITH_ONE_BYTE: Final = (PROGRAM, PRESSURE)


class Message(NamedTuple):
    """A message to a channel.

    Attributes:
        tick: when.
        kind: its status without the channel.
        channel: from 0.
        first, second: its data bytes; a message with one of them has 0 for the second.
    """

    tick: int
    kind: int
    channel: int
    first: int
    second: int


class Meta(NamedTuple):
    """What the file says about itself.

    Attributes:
        tick: when.
        kind: which of the standard's meta-events.
        data: its content.
    """

    tick: int
    kind: int
    data: bytes


@dataclass(slots=True)
class Track:
    """The events of a track, in order.

    Attributes:
        messages, metas: the events.
        end_tick: when the track ends.
        has_end: whether the end is marked as the standard asks.
    """

    messages: list[Message] = field(default_factory=list)
    metas: list[Meta] = field(default_factory=list)
    end_tick: int = 0
    has_end: bool = False

    @property
    def event_count(self) -> int:
        """How many events it holds."""
        return len(self.messages) + len(self.metas)


def track_of(data: bytes, start: int, end: int, *, most_events: int) -> Track:
    """Read the events of a track.

    A status byte may be left out where it is that of the message before, also with something else
    between them. System-exclusive messages sound nothing and are passed over.

    Args:
        data: the file.
        start: the track's first byte.
        end: the byte behind its last.
        most_events: how many are read at most.

    Raises:
        BrokenFileError: if the bytes make no events, or too many.

    Source: Standard MIDI Files 1.0, section 3; MIDI 1.0, tables of status and data bytes.
    """
    track = Track()
    reader = _Reader(data[start:end], track)
    try:
        while reader.at < end - start and not track.has_end:
            reader.read_event(most_events)
    except IndexError:
        raise BrokenFileError("a track ends within an event", end) from None
    except BrokenFileError as error:
        raise BrokenFileError(error.what, start + error.byte) from None
    return track


@dataclass(slots=True)
class _Reader:
    body: bytes
    track: Track
    at: int = 0
    status: int = 0

    def read_event(self, most_events: int) -> None:
        if self.track.event_count >= most_events:
            raise BrokenFileError("there are more events than a passage needs", self.at)
        delta, self.at = variable_number(self.body, self.at)
        self.track.end_tick += delta
        first = self.body[self.at]
        if first >= _SYSTEM:
            self._read_system(first)
            return
        if first >= NOTE_OFF:
            self.status = first
            self.at += 1
        elif not self.status:
            raise BrokenFileError("a message stands without a status", self.at)
        self._read_message()

    def _read_message(self) -> None:
        kind = self.status & 0xF0
        first, second, length = self.body[self.at], 0, 1
        if kind not in _WITH_ONE_BYTE:
            second, length = self.body[self.at + 1], 2
        if (first | second) & 0x80:
            raise BrokenFileError("a message is cut short by the next one", self.at)
        self.at += length
        channel = self.status & 0x0F
        self.track.messages.append(Message(self.track.end_tick, kind, channel, first, second))

    def _read_system(self, status: int) -> None:
        if status != _META and status not in _SYSTEM_EXCLUSIVE:
            raise BrokenFileError(f"a file cannot hold messages of status {status:02X}", self.at)
        kind = self.body[self.at + 1] if status == _META else None
        length, start = variable_number(self.body, self.at + (1 if kind is None else 2))
        self.at = start + length
        if self.at > len(self.body):
            raise IndexError
        if kind is not None:
            content = self.body[start : self.at]
            self.track.metas.append(Meta(self.track.end_tick, kind, content))
            self.track.has_end = kind == END
