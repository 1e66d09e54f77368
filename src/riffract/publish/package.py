"""Everything that goes out of an essay, made into one folder."""

from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from functools import partial
from hashlib import blake2b
from pathlib import Path
from typing import Final

from riffract.essay.beside import write_whole
from riffract.essay.shots import Shot
from riffract.formats.problem import Problem, Severity
from riffract.picture.handover import in_a_row
from riffract.picture.look import PAPER, Look
from riffract.picture.raster import ScenePainter
from riffract.picture.scene import Scene
from riffract.picture.type import family
from riffract.publish.about import About
from riffract.publish.answer import answer_text
from riffract.publish.captions import caption_problems, captions, sub_rip, web_vtt
from riffract.publish.checks import (
    Check,
    checks_json,
    checks_of,
    checks_problems,
    checks_text,
)
from riffract.publish.film import Reel, write_film
from riffract.publish.film_part import QUALITY
from riffract.publish.findings_table import findings_table
from riffract.publish.flash import FlashMeter
from riffract.publish.handout import Figure, Handout, handout_data, handout_pdf
from riffract.publish.loop import Movable, write_loops
from riffract.publish.movie_file import MovieLabels
from riffract.publish.overlay import OverlayKind, write_overlay
from riffract.publish.progress import CancelledError, IsCancelled, nobody_cancels
from riffract.publish.script import script_text
from riffract.publish.stills import Still, still_svg, write_stills
from riffract.sound.loudness import CEILING_DBTP, TARGET_LUFS, loudness_of
from riffract.sound.sound import Sound
from riffract.weighing.study import Study


class Part(StrEnum):
    """What can go out, in the order in which it is made: the quick ones first."""

    FINDINGS = "findings"
    SCRIPT = "script"
    CAPTIONS = "captions"
    HANDOUT = "handout"
    STILLS = "stills"
    FILM = "film"
    LOOPS = "loops"
    OVERLAY = "overlay"


USUAL_PARTS: Final = frozenset(Part) - {Part.LOOPS, Part.OVERLAY}
"""What is made if nothing is asked for; the others are large, and few need them."""

FILM_FILE: Final = "film.mp4"
HANDOUT_FILE: Final = "handout.pdf"
SCRIPT_FILE: Final = "script.md"
FINDINGS_FILE: Final = "findings.json"
TABLE_FILE: Final = "findings.csv"
WEB_VTT_FILE: Final = "captions.vtt"
CHECKS_FILE: Final = "checks.txt"
CHECKS_JSON_FILE: Final = "checks.json"
SUB_RIP_FILE: Final = "captions.srt"
STILLS_FOLDER: Final = "stills"
UNFINISHED_FOLDER: Final = ".unfinished"
"""Shots of a film that was stopped; it goes on from them."""

LOOPS_FOLDER: Final = "loops"
OVERLAY_FOLDER: Final = "overlay"

