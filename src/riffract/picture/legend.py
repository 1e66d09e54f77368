"""The lines of notes under a page of strings: what the marks and signs on it mean."""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Final

from riffract.essay.shots import Doubt
from riffract.music import Note, Passage, Technique
from riffract.picture.doubt_signs import CONTRADICTED_WORDS, UNCLEAR_WORDS, doubt_marks
from riffract.picture.layout import Layout
from riffract.picture.lead_in import grace_text
from riffract.picture.legend_lines import Entry, broken, written
from riffract.picture.marks import Colour, Mark, Role, Shape, Stroke, Words, polyline
from riffract.picture.number_signs import (
    BETWEEN_SIGNS_PX,
    arrival_marks,
    signs_behind,
    small_size,
    small_words,
)
from riffract.picture.over_row import Over, sign_marks, width_over
from riffract.picture.string_mark import LIT, Pluck, Posture, pluck_marks
from riffract.picture.string_view import fret_text
from riffract.picture.type import CAP_HEIGHT_SHARE, text_width
from riffract.picture.voices import Voices

_SAMPLE_PX: Final = 58.0
_DOUBT_PX, _TICKS_PX = 26.0, 30.0
_NAMES: Final[Mapping[Posture, str]] = {
    Posture.HANGS: "falling, hangs from the string",
    Posture.STANDS: "rising, stands on it",
    Posture.RINGS: "rings on",
    Posture.ANCHORS: "lowest string",
}
_UNIT_NAMES: Final = {
    1: "one whole note",
    2: "one half note",
    4: "one quarter",
    8: "one eighth",
    16: "one sixteenth",
    32: "one thirty-second",
    64: "one sixty-fourth",
}


def legend_marks(
    layout: Layout,
    voices: Voices,
    notes: Sequence[Note],
    passage: Passage,
    *,
    with_signs: bool = True,
    most_lines: int | None = None,
) -> tuple[Mark, ...]:
    """Name what occurs: postures, damping and the tick, then from a new line all signs.

    Where there is room for fewer lines, the last of the postures go first.
    """
    signs = sign_lines(layout, passage) if with_signs else doubt_lines(layout)
    postures = posture_lines(layout, voices, notes, passage)
    if most_lines is not None:
        postures = postures[: max(most_lines - len(signs), 0)]
    return written(layout, (*postures, *signs))


def doubt_legend(layout: Layout) -> tuple[Mark, ...]:
    """Explain the signs of doubt alone, for pictures whose other marks need no words."""
    return written(layout, doubt_lines(layout))


def posture_lines(
    layout: Layout, voices: Voices, notes: Sequence[Note], passage: Passage
) -> tuple[tuple[Entry, ...], ...]:
    """Break the entries for postures, damping and the tick into lines; at least one."""
    return broken(layout, _postures(layout, voices, notes, passage)) or ((),)


def sign_lines(layout: Layout, passage: Passage) -> tuple[tuple[Entry, ...], ...]:
    """Break the entries for the signs of a passage into lines; none if it has none."""
    return broken(layout, (*_doubts(layout), *_signs(layout, passage)))


def doubt_lines(layout: Layout) -> tuple[tuple[Entry, ...], ...]:
    """Break the entries for notes that the recording does not bear out; none if it bears all."""
    return broken(layout, _doubts(layout))


def _postures(
    layout: Layout, voices: Voices, notes: Sequence[Note], passage: Passage
) -> tuple[Entry, ...]:
    found = {voices.postures[note.index] for note in notes}
    damped = {voices.postures[n.index] for n in notes if n.techniques & Technique.PALM_MUTE}
    named = [(posture, False, words) for posture, words in _NAMES.items() if posture in found]
    named += [(posture, True, "damped") for posture in Posture if posture in damped][:1]
    entries = [
        Entry(width=_SAMPLE_PX, draw=_posture(layout, posture, is_muted=is_muted), words=words)
        for posture, is_muted, words in named
    ]
    unit = _unit_name(bar.metre.unit for bar in passage.bars)
    if unit:
        entries.append(Entry(width=_TICKS_PX, draw=_ticks, words=unit))
    return tuple(entries)


def _posture(
    layout: Layout, posture: Posture, *, is_muted: bool
) -> Callable[[float, float], tuple[Mark, ...]]:
    size = layout.sizes.label
    height = size * 0.62
    shift = {Posture.HANGS: -height / 2, Posture.STANDS: height / 2}.get(posture, 0.0)

    def draw(x: float, baseline: float) -> tuple[Mark, ...]:
        y = baseline - size * CAP_HEIGHT_SHARE / 2 + shift
        pluck = Pluck(
            x=x, y=y, length=_SAMPLE_PX, height=height, posture=posture, is_muted=is_muted
        )
        string = polyline([(x, y), (x + _SAMPLE_PX, y)])
        return (
            Shape(path=string, stroke=Stroke(colour=Colour(Role.STRING), width=1.6)),
            *pluck_marks(pluck, LIT),
        )

    return draw


def _ticks(x: float, baseline: float) -> tuple[Mark, ...]:
    """Draw two ticks with the span between them, which is what the words measure."""
    y, high = baseline - 4.0, 14.0
    left, right = x + 1.0, x + _TICKS_PX - 1.0
    ticks = (*polyline([(left, y - high), (left, y)]), *polyline([(right, y - high), (right, y)]))
    span = polyline([(left, y), (right, y)])
    return (
        Shape(path=span, stroke=Stroke(colour=Colour(Role.BAR), width=1.6)),
        Shape(path=ticks, stroke=Stroke(colour=Colour(Role.QUIET), width=2.0)),
    )


