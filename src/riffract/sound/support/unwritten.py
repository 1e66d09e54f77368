"""Notes that a recording plays and a text does not have."""

from bisect import bisect
from collections import defaultdict
from fractions import Fraction
from functools import cached_property
from typing import Final

import numpy as np

from riffract.music import Passage
from riffract.sound.alignment.refinement import HEARD_STRENGTH
from riffract.sound.support.again import odds_again
from riffract.sound.support.heard_pitches import HeardPitches, Sounding
from riffract.sound.support.peers import NEAR_SEMITONES, Peers, peers
from riffract.sound.support.rivals import nearest_spot
from riffract.sound.support.support import NoteSupport, Support, UnwrittenNote
from riffract.sound.support.undertones import undertones

UNWRITTEN: Final = 1.3
"""Log10 odds from which an unwritten pitch is told of, twenty to one: unlike a written note
nothing else speaks for it."""

LEAST_RISE: Final = 0.5
"""An unwritten note is as good as twice as strong after its attack as before: what only rings on,
or dies away in a room, does not rise."""

BELOW: Final = 2.0
"""The same for a pitch below all that is struck with it: there lie thumps, what stiff strings
feign, and most of what an amplifier adds. Of ten between 1.3 and 2 one was played."""

UNDERTONE: Final = 3.5
"""And where an amplifier puts tones (`undertones`): at 1.3 one octave in fifty below a struck note
would be told that is not played, at 2.5 one in five hundred, at 3 none of a thousand; of those that
are played a third are told. Two driven notes gave their difference 3.2."""

SMEAR: Final = 2
"""Semitones within which a stiff string can pass for its neighbour: there a struck note is compared
with others of its own pitch as well."""

SPILL_QUARTERS: Final = Fraction(1, 2)
"""Between the attacks a rising pitch is not told of as unwritten if it is borne out this near: then
the place is a little off, not the text."""

AGAIN: Final = 0.0
"""Log10 odds from which a pitch that is struck before or after a place is told to be struck there
as well (`odds_again`): they were fitted where one place in sixty lacks a stroke."""

SEVERAL: Final = 2
"""Pitches that sound at once, so that an amplifier can mix them."""

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
    something must begin as well. There a pitch that the attack before or after has counts too if
    its stroke is like those that are written on it (`odds_again`).

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
        self._strokes = np.array([m.stroke for m in self._moments])
        self._written = [k for k, m in enumerate(self._moments) if m.is_struck]
        self._onsets = sorted({self._moments[k].quarters for k in self._written})
        self._striking: dict[int, list[int]] = defaultdict(list)
        for k in self._written:
            for pitch in self._struck(self._moments[k].quarters):
                self._striking[pitch].append(k)

    def at(self, index: int) -> UnwrittenNote | None:
        """Find the unwritten note of a moment."""
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
        if not moment.is_struck and moment.stroke < HEARD_STRENGTH:
            return None
        pitch, odds = self._likeliest(index)
        if odds == -np.inf or self._is_the_sound(index, pitch, odds):
            return None
        if not moment.is_struck and self._is_spilled(index, pitch):
            return None
        return pitch, odds

    def _again(self, index: int) -> tuple[int, float] | None:
        """Find a pitch of a neighbouring attack that is struck here as well, with its odds.

        A string that sounds already rises little; its stroke tells, where strokes stand out.
        """
        moment = self._moments[index]
        if moment.is_struck:
            return None
        odds = {pitch: self._odds_again(index, pitch) for pitch in self._around(moment.quarters)}
        best = max(odds, key=lambda pitch: odds[pitch], default=None)
        return None if best is None or odds[best] < AGAIN else (best, odds[best])

    def _odds_again(self, index: int, pitch: int) -> float:
        column = pitch - self._lowest
        like = self._striking[pitch]
        return odds_again(
            self._moments[index].stroke,
            float(self._heard.odds[index, column]),
            strokes=self._strokes[like],
            odds=self._heard.odds[like, column],
            rests=np.delete(self._strokes, [*self._written, index]),
        )

    def _around(self, quarters: Fraction) -> list[int]:
        """List the pitches of the last attack before a place and of the next one after it."""
        at = bisect(self._onsets, quarters)
        near = self._onsets[max(at - 1, 0) : at + 1]
        return sorted(set().union(*map(self._struck, near)))

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
        least[self._columns(self._undertones(quarters))] = UNDERTONE
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
        if pitch in self._undertones(quarters) and self._undertone_peers.is_typical(
            0.0, float(quarters), odds
        ):
            return True
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

    def _undertones(self, quarters: Fraction) -> set[int]:
        sounding = {n.pitch for n in self._sounding.at(quarters) if n.pitch is not None}
        return undertones(self._struck(quarters), sounding)

    @cached_property
    def _undertone_peers(self) -> Peers:
        """Gather the highest odds of an undertone at every written attack of several pitches."""
        rows = []
        for index in self._written:
            quarters = self._moments[index].quarters
            if len({n.pitch for n in self._sounding.at(quarters)}) < SEVERAL:
                continue
            columns = self._columns(self._undertones(quarters) - self._hidden(quarters))
            if columns:
                odds = float(self._heard.odds[index, columns].max())
                rows.append((0.0, float(quarters), odds))
        return peers(rows)

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
