"""Options that say what a file of music leaves open."""

from fractions import Fraction
from typing import Final, Literal

from riffract.formats.reading import ReadChoices
from riffract.music import Tuning, pitch_named

_FINEST_GRID: Final = 128


class ChoiceError(ValueError):
    """A word that is no such choice; says what would be."""


def choices_of(*, part: str | None, grid: str | None, tuning: str | None) -> ReadChoices:
    """Read the words of the options.

    Raises:
        ChoiceError: if one of them cannot be understood.

    >>> choices_of(part=None, grid="1/16", tuning=None).grid
    Fraction(1, 4)
    """
    return ReadChoices(
        part=part,
        grid=None if grid is None else _grid(grid),
        tuning=None if tuning is None else _tuning(tuning),
    )


def _grid(text: str) -> Fraction | Literal["bars"]:
    if text == "bars":
        return "bars"
    try:
        whole = Fraction(text)
    except (ValueError, ZeroDivisionError):
        whole = Fraction(0)
    if not Fraction(1, _FINEST_GRID) <= whole <= 1:
        raise ChoiceError(
            f"grid is a note value such as 1/8, 1/16 or 1/24, or `bars`, got {text!r}"
        )
    return 4 * whole


def _tuning(text: str) -> Tuning:
    try:
        return Tuning(open_pitches=tuple(pitch_named(name) for name in text.split()))
    except ValueError as error:
        raise ChoiceError(f"tuning: {error}") from None
