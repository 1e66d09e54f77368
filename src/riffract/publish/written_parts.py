"""The parts of a package that are texts, papers and data: each made in a moment."""

from collections.abc import Callable, Mapping
from pathlib import Path
from types import MappingProxyType
from typing import Any, Final

from riffract.formats.problem import Problem, Severity
from riffract.picture.look import PAPER
from riffract.publish.answer import answer_text
from riffract.publish.captions import caption_problems, captions, sub_rip, web_vtt
from riffract.publish.chapters import chapters, chapters_problems, chapters_text
from riffract.publish.described import descriptions
from riffract.publish.description import description_problems, description_text
from riffract.publish.findings_table import findings_table
from riffract.publish.handout.document import Figure, handout_data
from riffract.publish.handout.questions import with_questions
from riffract.publish.handout.typeset import handout_pdf
from riffract.publish.material import Material
from riffract.publish.page.page_part import page_part
from riffract.publish.parts import (
    CHAPTERS_FILE,
    DESCRIPTION_FILE,
    DESCRIPTIONS_FILE,
    FINDINGS_FILE,
    HANDOUT_FILE,
    PROMPTER_FILE,
    QUESTIONS_FILE,
    SCRIPT_FILE,
    SUB_RIP_FILE,
    TABLE_FILE,
    TIMELINE_FILE,
    WEB_VTT_FILE,
    Part,
)
from riffract.publish.passage_part import passage_part
from riffract.publish.prompter import prompter_problems, prompter_text
from riffract.publish.published import Published, written
from riffract.publish.script import script_text
from riffract.publish.stems_part import stems_part
from riffract.publish.stills import named_stills, still_svg
from riffract.publish.timeline import media_in, timeline_text


def _findings(material: Material, folder: Path) -> Published:
    study, by_hand = material.study, material.by_hand
    texts = {
        FINDINGS_FILE: answer_text(study, by_hand=by_hand),
        TABLE_FILE: findings_table(study, by_hand),
    }
    return written(folder, texts)


def _script(material: Material, folder: Path) -> Published:
    shots = material.shots
    texts = {
        SCRIPT_FILE: script_text(shots, material.study, title=material.about.title),
        PROMPTER_FILE: prompter_text(shots),
    }
    return written(folder, texts, problems=prompter_problems(shots))


def _captions(material: Material, folder: Path) -> Published:
    cues = captions(material.shots, material.study.passage)
    seen = [scene.description for scene in material.scenes]
    described = descriptions(material.shots, seen, material.study.passage)
    texts = {
        WEB_VTT_FILE: web_vtt(cues),
        SUB_RIP_FILE: sub_rip(cues),
        DESCRIPTIONS_FILE: web_vtt(described),
    }
    return written(folder, texts, problems=caption_problems(cues))


def _chapters(material: Material, folder: Path) -> Published:
    listed = chapters(material.shots)
    texts = {CHAPTERS_FILE: chapters_text(listed)}
    return written(folder, texts, problems=chapters_problems(listed))


def _description(material: Material, folder: Path) -> Published:
    text = description_text(material.shots, material.about)
    return written(folder, {DESCRIPTION_FILE: text}, problems=description_problems(text))


def _handout(material: Material, folder: Path) -> Published:
    data = _handout_data(material)
    made = {HANDOUT_FILE: handout_pdf(data)}
    if material.handout.questions:
        made[QUESTIONS_FILE] = handout_pdf(with_questions(data, material.shots, material.study))
    return written(
        folder,
        {name: handout.pdf for name, handout in made.items()},
        problems=_sign_problems(made[HANDOUT_FILE].lost_signs),
    )


def _timeline(material: Material, folder: Path) -> Published:
    """Name what is there to be cut: this time's files and those of an earlier run."""
    text = timeline_text(
        material.about.title,
        material.shots,
        captions(material.shots, material.study.passage),
        chapters(material.shots),
        media_in(folder, material.overlay),
        frames_a_second=material.frames_a_second,
    )
    return written(folder, {TIMELINE_FILE: text})


def _handout_data(material: Material) -> dict[str, Any]:
    figures = {
        still.name: Figure(svg=still_svg(still, PAPER), description=still.scene.description)
        for still in named_stills(material.shots, material.figures)
    }
    return handout_data(
        material.study,
        material.shots,
        figures,
        about=material.about,
        tab_text=material.tab_text,
        sources=material.sources,
        sums=material.sums(),
        paper=material.handout.paper,
        heard=material.heard,
        by_hand=material.by_hand,
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


WRITTEN_PARTS: Final[Mapping[Part, Callable[[Material, Path], Published]]] = MappingProxyType(
    {
        Part.FINDINGS: _findings,
        Part.SCRIPT: _script,
        Part.CAPTIONS: _captions,
        Part.CHAPTERS: _chapters,
        Part.DESCRIPTION: _description,
        Part.PASSAGE: passage_part,
        Part.HANDOUT: _handout,
        Part.PAGE: page_part,
        Part.STEMS: stems_part,
        Part.TIMELINE: _timeline,
    }
)
"""What makes each of them into a folder."""
