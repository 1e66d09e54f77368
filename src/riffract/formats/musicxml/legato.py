"""Hammer-ons, pull-offs and slides: find the note that each of them leads to."""

from collections.abc import Sequence
from dataclasses import dataclass, field

from riffract.formats.musicxml.report import Report
from riffract.formats.musicxml.signs import LegatoEnd
from riffract.formats.musicxml.written import WrittenNote
from riffract.music import Technique


@dataclass(frozen=True, slots=True)
class SignedNote:
    """A note, or grace, with the ends of legato signs on it."""

    note: WrittenNote
    ends: tuple[LegatoEnd, ...]


@dataclass(slots=True)
class _Pairing:
    report: Report
    open: dict[tuple[Technique, int | None], SignedNote] = field(default_factory=dict)
    lost: list[tuple[Technique, SignedNote]] = field(default_factory=list)

    def stop(self, technique: Technique, signed: SignedNote) -> None:
        start = self._start_of(technique, signed)
        if start is None and technique is Technique.SLIDE:
            self.report.warn(
                "slide from nowhere",
                "a slide ends here, but starts nowhere; where it comes from is left open",
                "start the slide at a note; or write `scoop` or `plop` if it comes out of nowhere",
                signed.note.spot,
            )
        signed.note.techniques |= technique

    def _start_of(self, technique: Technique, signed: SignedNote) -> SignedNote | None:
        strings = (key[1] for key in self.open if key[0] is technique)
        for string in (signed.note.string, None, *strings):
            start = self.open.get((technique, string))
            if start is not None and start.note.moment <= signed.note.moment and start != signed:
                return self.open.pop((technique, string))
        return None

    def start(self, technique: Technique, signed: SignedNote) -> None:
        earlier = self.open.get((technique, signed.note.string))
        if earlier is not None:
            self.lost.append((technique, earlier))
        self.open[technique, signed.note.string] = signed


def join_legato(
    notes: Sequence[WrittenNote], signed_notes: Sequence[SignedNote], report: Report
) -> None:
    """Flag the notes that hammer-ons, pull-offs and slides lead to.

    The end of a sign is looked for on the string of its start first. A hammer-on or pull-off
    without an end leads to the next note on its string, if that follows at once; a slide without
    an end goes nowhere.

    Args:
        notes: sorted by start, graces before what they lead to, strings known; changed in place.
        signed_notes: those with signs, in the same order.
        report: where signs that lead nowhere are told.
    """
    pairing = _Pairing(report)
    for signed in signed_notes:
        for end in signed.ends:
            if end.end == "stop":
                pairing.stop(end.technique, signed)
        for end in signed.ends:
            if end.end == "start":
                pairing.start(end.technique, signed)
    pairing.lost.extend((technique, start) for (technique, _), start in pairing.open.items())
    _lead_on(notes, pairing.lost, report)


def _lead_on(
    notes: Sequence[WrittenNote], lost: Sequence[tuple[Technique, SignedNote]], report: Report
) -> None:
    on_string: dict[int | None, list[WrittenNote]] = {}
    index_of: dict[int, int] = {}
    for note in notes if lost else ():
        same_string = on_string.setdefault(note.string, [])
        index_of[id(note)] = len(same_string)
        if not note.is_tie_stop:
            same_string.append(note)
    for technique, signed in lost:
        start = signed.note
        same_string = on_string.get(start.string, [])
        index = index_of.get(id(start), len(same_string)) + (not start.is_tie_stop)
        follower = same_string[index] if index < len(same_string) else None
        if technique is Technique.SLIDE or follower is None or not _follows(start, follower):
            name = technique.labels[0].replace("_", "-")
            report.left_out(f"{name} to nowhere", start.spot)
        else:
            follower.techniques |= technique


def _follows(note: WrittenNote, follower: WrittenNote) -> bool:
    """Say whether a note comes at the end of another, or at the start of the next bar."""
    bar, position = note.start
    end = bar, position + note.duration_ticks
    return follower.start in {end, (bar + 1, 0)}
