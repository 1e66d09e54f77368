"""The MIDI writer: from a passage to a file of format 1."""

from collections.abc import Iterable, Iterator, Sequence
from fractions import Fraction
from itertools import pairwise
from typing import Final, NamedTuple

from riffract.formats.midi.chunks import header_chunk, track_chunk
from riffract.formats.midi.events import (
    BEND,
    CONTROL,
    END,
    MARKER,
    METRE,
    NAME,
    NOTE_OFF,
    NOTE_ON,
    PROGRAM,
    TEMPO,
    TEXT,
)
from riffract.formats.midi.keys import (
    BEND_CENTRE,
    DATA,
    DATA_FINE,
    NO_PARAMETER,
    PARAMETER,
    PARAMETER_FINE,
    USUAL_REACH_SEMITONES,
)
from riffract.formats.midi.numbers import LARGEST_VARIABLE, variable_bytes
from riffract.formats.midi.performance import Stroke, strokes_of
from riffract.formats.midi.resolution import resolution_of
from riffract.formats.midi.sayings import NO_SECTION, metre_saying, passage_sayings
from riffract.formats.midi.strings import channel_of_string
from riffract.formats.midi.wheel import reach_semitones, turns_of, wheel_value
from riffract.music import Bar, Metre, Passage, TempoMark, TimeMap

GUITAR_PROGRAM: Final = 27
BASS_PROGRAM: Final = 33
"""Clean electric guitar, fingered electric bass. Source: General MIDI 1, counted from 0."""

MOST_BASS_STRINGS: Final = 5
LOWEST_GUITAR_STRING_PITCH: Final = 34
RELEASE_VELOCITY: Final = 64
TRACK_NAME: Final = "Guitar"

STEPS_A_QUARTER: Final = 8
MOST_STEPS_OF_A_RAMP: Final = 4096
"""A ramp of tempo is written as steps of a thirty-second, or fewer if it is very long."""

_LARGEST_TEMPO: Final = 0xFFFFFF
_OFF, _SETTING, _BEND, _ON = range(4)


class _Event(NamedTuple):
    """An event at a tick; of those at one tick the lower order comes first."""

    tick: int
    order: int
    content: bytes


def write_midi(passage: Passage) -> bytes:
    r"""Write a passage as a Standard MIDI File of format 1: a conductor's track, then the guitar's.

    Each string has a channel, string 1 the first; the tenth is passed over. Bends and vibrato turn
    the pitch wheel, and everything is played out. What MIDI has no message for stands in text
    events, in the words of a tab's header, so that `read_midi` finds strings and frets again.
    `docs/midi.md` tells what is kept.

    >>> from riffract.formats.midi import read_midi
    >>> from riffract.formats.tab import read_tab
    >>> tab = "tuning: E1 A1 D2 G2\nmetre: 3/4\n" + "\n".join([
    ...     "time  q  e  q.", "G   |----------|", "D   |-------4--|", "A   |----0-----|",
    ...     "E   |-3--------|"])
    >>> passage = read_tab(tab).passage
    >>> read_midi(write_midi(passage)).passage.notes == passage.notes
    True
    """
    strokes = strokes_of(passage)
    unit, has_exact_times = resolution_of(_needed(passage), _wished(passage, strokes.values()))
    texts = passage_sayings(passage, has_exact_times=has_exact_times)
    guitar = [_Event(0, _OFF, _meta(NAME, _text(TRACK_NAME)))]
    guitar += [_Event(0, _OFF, _meta(TEXT, _text(text))) for text in texts]
    for string, row in strokes.items():
        guitar += _string_events(passage, string, row, unit)
    end_tick = _tick(passage.length_quarters, unit)
    tracks = [
        _track(list(_conductor_events(passage, unit)), end_tick),
        _track(guitar, end_tick),
    ]
    return header_chunk(len(tracks), unit) + b"".join(tracks)


