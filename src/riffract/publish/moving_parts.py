"""The parts of a package that move: film, loops, overlay."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from functools import partial
from hashlib import blake2b
from pathlib import Path

from riffract.formats.problem import Severity
from riffract.picture.handover import in_a_row
from riffract.picture.look import Look
from riffract.picture.raster import ScenePainter
from riffract.picture.scene import Scene
from riffract.picture.type import family
from riffract.publish.answer import answer_text
from riffract.publish.captions import captions
from riffract.publish.checks import checks_of
from riffract.publish.checks_report import checks_json, checks_problems, checks_text
from riffract.publish.film.flash import FlashMeter
from riffract.publish.film.loop import Movable, write_loops
from riffract.publish.film.movie_file import MovieLabels
from riffract.publish.film.overlay import write_overlay
from riffract.publish.film.part import QUALITY
from riffract.publish.film.progress import IsCancelled
from riffract.publish.film.writing import Reel, write_film
from riffract.publish.material import Material
from riffract.publish.parts import CHECKS_FILE, CHECKS_JSON_FILE, UNFINISHED_FOLDER
from riffract.publish.published import Published, written
from riffract.sound.loudness import loudness_of


def make_film(
    material: Material, path: Path, progress: Callable[[float], None], is_cancelled: IsCancelled
) -> Published:
    """Film the shots, and check the film; one with an error is not written."""
    about = material.about
    scenes = in_a_row(material.study, material.shots, material.scenes)
    sound = material.soundtrack().sound
    cues = captions(material.shots, material.study.passage)
    meter = FlashMeter(width=material.width, height=material.height)
    problems = write_film(
        path,
        _reels(material, scenes, material.look),
        sound,
        width=material.width,
        height=material.height,
        labels=MovieLabels(
            title=about.title,
            author="; ".join(about.credits),
            rights=about.rights,
            description=about.subtitle,
            language=material.language.code,
        ),
        cues=cues,
        frames_a_second=material.frames_a_second,
        meter=meter,
        despite_flashing=material.despite_flashing,
        parts_folder=path.parent / UNFINISHED_FOLDER,
        progress=progress,
        is_cancelled=is_cancelled,
    )
    checks = checks_of(
        material.shots,
        scenes,
        material.look,
        short_side_px=min(material.width, material.height),
        cues=cues,
        meter=meter,
        flash_problems=problems,
        loudness=loudness_of(sound),
        target_lufs=material.target_lufs,
        ceiling_dbtp=material.ceiling_dbtp,
    )
    is_written = all(problem.severity is not Severity.ERROR for problem in problems)
    report = {CHECKS_FILE: checks_text(checks), CHECKS_JSON_FILE: checks_json(checks)}
    reported = written(path.parent, report, problems=(*problems, *checks_problems(checks)))
    files = (path, *reported.files) if is_written else reported.files
    return replace(reported, files=files, checks=checks)


def make_loops(
    material: Material,
    folder: Path,
    progress: Callable[[float], None],
    is_cancelled: IsCancelled,
) -> Iterator[Path]:
    """Make a loop of each shot in which something moves."""
    folder.mkdir(exist_ok=True)
    shots = [
        Movable(
            name=shot.name,
            length_seconds=shot.length_seconds,
            sides=(scene.page.width, scene.page.height),
            painter=partial(ScenePainter, scene, material.look),
        )
        for shot, scene in zip(material.shots, material.scenes, strict=True)
    ]
    return write_loops(folder, shots, progress=progress, is_cancelled=is_cancelled)


def make_overlay(
    material: Material,
    folder: Path,
    progress: Callable[[float], None],
    is_cancelled: IsCancelled,
) -> Iterator[Path]:
    """Make each shot as a file with a transparent ground."""
    folder.mkdir(exist_ok=True)
    make = material.overlay_scenes
    look = material.look.without_ground
    return write_overlay(
        folder,
        [shot.name for shot in material.shots],
        _reels(material, material.scenes if make is None else make(), look),
        look,
        kind=material.overlay,
        width=material.width,
        height=material.height,
        frames_a_second=material.frames_a_second,
        progress=progress,
        is_cancelled=is_cancelled,
    )


def _reels(material: Material, scenes: Sequence[Scene], look: Look) -> list[Reel]:
    size = {"width": material.width, "height": material.height}
    keys = _shot_keys(material, look)
    return [
        Reel(
            title=shot.title,
            length_seconds=shot.length_seconds,
            painter=partial(ScenePainter, scene, look, **size),
            key=key,
        )
        for shot, scene, key in zip(material.shots, scenes, keys, strict=True)
    ]


def _shot_keys(material: Material, look: Look) -> Iterator[str]:
    """Name each shot after all that its pictures are made from: music, findings, look, program.

    The shot before it counts too, since one may grow out of the other.
    """
    common = blake2b(digest_size=16)
    for text in (
        answer_text(material.study),
        material.tab_text,
        repr(sorted(look.hexes.items())),
        repr(material.language),
        repr(sorted(look.thinned.items())),
        f"{material.width} {material.height} {material.frames_a_second} {sorted(QUALITY.items())}",
    ):
        common.update(text.encode())
    for data in (*family().files.values(), *_program()):
        common.update(data)
    for before, shot in zip((None, *material.shots), material.shots, strict=False):
        own = common.copy()
        own.update(f"{before} {shot}".encode())
        yield f"{shot.name}-{own.hexdigest()}"


def _program() -> Iterator[bytes]:
    """Read the program's own modules: pictures may differ after an update."""
    for module in sorted(Path(__file__).parents[1].rglob("*.py")):
        yield module.read_bytes()
