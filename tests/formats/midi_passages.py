"""Random passages that MIDI keeps whole, for property tests, and files made by hand."""

from collections.abc import Iterable
from fractions import Fraction
from io import BytesIO
from itertools import pairwise
from typing import Any

import mido  # type: ignore[import-untyped]
from hypothesis import strategies as st
from tests.formats.musicxml_passages import BENDS, bars, moments, sections, tempos
from tests.formats.tab_passages import tunings

from riffract.formats.midi import read_midi
from riffract.formats.problem import ReadResult
from riffract.music import NoteTableBuilder, Passage, Tuning

Event = tuple[int, Any]
"""A moment in ticks, and a message of the reference library."""

SHORTEST_BENT = Fraction(1, 4)
"""A shorter note has too few ticks for every turn of a bend."""


@st.composite
def kept_passages(draw: st.DrawFn) -> Passage:
    """Notes with bends only, each as long as it sounds."""
    tuning = draw(tunings(fewest_frets=20))
    the_bars = draw(bars())
    builder = NoteTableBuilder()
    some = False
    for string in range(1, tuning.string_count + 1):
        onsets = draw(moments(the_bars))
        for onset, limit in pairwise([*onsets, the_bars[-1].span.end_quarters]):
            share = draw(st.sampled_from([Fraction(1), Fraction(1), Fraction(1, 2)]))
            length = share * (limit - onset)
            fret = draw(st.integers(0, tuning.frets - tuning.capo))
            bend = draw(st.sampled_from([(), (), *BENDS])) if length >= SHORTEST_BENT else ()
            builder.add(
                onset_quarters=onset,
                duration_quarters=length,
                string=string,
                fret=fret,
                pitch=tuning.pitch_at(string, fret),
                bend=bend,
            )
            some = True
    if not some:
        builder.add(
            onset_quarters=Fraction(0),
            duration_quarters=the_bars[-1].span.end_quarters,
            string=1,
            fret=0,
            pitch=tuning.open_pitch(1),
        )
    return Passage(
        title=draw(st.sampled_from(["", "Étude <1>"])),
        tuning=tuning,
        bars=the_bars,
        tempos=draw(tempos(the_bars)),
        sections=tuple(s for s in draw(sections(the_bars)) if s.label != "-"),
        notes=builder.build(),
    )


def midi_file(
    *tracks: Iterable[Event],
    division: int = 480,
    kind: int = 1,
) -> bytes:
    """Make a file with the reference library from (tick, message) pairs."""
    file = mido.MidiFile(type=kind, ticks_per_beat=division)
    for events in tracks:
        track = mido.MidiTrack()
        now = 0
        for tick, message in sorted(events, key=lambda event: event[0]):
            track.append(message.copy(time=tick - now))
            now = tick
        file.tracks.append(track)
    written = BytesIO()
    file.save(file=written)
    return written.getvalue()


def note(start: int, end: int, pitch: int, *, channel: int = 0, velocity: int = 80) -> list[Event]:
    """A key struck and let go."""
    return [
        (start, mido.Message("note_on", channel=channel, note=pitch, velocity=velocity)),
        (end, mido.Message("note_off", channel=channel, note=pitch)),
    ]


def wheel(tick: int, cents: float, *, channel: int = 0, reach: int = 2) -> Event:
    """The wheel turned to some cents."""
    value = min(round(cents / 100 / reach * 8192), 8191)
    return tick, mido.Message("pitchwheel", channel=channel, pitch=value)


def tempo(tick: int, microseconds: int) -> Event:
    """A tempo."""
    return tick, mido.MetaMessage("set_tempo", tempo=microseconds)


def metre(tick: int, units: int, unit: int) -> Event:
    """A metre."""
    return tick, mido.MetaMessage("time_signature", numerator=units, denominator=unit)


SIX = Tuning(open_pitches=(40, 45, 50, 55, 59, 64))


def text(tick: int, kind: str, words: str) -> Event:
    """A text, marker, lyrics or track_name event."""
    named = {"name": words} if kind == "track_name" else {"text": words}
    return tick, mido.MetaMessage(kind, **named)


def program(number: int, *, channel: int = 0) -> Event:
    """A sound, from 0."""
    return 0, mido.Message("program_change", channel=channel, program=number)


def control(tick: int, number: int, value: int, *, channel: int = 0) -> Event:
    """A control change."""
    return tick, mido.Message("control_change", channel=channel, control=number, value=value)


def read_by_reference(data: bytes) -> Any:
    """Read a file with the reference library."""
    return mido.MidiFile(file=BytesIO(data))


def words_of(result: ReadResult) -> str:
    """All that is said about a file."""
    return "\n".join(problem.what for problem in result.problems)


def passage_of(data: bytes, **options: Any) -> Passage:
    """Read a file that must be readable."""
    result = read_midi(data, **options)
    assert result.passage is not None, result.problems
    return result.passage
