"""What all questions about one passage share: its attacks, voices, riffs and limbs."""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

import numpy as np

from riffract.analysis.attacks import (
    Attack,
    anchor_notes,
    attacks_of,
    lead_notes,
    punctuating_anchors,
    with_start_pitches,
)
from riffract.analysis.drones.find import drone_notes, find_drones
from riffract.analysis.finding import Finding, Gesture, Limb, Passes, Reading
from riffract.analysis.gestures.find import find_gesture
from riffract.analysis.passes.find import find_passes, spelling_of
from riffract.analysis.passes.in_sequence import told_in_sequence
from riffract.analysis.reordering import Ids
from riffract.music import Passage

FEWEST_LEAD_NOTES: Final = 3
"""A moving voice of fewer notes is none; the low string is then counted in."""


@dataclass(frozen=True, slots=True, kw_only=True)
class View:
    """A passage with what was found first, since later questions build on it.

    Attributes:
        passage: the passage, bent notes at the pitch that they start with.
        earlier: passages that it may grow out of, the earliest first.
        seed: of every random draw.
        attacks: its attacks.
        drones: what was found of ringing strings.
        drone_notes: indices of the notes that ring on.
        anchors: indices of the strokes of the lowest open string.
        lead: the moving voice, as indices of notes.
        passes: what was found of the riff, or riffs.
        gestures: what was found of its shape.
    """

    passage: Passage
    earlier: tuple[Passage, ...]
    seed: int
    attacks: tuple[Attack, ...]
    drones: tuple[Finding, ...]
    drone_notes: frozenset[int]
    anchors: frozenset[int]
    lead: tuple[int, ...]
    passes: tuple[Finding, ...]
    gestures: tuple[Finding, ...]

    @property
    def readings(self) -> tuple[Reading, ...]:
        """How the passage is read in passes, one reading for each riff."""
        return tuple(_readings(self.passes))

    @property
    def lead_ids(self) -> Ids:
        """The moving voice as an array."""
        return np.array(self.lead, dtype=np.int64)

    @property
    def attack_of_lead(self) -> Ids:
        """The attack of each note of the moving voice."""
        attack_of = {i: a.index for a in self.attacks for i in a.notes}
        return np.array([attack_of[i] for i in self.lead], dtype=np.int64)

    @property
    def gesture(self) -> Gesture | None:
        """The shape of the moving voice, if it has one."""
        return next((g.what for g in self.gestures if isinstance(g.what, Gesture)), None)

    @property
    def limbs(self) -> tuple[Limb, ...]:
        """The limbs of that shape."""
        return tuple(
            limb for g in self.gestures if isinstance(g.what, Gesture) for limb in g.what.limbs
        )

    @property
    def boundaries(self) -> tuple[Fraction, ...]:
        """Where a scale may well change: limbs, passes and sections start there."""
        starts = {limb.span.start_quarters for limb in self.limbs}
        starts |= {span.start_quarters for f in self.passes for span in f.spans}
        starts |= {section.span.start_quarters for section in self.passage.sections}
        return tuple(sorted(starts))


def view_of(passage: Passage, *, seed: int, earlier: Sequence[Passage] = ()) -> View:
    """Find first what other questions build on."""
    passage = with_start_pitches(passage)
    attacks = attacks_of(passage)
    drones = find_drones(passage, attacks)
    ringing = drone_notes(drones)
    lead = moving_voice(passage, attacks, ringing)
    passes = told_in_sequence(
        passage, attacks, lead, spelling_of(passage, attacks), find_passes(passage, attacks)
    )
    pass_starts = [one.span.start_quarters for r in _readings(passes) for one in r.passes]
    return View(
        passage=passage,
        earlier=tuple(with_start_pitches(one) for one in earlier),
        seed=seed,
        attacks=attacks,
        drones=drones,
        drone_notes=ringing,
        anchors=anchor_notes(passage),
        lead=lead,
        passes=passes,
        gestures=find_gesture(passage, attacks, lead, pass_starts),
    )


def moving_voice(
    passage: Passage, attacks: Sequence[Attack], ringing: frozenset[int]
) -> tuple[int, ...]:
    """The moving voice without what rings and what anchors; with the anchor if that is all."""
    still = ringing | punctuating_anchors(passage, attacks)
    lead = lead_notes(passage.notes, attacks, without=still)
    if len(lead) >= FEWEST_LEAD_NOTES:
        return lead
    return lead_notes(passage.notes, attacks, without=ringing)


def _readings(passes: Sequence[Finding]) -> list[Reading]:
    """The readings told of notes that come back, not of a rhythm or of pitches alone."""
    whats = [found.what for found in passes]
    return [w.readings[0] for w in whats if isinstance(w, Passes) and w.of == "notes"]
