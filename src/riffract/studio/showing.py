"""The film as it will be: jobs for the workers of the desks, of sound and of long work."""

from bisect import bisect_right
from dataclasses import dataclass
from functools import lru_cache
from itertools import accumulate
from pathlib import Path
from typing import Final

import msgspec
import skia

from riffract.analysis.saying import said_in, say
from riffract.essay.folder import CLAIMS_FILE, SETTINGS_FILE, Essay
from riffract.essay.shots import Shot
from riffract.formats.problem import Problem, Severity
from riffract.picture.essay_look import look_of
from riffract.picture.handover import in_a_row
from riffract.picture.look import LOOKS
from riffract.picture.look_file import OwnLook
from riffract.picture.raster import ScenePainter
from riffract.picture.scene import Scene, page_for
from riffract.picture.scenes import scene_for
from riffract.picture.type import set_in
from riffract.publish.going_out import going_out
from riffract.publish.material import film_soundtrack, language_of, shots_of
from riffract.publish.parts import SOUNDING_PARTS, Part
from riffract.sound.files import write_wav
from riffract.sound.sound import Sound
from riffract.studio.held import Held, held, recorded
from riffract.studio.problems import RefusedError
from riffract.studio.worker import Report

FILM_SOUND: Final = ".riffract/film.wav"
PICTURE_QUALITY: Final = 88
"""Of a preview's JPEG: its artefacts are smaller than those of the finished film."""

_PAINTERS_KEPT: Final = 12
"""A painter at 1280 px keeps some 30 MB; as many shots can be jumped among without delay."""

_STILLS_KEPT: Final = 5
"""Of a passage as a whole, with 240 cues, a jump then draws 40 at most: a few milliseconds."""

_READY_STEPS: Final = _STILLS_KEPT + 1
"""From still to still."""


class ShotSeen(msgspec.Struct, frozen=True, kw_only=True):
    """A shot as the desk lists it; times in seconds from the start of the film."""

    name: str
    scene: str
    title: str
    start: float
    length: float
    description: str
    lines: tuple[tuple[float, float, str], ...]


class FilmSeen(msgspec.Struct, frozen=True, kw_only=True):
    """The film as the desk shows it.

    Attributes:
        shots: in order.
        seconds: how long it is.
        width, height: px.
        frames_a_second: as it will be made.
        look: its colours by name; `looks` are those to choose from.
        problems: what the person should know, each in a line.
    """

    shots: tuple[ShotSeen, ...]
    seconds: float
    width: int
    height: int
    frames_a_second: int
    look: str
    looks: tuple[str, ...]
    problems: tuple[str, ...]


class CheckSeen(msgspec.Struct, frozen=True, kw_only=True):
    """A question to the film: its name, what was found, what is allowed, whether it passes."""

    name: str
    measured: str
    limit: str
    is_passed: bool


class Made(msgspec.Struct, frozen=True, kw_only=True):
    """What an export gave.

    Attributes:
        files: names below the folder of what goes out.
        problems: each in a line.
        failed: whether a part was not written.
        checks: what was measured on the film.
    """

    files: tuple[str, ...]
    problems: tuple[str, ...]
    failed: bool
    checks: tuple[CheckSeen, ...]


class Wish(msgspec.Struct, frozen=True, kw_only=True):
    """What is to be made: names of parts, and whether even a film that flashes is written."""

    parts: tuple[str, ...]
    despite_flashing: bool = False


@dataclass(frozen=True, slots=True)
class _Film:
    """A film laid out.

    Attributes:
        of: what it was made from.
        own: its look.
        shots: in order.
        scenes: the picture of each.
        ends: when each shot ends.
    """

    of: Held
    own: OwnLook
    shots: tuple[Shot, ...]
    scenes: tuple[Scene, ...]
    ends: tuple[float, ...]


def film_plan(report: Report, folder: str) -> FilmSeen:
    """Lay the film out: which shot comes when, and what is said in it."""
    report("laying out", 0.1)
    film = _film_of(held(folder))
    settings = film.of.essay.settings.film
    starts = (0.0, *film.ends)
    width, height = settings.size_px
    return FilmSeen(
        shots=tuple(
            ShotSeen(
                name=shot.name,
                scene=str(shot.scene),
                title=shot.title,
                start=start,
                length=shot.length_seconds,
                description=scene.description,
                lines=tuple(
                    (start + line.start_seconds, start + line.end_seconds, line.text)
                    for line in shot.lines
                ),
            )
            for shot, scene, start in zip(film.shots, film.scenes, starts, strict=False)
        ),
        seconds=film.ends[-1],
        width=width,
        height=height,
        frames_a_second=settings.frames_per_second,
        look=settings.look,
        looks=tuple(dict.fromkeys((*LOOKS, settings.look, *_look_files(Path(folder))))),
        problems=tuple(_line(p.problem, Path(p.file).name) for p in film.of.problems),
    )


def _look_files(folder: Path) -> list[str]:
    """Name the files of the essay's folder that may be looks: TOML that is none of our own."""
    own = {SETTINGS_FILE, CLAIMS_FILE}
    return sorted(
        path.name
        for path in folder.glob("*.toml")
        if path.name not in own and "colours" in path.read_text(encoding="utf-8", errors="replace")
    )


