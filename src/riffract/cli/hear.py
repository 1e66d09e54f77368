"""`riffract hear`: hold a passage against its recording."""

import shutil
import sys
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from riffract.cli.main import DONE, PROBLEM
from riffract.cli.progress import progress_bar
from riffract.cli.subject import Subject, show, subject_of
from riffract.essay.folder import SETTINGS_FILE, FileProblem
from riffract.essay.hearing import ALIGNMENT_FILE, Hearing, hearing_text, made_from, write_hearing
from riffract.essay.recording import anchors_of
from riffract.essay.sound_cache import prepare
from riffract.formats.problem import Problem
from riffract.formats.reading import ReadChoices
from riffract.music import Passage
from riffract.publish.hearing_report import doubts, hearing_report
from riffract.sound.alignment import Anchor, align
from riffract.sound.mono import Mono
from riffract.sound.reading.one_channel import read_mono
from riffract.sound.sound import SoundProblem
from riffract.sound.support import support

WIDEST: Final = 100

READING_SHARE, ALIGNING_SHARE = 0.1, 0.6
"""About what share of the work is done when the recording is read, and when it is aligned."""

Report = Callable[[str, float], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Take:
    """What is listened to.

    Attributes:
        passage: what is written.
        recording: the file.
        anchors: what is fixed by ear.
        kept_in: the essay's folder, if the recording is its own.
    """

    passage: Passage
    recording: Path
    anchors: tuple[Anchor, ...]
    kept_in: Path | None = None


def hear(path: Path, recording: Path | None, choices: ReadChoices, *, as_json: bool) -> int:
    """Find a passage in a recording and say which notes it bears out; give the exit code.

    Args:
        path: an essay's folder, or a file of music.
        recording: what to listen to instead of the essay's own recording.
        choices: what the file leaves open.
        as_json: print what is kept in `alignment.json`.
    """
    subject = subject_of(path, choices)
    # A kept alignment that no longer holds is about to be made anew.
    show(p for p in subject.problems if Path(p.file).name != ALIGNMENT_FILE)
    if subject.passage is None:
        return PROBLEM
    take = _take(path, recording, subject)
    if isinstance(take, FileProblem):
        show([take])
        return PROBLEM
    with progress_bar() as report:
        heard = _heard(take, report)
    if isinstance(heard, SoundProblem):
        problem = Problem(what=heard.what, mend=heard.mend)
        show([FileProblem(file=str(take.recording), problem=problem)])
        return PROBLEM
    hearing, seconds = heard
    if as_json:
        print(hearing_text(hearing), end="")
    else:
        width = min(shutil.get_terminal_size((WIDEST, 24)).columns, WIDEST)
        text = hearing_report(take.passage, hearing, recording_seconds=seconds, width=width)
        print(text, end="")
    if take.kept_in is not None:
        print(write_hearing(take.kept_in, hearing), file=sys.stderr)
    return DONE


def _take(path: Path, recording: Path | None, subject: Subject) -> Take | FileProblem:
    assert subject.passage is not None
    settings = None if subject.essay is None else subject.essay.settings.recording
    if recording is not None:
        return Take(passage=subject.passage, recording=recording, anchors=())
    if subject.essay is not None and settings is not None:
        return Take(
            passage=subject.passage,
            recording=subject.essay.folder / settings.file,
            anchors=anchors_of(settings, subject.passage),
            kept_in=subject.essay.folder,
        )
    mend = "say --recording FILE"
    if subject.essay is not None:
        mend = f'copy it into the folder and name it in {SETTINGS_FILE}: [recording] file = "…"'
    problem = Problem(what="there is no recording to listen to", mend=mend)
    return FileProblem(file=str(path), problem=problem)


def _heard(take: Take, report: Report) -> tuple[Hearing, float] | SoundProblem:
    sound = read_mono(take.recording, progress=lambda _seconds: report("reading", 0.0))
    if isinstance(sound, SoundProblem):
        return sound
    for note in sound.notes:
        print(f"{take.recording}: {note}", file=sys.stderr)
    sha256 = None
    if take.kept_in is not None:
        measured = prepare(
            take.kept_in,
            take.recording,
            sound=sound,
            progress=_part(report, "measuring", 0.0, READING_SHARE),
        )
        # Its outline and spectrum are to be looked at; nothing that follows hangs on them.
        if isinstance(measured, SoundProblem):
            print(f"{take.recording}: {measured.what}; {measured.mend}", file=sys.stderr)
        else:
            sha256 = measured.about.sha256
    return _held_against(take, sound, sha256, report)


def _held_against(
    take: Take, sound: Mono, recording_sha256: str | None, report: Report
) -> tuple[Hearing, float] | SoundProblem:
    alignment = align(
        take.passage,
        sound,
        anchors=take.anchors,
        progress=_part(report, "aligning", READING_SHARE, ALIGNING_SHARE),
    )
    if isinstance(alignment, SoundProblem):
        return alignment
    found = support(
        take.passage, alignment, sound, progress=_part(report, "listening", ALIGNING_SHARE, 1.0)
    )
    hearing = Hearing(
        made_from=made_from(take.passage, take.recording, recording_sha256=recording_sha256),
        alignment=alignment,
        support=found,
        doubts=doubts(take.passage, found),
    )
    return hearing, sound.length_seconds


def _part(report: Report, what: str, start: float, end: float) -> Callable[[float], None]:
    return lambda share: report(what, start + share * (end - start))
