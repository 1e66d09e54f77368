"""Notes that a recording plays and a text does not have."""

from collections import defaultdict
from fractions import Fraction
from typing import Final

import numpy as np

from riffract.music import Passage
from riffract.sound.support.heard_pitches import HeardPitches, Sounding
from riffract.sound.support.peers import NEAR_SEMITONES, Peers, peers
from riffract.sound.support.rivals import nearest_spot
from riffract.sound.support.support import NoteSupport, Support, UnwrittenNote

UNWRITTEN: Final = 1.3
"""Log10 odds from which an unwritten pitch is told of, twenty to one: unlike a written note
nothing else speaks for it."""

LEAST_RISE: Final = 0.5
"""An unwritten note is as good as twice as strong after its attack as before: what only rings on,
or dies away in a room, does not rise."""

SHADOWS: Final = (-12, 12, 19, 24, 28, 31)
"""Semitones above a sounding note at which its partials lie, and the octave below it, where an
amplifier puts difference tones: no unwritten note is told of there."""

SMEAR: Final = 2
"""Semitones within which a stiff string can pass for its neighbour: there a struck note is compared
with others of its own pitch as well."""

SPILL_QUARTERS: Final = Fraction(1, 2)
"""Between the attacks of the text a pitch is not told of as unwritten if it is borne out this near:
then the place is a little off, not the text."""

RELEASE_QUARTERS: Final = Fraction(1, 4)
"""How long after its string has stopped a note is not taken for an unwritten one: rooms and sound
engineers let it die away."""


def unwritten_notes(
    passage: Passage, heard: HeardPitches, sounding: Sounding, verdicts: tuple[NoteSupport, ...]
) -> tuple[UnwrittenNote, ...]:
    """Find what is struck beside the text.

    Definition: a pitch counts if it is struck by all odds (`UNWRITTEN`), rises (`LEAST_RISE`), is
    no partial of what sounds (`SHADOWS`), and does not come with other attacks of this recording
    at the same interval above what is written there (`Peers`).

    Returns:
        In order of time; at most one a moment; the rival of a contradicted note is not told twice.
    """
    seeking = _Seeking(passage, heard, sounding, verdicts)
    found = [seeking.at(index) for index in range(len(heard.hearing.moments))]
    return tuple(note for note in found if note is not None)


class _Seeking:
    """Looks at one moment after the other."""

    def __init__(
        self,
        passage: Passage,
        heard: HeardPitches,
        sounding: Sounding,
        verdicts: tuple[NoteSupport, ...],
    ) -> None:
        self._tuning = passage.tuning
        self._heard = heard
        self._moments = heard.hearing.moments
        self._lowest = heard.hearing.lowest_pitch
        self._sounding = sounding
        self._rivals: dict[Fraction, set[int]] = defaultdict(set)
        self._borne_out: dict[int | None, list[Fraction]] = defaultdict(list)
        for verdict in verdicts:
            written = passage.notes[verdict.note]
            if verdict.support is Support.BORNE_OUT:
                self._borne_out[written.pitch].append(written.onset_quarters)
            if verdict.rival is not None and verdict.rival.pitch is not None:
                self._rivals[written.onset_quarters].add(verdict.rival.pitch)
        self._peers: dict[int, Peers] = {}

    def at(self, index: int) -> UnwrittenNote | None:
        """Find the unwritten note of a moment."""
        moment = self._moments[index]
        pitch, odds = self._likeliest(index)
        if odds < UNWRITTEN or self._is_the_sound(index, pitch, odds):
            return None
        if not moment.is_struck and self._is_spilled(index, pitch):
            return None
        now = self._sounding.at(moment.quarters, RELEASE_QUARTERS)
        near = round(float(np.mean([n.fret for n in now]))) if now else 0
        taken = frozenset(n.string for n in self._sounding.at(moment.quarters))
        spot = nearest_spot(self._tuning, pitch, near, taken)
        spot = spot or nearest_spot(self._tuning, pitch, near, frozenset())
        if spot is None:
            return None
        return UnwrittenNote(
            quarters=moment.quarters, seconds=moment.seconds, pitch=pitch,
            string=spot.string, fret=spot.fret, evidence=odds,
        )  # fmt: skip

    def _hidden(self, quarters: Fraction) -> set[int]:
        """List the pitches that need no explanation at a moment."""
        struck = self._struck(quarters) | self._rivals[quarters]
        return struck | {p + shadow for p in struck for shadow in SHADOWS}

    def _likeliest(self, index: int) -> tuple[int, float]:
        """Give the pitch that rises and that nothing written hides, and its odds."""
        odds = self._heard.odds[index].copy()
        odds[self._heard.rise[index] < LEAST_RISE] = -np.inf
        odds[: max(self._tuning.lowest_pitch - self._lowest, 0)] = -np.inf
        columns = [p - self._lowest for p in self._hidden(self._moments[index].quarters)]
        odds[[c for c in columns if 0 <= c < len(odds)]] = -np.inf
        best = int(odds.argmax())
        return best + self._lowest, float(odds[best])

    def _is_the_sound(self, index: int, pitch: int, odds: float) -> bool:
        """Tell whether this recording has the pitch at this interval to other notes as well."""
        quarters = self._moments[index].quarters
        for struck in self._struck(quarters):
            like = self._peers_at(pitch - struck)
            nears = (NEAR_SEMITONES, 0) if abs(pitch - struck) <= SMEAR else (NEAR_SEMITONES,)
            if any(
                like.is_typical(struck, float(quarters), odds, near_semitones=near)
                for near in nears
            ):
                return True
        return False

    def _is_spilled(self, index: int, pitch: int) -> bool:
        """Tell whether a neighbouring attack has the pitch and is borne out: then this is it."""
        here = self._moments[index].quarters
        return any(abs(here - at) <= SPILL_QUARTERS for at in self._borne_out[pitch])

    def _struck(self, quarters: Fraction) -> set[int]:
        notes = self._sounding.at(quarters)
        return {n.pitch for n in notes if n.onset_quarters == quarters and n.pitch is not None}

    def _peers_at(self, semitones: int) -> Peers:
        """Gather the odds at an interval above every written attack, where nothing explains it."""
        if semitones not in self._peers:
            rows = []
            for index, moment in enumerate(self._moments):
                hidden = self._hidden(moment.quarters) if moment.is_struck else set()
                for pitch in self._struck(moment.quarters):
                    column = pitch + semitones - self._lowest
                    is_there = 0 <= column < self._heard.odds.shape[1]
                    if is_there and pitch + semitones not in hidden:
                        odds = float(self._heard.odds[index, column])
                        rows.append((float(pitch), float(moment.quarters), odds))
            self._peers[semitones] = peers(rows)
        return self._peers[semitones]