def film_frame(_report: Report, folder: str, seconds: float, width_px: int) -> bytes:
    """Draw one moment of the film.

    Args:
        folder: of the essay.
        seconds: from the start of the film; beyond its end, its last frame.
        width_px: of the picture; its height follows from the film's shape.

    Returns:
        A JPEG: packing and unpacking one takes less time than handing its points to a browser.
    """
    film = _film_of(held(folder))
    number = min(bisect_right(film.ends, seconds), len(film.shots) - 1)
    since = seconds - (film.ends[number - 1] if number else 0.0)
    with set_in(film.own.family), said_in(language_of(film.of.essay)):
        pixels = _painter(id(film), number, width_px).frame(since).pixels
    image = skia.Image.fromarray(pixels, colorType=skia.kBGRA_8888_ColorType, copy=False)
    return bytes(image.encodeToData(skia.kJPEG, PICTURE_QUALITY))


def get_ready(_report: Report, folder: str, step: int, width_px: int) -> int:
    """Bring up a part of a shot's painter, so that a first jump there costs no more than the next.

    Args:
        folder: of the essay.
        step: which part of which shot, from 0; each is short, so that no frame waits for it long.
        width_px: of the pictures.

    Returns:
        How many steps there are.
    """
    film = _film_of(held(folder))
    number, part = divmod(step, _READY_STEPS)
    if number < len(film.shots):
        with set_in(film.own.family), said_in(language_of(film.of.essay)):
            share = (part + 1) / _READY_STEPS
            _painter(id(film), number, width_px).frame(film.shots[number].length_seconds * share)
    return _READY_STEPS * min(len(film.shots), _PAINTERS_KEPT)


def make_film_sound(report: Report, folder: str) -> str:
    """Make the film's sound into the essay's own store; give the file's name."""
    report("making the sound", 0.05)
    film = _film_of(held(folder))
    track = film_soundtrack(
        film.of.essay,
        film.of.claims,
        film.shots,
        _recording_of(film.of.essay),
    )
    path = Path(folder) / FILM_SOUND
    path.parent.mkdir(exist_ok=True)
    write_wav(path, track.sound, bits=16)
    return FILM_SOUND


def _recording_of(essay: Essay) -> Sound | None:
    return recorded(essay.folder, essay.settings, essay.passage, essay.time_map)


def export(report: Report, folder: str, wish: Wish) -> Made:
    """Make parts of what goes out, as `riffract publish` does."""
    report("studying", 0.0)
    of = held(folder)
    ready, problems = going_out(of.essay, of.study)
    if ready is None:
        raise RefusedError.of(next(one.problem for one in problems if one.is_error))
    wanted = frozenset(Part(part) for part in wish.parts)
    recording = _recording_of(of.essay) if wanted & SOUNDING_PARTS else None
    made = ready.publish(wanted, recording, despite_flashing=wish.despite_flashing, report=report)
    out = of.essay.out
    with said_in(language_of(of.essay)):
        checks = tuple(
            CheckSeen(
                name=say(check.name),
                measured=check.measured,
                limit=check.limit,
                is_passed=check.is_passed,
            )
            for check in made.checks
        )
    return Made(
        files=tuple(path.relative_to(out).as_posix() for path in made.files),
        problems=tuple(_line(problem) for problem in made.problems),
        failed=any(problem.severity is Severity.ERROR for problem in made.problems),
        checks=checks,
    )


def _line(problem: Problem, file: str = "") -> str:
    """Tell a problem in one line: where in the essay, or else in which file and line."""
    line = f", line {problem.line}" if file and problem.line else ""
    told = " – ".join(filter(None, (problem.what, problem.mend)))
    return ": ".join(filter(None, (problem.place or f"{file}{line}", told)))


_films: Final[list[_Film]] = []


def _film_of(of: Held) -> _Film:
    """Lay a film out, unless it was the last one."""
    if _films and _films[0].of is of:
        return _films[0]
    own = _look(of)
    with said_in(language_of(of.essay)):
        shots = shots_of(of.essay, of.claims)
    page = page_for(*of.essay.settings.film.size_px)
    with set_in(own.family), said_in(language_of(of.essay)):
        scenes = in_a_row(of.study, shots, [scene_for(of.study, shot, page) for shot in shots])
    ends = tuple(accumulate(shot.length_seconds for shot in shots))
    _films[:] = [_Film(of, own, shots, scenes, ends)]
    _painter.cache_clear()
    return _films[0]


@lru_cache(maxsize=_PAINTERS_KEPT)
def _painter(_film: int, number: int, width_px: int) -> ScenePainter:
    film = _films[0]
    page = film.scenes[number].page
    height_px = round(width_px * page.height / page.width)
    return ScenePainter(
        film.scenes[number],
        film.own.look,
        width=width_px,
        height=height_px,
        stills_kept=_STILLS_KEPT,
    )


def _look(of: Held) -> OwnLook:
    own, problems = look_of(of.essay)
    if own is None:
        problem = problems[0].problem
        raise RefusedError.of(problem)
    return own
