"""The part of a package that is a web page."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import accumulate
from pathlib import Path
from typing import Final

from riffract.essay.shots import SceneName, Shot
from riffract.formats.problem import Problem, Severity
from riffract.picture.scenes import scene_for
from riffract.picture.svg import SvgPieces
from riffract.publish.material import Material
from riffract.publish.page.claim_sound import data_address, sound_between
from riffract.publish.page.document import ClaimOnPage, page_html, variable_look
from riffract.publish.page.moving_picture import moving_picture
from riffract.publish.page.pictures import PAGES, Pictures
from riffract.publish.parts import PAGE_FILE
from riffract.publish.published import Published, written
from riffract.sound.sound import Sound
from riffract.weighing.study import Study

LARGEST_BYTES: Final = 5_000_000
"""Above that a page takes noticeably long to open on a telephone, and some mail refuses it (common
practice); it is written all the same."""

_CARDS: Final = frozenset({SceneName.TITLE, SceneName.CREDITS})
"""Shots that only say what the page's own head and foot say."""


def page_part(material: Material, folder: Path) -> Published:
    """Write the page into a folder; one that is large is told as a warning."""
    text = _page(material).encode()
    return written(folder, {PAGE_FILE: text}, problems=_size_problems(len(text)))


def _page(material: Material) -> str:
    pieces = SvgPieces(variable_look(material.look), prefix="")
    claims = list(_claims(material, pieces))
    return page_html(
        claims,
        material.study,
        about=material.about,
        tab_text=material.tab_text,
        look=material.look,
        definitions=pieces.definitions,
        language_code=material.language.code,
        by_hand=material.by_hand,
    )


def _claims(material: Material, pieces: SvgPieces) -> Iterator[ClaimOnPage]:
    """Take each claim of the film; its words stand in the page, so its picture goes without."""
    sound = material.soundtrack().sound if any(map(_sounds, material.shots)) else None
    for shot, start in zip(material.shots, _starts(material.shots), strict=False):
        if shot.scene in _CARDS:
            continue
        yield ClaimOnPage(
            shot=shot,
            pictures=_pictures(material.seen, shot, pieces),
            sound=_sound_of(shot, start, sound),
        )


def _pictures(study: Study, shot: Shot, pieces: SvgPieces) -> Pictures:
    moving, still = replace(shot, lines=()), shot.as_still()
    wide, upright = (
        moving_picture(scene_for(study, moving, page), scene_for(study, still, page), pieces)
        for page in PAGES
    )
    return Pictures(wide=wide, upright=upright)


def _sound_of(shot: Shot, start_seconds: float, film: Sound | None) -> str | None:
    if film is None or not _sounds(shot):
        return None
    return data_address(sound_between(film, start_seconds, start_seconds + shot.length_seconds))


def _sounds(shot: Shot) -> bool:
    return bool(shot.plays) or shot.voice is not None


def _starts(shots: Sequence[Shot]) -> list[float]:
    return [0.0, *accumulate(shot.length_seconds for shot in shots)]


def _size_problems(size_bytes: int) -> tuple[Problem, ...]:
    if size_bytes <= LARGEST_BYTES:
        return ()
    problem = Problem(
        what=f"the page holds {size_bytes / 1e6:.1f} MB; it opens slowly on a telephone",
        mend="play shorter excerpts, or make fewer claims",
        place=PAGE_FILE,
        severity=Severity.WARNING,
    )
    return (problem,)
