"""Whether a recording bears out each note of a text, and what it plays beside them."""

from collections import defaultdict
from collections.abc import Callable
from fractions import Fraction
from typing import Final

import numpy as np

from riffract.music import Note, Passage, Technique
from riffract.sound.alignment import Alignment
from riffract.sound.mono import Mono
from riffract.sound.support.moments import Hearing, listen
from riffract.sound.support.odds import odds_right, odds_struck
from riffract.sound.support.rivals import Spot, mistaken_for, nearest_spot
from riffract.sound.support.support import (
    NoteSupport,
    Rival,
    RivalKind,
    Support,
    SupportReport,
    UnwrittenNote,
)

BORNE_OUT: Final = 0.5
CONTRADICTED: Final = -0.3
"""Log10 odds: a note counts as borne out from three to one, as contradicted from two to one
against it; between them the recording does not tell."""

UNWRITTEN: Final = 1.3
"""Log10 odds from which an unwritten pitch is told of, twenty to one: unlike a written note
nothing else speaks for it."""

RELEASE_QUARTERS: Final = Fraction(1, 4)
"""How long after its string has stopped a note is not taken for an unwritten one: rooms and sound
engineers let it die away."""

SHADOWS: Final = (-12, 12, 19, 24, 28, 31)
"""Semitones above a sounding note at which its partials lie, and the octave below it, where an
amplifier puts difference tones: no unwritten note is told of there."""

HEARD_STROKE: Final = 0.5
"""Evidence for a dead note whose stroke is heard: it has no pitch to judge by."""


def support(
    passage: Passage,
    alignment: Alignment,
    recording: Mono,
    *,
    progress: Callable[[float], None] | None = None,
) -> SupportReport:
    """Judge every note of a text by its recording.

    Definition: around each attack the spectrum is explained by all pitches of the instrument at
    once (`explained`). From how much of each pitch that takes, how much it rose and what could
    hide it follow log odds that it is struck (`odds_struck`); a note's evidence weighs its own
    against those of what it is easily mistaken for (`mistaken_for`), or of nothing.

    Args:
        passage: the text.
        alignment: when its attacks sound; a note that is played again is judged by the mean.
        recording: the sound.
        progress: told the share that is done; what it raises ends the work.

    Returns:
        One verdict a note in the passage's order, `UNCLEAR` with evidence 0 where the recording
        does not play it; unwritten notes in order of time. Lengths of notes are not judged.
    """
    hearing = listen(passage, alignment, recording, progress=progress)
    places: dict[Fraction, list[int]] = defaultdict(list)
    for index, moment in enumerate(hearing.moments):
        if moment.is_struck:
            places[moment.quarters].append(index)
    notes = tuple(passage.notes)
    sounding = _Sounding(notes)
    heard = {a.quarters for stretch in alignment.stretches for a in stretch.attacks if a.is_heard}
    verdicts = tuple(
        _dead_stroke(note, is_heard=note.onset_quarters in heard)
        if note.pitch is None
        else _verdict(passage, note, hearing, places[note.onset_quarters], sounding)
        for note in notes
    )
    return SupportReport(
        notes=verdicts,
        unwritten=_unwritten(passage, hearing, sounding, verdicts),
        explained_share=_explained_share(hearing, sounding),
    )


class _Sounding:
    """Which notes sound at a moment, and which have died away only just."""

    def __init__(self, notes: tuple[Note, ...]) -> None:
        self._notes = notes
        self._cache: dict[tuple[Fraction, Fraction], tuple[Note, ...]] = {}
        self._onsets = np.array([float(n.onset_quarters) for n in notes])
        self._stops = np.array([float(n.ring_end_quarters) for n in notes])

    def at(self, quarters: Fraction, release_quarters: Fraction = Fraction(0)) -> tuple[Note, ...]:
        key = quarters, release_quarters
        if key not in self._cache:
            moment = float(quarters)
            on = (self._onsets <= moment) & (moment < self._stops + float(release_quarters))
            self._cache[key] = tuple(self._notes[i] for i in np.flatnonzero(on))
        return self._cache[key]


def _dead_stroke(note: Note, *, is_heard: bool) -> NoteSupport:
    return NoteSupport(
        note=note.index,
        support=Support.BORNE_OUT if is_heard else Support.UNCLEAR,
        evidence=HEARD_STROKE if is_heard else 0.0,
        rival=None,
    )