Report = Callable[[str, float], None]
"""Is told what is being made, and the share of the whole job that is done."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Material:
    """What everything is made from.

    Attributes:
        study: the passage and its findings.
        shots: the film, shot by shot.
        scenes: the picture of each shot, in the same order.
        stills: the same as a picture that stands alone, with all in it to see at once.
        figures: the same for the handout, on a wide page.
        sound: makes the film's sound; it is asked only if there is a film to make.
        about: title, credits and rights.
        tab_text: the passage as plain-text tab.
        sources: names of the files that the essay was made from.
        look: the colours of film and stills; the handout is always on paper.
        width, height: of the film, px.
        frames_a_second: of the film.
        target_lufs: what the film's sound was brought to.
        ceiling_dbtp: what its true peaks should stay below.
        despite_flashing: whether a film that flashes too much is written all the same.
        overlay: what an overlay is written as.
        overlay_scenes: makes the pictures of the overlay; without it they are those of the film.
    """

    study: Study
    shots: Sequence[Shot]
    scenes: Sequence[Scene]
    stills: Sequence[Scene]
    figures: Sequence[Scene]
    sound: Callable[[], Sound]
    about: About
    tab_text: str
    sources: Sequence[str]
    look: Look
    width: int = 1920
    height: int = 1080
    frames_a_second: int = 30
    target_lufs: float = TARGET_LUFS
    ceiling_dbtp: float = CEILING_DBTP
    despite_flashing: bool = False
    overlay: OverlayKind = OverlayKind.PRORES
    overlay_scenes: Callable[[], Sequence[Scene]] | None = None

    def __post_init__(self) -> None:
        pictures = {len(self.scenes), len(self.stills), len(self.figures)}
        if pictures != {len(self.shots)}:
            raise ValueError(
                f"each shot needs its scene, still and figure, got {len(self.shots)} shots and "
                f"{sorted(pictures)} pictures"
            )


@dataclass(frozen=True, slots=True, kw_only=True)
class Published:
    """What came of it.

    Attributes:
        files: what was written, in order.
        problems: what is wrong; a part with an error was not written.
        checks: of the film; none if it was not asked for.
    """

    files: tuple[Path, ...]
    problems: tuple[Problem, ...]
    checks: tuple[Check, ...] = ()


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
    for part in chosen:
        if is_cancelled():
            raise CancelledError
        share = _seconds_expected(part, material) / whole_seconds
        progress = partial(_report_within, report, part, start, share)
        progress(0.0)
        made = _make(part, material, folder, progress, is_cancelled)
        files += made.files
        problems += made.problems
        checks += made.checks
        start += share
    report("done", 1.0)
    return Published(files=tuple(files), problems=tuple(problems), checks=tuple(checks))


def _make(
    part: Part,
    material: Material,
    folder: Path,
    progress: Callable[[float], None],
    is_cancelled: IsCancelled,
) -> Published:
    match part:
        case Part.FINDINGS:
            return _written(
                folder,
                {
                    FINDINGS_FILE: answer_text(material.study),
                    TABLE_FILE: findings_table(material.study),
                },
            )
        case Part.SCRIPT:
            return _written(folder, {SCRIPT_FILE: script_text(material.shots, material.study)})
        case Part.CAPTIONS:
            cues = captions(material.shots, material.study.passage)
            texts = {WEB_VTT_FILE: web_vtt(cues), SUB_RIP_FILE: sub_rip(cues)}
            return _written(folder, texts, problems=caption_problems(cues))
        case Part.HANDOUT:
            handout = _handout(material)
            problems = _sign_problems(handout.lost_signs)
            return _written(folder, {HANDOUT_FILE: handout.pdf}, problems=problems)
        case Part.STILLS:
            return Published(files=tuple(_stills(material, folder, progress)), problems=())
        case Part.FILM:
            return _film(material, folder / FILM_FILE, progress, is_cancelled)
        case Part.LOOPS:
            files = _loops(material, folder / LOOPS_FOLDER, progress, is_cancelled)
            return Published(files=tuple(files), problems=())
        case Part.OVERLAY:
            files = _overlay(material, folder / OVERLAY_FOLDER, progress, is_cancelled)
            return Published(files=tuple(files), problems=())


def _written(
    folder: Path, contents: Mapping[str, str | bytes], *, problems: tuple[Problem, ...] = ()
) -> Published:
    for name, content in contents.items():
        write_whole(folder / name, content)
    return Published(files=tuple(folder / name for name in contents), problems=problems)


def _handout(material: Material) -> Handout:
    figures = {
        still.name: Figure(svg=still_svg(still, PAPER), description=still.scene.description)
        for still in _named(material.shots, material.figures)
    }
    return handout_pdf(
        handout_data(
            material.study,
            material.shots,
            figures,
            about=material.about,
            tab_text=material.tab_text,
            sources=material.sources,
        )
    )


def _sign_problems(lost_signs: str) -> tuple[Problem, ...]:
    if not lost_signs:
        return ()
    problem = Problem(
        what=f"no font on this computer has the signs {' '.join(lost_signs)}; in the handout "
        "they are question marks",
        mend="install a font that has them, or write them in other letters",
        place=HANDOUT_FILE,
        severity=Severity.WARNING,
    )
    return (problem,)


def _stills(material: Material, folder: Path, progress: Callable[[float], None]) -> Iterator[Path]:
    stills_folder = folder / STILLS_FOLDER
    stills_folder.mkdir(exist_ok=True)
    whole = 3 * len(material.shots) + 1
    for number, path in enumerate(
        write_stills(stills_folder, _named(material.shots, material.stills), material.look), start=1
    ):
        progress(number / whole)
        yield path


def _named(shots: Sequence[Shot], scenes: Sequence[Scene]) -> list[Still]:
    return [
        Still(name=shot.name, title=shot.title, scene=scene)
        for shot, scene in zip(shots, scenes, strict=True)
    ]


def _loops(
    material: Material,
    folder: Path,
    progress: Callable[[float], None],
    is_cancelled: IsCancelled,
) -> Iterator[Path]:
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


def _overlay(
    material: Material,
    folder: Path,
    progress: Callable[[float], None],
    is_cancelled: IsCancelled,
) -> Iterator[Path]:
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


def _film(
    material: Material, path: Path, progress: Callable[[float], None], is_cancelled: IsCancelled
) -> Published:
    about = material.about
    scenes = in_a_row(material.study, material.shots, material.scenes)
    sound = material.sound()
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
    written = _written(path.parent, report, problems=(*problems, *checks_problems(checks)))
    files = (path, *written.files) if is_written else written.files
    return replace(written, files=files, checks=checks)


def _seconds_expected(part: Part, material: Material) -> float:
    """Guess how long a part takes, so that progress runs evenly; only the proportions matter."""
    match part:
        case Part.FILM:
            return 0.5 * sum(shot.length_seconds for shot in material.shots) + 1.0
        case Part.OVERLAY:
            return 1.5 * sum(shot.length_seconds for shot in material.shots) + 1.0
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
