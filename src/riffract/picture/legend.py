"""The line of notes under a page of strings: what the marks in it mean."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Final

from riffract.music import Note, Passage, Technique
from riffract.picture.layout import Layout, label
from riffract.picture.marks import Colour, Mark, Role, Shape, Stroke, polyline
from riffract.picture.string_mark import LIT, Pluck, Posture, pluck_marks
from riffract.picture.type import CAP_HEIGHT_SHARE, text_width
from riffract.picture.voices import Voices

_SAMPLE_PX, _AIR_PX, _BETWEEN_PX = 58.0, 14.0, 44.0
_NAMES: Final[Mapping[Posture, str]] = {
    Posture.HANGS: "falling, hangs from the string",
    Posture.STANDS: "rising, stands on it",
    Posture.RINGS: "rings on",
    Posture.ANCHORS: "lowest string",
}
_UNIT_NAMES: Final = {
    1: "whole note",
    2: "half note",
    4: "quarter",
    8: "eighth",
    16: "sixteenth",
    32: "thirty-second",
    64: "sixty-fourth",
}


def legend_marks(
    layout: Layout, voices: Voices, notes: Sequence[Note], passage: Passage
) -> tuple[Mark, ...]:
    """Name what occurs: postures in a fixed order, damping, the tick; as much as fits in a line."""
    found = {voices.postures[note.index] for note in notes}
    damped = {voices.postures[n.index] for n in notes if n.techniques & Technique.PALM_MUTE}
    entries = [(posture, False, words) for posture, words in _NAMES.items() if posture in found]
    entries += [(posture, True, "damped") for posture in Posture if posture in damped][:1]
    marks: list[Mark] = []
    x = layout.left
    for posture, is_muted, words in entries:
        width = _SAMPLE_PX + _AIR_PX + text_width(words, layout.sizes.label, 500)
        if x + width > layout.right:
            return tuple(marks)
        marks += _sample(layout, x, posture, is_muted=is_muted)
        marks.append(label(layout, x + _SAMPLE_PX + _AIR_PX, layout.note_baseline, words))
        x += width + _BETWEEN_PX
    unit = _unit_name(bar.metre.unit for bar in passage.bars)
    if unit and x + text_width(unit, layout.sizes.label, 500) + _AIR_PX <= layout.right:
        y = layout.note_baseline
        tick = polyline([(x + 2.0, y - 16.0), (x + 2.0, y - 2.0)])
        marks.append(Shape(path=tick, stroke=Stroke(colour=Colour(Role.STRING), width=2.0)))
        marks.append(label(layout, x + _AIR_PX, y, unit))
    return tuple(marks)


def _sample(layout: Layout, x: float, posture: Posture, *, is_muted: bool) -> tuple[Mark, ...]:
    size = layout.sizes.label
    y = layout.note_baseline - size * CAP_HEIGHT_SHARE / 2
    height = size * 0.62
    shift = {Posture.HANGS: -height / 2, Posture.STANDS: height / 2}.get(posture, 0.0)
    pluck = Pluck(
        x=x,
        y=y + shift,
        length=_SAMPLE_PX,
        height=height,
        posture=posture,
        is_muted=is_muted,
    )
    string = polyline([(x, y + shift), (x + _SAMPLE_PX, y + shift)])
    return (
        Shape(path=string, stroke=Stroke(colour=Colour(Role.STRING), width=1.6)),
        *pluck_marks(pluck, LIT),
    )


def _unit_name(units: Iterable[int]) -> str:
    """Name the tick, if it means the same in all bars."""
    found = set(units)
    return f"one {_UNIT_NAMES[found.pop()]}" if len(found) == 1 else ""
