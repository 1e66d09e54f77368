"""The column beside the clock: each set and the chord with a small clock and its words."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from riffract.analysis.anchors.find import counts_above
from riffract.analysis.finding import Anchor
from riffract.analysis.interval_name import interval_name
from riffract.analysis.saying import say
from riffract.analysis.wording import capital, counted, times
from riffract.picture.bounds import Box
from riffract.picture.clock.face import Face, Form, chord_marks, fin_marks, ring_marks, turn_between
from riffract.picture.clock.strips import strip_marks, strips_of
from riffract.picture.clock.subject import Subject
from riffract.picture.clock.words import (
    collection_words,
    grouped_names,
    prime_form_text,
    relation_words,
    shape_words,
    sonority_words,
)
from riffract.picture.layout import Layout
from riffract.picture.marks import (
    Colour,
    Mark,
    Role,
    Shape,
    Stroke,
    Weight,
    Words,
    circle,
)
from riffract.picture.type import shortened, wrap
from riffract.picture.voices import Voices
from riffract.weighing.study import Study

COLUMN_LEFT_SHARE: Final = 0.54
BESIDE_SHARE: Final = 1.68
"""How far right of the clock's middle its names of notes reach, over its radius."""

MINI_RADIUS_PX: Final = 58.0
MINI_AIR_PX: Final = 62.0
NARROWEST_WITH_CLOCK_PX: Final = 560.0
LEADING: Final = 1.32
ENTRY_AIR_PX: Final = 10.0
MOST_LINES: Final = (4, 3, 2)
NOTES_OF_A_CHORD: Final = 3
DISTANCES_NAMED: Final = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One entry of the column.

    Attributes:
        heading: what it is.
        role: colour of the heading.
        names: its notes.
        words: what is to be known about it.
        form: drawn on its small clock, if it is a collection.
        chord: drawn on its small clock, if it is a chord.
    """

    heading: str
    role: Role
    names: str
    words: str
    form: Form | None = None
    chord: tuple[int, ...] = ()


def entries_of(subject: Subject) -> tuple[Entry, ...]:
    """List what stands beside the clock: sets first, then the chord; all notes if there is neither.

    What the shot is about comes first: a chord, or what sits above the lowest string.
    """
    entries = [_collection_entry(subject, i) for i in range(len(subject.collections))]
    if subject.sonority is not None:
        chord = _chord_entry(subject)
        entries = [chord, *entries] if subject.leads_with_chord else [*entries, chord]
    if subject.anchor is not None:
        entries = [_anchor_entry(subject, subject.anchor), *entries]
    if not entries:
        count = len(subject.used)
        entries = [
            Entry(
                heading=say("{count} of twelve notes", count=count)
                if count < 12
                else say("All twelve notes"),
                role=Role.TEXT,
                names=grouped_names(subject.used, subject.names),
                words="",
            )
        ]
    return tuple(entries)


def column_box(face: Face, layout: Layout) -> Box:
    """Give the room beside the clock, on the tall page below it."""
    room = layout.picture
    if layout.page.is_tall:
        return replace(room, top=face.y + 1.6 * face.radius)
    left = max(room.left + COLUMN_LEFT_SHARE * room.width, face.x + BESIDE_SHARE * face.radius)
    return replace(room, left=left)


def column_marks(
    study: Study, voices: Voices, subject: Subject, layout: Layout, room: Box
) -> list[Mark]:
    """Draw the column; for a shot about a chord, where in the passage it is heard."""
    if subject.leads_with_chord:
        strips = strips_of(study, voices, subject, room)
        return [mark for strip in strips for mark in strip_marks(strip, layout)]
    entries = _entries_in(subject, layout, room)
    pitch = min(room.height / max(len(entries), 1), 9.2 * layout.sizes.caption)
    top = room.top + (room.height - pitch * len(entries)) / 2
    marks: list[Mark] = []
    for i, entry in enumerate(entries):
        marks += _entry_marks(entry, room.left, top + (i + 0.5) * pitch)
    return marks


def entries_shown(subject: Subject, layout: Layout, room: Box) -> int:
    """Tell how many entries a column of some room has."""
    return len(_entries_in(subject, layout, room))


def _entries_in(subject: Subject, layout: Layout, room: Box) -> "list[_SetEntry]":
    return _that_fit(
        [
            [_set(entry, room, layout, most_lines=lines) for entry in entries_of(subject)]
            for lines in MOST_LINES
        ],
        room,
    )


def description(subject: Subject) -> str:
    """Tell the picture in words."""
    told = [
        f"{entry.heading}: {entry.names}. {entry.words}".rstrip() for entry in entries_of(subject)
    ]
    ring = say("The twelve notes on a ring, C at the top, semitones as neighbours.")
    return f"{ring} {' '.join(told)}"


def _collection_entry(subject: Subject, index: int) -> Entry:
    shown = subject.collections[index]
    shape = shape_words(shown.found.pcs, shown.found.family)
    words = collection_words(shown.found, subject.names)
    if index:
        first = subject.collections[0].found
        words = relation_words(first.pcs, shown.found, subject.names)
        if turn_between(first.pcs, shown.found.pcs) is not None:
            shape = say("the same shape")
    heading = f"{say(shown.direction)}: {shape}" if shown.direction else shape
    return Entry(
        heading=capital(heading),
        role=shown.form.role if shown.form.role is not Role.QUIET else Role.TEXT,
        names=grouped_names(shown.found.pcs, subject.names),
        words=words,
        form=shown.form,
    )


def _chord_entry(subject: Subject) -> Entry:
    found = subject.sonority
    assert found is not None
    pcs = found.occurrence_pcs[0]
    names = " ".join(subject.names[pc] for pc in dict.fromkeys(pcs))
    is_trichord = len(set(pcs)) == NOTES_OF_A_CHORD
    kind = say("The trichord") if is_trichord else say("The chord")
    return Entry(
        heading=f"{kind} {prime_form_text(found.prime_form)}",
        role=Role.TEXT,
        names=names,
        words=sonority_words(found),
        chord=tuple(pcs),
    )


def _anchor_entry(subject: Subject, anchor: Anchor) -> Entry:
    above = counts_above(anchor.intervals)
    most = above.most_common(DISTANCES_NAMED)
    return Entry(
        heading=say("Above the low {note}", note=subject.names[anchor.pitch % 12]),
        role=Role.TEXT,
        names=" · ".join(f"{interval_name(distance)} {times(count)}" for distance, count in most),
        words=say(
            "{notes} above it in all, octaves left aside.",
            notes=capital(counted(above.total(), "note")),
        ),
        chord=tuple((anchor.pitch + distance) % 12 for distance in (0, *(d for d, _ in most))),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _SetEntry:
    """An entry broken into lines; a narrow column has no room for its small clock.

    Attributes:
        entry: what it says.
        lines: text, size, weight and colour of each.
        has_clock: whether its small clock is drawn.
    """

    entry: Entry
    lines: tuple[tuple[str, float, Weight, Role], ...]
    has_clock: bool

    @property
    def height(self) -> float:
        """How much room it takes, px."""
        lines = sum(LEADING * size for _, size, _, _ in self.lines)
        return max(lines, 2.0 * MINI_RADIUS_PX if self.has_clock else 0.0) + ENTRY_AIR_PX


def _set(entry: Entry, room: Box, layout: Layout, *, most_lines: int) -> _SetEntry:
    has_clock = room.width >= NARROWEST_WITH_CLOCK_PX
    width = room.width - (2 * MINI_RADIUS_PX + MINI_AIR_PX if has_clock else 0.0)
    sizes = layout.sizes
    lines: list[tuple[str, float, Weight, Role]] = [
        *(
            (t, sizes.heading, 600, entry.role)
            for t in wrap(entry.heading, sizes.heading, 600, width)
        ),
        *((t, sizes.caption, 600, Role.TEXT) for t in wrap(entry.names, sizes.caption, 600, width)),
    ]
    told = list(wrap(entry.words, sizes.label, 400, width))
    if len(told) > most_lines:
        rest = " ".join(told[most_lines - 1 :])
        told = [*told[: most_lines - 1], shortened(rest, sizes.label, 400, width)]
    lines += [(text, sizes.label, 400, Role.QUIET) for text in told]
    return _SetEntry(entry=entry, lines=tuple(lines), has_clock=has_clock)


def _that_fit(settings: Sequence[Sequence[_SetEntry]], room: Box) -> list[_SetEntry]:
    """Keep what stands clear: all words if they may, else shorter ones, then none, then fewer.

    All entries have the same room, so the tallest decides.

    Args:
        settings: the entries with their words at length, then more and more shortened.
        room: of all of them.
    """
    bare = [
        replace(e, lines=tuple(x for x in e.lines if x[3] is not Role.QUIET)) for e in settings[-1]
    ]
    for kept in (*settings, bare, *(bare[:count] for count in range(len(bare) - 1, 0, -1))):
        if max((entry.height for entry in kept), default=0.0) * len(kept) <= room.height:
            return list(kept)
    return bare[:1]


def _entry_marks(set_entry: _SetEntry, left: float, middle: float) -> list[Mark]:
    """Draw an entry, its lines of text centred on the small clock."""
    x, marks = left, list[Mark]()
    if set_entry.has_clock:
        face = Face(x=left + MINI_RADIUS_PX, y=middle, radius=MINI_RADIUS_PX)
        x = left + 2 * MINI_RADIUS_PX + MINI_AIR_PX
        marks += _mini_marks(face, set_entry.entry)
    y = middle - sum(LEADING * size for _, size, _, _ in set_entry.lines) / 2
    for text, size, weight, role in set_entry.lines:
        y += LEADING * size
        marks.append(
            Words(x=x, y=y - 0.3 * size, text=text, size=size, weight=weight, colour=Colour(role))
        )
    return marks


def _mini_marks(face: Face, entry: Entry) -> list[Mark]:
    marks: list[Mark] = [ring_marks(face, 1.8)]
    if entry.form is not None:
        marks += fin_marks(face, entry.form)
        own = [(pc, entry.form.role, entry.form.side == "inward") for pc in entry.form.pcs]
    else:
        marks += chord_marks(face, entry.chord, width=3.0)
        own = [(pc, Role.TEXT, True) for pc in entry.chord]
    others = set(range(12)) - {pc for pc, _, _ in own}
    marks += [_dot(face, pc, Role.STRING, 1.8) for pc in sorted(others)]
    for pc, role, is_solid in sorted(own):
        x, y = face.at(pc)
        fill = Colour(role) if is_solid else Colour(Role.GROUND)
        stroke = Stroke(colour=Colour(role), width=2.0)
        marks.append(Shape(path=circle(x, y, 3.8), fill=fill, stroke=stroke))
    return marks


def _dot(face: Face, pc: int, role: Role, radius: float) -> Shape:
    return Shape(path=circle(*face.at(pc), radius), fill=Colour(role))
