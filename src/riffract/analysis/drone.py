"""Which string rings on, where in the texture, and how does it colour what moves?"""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

import numpy as np
from numpy.typing import NDArray

from riffract.analysis.attacks import Attack, lead_notes, punctuating_anchors
from riffract.analysis.drone_texture import harmony_counts, place_shares, position_of
from riffract.analysis.finding import Colour, Drone, Finding, Kind, Position
from riffract.analysis.held_pitch import (
    HeldPitch,
    chance_of_holding,
    held_pitches,
    held_stretches,
)
from riffract.analysis.interval_name import colour_in_sentence, colour_name
from riffract.analysis.sounding import Slices, sounding_slices
from riffract.analysis.spelling import pitch_spelled, twelve_names
from riffract.analysis.wording import bars_text, counted, listed, percent, signed, times
from riffract.music import NoteTable, Passage, Span
from riffract.music.notes import Ints

FEWEST_ATTACKS: Final = 6
"""A stretch of fewer attacks holds a long note, not a drone."""

FEWEST_PITCHES: Final = 3
"""How many other pitches must be struck while it sounds: what changes is more than to-and-fro."""

LARGEST_CHANCE: Final = 0.05
"""A pitch is no drone if the longest-held of as many pitches would as likely be held as long."""

Bools = NDArray[np.bool_]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Candidate:
    """A held pitch with the stretches in which it is held while others move.

    Attributes:
        held: the string and pitch.
        stretches: (start, stop) in ticks.
        is_open: whether the open string gives the pitch.
        chance: that the longest-held pitch would be held as long.
    """

    held: HeldPitch
    stretches: tuple[tuple[int, int], ...]
    is_open: bool
    chance: float

    def holds(self, ticks: Ints) -> Bools:
        """Say of each moment whether the pitch sounds there within its stretches."""
        starts, stops = np.array(self.stretches).T
        place = np.searchsorted(starts, ticks, side="right") - 1
        inside: Bools = (place >= 0) & (ticks < stops[np.maximum(place, 0)])
        return inside & self.held.sounds_at(ticks)


def find_drones(passage: Passage, attacks: Sequence[Attack]) -> tuple[Finding, ...]:
    """Find the pitches that sound on while others move.

    A drone is one pitch on one string that sounds for most of a stretch, while at least three other
    pitches are struck over it and some other string moves; and it is held longer than the
    longest-held pitch would be if all strings changed alike. Palm-muted strokes do not ring, so
    that a chug on the lowest string is none. Where an open string and a stopped one are held for
    the same time, the open one is taken.

    Args:
        passage: what is studied.
        attacks: its attacks.

    Returns:
        One finding for each string and pitch, open strings first, then by how long they sound.
    """
    notes = passage.notes
    held = held_pitches(notes)
    found = _without_doubles(
        [c for c in (_candidate(passage, one, held) for one in held) if c is not None]
    )
    if not found:
        return ()
    still = punctuating_anchors(passage, attacks) | {i for c in found for i in _own_notes(notes, c)}
    lead = lead_notes(notes, attacks, without=still)
    slices = sounding_slices(notes)
    names = twelve_names(notes.pitch[notes.is_pitched].tolist())
    findings = [_finding(passage, c, lead, slices, names) for c in found]
    return tuple(
        sorted(
            findings,
            key=lambda f: (not _drone(f).is_open, -f.measures["passage_share"], _drone(f).string),
        )
    )


def drone_notes(findings: Iterable[Finding]) -> frozenset[int]:
    """Gather the notes that are the drones themselves, as indices; empty without drones."""
    return frozenset(i for f in findings if f.kind is Kind.DRONE for i in f.notes)


def _drone(finding: Finding) -> Drone:
    if not isinstance(finding.what, Drone):
        raise TypeError(f"a finding of a drone is needed, got one of kind {finding.kind}")
    return finding.what


def _candidate(
    passage: Passage, held: HeldPitch, all_held: Sequence[HeldPitch]
) -> _Candidate | None:
    if int(held.attacks.sum()) < FEWEST_ATTACKS:
        return None
    chance = chance_of_holding(held, all_held)
    if chance > LARGEST_CHANCE:
        return None
    notes = passage.notes
    stretches = held_stretches(held.start_ticks.tolist(), held.stop_ticks.tolist())
    kept = tuple(s for s in stretches if _others_move(notes, held, s))
    is_open = passage.tuning.open_pitch(held.string) == held.pitch
    if not kept:
        return None
    return _Candidate(held=held, stretches=kept, is_open=is_open, chance=chance)


def _others_move(notes: NoteTable, held: HeldPitch, stretch: tuple[int, int]) -> bool:
    first, last = np.searchsorted(notes.onset_ticks, stretch)
    rows = np.arange(first, last)
    if len(np.unique(notes.onset_ticks[rows])) < FEWEST_ATTACKS:
        return False
    other = rows[(notes.string[rows] != held.string) & notes.is_pitched[rows]]
    over = other[held.sounds_at(notes.onset_ticks[other])]
    pitches = set(notes.pitch[over].tolist()) - {held.pitch}
    places = set(zip(notes.string[over].tolist(), notes.pitch[over].tolist(), strict=True))
    # A chord that rings string by string has one place a string: nothing moves in it.
    return len(pitches) >= FEWEST_PITCHES and len(places) > len({string for string, _ in places})


def _without_doubles(candidates: Sequence[_Candidate]) -> list[_Candidate]:
    """Drop stopped strings that are held while an open one is."""
    opens = [c for c in candidates if c.is_open]
    return [
        c
        for c in candidates
        if c.is_open
        or all(2 * _overlap(c.stretches, o.stretches) <= _length(c.stretches) for o in opens)
    ]


