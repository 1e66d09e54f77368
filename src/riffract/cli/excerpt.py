"""`riffract excerpt`: some bars as a sound file, slower, looped, or beside the recording."""

import sys
from pathlib import Path
from typing import Final

import numpy as np

from riffract.cli.bars import span_of
from riffract.cli.exit_codes import DONE, PROBLEM
from riffract.cli.progress import progress_bar
from riffract.cli.subject import Subject, show, subject_of
from riffract.cli.target import target_fault
from riffract.essay.beside import beside
from riffract.essay.disk import not_written
from riffract.essay.folder import FileProblem
from riffract.essay.listening import Source, Wanted, made
from riffract.essay.recorded import recorded_sound
from riffract.essay.recording import time_map_of
from riffract.essay.settings import Film, Settings
from riffract.formats.problem import Problem
from riffract.formats.reading import ReadChoices
from riffract.music import Passage, Span
from riffract.publish.wording import span_text
from riffract.sound.amp import Tone
from riffract.sound.encoded_peak import held_below
from riffract.sound.encoding import FORMS, write_sound
from riffract.sound.loudness import loudness_of
from riffract.sound.sound import Sound

SHORTEST_SECONDS: Final = 0.05
"""Ours: no note is shorter; what a recording leaves out lasts next to nothing."""

LONGEST_EXCERPT_SECONDS: Final = 1_800.0
"""Ours: half an hour of loops is more than anybody listens to, and takes 700 MB in memory."""

SAFE_LISTENING: Final = "Set the volume low before the first play."


def excerpt(
    path: Path, target: Path, choices: ReadChoices, wanted: Wanted, *, replace: bool
) -> int:
    """Make a sound file of some bars; give the exit code."""
    fault = target_fault(target, FORMS, replace=replace)
    if fault is not None:
        return _refuse(target, fault)
    subject = subject_of(path, choices)
    show(subject.problems)
    passage = subject.passage
    if passage is None:
        return PROBLEM
    span = passage.span if wanted.span is None else span_of(wanted.span, passage)
    if span is None:
        return PROBLEM
    fault = _wish_fault(subject, passage, wanted)
    if fault is not None:
        return _refuse(path, fault)
    if _is_own_recording(subject, target):
        own = Problem(what="this is the essay's own recording", mend="choose another name")
        return _refuse(target, own)
    source = _source_of(subject, passage, span, wanted)
    if isinstance(source, FileProblem):
        show([source])
        return PROBLEM
    fault = _length_fault(source, wanted)
    if fault is not None:
        return _refuse(target, fault)
    form = FORMS[target.suffix.lower()]
    with progress_bar() as report:
        sound = made(source, wanted, lambda share: report("sound", share))
        if form.is_lossy:
            sound = held_below(sound, form=form, ceiling_dbtp=source.ceiling_dbtp)
    try:
        with beside(target.resolve()) as draft:
            write_sound(draft, sound, form)
    except OSError as error:
        return _refuse(target, not_written(error))
    print(_told(target, sound, passage, span))
    return DONE


def _length_fault(source: Source, wanted: Wanted) -> Problem | None:
    if source.length_seconds < SHORTEST_SECONDS:
        return Problem(
            what="this is too short to be heard, or the recording leaves it out",
            mend="choose other bars with --span",
        )
    if source.length_seconds / wanted.speed * wanted.loops > LONGEST_EXCERPT_SECONDS:
        return Problem(
            what=f"this would last longer than {LONGEST_EXCERPT_SECONDS / 60:.0f} minutes",
            mend="ask for fewer --loops, or fewer bars with --span",
        )
    return None


def _told(target: Path, sound: Sound, passage: Passage, span: Span) -> str:
    level = loudness_of(sound).integrated_lufs
    loud = f"{level:.1f} LUFS" if np.isfinite(level) else "silent"
    where = span_text(passage, span)
    return f"{target}: {where}, {sound.length_seconds:.1f} s, {loud}. {SAFE_LISTENING}"


def _refuse(path: Path, problem: Problem) -> int:
    show([FileProblem(file=str(path), problem=problem)])
    return PROBLEM


def _is_own_recording(subject: Subject, target: Path) -> bool:
    """Guard what cannot be made again, even where replacing was asked for."""
    essay = subject.essay
    if essay is None or essay.settings.recording is None or not target.exists():
        return False
    recording = essay.folder / essay.settings.recording.file
    return recording.exists() and target.samefile(recording)


def _wish_fault(subject: Subject, passage: Passage, wanted: Wanted) -> Problem | None:
    """Say why what is wanted cannot be had of this passage."""
    recorded = subject.essay is not None and subject.essay.settings.recording is not None
    if wanted.sound not in {None, "rendering"} and not recorded:
        return Problem(
            what=f"there is no recording for --sound {wanted.sound}",
            mend="name one in essay.toml under [recording], or say --sound rendering",
        )
    if not _chooses_strings(wanted):
        return None
    most = passage.tuning.string_count
    named = (wanted.strings or frozenset()) | wanted.without
    if max(named) > most:
        return Problem(
            what=f"there is no string {max(named)}", mend=f"give strings from 1 to {most}"
        )
    if not _heard_strings(passage, wanted):
        return Problem(what="no string is left to be heard", mend="leave out fewer of them")
    if wanted.sound not in {None, "rendering"}:
        return Problem(
            what="single strings cannot be taken out of a recording",
            mend="say --sound rendering, or leave --strings and --without out",
        )
    return None


def _source_of(
    subject: Subject, passage: Passage, span: Span, wanted: Wanted
) -> Source | FileProblem:
    essay = subject.essay
    recording = None
    if _hears_recording(wanted) and essay is not None and essay.settings.recording is not None:
        read = recorded_sound(essay)
        if isinstance(read, FileProblem):
            return read
        for note in () if read is None else read.notes:
            print(f"{essay.folder / essay.settings.recording.file}: {note}", file=sys.stderr)
        recording = read
    film = Film() if essay is None else essay.settings.film
    return Source(
        passage=passage,
        time_map=time_map_of(passage, None, None) if essay is None else essay.time_map,
        span=span,
        recording=recording,
        strings=_heard_strings(passage, wanted),
        tone=Tone(wanted.tone or film.tone),
        seed=Settings().seed if essay is None else essay.settings.seed,
        target_lufs=film.loudness_lufs,
        ceiling_dbtp=film.peak_dbtp,
    )


def _hears_recording(wanted: Wanted) -> bool:
    return wanted.sound != "rendering" and not _chooses_strings(wanted)


def _chooses_strings(wanted: Wanted) -> bool:
    return wanted.strings is not None or bool(wanted.without)


def _heard_strings(passage: Passage, wanted: Wanted) -> frozenset[int] | None:
    if not _chooses_strings(wanted):
        return None
    every = frozenset(range(1, passage.tuning.string_count + 1))
    return (every if wanted.strings is None else wanted.strings) - wanted.without
