"""Which string rings on, where in the texture, and how does it colour what moves?"""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from types import MappingProxyType
from typing import Final

import numpy as np
from numpy.typing import NDArray

from riffract.analysis.attacks import Attack, lead_notes, punctuating_anchors
from riffract.analysis.drones.effect import (
    ROUGHNESS_DIGITS,
    effect_measures,
    only_with_it,
    rough_stretches,
    turns_of,
)
from riffract.analysis.drones.held_pitch import (
    HeldPitch,
    chance_of_holding,
    held_pitches,
    held_stretches,
)
from riffract.analysis.drones.roughness import roughness_between
from riffract.analysis.drones.strings import other_strings
from riffract.analysis.drones.texture import place_shares, position_of, voice_in
from riffract.analysis.drones.words import drone_detail, drone_sentence
from riffract.analysis.finding import Colour, Drone, Finding, Kind
from riffract.analysis.interval_name import colour_name
from riffract.analysis.sounding import Slices, sounding_slices
from riffract.analysis.spelling import names_in
from riffract.analysis.what.drone import ColourTotal
from riffract.music import NoteTable, Passage, Span
from riffract.music.notes import NO_PITCH, Ints

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
    names = names_in(passage)
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


def _struck_share(notes: NoteTable, candidate: _Candidate, own: Sequence[int]) -> float:
    """Give the share of the attacks within its stretches that strike the pitch anew."""
    onsets = np.unique(notes.onset_ticks)
    first, last = np.searchsorted(onsets, np.array(candidate.stretches).T)
    return len(np.unique(notes.onset_ticks[list(own)])) / max(int((last - first).sum()), 1)


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
    colours = _colours(notes, candidate, lead)
    what = Drone(
        string=held.string,
        pitch=held.pitch,
        is_open=candidate.is_open,
        position=position_of(shares),
        colours=colours,
        totals=_totals(notes, held.pitch, here, colours, lead),
        crossings=_crossings(colours),
        only_with_it=only_with_it(notes, here, string=held.string),
        turns=turns_of(notes, here, string=held.string),
        rough=rough_stretches(notes, here, string=held.string),
        other_strings=other_strings(passage.tuning, here, string=held.string, pitch=held.pitch),
    )
    length = float(passage.length_quarters) * notes.ticks_per_quarter
    own = _own_notes(notes, candidate)
    measures = {
        **shares,
        **effect_measures(notes, here, string=held.string),
        "interval_classes_only_with_it": len(what.only_with_it),
        "passage_share": min(float(here.length_ticks.sum()) / length, 1.0),
        "strikes": len(own),
        "struck_share": _struck_share(notes, candidate, own),
        "longest_hold_attacks": int(held.attacks.max()),
        "chance_p": candidate.chance,
        "distinct_colours": len({c.semitones for c in what.colours}),
        "crossings": len(what.crossings),
    }
    spans = tuple(Span(notes.quarters(a), notes.quarters(b)) for a, b in candidate.stretches)
    return Finding(
        kind=Kind.DRONE,
        spans=spans,
        notes=tuple(own),
        what=what,
        measures=MappingProxyType({name: float(value) for name, value in measures.items()}),
        sentence=drone_sentence(passage, what, spans, measures, names),
        detail=drone_detail(passage, what, measures, names),
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


def _totals(
    notes: NoteTable,
    pitch: int,
    slices: Slices,
    colours: Sequence[Colour],
    lead: tuple[int, ...],
) -> tuple[ColourTotal, ...]:
    """Add up the colours, each for as long as the voice and the held pitch sound together."""
    counts = Counter(colour.semitones for colour in colours)
    voice = voice_in(notes, slices.note, lead)
    both = voice != NO_PITCH
    ticks: Counter[int] = Counter()
    for semitones, length in zip(
        (voice[both] - pitch).tolist(), slices.length_ticks[both].tolist(), strict=True
    ):
        ticks[semitones] += length
    return tuple(
        ColourTotal(
            semitones=semitones,
            count=counts[semitones],
            quarters=Fraction(ticks[semitones], notes.ticks_per_quarter),
            roughness=round(roughness_between(pitch, pitch + semitones), ROUGHNESS_DIGITS),
        )
        for semitones in sorted(counts)
    )


def _crossings(colours: Sequence[Colour]) -> tuple[Fraction, ...]:
    """Tell where the voice comes to the other side; a unison lies on neither."""
    apart = [colour for colour in colours if colour.semitones]
    return tuple(
        after.at_quarters
        for before, after in pairwise(apart)
        if (before.semitones > 0) != (after.semitones > 0)
    )