def _length(stretches: Iterable[tuple[int, int]]) -> int:
    return sum(stop - start for start, stop in stretches)


def _overlap(a: Sequence[tuple[int, int]], b: Sequence[tuple[int, int]]) -> int:
    """Tell for how long two rows of stretches, each in order and disjoint, run together."""
    starts, stops = np.array(b).T
    lengths_before = np.concatenate([[0], np.cumsum(stops - starts)])

    def covered_before(ticks: Ints) -> Ints:
        whole = np.searchsorted(stops, ticks)
        last = np.minimum(whole, len(starts) - 1)
        part = np.where(whole < len(starts), np.maximum(ticks - starts[last], 0), 0)
        covered: Ints = lengths_before[whole] + part
        return covered

    first, last = np.array(a).T
    return int((covered_before(last) - covered_before(first)).sum())


def _own_notes(notes: NoteTable, candidate: _Candidate) -> list[int]:
    rows = candidate.held.notes
    own: list[int] = rows[candidate.holds(notes.onset_ticks[rows])].tolist()
    return own


def _finding(
    passage: Passage,
    candidate: _Candidate,
    lead: tuple[int, ...],
    slices: Slices,
    names: Mapping[int, str],
) -> Finding:
    notes = passage.notes
    held = candidate.held
    here = slices.where(candidate.holds(slices.start_ticks))
    shares = place_shares(notes, here, string=held.string, pitch=held.pitch, lead=lead)
    what = Drone(
        string=held.string,
        pitch=held.pitch,
        is_open=candidate.is_open,
        position=position_of(shares),
        colours=_colours(notes, candidate, lead),
    )
    length = float(passage.length_quarters) * notes.ticks_per_quarter
    own = _own_notes(notes, candidate)
    measures = {
        **shares,
        **harmony_counts(notes, here, string=held.string),
        "passage_share": min(float(here.length_ticks.sum()) / length, 1.0),
        "strikes": len(own),
        "longest_hold_attacks": int(held.attacks.max()),
        "chance_p": candidate.chance,
        "distinct_colours": len({c.semitones for c in what.colours}),
    }
    spans = tuple(Span(notes.quarters(a), notes.quarters(b)) for a, b in candidate.stretches)
    return Finding(
        kind=Kind.DRONE,
        spans=spans,
        notes=tuple(own),
        what=what,
        measures=MappingProxyType({name: float(value) for name, value in measures.items()}),
        sentence=_sentence(passage, what, spans, names),
        detail=_detail(what, measures, names),
    )


def _colours(notes: NoteTable, candidate: _Candidate, lead: tuple[int, ...]) -> tuple[Colour, ...]:
    rows = np.array(lead, dtype=np.int64)
    over = rows[candidate.holds(notes.onset_ticks[rows])].tolist()
    intervals = [int(notes.pitch[i]) - candidate.held.pitch for i in over]
    return tuple(
        Colour(
            at_quarters=notes.quarters(notes.onset_ticks[i]),
            semitones=semitones,
            name=colour_name(semitones),
            note=i,
        )
        for i, semitones in zip(over, intervals, strict=True)
    )


_WHERE: Final[Mapping[Position, str]] = MappingProxyType(
    {
        "below": "below all that moves",
        "middle": "in the middle of the texture",
        "above": "above all that moves",
        "crossing": "while the moving voice crosses it, now above, now below",
    }
)


def _sentence(
    passage: Passage, what: Drone, spans: Sequence[Span], names: Mapping[int, str]
) -> str:
    name = names[what.pitch % 12]
    who = f"The open {name} string" if what.is_open else f"A {name} held on string {what.string}"
    where = bars_text(passage, spans)
    through = "through" if where == "the whole passage" else "in"
    most = Counter(colour.semitones for colour in what.colours).most_common(2)
    colours = listed([f"{colour_in_sentence(n)} ({times(count)})" for n, count in most], "or")
    heard = f"; the voice is most often {colours}" if most else ""
    return f"{who} sounds on {through} {where}, {_WHERE[what.position]}{heard}."


def _detail(what: Drone, measures: Mapping[str, float], names: Mapping[int, str]) -> str:
    counts = Counter(colour.semitones for colour in what.colours)
    series = ", ".join(f"{signed(n)} {colour_name(n)} {counts[n]}" for n in sorted(counts))
    only = int(measures["interval_classes_only_with_it"])
    more = int(measures["set_classes_with_it"] - measures["set_classes_without_it"])
    shares = ", ".join(
        f"{percent(measures[f'{where}_share'])} {words}"
        for where, words in (
            ("between", "between other notes"),
            ("lowest", "lowest"),
            ("highest", "highest"),
            ("alone", "alone"),
        )
    )
    return (
        f"{pitch_spelled(what.pitch, names)}, string {what.string}, "
        f"{'open' if what.is_open else 'stopped'}, struck {times(int(measures['strikes']))}; of "
        f"its time {shares}; the moving voice is above it for "
        f"{percent(measures['voice_above_share'])} and below it for "
        f"{percent(measures['voice_below_share'])} of their time. Colours, drone to voice: "
        f"{series or 'none'}. Only with it sound "
        f"{counted(only, 'interval class', 'interval classes')} and, on balance, "
        f"{counted(more, 'set class', 'set classes')}. The longest-held pitch of as many would be "
        f"held as long with p = {measures['chance_p']:.2g}."
    )
