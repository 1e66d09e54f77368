"""What is sounding together, and what comes in a row?"""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from types import MappingProxyType
from typing import Final, get_args

import numpy as np

from riffract.analysis.attacks import Attack
from riffract.analysis.finding import Drone, Finding, How, Kind, Limb, Sonority
from riffract.analysis.pitch_class_set import mask_of, pcs_of
from riffract.analysis.set_class import least_transposition, set_class_of
from riffract.analysis.sonorities.occurrence import (
    Occurrence,
    first_sound,
    ringing_together,
    rows_of_three,
    struck_together,
    without_overlap,
)
from riffract.analysis.sonorities.triad_moves import TriadMove, triad_move
from riffract.analysis.sonorities.words import sonority_detail, sonority_sentence
from riffract.analysis.spelling import names_in
from riffract.music import NoteTable, Passage, Span

FEWEST_IN_SUCCESSION: Final = 2
"""A row of notes is a sonority if it comes back; every line has rows that come once."""


INTERVALS_TOLD: Final = 3
"""Of the intervals that are struck together the most frequent ones; the others are in the notes."""


def find_sonorities(
    passage: Passage,
    attacks: Sequence[Attack],
    limbs: Sequence[Limb],
    *,
    drones: Sequence[Finding] = (),
) -> tuple[Finding, ...]:
    """List the set classes of three pitch classes and more, and how they come to be heard.

    - *struck*: an attack holds them, for as long as all of its notes sound and nothing new comes.
    - *ringing*: they sound together though they were not struck together.
    - *in succession*: three notes of the moving voice in a row, all different in pitch class,
      within one limb and without a silence of more than two quarters; a repeated note counts once.
      Rows overlap, so those of one class are counted from the first on, each note in one only; and
      only classes that come twice are listed.

    The first sound is the first attack, if it holds three pitch classes; else what its ringing
    grows to, before a string is struck again or one of its notes stops.

    Args:
        passage: what is studied.
        attacks: its attacks.
        limbs: the moving voice, limb by limb.
        drones: what was found of ringing strings.

    Returns:
        One finding for each class and manner: the first sound, then by manner, then by how much
        of the passage they fill.
    """
    notes = passage.notes
    struck = struck_together(notes, attacks)
    ringing = ringing_together(notes)
    rows = rows_of_three(notes, limbs)
    first = first_sound(notes, attacks, struck, ringing)
    names = names_in(passage)
    manners: tuple[tuple[How, Sequence[Occurrence], Sequence[Occurrence]], ...] = (
        ("struck", struck, struck),
        ("ringing", ringing, ringing),
        ("in_succession", without_overlap(rows), rows),
    )
    findings = [
        _finding(
            passage,
            how,
            found,
            _Beside(class_share=class_share, names=names, drones=drones, is_first=first in found),
        )
        for how, occurrences, looked_at in manners
        for found, class_share in _by_class(how, occurrences, looked_at)
    ]
    return tuple(sorted(findings, key=_order))