def _needed(passage: Passage) -> Iterator[Fraction]:
    for note in passage.notes:
        yield note.onset_quarters
        yield note.ring_end_quarters
    for bar in passage.bars:
        yield bar.span.end_quarters


def _wished(passage: Passage, rows: Iterable[Sequence[Stroke]]) -> Iterator[Fraction]:
    for section in passage.sections:
        yield section.span.start_quarters
        yield section.span.end_quarters
    for mark in passage.tempos:
        yield mark.at_quarters
    for row in rows:
        for stroke in row:
            for strike in stroke.strikes:
                yield strike.start_quarters
                yield strike.end_quarters


def _tick(quarters: Fraction, unit: int) -> int:
    return round(quarters * unit)


def _meta(kind: int, content: bytes) -> bytes:
    return bytes((0xFF, kind)) + variable_bytes(len(content)) + content


def _text(words: str) -> bytes:
    return words.encode("utf-8", errors="replace")


def _track(events: list[_Event], end_tick: int) -> bytes:
    """Write a track; where nothing happens for longer than a delta time can say, an empty text."""
    events.sort(key=lambda event: event[:2])
    end_tick = max(end_tick, events[-1].tick if events else 0)
    written = bytearray()
    now = 0
    for tick, _, content in [*events, _Event(end_tick, _ON, _meta(END, b""))]:
        while tick - now > LARGEST_VARIABLE:
            written += variable_bytes(LARGEST_VARIABLE) + _meta(TEXT, b"")
            now += LARGEST_VARIABLE
        written += variable_bytes(tick - now) + content
        now = tick
    return track_chunk(bytes(written))


def _conductor_events(passage: Passage, unit: int) -> Iterator[_Event]:
    if passage.title:
        yield _Event(0, _OFF, _meta(NAME, _text(passage.title)))
    for bar, metre in _metres(passage.bars):
        tick = _tick(bar.start_quarters, unit)
        yield _Event(tick, _SETTING, _meta(METRE, _metre_bytes(metre)))
        if len(metre.groups) > 1:
            yield _Event(tick, _SETTING, _meta(TEXT, _text(metre_saying(metre))))
    for at, microseconds in _tempos(passage):
        yield _Event(_tick(at, unit), _SETTING, _meta(TEMPO, microseconds.to_bytes(3, "big")))
    for at, label in _markers(passage):
        yield _Event(_tick(at, unit), _SETTING, _meta(MARKER, _text(label)))


def _metres(bars: Sequence[Bar]) -> Iterator[tuple[Bar, Metre]]:
    """Give the bars where a metre must be written.

    A bar that is shorter than its metre is closed by the next metre, even if that is the same. One
    that is longer gets a metre that fills it, if there is one.
    """
    before: Metre | None = None
    is_closed = True
    for bar in bars:
        metre = bar.metre
        if bar.length_quarters > metre.length_quarters:
            metre = _filling(bar.length_quarters) or metre
        if metre != before or not is_closed:
            yield bar, metre
        before, is_closed = metre, bar.length_quarters == metre.length_quarters


def _filling(length_quarters: Fraction) -> Metre | None:
    for unit in (4, 8, 16, 32, 64):
        units = length_quarters * unit / 4
        if units.denominator == 1 and units <= 64:
            return Metre(groups=(int(units),), unit=unit)
    return None


def _metre_bytes(metre: Metre) -> bytes:
    """Write a metre. Source: Standard MIDI Files 1.0: 24 clocks and 8 thirty-seconds a quarter."""
    click = 3 * metre.unit_quarters if set(metre.groups) == {3} else metre.unit_quarters
    clocks = min(max(int(24 * click), 1), 255)
    return bytes((metre.units, metre.unit.bit_length() - 1, clocks, 8))


def _tempos(passage: Passage) -> Iterator[tuple[Fraction, int]]:
    marks = passage.tempos
    for mark, following in zip(marks, [*marks[1:], None], strict=True):
        if following is None or not mark.is_ramp:
            yield mark.at_quarters, round(60e6 / mark.quarters_per_minute)
        else:
            yield from _ramp(mark, following)


