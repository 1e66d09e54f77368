"""The parts of a score, whichever way round it is written, and the one that the guitar plays."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from lxml.etree import _Element as Element

from riffract.formats.musicxml.numbers import whole_number
from riffract.formats.musicxml.report import Report, Spot, line_of
from riffract.formats.musicxml.texts import tidy_text

MOST_BARS: Final = 10_000
MOST_STAVES: Final = 16
LONGEST_TEXT: Final = 200


@dataclass(frozen=True, slots=True)
class Measure:
    """One bar of one part: the tag that opens it, and the one whose children are the music.

    The children are not kept as a list: that would hold an object for each of them.
    """

    opening: Element
    tags: Element


@dataclass(frozen=True, slots=True)
class Part:
    """One instrument of the score.

    Attributes:
        part_id, name: what it is called in the file, and for people.
        line: where it starts.
        measures: its bars.
        has_staves: whether its notes may stand on several staves.
    """

    part_id: str
    name: str
    line: int
    measures: tuple[Measure, ...]
    has_staves: bool

    def tags(self, name: str) -> Iterator[Element]:
        """Go through the tags of one name, bar by bar."""
        return (tag for measure in self.measures for tag in measure.tags.iterchildren(name))

    @property
    def label(self) -> str:
        """What to call the part when talking to people."""
        return f"{self.name!r} ({self.part_id})" if self.name else self.part_id or "without a name"


def text_in(element: Element, path: str) -> str:
    """Give the text of the first tag on a path, tidied; empty if there is none."""
    return tidy_text(element.findtext(path), LONGEST_TEXT)


def title_of(root: Element) -> str:
    """Give the title: that of the work, else of the movement, else the one on the page."""
    on_page = (
        text_in(credit, "credit-words")
        for credit in root.iterfind("credit")
        if text_in(credit, "credit-type") == "title"
    )
    titles = (text_in(root, "work/work-title"), text_in(root, "movement-title"), *on_page)
    return next((title for title in titles if title), "")


def parts_of(root: Element) -> tuple[Part, ...]:
    """List the parts in order; a time-wise score is turned part-wise."""
    names = {
        tidy_text(score_part.get("id"), LONGEST_TEXT): text_in(score_part, "part-name")
        for score_part in root.iterfind("part-list/score-part")
    }
    bars: dict[str, list[Measure]] = {}
    lines: dict[str, int] = {}
    for part, measure, opening in _pairs(root):
        part_id = tidy_text(part.get("id"), LONGEST_TEXT)
        lines.setdefault(part_id, line_of(part))
        if measure is not None:
            bars.setdefault(part_id, []).append(Measure(opening, measure))
    has_staves = next(root.iter("staff"), None) is not None
    return tuple(
        Part(part_id, names.get(part_id, ""), line, tuple(bars.get(part_id, ())), has_staves)
        for part_id, line in lines.items()
    )


def _pairs(root: Element) -> Iterator[tuple[Element, Element | None, Element]]:
    """Yield part, the tag that holds the music, and the tag that opens the bar."""
    if root.tag == "score-timewise":
        for measure in root.iterfind("measure"):
            yield from ((part, part, measure) for part in measure.iterfind("part"))
        return
    for part in root.iterfind("part"):
        yield part, None, part
        yield from ((part, measure, measure) for measure in part.iterfind("measure"))


def part_names(parts: Sequence[Part]) -> tuple[str, ...]:
    """Name the parts so that each can be asked for: by name, or by id where names are shared."""
    names = [part.name.casefold() for part in parts]
    return tuple(
        part.name if part.name and names.count(part.name.casefold()) == 1 else part.part_id
        for part in parts
    )


def guitar_part(parts: Sequence[Part], wanted: str | None, report: Report) -> Part | None:
    """Choose the part to read.

    The one asked for by id or name; else the first with fingerings (string and fret), else the
    first with a string tuning or a tab clef, else the first with pitched notes, else one of rests.
    """
    if wanted is not None:
        return _part_asked_for(parts, wanted, report)
    tests = (has_fingering, has_tab_staff, _has_pitches, _is_silent)
    found = next(((p, test) for test in tests for p in parts if test(p)), None)
    if found is None:
        report.error(
            "no part of this score has notes with a pitch",
            "export the guitar part, with its tab if it has one",
        )
        return None
    chosen, test = found
    others = [part for part in parts if part is not chosen]
    if others:
        alike = [part.label for part in others if test(part)]
        also = f"; {', '.join(alike[:8])} could be read as well" if alike else ""
        report.warn(
            "parts",
            f"only the part {chosen.label} is read; the score has {len(others)} more{also}",
            "name the part to read, or export it alone, if this is not the one you mean",
            Spot(line=chosen.line),
        )
    return chosen


def _part_asked_for(parts: Sequence[Part], wanted: str, report: Report) -> Part | None:
    for part in parts:
        if wanted.strip().casefold() in {part.part_id.casefold(), part.name.casefold()}:
            return part
    known = ", ".join(part.label for part in parts[:20]) or "none"
    report.error(f"the score has no part {wanted!r}", f"ask for one of its parts: {known}")
    return None


def is_fingered(note: Element) -> bool:
    """Say whether a note names its string or its fret."""
    return next(note.iter("string", "fret"), None) is not None


def has_fingering(part: Part) -> bool:
    """Say whether any note of a part names its string or fret."""
    return any(is_fingered(note) for note in part.tags("note"))


def has_tab_staff(part: Part) -> bool:
    """Say whether a part tunes its strings or has a tab clef."""
    return any(
        tag.find("staff-details/staff-tuning") is not None or _tab_clef_staves(tag)
        for tag in part.tags("attributes")
    )


def _has_pitches(part: Part) -> bool:
    return any(note.find("pitch") is not None for note in part.tags("note"))


def _is_silent(part: Part) -> bool:
    return all(note.find("rest") is not None for note in part.tags("note"))


def _tab_clef_staves(attributes: Element) -> set[int]:
    return {
        staff_number(clef.get("number"))
        for clef in attributes.iterfind("clef")
        if text_in(clef, "sign").upper() == "TAB"
    }


def staff_number(text: str | None) -> int:
    """Read the number of a staff; 1, as the standard has it, if none is given."""
    return whole_number(text, 1, MOST_STAVES) or 1


@dataclass(frozen=True, slots=True)
class Staves:
    """Which staves of a part are read.

    Attributes:
        read: staves whose notes are read.
        linked: staves that show the same music in notation; only their playing signs are read.
        tab: the staff read, if it is a tab.
    """

    read: frozenset[int]
    linked: frozenset[int]
    tab: int | None


def staves_of(part: Part, report: Report) -> Staves:
    """Choose between the staves of a part, so that music shown twice is counted once.

    Staves with fingered notes go before others; among them the tab (tab clef or string tuning),
    then the one with most fingered notes. A staff beside it with as many notes is taken for the
    same music in notation. Without any tab or fingering all staves are read.
    """
    if not part.has_staves:
        return Staves(frozenset({1}), frozenset(), 1 if has_tab_staff(part) else None)
    notes, fingered = _counts_by_staff(part)
    tabs = _tab_staves(part)
    everything = frozenset(notes) or frozenset({1})
    if not tabs and not any(fingered.values()):
        return Staves(everything, frozenset(), None)
    chosen = min(
        everything,
        key=lambda s: (not fingered.get(s), s not in tabs, -fingered.get(s, 0), s),
    )
    _warn_of_unlike_staves(part, chosen, notes, tabs - {chosen}, report)
    return Staves(
        frozenset({chosen}), everything - tabs - {chosen}, chosen if chosen in tabs else None
    )


def _counts_by_staff(part: Part) -> tuple[dict[int, int], dict[int, int]]:
    """Count the notes, and the fingered ones, on each staff; rests and graces do not count."""
    notes: dict[int, int] = {}
    fingered: dict[int, int] = {}
    for note in part.tags("note"):
        names = {tag.tag: tag for tag in note}
        if "rest" in names or "grace" in names:
            continue
        staff = staff_number(names["staff"].text) if "staff" in names else 1
        notes[staff] = notes.get(staff, 0) + 1
        fingered[staff] = fingered.get(staff, 0) + ("notations" in names and is_fingered(note))
    return notes, fingered


def _tab_staves(part: Part) -> set[int]:
    """List staves with a tab clef; if no staff has one, those with tuned strings."""
    with_clef: set[int] = set()
    with_tuning: set[int] = set()
    for tag in part.tags("attributes"):
        with_clef |= _tab_clef_staves(tag)
        with_tuning |= {
            staff_number(details.get("number"))
            for details in tag.iterfind("staff-details")
            if details.find("staff-tuning") is not None
        }
    return with_clef or with_tuning


def _warn_of_unlike_staves(
    part: Part, chosen: int, notes: dict[int, int], other_tabs: set[int], report: Report
) -> None:
    for staff, count in sorted(notes.items()):
        if staff == chosen or (count == notes[chosen] and staff not in other_tabs):
            continue
        report.warn(
            f"staff {staff}",
            f"staff {chosen} is read; staff {staff} is left out although it holds "
            f"{count} notes against {notes.get(chosen, 0)}",
            "export the staff that you mean as a part of its own, if it is another voice",
            Spot(line=part.line),
        )
