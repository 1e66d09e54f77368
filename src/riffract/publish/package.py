"""Everything that goes out of an essay, made into one folder."""

from collections.abc import Callable, Collection, Iterator
from functools import partial
from pathlib import Path

from riffract.analysis.saying import said_in
from riffract.formats.problem import Problem
from riffract.publish.checks import Check
from riffract.publish.film.progress import CancelledError, IsCancelled, nobody_cancels
from riffract.publish.manifest import write_manifest
from riffract.publish.material import Material
from riffract.publish.moving_parts import make_film, make_loops, make_overlay
from riffract.publish.parts import (
    FILM_FILE,
    LOOPS_FOLDER,
    OVERLAY_FOLDER,
    STILLS_FOLDER,
    USUAL_PARTS,
    Part,
)
from riffract.publish.published import Published
from riffract.publish.stills import named_stills, write_stills
from riffract.publish.written_parts import WRITTEN_PARTS

Report = Callable[[str, float], None]
"""Is told what is being made, and the share of the whole job that is done."""


def publish(
    material: Material,
    folder: Path,
    parts: Collection[Part] = USUAL_PARTS,
    *,
    report: Report = lambda _what, _share: None,
    is_cancelled: IsCancelled = nobody_cancels,
) -> Published:
    """Make the chosen parts into a folder.

    Each file appears whole or not at all; what was there before stays until its successor is
    complete, and stays if that fails.

    Raises:
        CancelledError: if the job was stopped; the files finished until then stay.
    """
    folder.mkdir(parents=True, exist_ok=True)
    chosen = [part for part in Part if part in parts]
    whole_seconds = sum(_seconds_expected(part, material) for part in chosen)
    start = 0.0
    files: list[Path] = []
    problems: list[Problem] = []
    checks: list[Check] = []
    try:
        for part in chosen:
            if is_cancelled():
                raise CancelledError
            share = _seconds_expected(part, material) / whole_seconds
            progress = partial(_report_within, report, part, start, share)
            progress(0.0)
            with said_in(material.language):
                made = _make(part, material, folder, progress, is_cancelled)
            files += made.files
            problems += made.problems
            checks += made.checks
            start += share
    finally:
        # Also of a job that was stopped: what is complete stays, and is part of the package.
        files.append(write_manifest(material, folder, files))
    report("done", 1.0)
    return Published(files=tuple(files), problems=tuple(problems), checks=tuple(checks))


def _make(
    part: Part,
    material: Material,
    folder: Path,
    progress: Callable[[float], None],
    is_cancelled: IsCancelled,
) -> Published:
    if part in WRITTEN_PARTS:
        return WRITTEN_PARTS[part](material, folder)
    if part is Part.FILM:
        return make_film(material, folder / FILM_FILE, progress, is_cancelled)
    if part is Part.STILLS:
        files = _stills(material, folder, progress)
    elif part is Part.LOOPS:
        files = make_loops(material, folder / LOOPS_FOLDER, progress, is_cancelled)
    else:
        files = make_overlay(material, folder / OVERLAY_FOLDER, progress, is_cancelled)
    return Published(files=tuple(files), problems=())


def _stills(material: Material, folder: Path, progress: Callable[[float], None]) -> Iterator[Path]:
    stills_folder = folder / STILLS_FOLDER
    stills_folder.mkdir(exist_ok=True)
    whole = 3 * len(material.shots) + 1
    for number, path in enumerate(
        write_stills(stills_folder, named_stills(material.shots, material.stills), material.look),
        start=1,
    ):
        progress(number / whole)
        yield path


def _seconds_expected(part: Part, material: Material) -> float:
    """Guess how long a part takes, so that progress runs evenly; only the proportions matter."""
    match part:
        case Part.FILM:
            return 0.5 * sum(shot.length_seconds for shot in material.shots) + 1.0
        case Part.OVERLAY:
            return 1.5 * sum(shot.length_seconds for shot in material.shots) + 1.0
        case Part.STEMS:
            return 0.1 * sum(shot.length_seconds for shot in material.shots)
        case Part.LOOPS:
            return 4.0 * len(material.shots)
        case Part.STILLS:
            return 0.4 * len(material.shots)
        case _:
            return 0.2


def _report_within(
    report: Report, part: Part, start: float, length: float, share_of_part: float
) -> None:
    report(part, min(start + length * share_of_part, 1.0))
