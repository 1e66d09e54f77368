"""The row of signs over a tab staff: letters of legato and picking, trills, shakes, bends."""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from itertools import pairwise
from math import inf
from typing import Final

from riffract.analysis.saying import say
from riffract.music import Note, Technique
from riffract.picture.marks import CurveTo, Mark, MoveTo, Path, Shape, Stroke, Words
from riffract.picture.type import text_width
from riffract.publish.staff.sizes import LINE_WIDTH, SIGN_SIZE, UNITS_A_MM
from riffract.publish.staff.tab_bends import bend_labels, tones_text
from riffract.publish.staff.tab_figures import INK, Figure
from riffract.publish.staff.tab_links import link_letters
from riffract.publish.staff.tab_system import TabSystem

_WAVE: Final = 1.1 * UNITS_A_MM
_WAVE_HEIGHT: Final = 0.55 * UNITS_A_MM
_LONGEST_SHAKE: Final = 14 * UNITS_A_MM
_AIR: Final = 0.4 * UNITS_A_MM


def letter_marks(system: TabSystem, shown: Sequence[Figure], baseline: float) -> Iterator[Mark]:
    """Write what stands over the numbers; what would run into its neighbour moves right of it."""
    free_from = system.places.left
    for x, text in sorted(_letters(system, shown)):
        width = text_width(text, SIGN_SIZE, 400)
        middle = max(x, free_from + width / 2)
        free_from = middle + width / 2 + _AIR
        yield Words(
            x=middle,
            y=baseline,
            text=text,
            size=SIGN_SIZE,
            weight=400,
            colour=INK,
            align="middle",
        )
    for left, right in _shakes(system, shown):
        path = _wave(left, right, baseline - _WAVE_HEIGHT)
        yield Shape(path=path, stroke=Stroke(colour=INK, width=1.3 * LINE_WIDTH))


def has_letters(system: TabSystem, shown: Sequence[Figure]) -> bool:
    """Tell whether the row is needed."""
    return any(_letters(system, shown)) or any(_shakes(system, shown))


def tightest_letters(system: TabSystem, shown: Sequence[Figure]) -> float:
    """Tell how close the closest texts would stand if each stood over its number."""
    texts = [(x, text_width(text, SIGN_SIZE, 400) / 2) for x, text in _letters(system, shown)]
    beside = pairwise(sorted(texts))
    return min((x1 - half1 - x0 - half0 for (x0, half0), (x1, half1) in beside), default=inf)


def _letters(system: TabSystem, shown: Sequence[Figure]) -> list[tuple[float, str]]:
    """Gather texts by place; what notes of a chord share is written once."""
    by_place: dict[float, dict[str, None]] = defaultdict(dict)
    for x, text in link_letters(system, shown):
        by_place[round(x, 1)][text] = None
    for figure in shown:
        for text in _over_number(figure):
            by_place[round(figure.x, 1)][text] = None
        for x, text in bend_labels(system, figure):
            by_place[round(x, 1)][text] = None
    return [(x, " ".join(texts)) for x, texts in by_place.items()]


def _over_number(figure: Figure) -> Iterator[str]:
    played = figure.fret.played
    if played is None or figure.fret.is_held:
        return
    techniques = played.techniques
    other = played.other_fret if isinstance(played, Note) else None
    if Technique.TAP in techniques:
        yield "T"
    if Technique.TRILL in techniques:
        yield "tr" if other is None else f"tr ({other})"
    if Technique.PINCH_HARMONIC in techniques:
        yield "P.H."
    if Technique.ARTIFICIAL_HARMONIC in techniques:
        yield "A.H." if other is None else f"A.H. {other}"
    lowest = min(played.bend, default=0)
    if lowest < 0:
        yield say("bar −{tones}", tones=tones_text(-lowest))


def _shakes(system: TabSystem, shown: Sequence[Figure]) -> Iterator[tuple[float, float]]:
    """Give where vibrato is drawn: from its number to the next moment."""
    done: set[float] = set()
    for figure in shown:
        played = figure.fret.played
        is_shaken = played is not None and Technique.VIBRATO in played.techniques
        if is_shaken and figure.x not in done and not figure.fret.is_grace:
            done.add(figure.x)
            room = system.next_x(figure.fret.at_quarters) - 1.5 * UNITS_A_MM
            yield figure.x, min(max(room, figure.x + 2 * _WAVE), figure.x + _LONGEST_SHAKE)


def _wave(left: float, right: float, y: float) -> Path:
    path: Path = (MoveTo(left, y),)
    for place in range(max(int((right - left) / _WAVE), 1)):
        x, lift = left + place * _WAVE, _WAVE_HEIGHT * (-1) ** place
        half = _WAVE / 2
        path = (*path, CurveTo(x + half, y - lift, x + half, y - lift, x + _WAVE, y))
    return path
