"""What the panel of the whole says of the note that is read."""

from dataclasses import dataclass

from riffract.analysis.interval_name import with_article
from riffract.analysis.saying import say
from riffract.picture.bounds import Box
from riffract.picture.clock.subject import Subject
from riffract.picture.clock.words import form_label
from riffract.picture.fabric import HEARD, Weave, fabric_marks, name_of, weave_of
from riffract.picture.layout import Layout
from riffract.picture.marks import Colour, Mark, Role, Words
from riffract.picture.pitch_ways import start_semitone
from riffract.picture.type import wrap
from riffract.picture.voices import Voices, drone_letter
from riffract.picture.whole.plan import WholePlan, Window

SAMPLE_WIDTH_PX, SAMPLE_HEIGHT_PX = 176.0, 34.0
AIR_PX = 24.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Readout:
    """What is said of one note.

    Attributes:
        heading: its name, and what it stands to.
        detail: the interval in words, or the set it belongs to; may be empty.
        role: colour of the detail.
        semitones: from the ringing string, for a sample of the fabric; `None` for none.
    """

    heading: str
    detail: str
    role: Role
    semitones: int | None = None


def readout_of(index: int, window: Window, voices: Voices, subject: Subject) -> Readout:
    """Say of a note what it misses in the mirror, else how the ringing string colours it.

    Where no string rings it is told how high it lies above the lowest open string, if that is
    struck, else which set it belongs to.
    """
    drone = voices.drone
    note = window.contour.passage.notes[index]
    pitch = start_semitone(note)
    if pitch is None:
        return Readout(heading="×", detail=say("no pitch"), role=Role.QUIET)
    name = voices.names[pitch % 12]
    pair = window.mirror.partners.get(index) if window.mirror is not None else None
    if pair is not None and pair.semitones_off:
        other = window.contour.passage.notes[pair.right if index == pair.left else pair.left]
        partner = voices.names[(start_semitone(other) or 0) % 12]
        higher = (pair.semitones_off > 0) == (index == pair.right)
        interval = with_article(pair.semitones_off)
        detail = say("{interval} lower", interval=interval)
        if higher:
            detail = say("{interval} higher", interval=interval)
        heading = say("{note} for {other}", note=name, other=partner)
        return Readout(heading=heading, detail=detail, role=Role.BEND)
    colours = {} if drone is None else {colour.note: colour for colour in drone.colours}
    if drone is not None and index in colours:
        held = drone_letter(voices, drone)
        semitones = colours[index].semitones
        place = "with" if semitones == 0 else "over" if semitones > 0 else "under"
        heading = say(f"{{note}} {place} {{other}}", note=name, other=held)
        return Readout(
            heading=heading,
            detail=_heard(semitones),
            role=Role.DRONE,
            semitones=semitones,
        )
    if subject.anchor_pc is not None:
        return _above_lowest(pitch, window.contour.passage.tuning.lowest_pitch, voices)
    forms = [c for c in subject.collections if pitch % 12 in c.form.pcs]
    detail = say("in {form}", form=form_label(forms[0].found.form)) if len(forms) == 1 else ""
    return Readout(heading=name, detail=detail, role=Role.QUIET)


def _above_lowest(pitch: int, lowest: int, voices: Voices) -> Readout:
    name = voices.names[pitch % 12]
    if pitch == lowest:
        return Readout(heading=name, detail=say("lowest string"), role=Role.ANCHOR)
    heading = say("{note} over {other}", note=name, other=voices.names[lowest % 12])
    return Readout(heading=heading, detail=name_of(pitch - lowest), role=Role.ANCHOR)


def readout_marks(readout: Readout, plan: WholePlan, layout: Layout) -> tuple[Mark, ...]:
    """Write a readout beside or under the clock."""
    sizes = layout.sizes
    x, y = plan.readout
    marks: list[Mark] = [_middle(x, y, readout.heading, sizes.heading, Role.TEXT)]
    if readout.semitones is not None:
        left = x - SAMPLE_WIDTH_PX / 2
        y += 20.0
        box = Box(left=left, top=y, right=left + SAMPLE_WIDTH_PX, bottom=y + SAMPLE_HEIGHT_PX)
        marks += fabric_marks(weave_of(readout.semitones), box)
        y += SAMPLE_HEIGHT_PX
    for line in wrap(readout.detail, sizes.caption, 600, 2 * (layout.right - x) - AIR_PX):
        y += 1.35 * sizes.caption
        marks.append(_middle(x, y, line, sizes.caption, readout.role))
    return tuple(marks)


def _heard(semitones: int) -> str:
    """Name an interval and how it sounds; an octave and a unison are their own words for that."""
    weave, name = weave_of(semitones), name_of(semitones)
    if weave in {Weave.POSTS, Weave.SOLID}:
        return name
    return say("{interval}: {heard}", interval=name, heard=say(HEARD[weave]))


def _middle(x: float, y: float, text: str, size: float, role: Role) -> Words:
    return Words(x=x, y=y, text=text, size=size, weight=600, colour=Colour(role), align="middle")
