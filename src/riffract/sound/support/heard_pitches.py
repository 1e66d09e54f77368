"""What a recording says of every pitch at every moment of a text."""

from collections import defaultdict
from fractions import Fraction
from typing import Final

import numpy as np

from riffract.music import Note, Passage
from riffract.sound.sound import Reals
from riffract.sound.support.moments import Hearing
from riffract.sound.support.odds import odds_struck
from riffract.sound.support.presence import FEATURES, presence

FAINT_STROKE: Final = 0.15
"""Against the upper quartile of strokes: of attacks that are played one in a hundred begins so
faintly, of those that are not played half (open check recordings)."""

MOST_FAINT_SHARE: Final = 0.1
"""Where more than this and one attack begin faintly, they are slurred or swelled, and their strokes
tell nothing."""


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
        faint = {
            quarters
            for quarters, places in rows.items()
            if np.mean([hearing.moments[k].stroke for k in places]) < FAINT_STROKE
        }
        self._faint = faint if len(faint) <= MOST_FAINT_SHARE * len(rows) + 1 else set()

    def is_played(self, quarters: Fraction) -> bool:
        """Tell whether the recording plays this attack."""
        return quarters in self._at

    def is_faint(self, quarters: Fraction) -> bool:
        """Tell whether hardly anything begins at an attack, though something does at others."""
        return quarters in self._faint

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
