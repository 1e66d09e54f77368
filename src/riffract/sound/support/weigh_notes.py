"""Whether a recording bears out each note of a text, and what it plays beside them."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from math import ceil, floor
from typing import Final

from riffract.music import Note, Passage, Technique
from riffract.music.notes import LEGATO
from riffract.sound.alignment import Alignment
from riffract.sound.mono import Mono
from riffract.sound.support.heard_pitches import HeardPitches, Sounding
from riffract.sound.support.lengths import wrong_lengths
from riffract.sound.support.moments import listen
from riffract.sound.support.moved import with_moved
from riffract.sound.support.odds import odds_right
from riffract.sound.support.peers import peers
from riffract.sound.support.rivals import Spot, mistaken_for
from riffract.sound.support.support import (
    NoteSupport,
    Rival,
    RivalKind,
    Support,
    SupportReport,
)
from riffract.sound.support.undertones import mixtures
from riffract.sound.support.unwritten import unwritten_notes

BORNE_OUT: Final = 0.5
CONTRADICTED: Final = -1.0
"""Log10 odds: a note counts as borne out from three to one, as contradicted from ten to one against
it; between them the recording does not tell. Of fourteen notes at which the odds were between two
and ten to one against them three were wrong (open check recordings)."""

WRONG_LENGTH: Final = -0.5
"""Evidence for a note that stops early or late; no odds are known, so it is told as three to one
against."""

NO_STROKE: Final = 2.0
"""Log10 odds against a note at an attack where hardly anything begins (`FAINT_STROKE`)."""

BOTH: Final = 0.0
"""Log10 odds: where a note is heard so well, a rival that cannot feign it is struck beside it, not
instead of it, and is told as unwritten. Of eleven notes that were contradicted by such a rival
none was wrong; of 115 that were heard less well one was right (development recordings)."""

FEIGNING: Final = frozenset({-12, -2, -1, 1, 2})
"""Semitones from a note to what can pass for it: the octave below by its partials, near frets by
their breadth."""

MIXED: Final = 0.0
"""Log10 odds of a tone that needs a note and is not written (`mixtures`): where it is heard, the
note is not told to be absent, since the tone takes up its partials."""

AROUND_SECONDS: Final = 10.0
"""Before and after the passage: longer than a string rings."""

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
        does not play it; unwritten notes in order of time, without those that are a written note
        at another moment (`with_moved`).
    """
    start_seconds, part = _part_of(alignment, recording)
    judged = _judged(passage, alignment.later_by(-start_seconds), part, progress)
    unwritten = tuple(replace(n, seconds=n.seconds + start_seconds) for n in judged.unwritten)
    return replace(judged, unwritten=unwritten)


def _part_of(alignment: Alignment, recording: Mono) -> tuple[float, Mono]:
    """Cut out what lies around the passage, at a whole second; give where it begins.

    What else a recording holds, hours of it or one loud moment, says nothing about the notes.
    """
    if not alignment.stretches:
        return 0.0, recording
    first = min(stretch.start_seconds for stretch in alignment.stretches)
    last = max(stretch.end_seconds for stretch in alignment.stretches)
    start = max(floor(first - AROUND_SECONDS), 0)
    past = ceil((last + AROUND_SECONDS) * recording.rate_hz)
    samples = recording.samples[start * recording.rate_hz : past]
    return float(start), Mono(samples=samples, rate_hz=recording.rate_hz)


def _judged(
    passage: Passage,
    alignment: Alignment,
    recording: Mono,
    progress: Callable[[float], None] | None,
) -> SupportReport:
    heard = HeardPitches(listen(passage, alignment, recording, progress=progress))
    sounding = Sounding(passage)
    strokes = {a.quarters for stretch in alignment.stretches for a in stretch.attacks if a.is_heard}
    weighing = _Weighing(passage, heard, sounding)
    verdicts = tuple(
        _dead_stroke(note, is_heard=note.onset_quarters in strokes)
        if note.pitch is None
        else weighing.verdict(note, note.pitch)
        for note in passage.notes
    )
    verdicts = _with_lengths(passage, alignment, recording, verdicts)
    unwritten = unwritten_notes(passage, heard, sounding, verdicts)
    verdicts, unwritten = with_moved(passage, verdicts, unwritten)
    return SupportReport(
        notes=verdicts,
        unwritten=unwritten,
        explained_share=_explained_share(heard, sounding),
    )


def _with_lengths(
    passage: Passage,
    alignment: Alignment,
    recording: Mono,
    verdicts: tuple[NoteSupport, ...],
) -> tuple[NoteSupport, ...]:
    """Contradict notes whose pitch is right and whose length is not."""
    borne_out = [v.note for v in verdicts if v.support is Support.BORNE_OUT]
    wrong = wrong_lengths(passage, alignment, recording, borne_out)
    return tuple(
        NoteSupport(
            note=v.note, support=Support.CONTRADICTED, evidence=WRONG_LENGTH, rival=wrong[v.note]
        )
        if v.note in wrong
        else v
        for v in verdicts
    )  # fmt: skip


