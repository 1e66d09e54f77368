"""`riffract publish`: the film and all that goes with it."""

import sys
from collections.abc import Collection
from pathlib import Path
from typing import Final

from riffract.analysis.saying import said_in
from riffract.cli.exit_codes import DONE, PROBLEM
from riffract.cli.progress import progress_bar
from riffract.cli.subject import show, subject_of
from riffract.essay.folder import SETTINGS_FILE, Essay, FileProblem
from riffract.essay.settings import Film, Settings
from riffract.formats.reading import ReadChoices
from riffract.publish.film.overlay import OverlayKind, expected_bytes
from riffract.publish.going_out import going_out
from riffract.publish.material import language_of, shots_of
from riffract.publish.parts import Part
from riffract.sound.sound import Sound

SHOWS_RIGHTS: Final = frozenset({Part.FILM, Part.SCRIPT, Part.HANDOUT, Part.PAGE, Part.DESCRIPTION})
NO_RIGHTS: Final = (
    f"note: no rights line is given; `rights` in {SETTINGS_FILE} says whose music this is and what "
    "others may do with the film"
)

LARGE_BYTES: Final = 500_000_000
"""From here on the size of an overlay is told before it is made."""


def publish_path(
    path: Path,
    what: Collection[str],
    choices: ReadChoices,
    *,
    out: Path | None,
    despite_flashing: bool = False,
) -> int:
    """Publish an essay, or a file of music with the claims that its findings suggest."""
    subject = subject_of(path, choices)
    show(subject.problems)
    if subject.passage is None:
        return PROBLEM
    essay = subject.essay or Essay(
        folder=path.parent,
        settings=Settings(title=subject.passage.title or path.stem, passage=path.name),
        passage=subject.passage,
        claims_source=None,
    )
    default = essay.out if subject.essay else path.with_name(f"{path.stem}-out")
    parts = frozenset(Part(name) for name in what)
    return publish_essay(essay, parts, out or default, despite_flashing=despite_flashing)


def publish_essay(
    essay: Essay, parts: frozenset[Part], out: Path, *, despite_flashing: bool = False
) -> int:
    """Study an essay's passage, check its claims, and make the parts; give the exit code."""
    ready, problems = going_out(essay)
    show(problems)
    if ready is None:
        return PROBLEM
    recording = ready.recording(parts)
    if isinstance(recording, FileProblem):
        show([recording])
        return PROBLEM
    _tell(recording, essay)
    if parts & SHOWS_RIGHTS and not essay.settings.rights.strip():
        print(NO_RIGHTS, file=sys.stderr)
    if Part.OVERLAY in parts:
        seconds = sum(shot.length_seconds for shot in shots_of(essay, ready.claims))
        if note := size_note(essay.settings.film, seconds):
            print(note, file=sys.stderr)
    with progress_bar() as report:
        published = ready.publish(
            parts, recording, out=out, despite_flashing=despite_flashing, report=report
        )
    show(FileProblem(file=str(out), problem=p) for p in published.problems)
    folders = {file.parent for file in published.files}
    for file in published.files:
        if file.parent == out:
            print(file)
    for folder in sorted(folders - {out}):
        count = sum(file.parent == folder for file in published.files)
        print(f"{folder} ({count} files)")
    with said_in(language_of(essay)):
        for check in published.checks:
            print(check.line)
    return PROBLEM if any(p.severity == "error" for p in published.problems) else DONE


def size_note(film: Film, seconds: float) -> str:
    """Say how large an overlay of a film so long will be; nothing if it is not large."""
    width, height = film.size_px
    frames = round(seconds * film.frames_per_second)
    kind = OverlayKind(film.overlay)
    expected = expected_bytes(kind, width=width, height=height, frames=frames)
    if expected < LARGE_BYTES:
        return ""
    note = f'note: the overlay takes about {expected / 1e9:.1f} GB as "{kind}"'
    if kind is OverlayKind.VP9:
        return note
    return f'{note}; `overlay = "vp9"` in {SETTINGS_FILE} takes a small part of that'


def _tell(recording: Sound | None, essay: Essay) -> None:
    """Say what was found odd in the recording while it was read."""
    if recording is not None and essay.settings.recording is not None:
        for note in recording.notes:
            print(f"{essay.folder / essay.settings.recording.file}: {note}", file=sys.stderr)
