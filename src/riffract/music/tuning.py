"""The strings of an instrument."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from riffract.music.pitch import HIGHEST_PITCH, LOWEST_PITCH, pc_name, pitch_name

FEWEST_STRINGS, MOST_STRINGS = 4, 12
MOST_FRETS = 36
SAID_WITH_FLATS: Final = frozenset({3, 10})
"""E♭ and B♭: where one is the lowest-lying string, players name all strings with flats, and with
sharps elsewhere (common practice)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Tuning:
    """Open strings from the lowest-lying to the highest-lying one, 4 to 12 of them.

    String 1 is the last of them, as players count. Pitches need not rise: re-entrant tunings
    keep the order in which the strings lie.

    Attributes:
        open_pitches: MIDI pitches without capo, string N first, string 1 last.
        capo: the fret that the capo stops; frets are counted from it.
        frets: how many frets the neck has.
        scale_length_mm: nut to bridge.
    """

    open_pitches: tuple[int, ...]
    capo: int = 0
    frets: int = 24
    scale_length_mm: float = 648.0

    def __post_init__(self) -> None:
        if not FEWEST_STRINGS <= len(self.open_pitches) <= MOST_STRINGS:
            raise ValueError(
                f"a tuning needs {FEWEST_STRINGS} to {MOST_STRINGS} strings, "
                f"got {len(self.open_pitches)}"
            )
        if not all(LOWEST_PITCH <= p <= HIGHEST_PITCH for p in self.open_pitches):
            raise ValueError(f"open strings must be MIDI pitches 0..127, got {self.open_pitches}")
        if not 1 <= self.frets <= MOST_FRETS:
            raise ValueError(f"a neck has 1 to {MOST_FRETS} frets, got {self.frets}")
        if not 0 <= self.capo < self.frets:
            raise ValueError(f"the capo must sit below fret {self.frets}, got {self.capo}")
        if not 200.0 <= self.scale_length_mm <= 1500.0:
            raise ValueError(
                f"a scale length lies between 200 and 1500 mm, got {self.scale_length_mm}"
            )

    @property
    def string_count(self) -> int:
        """How many strings there are."""
        return len(self.open_pitches)

    @property
    def lowest_pitch(self) -> int:
        """The lowest pitch that an open string gives, capo included."""
        return min(self.open_pitches) + self.capo

    @property
    def lowest_string(self) -> int:
        """The string with the lowest open pitch; the lower-lying one if two agree."""
        return self.string_count - self.open_pitches.index(min(self.open_pitches))

    def open_pitch(self, string: int) -> int:
        """Give the sounding pitch of an open string (1 = highest-lying), capo included.

        >>> Tuning(open_pitches=(40, 45, 50, 55, 59, 64)).open_pitch(6)
        40
        """
        if not 1 <= string <= self.string_count:
            raise ValueError(f"strings are numbered 1 to {self.string_count}, got {string}")
        return self.open_pitches[-string] + self.capo

    def pitch_at(self, string: int, fret: int) -> int:
        """Give the sounding pitch of a stopped string; fret 0 is the open string (or the capo)."""
        return self.open_pitch(string) + fret

    def fret_distance_mm(self, fret: int) -> float:
        """Tell how far a fret lies from the nut.

        Source: equal temperament, L (1 - 2^(-n/12)); the divisor is 17.817 (common practice).

        >>> round(Tuning(open_pitches=(40, 45, 50, 55)).fret_distance_mm(12), 2)
        324.0
        """
        return float(self.scale_length_mm * (1.0 - 2.0 ** (-(fret + self.capo) / 12.0)))

    @property
    def is_said_with_flats(self) -> bool:
        """Whether players name its strings with flats."""
        return self.open_pitches[0] % 12 in SAID_WITH_FLATS

    def string_names(self) -> Mapping[int, str]:
        """Name the pitch classes of the open strings as players do, without capo.

        >>> Tuning(open_pitches=(39, 44, 49, 54, 58, 63)).string_names()[8]
        'A♭'
        """
        return {p % 12: pc_name(p, flats=self.is_said_with_flats) for p in self.open_pitches}

    def label(self) -> str:
        """Name the open strings, low to high: `E2 A2 D3 G3 B3 E4`."""
        return " ".join(pitch_name(p, flats=self.is_said_with_flats) for p in self.open_pitches)