def find_intervals(passage: Passage, attacks: Sequence[Attack]) -> tuple[Finding, ...]:
    """List the intervals that are struck together, octaves left aside.

    Args:
        passage: what is studied.
        attacks: its attacks.

    Returns:
        Of attacks with two pitch classes, the three most frequent interval classes that come
        twice or more, by how often.
    """
    names = names_in(passage)
    struck = struck_together(passage.notes, attacks, fewest_pcs=2)
    dyads = [x for x in struck if x.set_class.size == 2]
    by_class = sorted(_by_class("struck", dyads, dyads), key=lambda one: -len(one[0]))
    return tuple(
        _finding(
            passage,
            "struck",
            found,
            _Beside(class_share=share, names=names, drones=(), is_first=False),
        )
        for found, share in by_class[:INTERVALS_TOLD]
        if len(found) >= FEWEST_IN_SUCCESSION
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Beside:
    """What else a finding is told with.

    Attributes:
        class_share: share of its class in all that was looked at.
        names: the passage's spelling.
        drones: what was found of ringing strings.
        is_first: whether the passage opens on it.
    """

    class_share: float
    names: Mapping[int, str]
    drones: Sequence[Finding]
    is_first: bool


def _order(finding: Finding) -> tuple[bool, int, float, str]:
    what = finding.what
    if not isinstance(what, Sonority):
        raise TypeError(f"a sonority is needed, got a finding of kind {finding.kind}")
    return not what.is_first_sound, get_args(How).index(what.how), -what.share, what.forte


def _by_class(
    how: How, occurrences: Sequence[Occurrence], looked_at: Sequence[Occurrence]
) -> Iterator[tuple[list[Occurrence], float]]:
    """Gather occurrences by class, with the share of the class in all that was looked at.

    Shares are among sets of one size; rows that overlap are counted in `looked_at`.
    """
    by_class: dict[str, list[Occurrence]] = {}
    for occurrence in occurrences:
        by_class.setdefault(occurrence.set_class.forte, []).append(occurrence)
    of_class = Counter(x.set_class.forte for x in looked_at)
    of_size = Counter(x.set_class.size for x in looked_at)
    for forte, found in by_class.items():
        if len(found) >= (FEWEST_IN_SUCCESSION if how == "in_succession" else 1):
            yield found, of_class[forte] / of_size[found[0].set_class.size]


def _finding(passage: Passage, how: How, found: Sequence[Occurrence], beside: _Beside) -> Finding:
    notes = passage.notes
    set_class = found[0].set_class
    spans = tuple(Span(notes.quarters(x.start_ticks), notes.quarters(x.stop_ticks)) for x in found)
    masks = [mask_of(x.pcs) for x in found]
    what = Sonority(
        prime_form=set_class.prime_form,
        forte=set_class.forte,
        how=how,
        occurrences=spans,
        occurrence_pcs=tuple(x.pcs for x in found),
        share=float(_covered_quarters(spans) / passage.length_quarters),
        is_first_sound=beside.is_first,
        forte_form=set_class.forte_form,
        ways_up=_ways_up(masks),
        with_ringing=_with_ringing(masks, spans, beside.drones) if how == "in_succession" else (),
    )
    measures = {
        "count": len(found),
        "share": what.share,
        "class_share": beside.class_share,
        "chance_share": set_class.chance_share,
        "forms": len(set(masks)),
    }
    if how == "in_succession":
        measures["with_others_between"] = _with_others_between(notes, found)
    if how == "struck" and set_class.forte == "3-11":
        measures |= _triad_moves(masks)
    return Finding(
        kind=Kind.SONORITY,
        spans=spans,
        notes=tuple(sorted({i for x in found for i in x.notes})),
        what=what,
        measures=MappingProxyType({name: float(value) for name, value in measures.items()}),
        sentence=sonority_sentence(passage, what),
        detail=sonority_detail(set_class, what, measures, beside.names),
    )


def _ways_up(masks: Sequence[int]) -> tuple[tuple[tuple[int, ...], int], ...]:
    counts = Counter(pcs_of(least_transposition(mask)) for mask in masks)
    return tuple(sorted(counts.items(), key=lambda one: (-one[1], one[0])))


def _with_ringing(
    masks: Sequence[int], spans: Sequence[Span], drones: Sequence[Finding]
) -> tuple[tuple[str, int], ...]:
    """Tell what rows become with the strings that ring where they start, if those add to them."""
    ringing = [(d.what.pitch, d.spans) for d in drones if isinstance(d.what, Drone)]
    counts: Counter[str] = Counter()
    for mask, span in zip(masks, spans, strict=True):
        added = mask_of(
            pitch
            for pitch, held in ringing
            if any(stretch.holds(span.start_quarters) for stretch in held)
        )
        if added & ~mask:
            counts[set_class_of(mask | added).forte] += 1
    return tuple(sorted(counts.items(), key=lambda one: (-one[1], one[0])))


def _triad_moves(masks: Sequence[int]) -> dict[str, int]:
    """Count how the triads go over into one another; a triad that is struck again goes nowhere."""
    changes = [(a, b) for a, b in pairwise(masks) if a != b]
    moves = Counter(triad_move(a, b) for a, b in changes)
    named = {f"{move}_moves": moves[move] for move in get_args(TriadMove)}
    return {**named, "other_moves": moves[None]}


def _covered_quarters(spans: Sequence[Span]) -> Fraction:
    covered, reached = Fraction(0), Fraction(0)
    for span in spans:
        covered += max(span.end_quarters - max(span.start_quarters, reached), Fraction(0))
        reached = max(reached, span.end_quarters)
    return covered


def _with_others_between(notes: NoteTable, found: Sequence[Occurrence]) -> int:
    """Count the rows that other attacks come between."""
    place = dict(zip(np.unique(notes.onset_ticks).tolist(), range(len(notes)), strict=False))
    onset = notes.onset_ticks.tolist()
    places = [[place[onset[i]] for i in x.notes] for x in found]
    return sum(row[-1] - row[0] + 1 > len(set(row)) for row in places)
