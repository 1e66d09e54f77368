"""A bar of the passage drawn by the code that draws the films, and what its picture hangs on."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from hashlib import blake2b
from typing import Final

from riffract.music import Bar, Note, Passage, Technique
from riffract.music.notes import LEGATO
from riffract.picture.lead_in import LeadIn
from riffract.picture.look import LOOKS
from riffract.picture.marks import Colour, Mark, Role, Shape, Stroke, circle, polyline
from riffract.picture.over_row import over_notes, signs_over
from riffract.picture.string_mark import LIT, Posture
from riffract.picture.string_view import (
    StringRow,
    body_marks,
    fret_marks,
    lead_marks,
    strings_and_bars,
)
from riffract.picture.svg import svg_fragment
from riffract.picture.voices import Voices

FRET_PX: Final = 19.0
GAP_PX: Final = 25.0
OVER_PX: Final = 42.0
"""Room above the highest string: for the bar's number, sections, tempo and signs."""

SIGNS_OVER_PX: Final = 15.0
"""From the highest string up to strokes and taps: clear of a number on it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """What a bar shows.

    Attributes:
        notes: that sound in it, by time.
        own: those of them that start in it.
        before: the note before each on its string, by index.
        leads: graces, by the index of the note that shows them.
    """

    notes: Sequence[Note]
    own: Sequence[Note]
    before: Mapping[int, Note]
    leads: Mapping[int, LeadIn]


@dataclass(frozen=True, slots=True, kw_only=True)
class Scale:
    """How a bar lies on its picture: its start, and px for a quarter."""

    left: float
    px_per_quarter: float


def picture_key(bar: Bar, part: Part, scale: float, look: str, strings: int) -> str:
    """Name all that a bar's picture hangs on."""
    start = bar.start_quarters
    own = {note.index for note in part.own}
    told = blake2b(digest_size=9)
    facts: list[object] = [look, strings, round(scale, 4), bar.length_quarters, bar.metre]
    facts.append(bar.number == 1)
    for note in part.notes:
        is_led = note.index in own and note.techniques & LEGATO
        before = part.before.get(note.index) if is_led else None
        lead = part.leads.get(note.index)
        facts += [
            note.index in own,
            note.onset_quarters - start,
            note.duration_quarters,
            note.ring_end_quarters - start,
            note.string,
            note.fret,
            int(note.techniques),
            note.bend,
            note.other_fret,
            note.tremolo_marks,
            None if before is None else (before.fret, before.onset_quarters - start),
            None
            if lead is None
            else [(g.string, g.fret, g.place, int(g.techniques)) for g in lead.shown],
        ]
    told.update(repr(facts).encode())
    return told.hexdigest()


def bar_picture(
    passage: Passage, bar: Bar, part: Part, scale: Scale, *, look: str, key: str
) -> str:
    """Draw a bar as elements of an SVG; those that are referred to are named by its key."""
    row = StringRow(
        span=bar.span,
        left=scale.left,
        px_per_quarter=scale.px_per_quarter,
        top=OVER_PX,
        gap=GAP_PX,
        strings=tuple(range(1, passage.tuning.string_count + 1)),
        fret_size=FRET_PX,
        lead_px=scale.left,
    )
    voices = _voices(passage, part.notes)
    *strings, _bar_lines, ticks = strings_and_bars(passage, row)
    # The line that ends a bar begins the next one; the page draws the one before a row.
    end = polyline([(row.right, row.top), (row.right, row.bottom)])
    closing = Shape(path=end, stroke=Stroke(colour=Colour(Role.STRING), width=1.6))
    marks: list[Mark] = [*strings, closing, ticks]
    for note in part.notes:
        before = part.before.get(note.index)
        lead = part.leads.get(note.index)
        marks += body_marks(voices, row, note, before, LIT, lead=lead)
    for note in part.own:
        marks += fret_marks(voices, row, note, LIT)
        lead = part.leads.get(note.index)
        marks += () if lead is None else lead_marks(row, note, lead, LIT)
    for at, signs in over_notes(part.own).items():
        marks += signs_over(signs, row.x(at), OVER_PX - SIGNS_OVER_PX, FRET_PX)
    marks += [_staccato(row, note) for note in part.own if Technique.STACCATO in note.techniques]
    return svg_fragment(marks, LOOKS[look], prefix=f"b{key}")


def _staccato(row: StringRow, note: Note) -> Shape:
    """Put the trade's dot over a note's number; films show it by how short the note is."""
    x, y = row.x(note.onset_quarters) + 0.5 * FRET_PX, row.y(note.string) - 0.55 * FRET_PX
    return Shape(path=circle(x, y, 2.0), fill=Colour(Role.TEXT))


def _posture(note: Note, lowest: int) -> Posture:
    """The lowest open string anchors and what rings rings; no more is known while one writes."""
    if note.string == lowest and note.fret == 0:
        return Posture.ANCHORS
    return Posture.RINGS if Technique.LET_RING in note.techniques else Posture.PLAIN


def _voices(passage: Passage, notes: Sequence[Note]) -> Voices:
    lowest = passage.tuning.string_count
    of_notes = {note.index: _posture(note, lowest) for note in notes}
    postures = [of_notes.get(index, Posture.PLAIN) for index in range(len(passage.notes))]
    return Voices(
        attacks=(),
        postures=tuple(postures),
        lead=(),
        limbs=(),
        drone=None,
        drone_notes=frozenset(),
        names={},
    )
