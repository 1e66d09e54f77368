"""What a recording says of every pitch at every moment of a text."""

from collections import defaultdict
from fractions import Fraction

import numpy as np

from riffract.music import Note, Passage
from riffract.sound.sound import Reals
from riffract.sound.support.moments import Hearing
from riffract.sound.support.odds import odds_struck
from riffract.sound.support.presence import FEATURES, presence


class HeardPitches:
    """Odds that pitches are struck, by moment of the text.

    Attributes:
        hearing: what was heard.
        odds: log10 odds that a pitch is struck, shape (moments, pitches).
        rise: log10 of a pitch's amount after a moment over that before, shape (moments, pitches).
    """

    def __init__(self, hearing: Hearing) -> None:
        self.hearing = hearing
        self.odds: Reals = odds_struck(hearing)
        self.rise: Reals = presence(hearing)[:, :, FEATURES.index("rise")]
        rows: dict[Fraction, list[int]] = defaultdict(list)
        for index, moment in enumerate(hearing.moments):
            if moment.is_struck:
                rows[moment.quarters].append(index)
        self._at = {quarters: self.odds[places].mean(axis=0) for quarters, places in rows.items()}

    def is_played(self, quarters: Fraction) -> bool:
        """Tell whether the recording plays this attack."""
        return quarters in self._at

    def odds_at(self, quarters: Fraction, pitch: int) -> float:
        """Give the log10 odds that a pitch is struck at an attack; the mean if it comes again."""
        row = self._at[quarters]
        return float(row[np.clip(pitch - self.hearing.lowest_pitch, 0, len(row) - 1)])


class Sounding:
    """Which notes of a text sound at a moment, and which have died away only just."""

    def __init__(self, passage: Passage) -> None:
        self._notes = tuple(passage.notes)
        self._cache: dict[tuple[Fraction, Fraction], tuple[Note, ...]] = {}
        self._onsets = np.array([float(n.onset_quarters) for n in self._notes])
        self._stops = np.array([float(n.ring_end_quarters) for n in self._notes])

    def at(self, quarters: Fraction, release_quarters: Fraction = Fraction(0)) -> tuple[Note, ...]:
        """List the notes that sound, or have stopped less than `release_quarters` ago."""
        key = quarters, release_quarters
        if key not in self._cache:
            moment = float(quarters)
            on = (self._onsets <= moment) & (moment < self._stops + float(release_quarters))
            self._cache[key] = tuple(self._notes[i] for i in np.flatnonzero(on))
        return self._cache[key]