def _doubts(layout: Layout) -> tuple[Entry, ...]:
    """Explain each sign of doubt that occurs."""
    size = layout.sizes.label
    found = {doubt.is_contradicted: doubt for doubt in layout.doubts}
    return tuple(_doubt(doubt, size) for _, doubt in sorted(found.items()))


def _doubt(doubt: Doubt, size: float) -> Entry:
    def draw(x: float, baseline: float) -> tuple[Mark, ...]:
        return doubt_marks(doubt, x, _middle(baseline, size), LIT, width=_DOUBT_PX)

    words = CONTRADICTED_WORDS if doubt.is_contradicted else UNCLEAR_WORDS
    return Entry(width=_DOUBT_PX, draw=draw, words=words)


def _signs(layout: Layout, passage: Passage) -> Iterator[Entry]:
    """Explain each sign that occurs, with the first note that has it for a sample."""
    size = layout.sizes.label
    if passage.graces:
        yield _small(grace_text(passage.graces[0]), size, "grace, before the beat")
    for note, technique in _occurring(passage, _BEHIND):
        entry = _behind(note, technique, size, _BEHIND[technique])
        if entry.width:
            yield entry
    for note, technique in _occurring(passage, _HARMONICS):
        yield _harmonic(note, technique, size, _HARMONICS[technique])
    for _, technique in [*_occurring(passage, (Technique.SCOOP, Technique.PLOP))][:1]:
        yield _slid_into(size, is_from_below=technique is Technique.SCOOP)
    for _, technique in _occurring(passage, _OVER):
        yield _over(*_OVER[technique], size)
    if passage.fermatas:
        yield _over(Over.FERMATA, "fermata", size)


def _occurring(
    passage: Passage, techniques: Iterable[Technique]
) -> Iterator[tuple[Note, Technique]]:
    """Give the first note with each of some techniques that occur."""
    for technique in techniques:
        rows = passage.notes.has(technique).nonzero()[0].tolist()
        if rows:
            yield passage.notes[rows[0]], technique


_BEHIND: Final = {
    Technique.BEND: "bent, in whole tones",
    Technique.TRILL: "trill with that fret",
    Technique.TREMOLO: "picked again and again",
    Technique.DOIT: "slid off upwards",
    Technique.FALLOFF: "slid off downwards",
}
_HARMONICS: Final = {
    Technique.NATURAL_HARMONIC: "harmonic",
    Technique.ARTIFICIAL_HARMONIC: "harmonic, touched at the small fret",
    Technique.PINCH_HARMONIC: "harmonic, pinched",
}
_OVER: Final = {
    Technique.DOWN_STROKE: (Over.DOWN, "downstroke"),
    Technique.UP_STROKE: (Over.UP, "upstroke"),
    Technique.TAP: (Over.TAP, "tapped"),
}


def _small(text: str, size: float, words: str) -> Entry:
    def draw(x: float, baseline: float) -> tuple[Mark, ...]:
        return (small_words(x, _middle(baseline, size), text, size, LIT),)

    return Entry(width=text_width(text, small_size(size), 400), draw=draw, words=words)


def _behind(note: Note, technique: Technique, size: float, words: str) -> Entry:
    """Show one of the signs that a note has behind its number."""
    alone = replace(
        note,
        techniques=technique,
        bend=note.bend if technique is Technique.BEND else (),
        tremolo_marks=note.tremolo_marks if technique is Technique.TREMOLO else 0,
    )
    signs = signs_behind(alone, size, 0.5 * size)

    def draw(x: float, baseline: float) -> tuple[Mark, ...]:
        marks: list[Mark] = []
        for sign in signs:
            marks += sign.draw(x, _middle(baseline, size), LIT)
            x += sign.width + BETWEEN_SIGNS_PX
        return tuple(marks)

    width = sum(sign.width for sign in signs) + BETWEEN_SIGNS_PX * max(len(signs) - 1, 0)
    return Entry(width=width, draw=draw, words=words)


def _harmonic(note: Note, technique: Technique, size: float, words: str) -> Entry:
    behind = _behind(note, technique, size, words)
    text = fret_text(note)
    number_px = text_width(text, size, 600) + BETWEEN_SIGNS_PX

    def draw(x: float, baseline: float) -> tuple[Mark, ...]:
        number = Words(x=x, y=baseline, text=text, size=size, weight=600, colour=Colour(Role.TEXT))
        return (number, *behind.draw(x + number_px, baseline))

    return Entry(width=number_px + behind.width, draw=draw, words=words)


def _slid_into(size: float, *, is_from_below: bool) -> Entry:
    def draw(x: float, baseline: float) -> tuple[Mark, ...]:
        middle = _middle(baseline, size)
        return (arrival_marks(x + 0.62 * size, middle, size, LIT, is_from_below=is_from_below),)

    return Entry(width=0.62 * size, draw=draw, words="slid into")


def _over(sign: Over, words: str, size: float) -> Entry:
    def draw(x: float, baseline: float) -> tuple[Mark, ...]:
        return sign_marks(sign, x, baseline, size)

    return Entry(width=width_over((sign,), size), draw=draw, words=words)


def _middle(baseline: float, size: float) -> float:
    return baseline - size * CAP_HEIGHT_SHARE / 2


def _unit_name(units: Iterable[int]) -> str:
    """Name the tick, if it means the same in all bars."""
    found = set(units)
    return _UNIT_NAMES[found.pop()] if len(found) == 1 else ""