def _dead_stroke(note: Note, *, is_heard: bool) -> NoteSupport:
    return NoteSupport(
        note=note.index,
        support=Support.BORNE_OUT if is_heard else Support.UNCLEAR,
        evidence=HEARD_STROKE if is_heard else 0.0,
        rival=None,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Best:
    """What speaks most against a note: a place on the fretboard, or nothing (`None`)."""

    odds: float
    spot: Spot | None


class _Weighing:
    """Weighs notes against what they could be mistaken for, and against their peers."""

    def __init__(self, passage: Passage, heard: HeardPitches, sounding: Sounding) -> None:
        self._tuning = passage.tuning
        self._heard = heard
        self._sounding = sounding
        notes = [
            (n, n.pitch)
            for n in passage.notes
            if n.pitch is not None and heard.is_played(n.onset_quarters)
        ]
        slurred = {n.onset_quarters for n in passage.notes if n.techniques & LEGATO}
        self._unstruck = {
            n.onset_quarters
            for n, _ in notes
            if n.onset_quarters not in slurred and heard.is_faint(n.onset_quarters)
        }
        self._peers = peers((p, float(n.onset_quarters), self._lag(n, p)) for n, p in notes)

    def verdict(self, note: Note, pitch: int) -> NoteSupport:
        if not self._heard.is_played(note.onset_quarters):
            return NoteSupport(note=note.index, support=Support.UNCLEAR, evidence=0.0, rival=None)
        own = self._heard.odds_at(note.onset_quarters, pitch)
        best = self._best_rival(note, pitch)
        evidence = odds_right(own, best.odds)
        is_unstruck = note.onset_quarters in self._unstruck
        if is_unstruck:
            best = _Best(odds=best.odds, spot=None)
            evidence -= NO_STROKE
        is_the_sound = not is_unstruck and (
            self._is_the_sound(note, pitch, own, best)
            or (best.spot is None and self._is_mixed(note, pitch))
        )
        against = evidence <= CONTRADICTED and not is_the_sound
        verdict = Support.BORNE_OUT if evidence >= BORNE_OUT else Support.UNCLEAR
        if against and Technique.BEND not in note.techniques:
            verdict = Support.CONTRADICTED  # a bent string passes through other pitches
        if evidence <= CONTRADICTED and not against:
            evidence = 0.0
        rival = None if verdict is Support.BORNE_OUT or evidence > 0.0 else _rival(best)
        return NoteSupport(note=note.index, support=verdict, evidence=evidence, rival=rival)

    def _best_rival(self, note: Note, pitch: int) -> _Best:
        others = self._others(note)
        own = self._heard.odds_at(note.onset_quarters, pitch)
        found = [
            _Best(odds=self._heard.odds_at(note.onset_quarters, spot.pitch), spot=spot)
            for spot in mistaken_for(self._tuning, note.string, note.fret)
            if spot.pitch not in others and (own < BOTH or spot.pitch - pitch in FEIGNING)
        ]
        best = max(found, key=lambda rival: rival.odds, default=_Best(odds=0.0, spot=None))
        return best if best.odds > 0.0 else _Best(odds=0.0, spot=None)

    def _others(self, note: Note) -> set[int | None]:
        return {n.pitch for n in self._sounding.at(note.onset_quarters) if n.index != note.index}

    def _is_the_sound(self, note: Note, pitch: int, own: float, best: _Best) -> bool:
        """Tell whether many notes of this register fare as badly, whatever their rivals are."""
        return self._peers.is_typical(pitch, float(note.onset_quarters), best.odds - own)

    def _is_mixed(self, note: Note, pitch: int) -> bool:
        """Tell whether a tone is heard that an amplifier makes of this note and of others."""
        others = {p for p in self._others(note) if p is not None}
        tones = mixtures(pitch, others - {pitch}) - others
        return any(self._heard.odds_at(note.onset_quarters, tone) >= MIXED for tone in tones)

    def _lag(self, note: Note, pitch: int) -> float:
        """Measure how far the best rival is ahead of a note."""
        return self._best_rival(note, pitch).odds - self._heard.odds_at(note.onset_quarters, pitch)


def _rival(best: _Best) -> Rival:
    if best.spot is None:
        return Rival(kind=RivalKind.ABSENT)
    spot = best.spot
    return Rival(kind=RivalKind.PITCH, pitch=spot.pitch, string=spot.string, fret=spot.fret)


def _explained_share(heard: HeardPitches, sounding: Sounding) -> float:
    """Tell how much of all pitched sound after the attacks belongs to what is written."""
    hearing = heard.hearing
    written = total = 0.0
    for index, moment in enumerate(hearing.moments):
        pitches = {n.pitch for n in sounding.at(moment.quarters) if n.pitch is not None}
        columns = [p - hearing.lowest_pitch for p in pitches]
        written += float(hearing.after[index, columns].sum())
        total += float(hearing.after[index].sum())
    return written / total if total > 0.0 else 0.0