def _ramp(mark: TempoMark, following: TempoMark) -> Iterator[tuple[Fraction, int]]:
    """Write a ramp as steps that each last as long as their stretch of the ramp."""
    length = following.at_quarters - mark.at_quarters
    steps = min(max(round(length * STEPS_A_QUARTER), 1), MOST_STEPS_OF_A_RAMP)
    time = TimeMap.from_tempos([mark, following], following.at_quarters)
    moments = [mark.at_quarters + length * step / steps for step in range(steps + 1)]
    seconds = [time.seconds_at(moment) for moment in moments]
    for at, (before, after) in zip(moments, pairwise(seconds), strict=False):
        yield at, min(round((after - before) * 1e6 / float(length / steps)), _LARGEST_TEMPO)


def _markers(passage: Passage) -> Iterator[tuple[Fraction, str]]:
    starts = {section.span.start_quarters for section in passage.sections}
    for section in passage.sections:
        yield section.span.start_quarters, section.label
        end = section.span.end_quarters
        if end < passage.length_quarters and end not in starts:
            yield end, NO_SECTION


def _string_events(
    passage: Passage, string: int, strokes: Sequence[Stroke], unit: int
) -> Iterator[_Event]:
    if not strokes:
        return
    channel = channel_of_string(string)
    reach = reach_semitones(strokes)
    yield _Event(0, _SETTING, bytes((PROGRAM | channel, _program(passage))))
    if reach != USUAL_REACH_SEMITONES:
        yield _Event(0, _SETTING, _reach_message(channel, reach))
    wheel = BEND_CENTRE
    time = TimeMap.from_tempos(passage.tempos, passage.length_quarters)
    for stroke in strokes:
        for tick, key in _strike_events(stroke, channel, unit):
            yield _Event(tick, *key)
        start, end = stroke.start_quarters, stroke.end_quarters
        seconds_a_quarter = (time.seconds_at(end) - time.seconds_at(start)) / float(end - start)
        for at, cents in turns_of(stroke, seconds_a_quarter):
            value = wheel_value(cents, reach)
            if value != wheel and (at < end or at == start):
                message = bytes((BEND | channel, value & 0x7F, value >> 7))
                yield _Event(_tick(at, unit), _BEND, message)
                wheel = value


def _strike_events(
    stroke: Stroke, channel: int, unit: int
) -> Iterator[tuple[int, tuple[int, bytes]]]:
    for strike in stroke.strikes:
        start = _tick(strike.start_quarters, unit)
        end = max(_tick(strike.end_quarters, unit), start + 1)
        yield start, (_ON, bytes((NOTE_ON | channel, strike.pitch, strike.velocity)))
        yield end, (_OFF, bytes((NOTE_OFF | channel, strike.pitch, RELEASE_VELOCITY)))


def _program(passage: Passage) -> int:
    """Tell a bass by its few and low strings."""
    tuning = passage.tuning
    is_bass = (
        tuning.string_count <= MOST_BASS_STRINGS
        and tuning.lowest_pitch < LOWEST_GUITAR_STRING_PITCH
    )
    return BASS_PROGRAM if is_bass else GUITAR_PROGRAM


def _reach_message(channel: int, semitones: int) -> bytes:
    """Set how far the wheel reaches. Source: MIDI 1.0, registered parameter 0.

    The messages stand at one tick, and so they are one event with delta times of 0 within.
    """
    pairs = (
        (PARAMETER, 0),
        (PARAMETER_FINE, 0),
        (DATA, semitones),
        (DATA_FINE, 0),
        (PARAMETER, NO_PARAMETER),
        (PARAMETER_FINE, NO_PARAMETER),
    )
    return b"\x00".join(bytes((CONTROL | channel, number, value)) for number, value in pairs)
