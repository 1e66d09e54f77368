"""Everything that goes out of an essay, made into one folder."""

from collections.abc import Callable, Collection, Iterator, Sequence
from functools import partial
from pathlib import Path

from riffract.essay.shots import Shot
from riffract.formats.problem import Problem, Severity
from riffract.picture.look import PAPER
from riffract.picture.scene import Scene
from riffract.publish.answer import answer_text
from riffract.publish.captions import caption_problems, captions, sub_rip, web_vtt
from riffract.publish.checks import Check
from riffract.publish.findings_table import findings_table
from riffract.publish.handout import Figure, Handout, handout_data, handout_pdf
from riffract.publish.material import Material
from riffract.publish.moving_parts import make_film, make_loops, make_overlay
from riffract.publish.parts import (
    FILM_FILE,
    FINDINGS_FILE,
    HANDOUT_FILE,
    LOOPS_FOLDER,
    OVERLAY_FOLDER,
    SCRIPT_FILE,
    STILLS_FOLDER,
    SUB_RIP_FILE,
    TABLE_FILE,
    USUAL_PARTS,
    WEB_VTT_FILE,
    Part,
)
from riffract.publish.progress import CancelledError, IsCancelled, nobody_cancels
from riffract.publish.published import Published, written
from riffract.publish.script import script_text
from riffract.publish.stills import Still, still_svg, write_stills

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
            return written(
                folder,
                {
                    FINDINGS_FILE: answer_text(material.study),
                    TABLE_FILE: findings_table(material.study),
                },
            )
        case Part.SCRIPT:
            return written(folder, {SCRIPT_FILE: script_text(material.shots, material.study)})
        case Part.CAPTIONS:
            cues = captions(material.shots, material.study.passage)
            texts = {WEB_VTT_FILE: web_vtt(cues), SUB_RIP_FILE: sub_rip(cues)}
            return written(folder, texts, problems=caption_problems(cues))
        case Part.HANDOUT:
            handout = _handout(material)
            problems = _sign_problems(handout.lost_signs)
            return written(folder, {HANDOUT_FILE: handout.pdf}, problems=problems)
        case Part.STILLS:
            return Published(files=tuple(_stills(material, folder, progress)), problems=())
        case Part.FILM:
            return make_film(material, folder / FILM_FILE, progress, is_cancelled)
        case Part.LOOPS:
            files = make_loops(material, folder / LOOPS_FOLDER, progress, is_cancelled)
            return Published(files=tuple(files), problems=())
        case Part.OVERLAY:
            files = make_overlay(material, folder / OVERLAY_FOLDER, progress, is_cancelled)
            return Published(files=tuple(files), problems=())


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
