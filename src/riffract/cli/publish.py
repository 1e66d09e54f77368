"""`riffract publish`: the film and all that goes with it."""

import sys
from collections.abc import Collection
from dataclasses import replace
from pathlib import Path
from typing import Final

from riffract.cli.main import DONE, PROBLEM
from riffract.cli.progress import progress_bar
from riffract.cli.subject import show, subject_of
from riffract.essay.folder import (
    SETTINGS_FILE,
    Essay,
    FileProblem,
    claims_of,
)
from riffract.essay.recorded import recorded_sound
from riffract.essay.settings import Settings
from riffract.formats.reading import ReadChoices
from riffract.picture.essay_look import look_of
from riffract.picture.type import set_in
from riffract.publish.material import material_of, translation_problems
from riffract.publish.package import publish
from riffract.publish.parts import SOUNDING_PARTS, Part
from riffract.sound.sound import Sound
from riffract.weighing.weigh import study_passage

SHOWS_RIGHTS: Final = frozenset({Part.FILM, Part.SCRIPT, Part.HANDOUT, Part.PAGE, Part.DESCRIPTION})
NO_RIGHTS: Final = (
    f"note: no rights line is given; `rights` in {SETTINGS_FILE} says whose music this is and what "
    "others may do with the film"
)


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
    study = study_passage(essay.passage, seed=essay.settings.seed, earlier=essay.earlier)
    claims, problems = claims_of(essay, study)
    show((*problems, *translation_problems(essay, claims)))
    own, look_problems = look_of(essay)
    show(look_problems)
    if own is None or any(p.is_error for p in problems):
        return PROBLEM
    recording = _recording(essay, parts)
    if isinstance(recording, FileProblem):
        show([recording])
        return PROBLEM
    if parts & SHOWS_RIGHTS and not essay.settings.rights.strip():
        print(NO_RIGHTS, file=sys.stderr)
    with set_in(own.family), progress_bar() as report:
        material = material_of(essay, study, claims, recording, own.look)
        material = replace(material, despite_flashing=despite_flashing)
        published = publish(material, out, parts, report=report)
    show(FileProblem(file=str(out), problem=p) for p in published.problems)
    folders = {file.parent for file in published.files}
    for file in published.files:
        if file.parent == out:
            print(file)
    for folder in sorted(folders - {out}):
        count = sum(file.parent == folder for file in published.files)
        print(f"{folder} ({count} files)")
    for check in published.checks:
        print(check.line)
    return PROBLEM if any(p.severity == "error" for p in published.problems) else DONE


def _recording(essay: Essay, parts: frozenset[Part]) -> Sound | FileProblem | None:
    sound = recorded_sound(essay) if parts & SOUNDING_PARTS else None
    if isinstance(sound, Sound) and essay.settings.recording is not None:
        for note in sound.notes:
            print(f"{essay.folder / essay.settings.recording.file}: {note}", file=sys.stderr)
    return sound
