"""The MIDI reader: from the bytes of a file to a passage, with everything that was odd."""

from collections.abc import Sequence
from fractions import Fraction
from typing import Final

from riffract.formats.midi.conductor import Moments, bars_of, conductor_of, sections_of
from riffract.formats.midi.file import MidiFile, file_of
from riffract.formats.midi.keys import Keys, keys_of
from riffract.formats.midi.parts import Part, chosen_part, parts_of
from riffract.formats.midi.placing import Placing, placing_of
from riffract.formats.midi.playing import PlayedNote, played_notes
from riffract.formats.midi.report import Report, counted
from riffract.formats.midi.timing import Timing, timing_of
from riffract.formats.problem import ReadResult
from riffract.music import NoteTable, NoteTableBuilder, Passage, Proposed, Tuning

MOST_NOTES: Final = 100_000


def read_midi(
    data: bytes,
    *,
    source: str = "",
    part: str | None = None,
    tuning: Tuning | None = None,
    grid: Fraction | None = None,
) -> ReadResult:
    """Read a guitar part from a Standard MIDI File of format 0 or 1.

    Strings come from channels, if each string has one, else a fingering is proposed. Times that a
    program wrote are taken exactly; played ones go onto a grid, and how far they were moved is
    told. Pitch bend becomes bends and vibrato. `docs/midi.md` has the rules.

    Args:
        data: the bytes of the file, whatever they are; nothing in them can raise.
        source: what to call the file.
        part: name of the part to read; without it the one that is most surely a guitar.
        tuning: the strings; without it what the file says, else the standard tuning or the nearest
            lower one that holds all notes.
        grid: a step in quarters that all times are put on, e.g. 1/4 for sixteenths; without it one
            is looked for if the times need it.

    Returns:
        The passage, `None` if any problem is an error; all problems; and the names of the parts.

    Raises:
        ValueError: if the grid is no positive step.

    Source: Standard MIDI Files 1.0; MIDI 1.0.

    >>> result = read_midi(b"MThd")
    >>> result.passage, result.problems[0].what
    (None, 'the header is cut off (byte 4 of the file)')
    """
    if grid is not None and grid <= 0:
        raise ValueError(f"a grid is a step of more than 0 quarters, got {grid}")
    report = Report()
    file = file_of(data, report)
    if file is None:
        return ReadResult(passage=None, problems=report.problems())
    keys = keys_of(file.tracks)
    parts = parts_of(file, keys, tuning)
    chosen = chosen_part(parts, part, report)
    passage = None
    if chosen is not None and _is_of_a_size(chosen, report):
        passage = _passage(file, keys, chosen, report, tuning=tuning, grid=grid, source=source)
    names = tuple(p.name for p in parts) if len(parts) > 1 else ()
    return ReadResult(
        passage=None if report.has_errors else passage, problems=report.problems(), parts=names
    )


def _is_of_a_size(part: Part, report: Report) -> bool:
    if len(part.keys) <= MOST_NOTES:
        return True
    report.error(
        f"the part {part.name!r} has {len(part.keys):,} notes; at most {MOST_NOTES:,} are read",
        "export a shorter passage",
    )
    return False


def _passage(
    file: MidiFile,
    keys: Keys,
    part: Part,
    report: Report,
    *,
    tuning: Tuning | None,
    grid: Fraction | None,
    source: str,
) -> Passage | None:
    is_exact = part.sayings.has_exact_times
    moments = Moments(ticks_per_quarter=file.ticks_per_quarter, is_exact=is_exact)
    conductor = conductor_of(file, moments, report)
    _tell_left_out(keys, part, report)
    timing = timing_of(part.keys, file, report, grid=grid, has_exact_times=is_exact)
    file_end = moments.at(max(track.end_tick for track in file.tracks))
    bars = bars_of(conductor.metres, max(timing.ends), file_end, report, is_exact=is_exact)
    # Fingering takes long; a file that has failed already need not wait for it.
    placing = None if report.has_errors else placing_of(part, timing, tuning, report)
    if placing is None or report.has_errors:
        return None
    notes = played_notes(part.keys, timing, placing, report, file=file, wheels=keys.wheels)
    end = bars[-1].span.end_quarters
    return Passage(
        title=conductor.title,
        tuning=placing.tuning,
        bars=bars,
        tempos=conductor.tempos,
        sections=sections_of(conductor.markers, end),
        notes=_table(notes),
        source=source,
        proposed=_proposed(part, timing, placing),
    )


def _tell_left_out(keys: Keys, part: Part, report: Report) -> None:
    channels = {key.channel for key in part.keys}
    names = sorted({name for channel in channels for name in keys.left_out.get(channel, ())})
    if names:
        report.warn(
            f"{', '.join(names)} not read",
            "write what it does to the sound in the notes, e.g. as longer notes",
        )
    if keys.endless:
        report.warn(
            f"{counted(keys.endless, 'note')} never let go; they end with their track",
            "export the file again if they sound too long",
        )


def _proposed(part: Part, timing: Timing, placing: Placing) -> tuple[Proposed, ...]:
    """Gather what is ours, and what was ours before when the file was written."""
    found = set(part.sayings.proposed)
    if placing.is_proposed:
        found.add(Proposed.FINGERING)
    if timing.is_proposed:
        found.add(Proposed.TIME)
    return tuple(p for p in Proposed if p in found)


def _table(notes: Sequence[PlayedNote]) -> NoteTable:
    builder = NoteTableBuilder()
    for note in notes:
        builder.add(
            onset_quarters=note.start_quarters,
            duration_quarters=note.end_quarters - note.start_quarters,
            string=note.string,
            fret=note.fret,
            pitch=note.pitch,
            techniques=note.techniques,
            bend=note.bend,
        )
    return builder.build()