def _verdict(
    passage: Passage, note: Note, hearing: Hearing, places: list[int], sounding: _Sounding
) -> NoteSupport:
    """Weigh a note against what it could be mistaken for, wherever it is played."""
    pitch = note.pitch
    if not places or pitch is None:
        return NoteSupport(note=note.index, support=Support.UNCLEAR, evidence=0.0, rival=None)
    others = {n.pitch for n in sounding.at(note.onset_quarters) if n.index != note.index}
    spots = [
        s for s in mistaken_for(passage.tuning, note.string, note.fret) if s.pitch not in others
    ]
    own = _mean_odds(hearing, places, pitch)
    rivals = [(_mean_odds(hearing, places, spot.pitch), spot) for spot in spots]
    best_odds, best = max(rivals, key=lambda pair: pair[0], default=(0.0, None))
    evidence = odds_right(own, best_odds)
    verdict = _in_a_word(evidence, is_steady=Technique.BEND not in note.techniques)
    rival = None if verdict is Support.BORNE_OUT else _rival(best_odds, best)
    return NoteSupport(note=note.index, support=verdict, evidence=evidence, rival=rival)


def _mean_odds(hearing: Hearing, places: list[int], pitch: int) -> float:
    return float(np.mean([odds_struck(hearing, place, pitch) for place in places]))


def _in_a_word(evidence: float, *, is_steady: bool) -> Support:
    """A bent string passes through other pitches, so that they do not speak against it."""
    if evidence >= BORNE_OUT:
        return Support.BORNE_OUT
    if evidence <= CONTRADICTED and is_steady:
        return Support.CONTRADICTED
    return Support.UNCLEAR


def _rival(odds: float, spot: Spot | None) -> Rival:
    if spot is None or odds <= 0.0:
        return Rival(kind=RivalKind.ABSENT)
    return Rival(kind=RivalKind.PITCH, pitch=spot.pitch, string=spot.string, fret=spot.fret)


def _unwritten(
    passage: Passage, hearing: Hearing, sounding: _Sounding, verdicts: tuple[NoteSupport, ...]
) -> tuple[UnwrittenNote, ...]:
    """Find what is struck beside the text; a rival of a contradicted note is not told twice."""
    found = []
    rivals: dict[Fraction, set[int]] = defaultdict(set)
    for verdict in verdicts:
        if verdict.rival is not None and verdict.rival.pitch is not None:
            onset = passage.notes[verdict.note].onset_quarters
            rivals[onset].add(verdict.rival.pitch)
    for index, moment in enumerate(hearing.moments):
        ringing = sounding.at(moment.quarters, RELEASE_QUARTERS)
        known = {n.pitch for n in ringing if n.pitch is not None} | rivals[moment.quarters]
        hidden = known | {p + shadow for p in known for shadow in SHADOWS}
        best = _loudest(hearing, index, passage.tuning.lowest_pitch, hidden)
        odds = odds_struck(hearing, index, best)
        if odds < UNWRITTEN:
            continue
        now = sounding.at(moment.quarters)
        fret = round(float(np.mean([n.fret for n in ringing]))) if ringing else 0
        spot = nearest_spot(passage.tuning, best, fret, frozenset(n.string for n in now))
        spot = spot or nearest_spot(passage.tuning, best, fret, frozenset())
        if spot is not None:
            found.append(
                UnwrittenNote(
                    quarters=moment.quarters, seconds=moment.seconds, pitch=best,
                    string=spot.string, fret=spot.fret, evidence=odds,
                )
            )  # fmt: skip
    return tuple(found)


def _loudest(hearing: Hearing, moment: int, lowest_pitch: int, hidden: set[int]) -> int:
    """Give the pitch of the largest amount that nothing written hides."""
    amounts = hearing.after[moment].copy()
    amounts[: max(lowest_pitch - hearing.lowest_pitch, 0)] = -1.0
    columns = [p - hearing.lowest_pitch for p in hidden]
    amounts[[c for c in columns if 0 <= c < len(amounts)]] = -1.0
    return int(amounts.argmax()) + hearing.lowest_pitch


def _explained_share(hearing: Hearing, sounding: _Sounding) -> float:
    """Tell how much of all pitched sound after the attacks belongs to what is written."""
    written = total = 0.0
    for index, moment in enumerate(hearing.moments):
        pitches = {n.pitch for n in sounding.at(moment.quarters) if n.pitch is not None}
        columns = [p - hearing.lowest_pitch for p in pitches]
        written += float(hearing.after[index, columns].sum())
        total += float(hearing.after[index].sum())
    return written / total if total > 0.0 else 0.0
