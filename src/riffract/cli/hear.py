"""`riffract hear`: hold a passage against its recording."""

import shutil
import sys
from pathlib import Path
from typing import Final

from riffract.analysis.saying import ENGLISH, said_in
from riffract.cli.exit_codes import DONE, PROBLEM
from riffract.cli.progress import progress_bar
from riffract.cli.subject import Subject, show, subject_of
from riffract.essay.folder import SETTINGS_FILE, FileProblem
from riffract.essay.hearing import ALIGNMENT_FILE, hearing_text, write_hearing
from riffract.essay.recording import anchors_of
from riffract.formats.problem import Problem
from riffract.formats.reading import ReadChoices
from riffract.publish.hearing_report import hearing_report
from riffract.publish.listening import Take, held_against
from riffract.publish.material import language_of
from riffract.sound.sound import SoundProblem

WIDEST: Final = 100


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
        heard = held_against(take, report)
    for note in heard.notes:
        print(f"{take.recording}: {note}", file=sys.stderr)
    if isinstance(heard, SoundProblem):
        problem = Problem(what=heard.what, mend=heard.mend)
        show([FileProblem(file=str(take.recording), problem=problem)])
        return PROBLEM
    hearing = heard.hearing
    if as_json:
        print(hearing_text(hearing), end="")
    else:
        width = min(shutil.get_terminal_size((WIDEST, 24)).columns, WIDEST)
        seconds = heard.recording_seconds
        own = ENGLISH if subject.essay is None else language_of(subject.essay)
        with said_in(own):
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
