"""`riffract publish`: the film and all that goes with it."""

import sys
from collections.abc import Collection, Sequence
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import Final

from riffract.cli.look import look_of
from riffract.cli.main import DONE, PROBLEM
from riffract.cli.progress import progress_bar
from riffract.cli.subject import show, subject_of
from riffract.essay.claims import Claim
from riffract.essay.folder import (
    CLAIMS_FILE,
    SETTINGS_FILE,
    Essay,
    FileProblem,
    claims_of,
)
from riffract.essay.settings import Settings
from riffract.essay.shot_list import shot_list
from riffract.essay.shots import Shot
from riffract.essay.soundtrack import soundtrack
from riffract.formats.problem import Problem
from riffract.formats.reading import ReadChoices
from riffract.formats.tab import UnwritableError, write_tab
from riffract.music import Passage
from riffract.picture.look import Look
from riffract.picture.scene import WIDE, Page, Scene, page_for
from riffract.picture.scenes import scene_for
from riffract.picture.type import set_in
from riffract.publish.about import About
from riffract.publish.overlay import OverlayKind
from riffract.publish.package import Material, Part, publish
from riffract.sound.amp import Tone
from riffract.sound.files import read_sound
from riffract.sound.sound import Sound, SoundProblem
from riffract.weighing.study import Study
from riffract.weighing.weigh import study_passage

TAB_WIDTH: Final = 100

SHOWS_RIGHTS: Final = frozenset({Part.FILM, Part.SCRIPT, Part.HANDOUT})
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
    show(problems)
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
        material = _material(essay, study, claims, recording, own.look)
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
    recording = essay.settings.recording
    if recording is None or Part.FILM not in parts:
        return None
    path = essay.folder / recording.file
    sound = read_sound(path)
    if isinstance(sound, SoundProblem):
        problem = Problem(what=sound.what, mend=sound.mend)
        return FileProblem(file=str(path), problem=problem)
    for note in sound.notes:
        print(f"{path}: {note}", file=sys.stderr)
    return sound


def _material(
    essay: Essay,
    study: Study,
    claims: tuple[Claim, ...],
    recording: Sound | None,
    look: Look,
) -> Material:
    settings = essay.settings
    film = settings.film
    time_map = essay.time_map
    shots = shot_list(
        claims,
        time_map,
        title=essay.title,
        subtitle=settings.subtitle,
        credits_lines=settings.credits,
        rights=settings.rights,
    )
    width, height = film.size_px
    page = page_for(width, height)
    return Material(
        study=study,
        shots=shots,
        scenes=[scene_for(study, shot, page) for shot in shots],
        stills=[_still_of(study, shot, page) for shot in shots],
        figures=[_still_of(study, shot, WIDE) for shot in shots],
        sound=partial(_sound, essay, shots, recording),
        about=About(
            title=essay.title,
            subtitle=settings.subtitle,
            credits=settings.credits,
            rights=settings.rights,
        ),
        tab_text=_tab_text(essay.passage),
        sources=_sources(essay),
        look=look,
        width=width,
        height=height,
        frames_a_second=film.frames_per_second,
        target_lufs=film.loudness_lufs,
        ceiling_dbtp=film.peak_dbtp,
        overlay=OverlayKind(film.overlay),
        overlay_scenes=None if film.overlay_captions else partial(_unsaid, study, shots, page),
    )


def _unsaid(study: Study, shots: Sequence[Shot], page: Page) -> list[Scene]:
    """Draw the shots without the words that are said."""
    return [scene_for(study, replace(shot, lines=()), page) for shot in shots]


def _still_of(study: Study, shot: Shot, page: Page) -> Scene:
    """Draw a shot with nothing playing: all is lit, and nothing is paged to what is heard."""
    return scene_for(study, replace(shot, plays=(), lines=()), page)


def _tab_text(passage: Passage) -> str:
    """Write the passage as tab, or say why it cannot be written as one."""
    try:
        return write_tab(passage, width=TAB_WIDTH)
    except UnwritableError as error:
        reasons = [f"# {p.what} ({p.place})" if p.place else f"# {p.what}" for p in error.problems]
        return "\n".join(["# A tab cannot say all of this passage:", *reasons[:12], ""])


def _sound(essay: Essay, shots: tuple[Shot, ...], recording: Sound | None) -> Sound:
    return soundtrack(
        shots,
        essay.passage,
        recording=recording,
        tone=Tone(essay.settings.film.tone),
        seed=essay.settings.seed,
        target_lufs=essay.settings.film.loudness_lufs,
        ceiling_dbtp=essay.settings.film.peak_dbtp,
    )


def _sources(essay: Essay) -> list[str]:
    names = [essay.settings.passage]
    if (essay.folder / SETTINGS_FILE).is_file():
        names = [SETTINGS_FILE, *names]
    names += [passage.source for passage in essay.earlier]
    if essay.claims_source is not None:
        names.append(CLAIMS_FILE)
    if essay.settings.recording is not None:
        names.append(essay.settings.recording.file)
    return names
