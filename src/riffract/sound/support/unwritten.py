"""Notes that a recording plays and a text does not have."""

from collections import defaultdict
from fractions import Fraction
from math import ceil, floor, log2
from typing import Final

import numpy as np

from riffract.music import Passage
from riffract.sound.alignment.refinement import HEARD_STRENGTH
from riffract.sound.support.heard_pitches import HeardPitches, Sounding
from riffract.sound.support.moments import Moment
from riffract.sound.support.peers import FEWEST, NEAR_SEMITONES, TYPICAL_SHARE, Peers, peers
from riffract.sound.support.rivals import nearest_spot
from riffract.sound.support.support import NoteSupport, Support, UnwrittenNote

UNWRITTEN: Final = 1.3
"""Log10 odds from which an unwritten pitch is told of, twenty to one: unlike a written note
nothing else speaks for it."""

LEAST_RISE: Final = 0.5
"""An unwritten note is as good as twice as strong after its attack as before: what only rings on,
or dies away in a room, does not rise."""

BELOW: Final = 2.0
"""The same for a pitch below all that is struck with it: there lie thumps, what stiff strings
feign, and most of what an amplifier adds. Of ten between 1.3 and 2 one was played."""

UNDERTONE: Final = 3.0
"""And for an octave below a struck note or the difference of two, where an amplifier puts tones. At
1.3 one such octave in fifty would be told that is not played, at 2.5 one in five hundred, at 3 none
of a thousand; of those that are played a third are told."""

SMEAR: Final = 2
"""Semitones within which a stiff string can pass for its neighbour: there a struck note is compared
with others of its own pitch as well."""

SPILL_QUARTERS: Final = Fraction(1, 2)
"""Between the attacks a pitch whose stroke is not clear is not told of as unwritten if it is borne
out this near: then the place is a little off, not the text."""

STROKE_AGAIN: Final = 0.4
"""A stroke on a string that sounds already begins at least so strongly, against other attacks."""

STANDS_OUT: Final = 4.0
"""And so many times as strongly as most other places at which nothing is written (`TYPICAL_SHARE`):
drums fill them all, and an amplifier may never be at rest."""

LEAST_STAYING: Final = -0.2
"""What falls by more across a stroke was stopped by it."""

RELEASE_QUARTERS: Final = Fraction(1, 4)
"""How long after its string has stopped a note is not taken for an unwritten one: rooms and sound
engineers let it die away."""


def unwritten_notes(
    passage: Passage, heard: HeardPitches, sounding: Sounding, verdicts: tuple[NoteSupport, ...]
) -> tuple[UnwrittenNote, ...]:
    """Find what is struck beside the text.

    Definition: a pitch counts if it is struck by all odds (`UNWRITTEN`; more below what is struck:
    `BELOW`, `undertones`), rises (`LEAST_RISE`), and does not come with other attacks of this
    recording at the same interval above what is written there (`Peers`). Between the attacks
    something must begin as well; where it begins as clearly as at few such places, a pitch that
    was struck last and stays as loud is struck again.

    Returns:
        In order of time; at most one a moment; the rival of a contradicted note is not told twice.
    """
    seeking = _Seeking(passage, heard, sounding, verdicts)
    found = [seeking.at(index) for index in range(len(heard.hearing.moments))]
    return tuple(note for note in found if note is not None)


def undertones(struck: set[int], sounding: set[int]) -> set[int]:
    """List where an amplifier puts tones below what is struck.

    Definition: an octave below each struck pitch; for each struck and each sounding one the two
    pitches next to the difference of their frequencies.

    >>> sorted(undertones({52, 61}, {52, 61}))
    [40, 45, 46, 49]
    """
    found = {pitch - 12 for pitch in struck}
    for one in struck:
        for other in sounding - {one}:
            difference = 12.0 * log2(abs(2.0 ** (one / 12.0) - 2.0 ** (other / 12.0)))
            found |= {floor(difference), ceil(difference)}
    return found


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
        self._strokes = np.array([m.stroke for m in self._moments if not m.is_struck])

    def at(self, index: int) -> UnwrittenNote | None:
        """Find the unwritten note of a moment."""
        moment = self._moments[index]
        if not moment.is_struck and moment.stroke < HEARD_STRENGTH:
            return None
        found = self._another(index) or self._again(index)
        return None if found is None else self._told(index, *found)

    def _told(self, index: int, pitch: int, odds: float) -> UnwrittenNote | None:
        moment = self._moments[index]
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

    def _another(self, index: int) -> tuple[int, float] | None:
        """Find a pitch that rises and is written nowhere near, with its odds."""
        moment = self._moments[index]
        pitch, odds = self._likeliest(index)
        if odds == -np.inf or self._is_the_sound(index, pitch, odds):
            return None
        is_clear = moment.is_struck or self._is_clear_stroke(moment)
        if not is_clear and self._is_spilled(index, pitch):
            return None
        return pitch, odds

    def _again(self, index: int) -> tuple[int, float] | None:
        """Find a pitch that was struck last and is struck once more, with its odds.

        A string that sounds already rises little; its stroke tells, where strokes stand out.
        """
        moment = self._moments[index]
        if not self._is_clear_stroke(moment):
            return None
        columns = [p - self._lowest for p in self._last_struck(moment.quarters)]
        rising = [c for c in columns if self._heard.rise[index, c] > LEAST_STAYING]
        best = max(rising, key=lambda c: float(self._heard.odds[index, c]), default=None)
        if best is None or self._heard.odds[index, best] < UNWRITTEN:
            return None
        return best + self._lowest, float(self._heard.odds[index, best])

    def _is_clear_stroke(self, moment: Moment) -> bool:
        """Tell whether something is struck at a place between attacks as nowhere else."""
        if moment.is_struck or moment.stroke < STROKE_AGAIN:
            return False
        others = len(self._strokes) - 1
        as_strong = int(np.sum(self._strokes > moment.stroke / STANDS_OUT)) - 1
        return others >= FEWEST and as_strong <= TYPICAL_SHARE * others

    def _last_struck(self, quarters: Fraction) -> set[int]:
        """List the pitches of the last attack before a place."""
        before = [m.quarters for m in self._moments if m.is_struck and m.quarters < quarters]
        return self._struck(max(before)) if before else set()

    def _hidden(self, quarters: Fraction) -> set[int]:
        """List the pitches that need no explanation at a moment."""
        return self._struck(quarters) | self._rivals[quarters]

    def _likeliest(self, index: int) -> tuple[int, float]:
        """Give the pitch that rises and is not written, and its odds; `-inf` if too low."""
        odds = self._heard.odds[index].copy()
        odds[self._heard.rise[index] < LEAST_RISE] = -np.inf
        odds[: max(self._tuning.lowest_pitch - self._lowest, 0)] = -np.inf
        quarters = self._moments[index].quarters
        odds[self._columns(self._hidden(quarters))] = -np.inf
        least = np.full(len(odds), UNWRITTEN)
        struck = self._struck(quarters)
        least[: max(min(struck, default=self._lowest) - self._lowest, 0)] = BELOW
        sounding = {n.pitch for n in self._sounding.at(quarters) if n.pitch is not None}
        least[self._columns(undertones(struck, sounding))] = UNDERTONE
        odds[odds < least] = -np.inf
        best = int(odds.argmax())
        return best + self._lowest, float(odds[best])

    def _columns(self, pitches: set[int]) -> list[int]:
        """Give the columns of those pitches that are listened for."""
        columns = (p - self._lowest for p in pitches)
        return [c for c in columns if 0 <= c < self._heard.odds.shape[1]]

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
