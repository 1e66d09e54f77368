"""Hammer-ons, pull-offs and slides: find the note that each of them leads to."""

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, field

from riffract.formats.musicxml.report import Report, Spot
from riffract.formats.musicxml.signs import LegatoEnd
from riffract.formats.musicxml.written import WrittenNote
from riffract.music import Technique


@dataclass(frozen=True, slots=True)
class SignedNote:
    """A note with the ends of legato signs on it; `note` is `None` for a grace note."""

    spot: Spot
    note: WrittenNote | None
    ends: tuple[LegatoEnd, ...]

    @property
    def string(self) -> int | None:
        """The string it is on, if that is known."""
        return None if self.note is None else self.note.string


@dataclass(slots=True)
class _Pairing:
    report: Report
    open: dict[tuple[Technique, int | None], SignedNote] = field(default_factory=dict)
    lost: list[tuple[Technique, SignedNote]] = field(default_factory=list)

    def stop(self, technique: Technique, signed: SignedNote) -> None:
        start = self._start_of(technique, signed)
        if signed.note is None:
            return
        if start is None and technique is Technique.SLIDE:
            self.report.left_out("slide from nowhere", signed.spot)
        elif start is None or start.note is not None:
            # a sign that starts on a grace note is left out together with the grace note
            signed.note.techniques |= technique

    def _start_of(self, technique: Technique, signed: SignedNote) -> SignedNote | None:
        for string in (signed.string, None, *(key[1] for key in self.open if key[0] is technique)):
            start = self.open.get((technique, string))
            if start is not None and _time(start.spot) <= _time(signed.spot) and start != signed:
                return self.open.pop((technique, string))
        return None

    def start(self, technique: Technique, signed: SignedNote) -> None:
        earlier = self.open.get((technique, signed.string))
        if earlier is not None:
            self.lost.append((technique, earlier))
        self.open[technique, signed.string] = signed


def _time(spot: Spot) -> tuple[int, object]:
    return spot.bar, spot.position_quarters


def join_legato(
    notes: Sequence[WrittenNote], signed_notes: Sequence[SignedNote], report: Report
) -> None:
    """Flag the notes that hammer-ons, pull-offs and slides lead to.

    The end of a sign is looked for on the string of its start first. A hammer-on or pull-off
    without an end leads to the next note on its string, if that follows at once; a slide without
    an end goes nowhere.

    Args:
        notes: sorted by start, strings known; changed in place.
        signed_notes: those with signs, grace notes among them, sorted by start.
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
    for note in notes:
        if not note.is_tie_stop:
            on_string.setdefault(note.string, []).append(note)
    for technique, signed in lost:
        start = signed.note
        if start is None:
            continue
        same_string = on_string.get(start.string, [])
        index = bisect_right(same_string, start.start, key=lambda n: n.start)
        follower = same_string[index] if index < len(same_string) else None
        if technique is Technique.SLIDE or follower is None or not _follows(start, follower):
            name = technique.labels[0].replace("_", "-")
            report.left_out(f"{name} to nowhere", start.spot)
        else:
            follower.techniques |= technique


def _follows(note: WrittenNote, follower: WrittenNote) -> bool:
    """Say whether a note comes at the end of another, or at the start of the next bar."""
    end = note.spot.position_quarters + note.duration_quarters
    bar, position = follower.start
    return (bar == note.spot.bar and position == end) or (
        bar == note.spot.bar + 1 and position == 0
    )
