"""What is wrong with the colours of a look: too little contrast, or hues that look alike."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import combinations
from types import MappingProxyType
from typing import Final

import numpy as np

from riffract.picture.colour_vision import Vision, distance, of_oklab, oklab
from riffract.picture.look import Look, Rgb, contrast, hex_of, laid_over
from riffract.picture.marks import Role

LEAST_TEXT_CONTRAST: Final = 4.5
"""WCAG 2.2, success criterion 1.4.3, for text of any size."""

LEAST_GRAPHIC_CONTRAST: Final = 3.0
"""WCAG 2.2, success criterion 1.4.11, for what must be seen to understand a picture."""

LEAST_HUE_DISTANCE: Final = 7.5
"""What the palette of Okabe and Ito (2008), made to be told apart by every eye, keeps between its
seven hues: 7.6. That is some four times what can just be told apart side by side, since marks are
thin and far from each other. Both built-in looks keep more than 11."""

HUES: Final = (Role.ANCHOR, Role.FALL, Role.RISE, Role.DRONE, Role.BEND)
"""The colours that have a meaning; what any two of them mean must never be mixed up."""

_WORDS: Final = (Role.TEXT, Role.QUIET, *HUES)
_GROUNDS: Final = (Role.GROUND, Role.GLASS)
_BODIES: Final = MappingProxyType(
    {Role.FALL: 0.44, Role.RISE: 0.14, Role.ANCHOR: 0.62, Role.DRONE: 0.38}
)
"""How strongly the bodies of marks are filled where a fret number stands on them."""

_AHEAD_ALPHA: Final = 0.55
"""Of fret numbers that have not sounded yet, on a dark ground."""

_LIGHTER_OR_DARKER: Final = tuple(
    sign * step / 100 for step in range(2, 62, 2) for sign in (1.0, -1.0)
)


@dataclass(frozen=True, slots=True, kw_only=True)
class LookFault:
    """One thing that is wrong with a look.

    Attributes:
        role: the colour concerned.
        other: what it is held against.
        measured: contrast ratio or distance.
        limit: the least it may be.
        vision: for a distance, the eye; `None` for a contrast.
    """

    role: Role
    other: str
    measured: float
    limit: float
    vision: Vision | None = None

    @property
    def sentence(self) -> str:
        """Say it in words."""
        if self.vision is None:
            return (
                f"{self.role} on {self.other} has a contrast of {self.measured:.1f}; "
                f"{self.limit:.1f} is the least"
            )
        return (
            f"{self.role} and {self.other} look alike with {self.vision}: they are "
            f"{self.measured:.1f} apart; {self.limit:.1f} is the least"
        )


def look_faults(look: Look) -> tuple[LookFault, ...]:
    """List all faults of a look: contrasts first, then distances; each pair at its worst eye."""
    return (*_faint_words(look), *_faint_graphics(look), *_faint_numbers(look), *_alike(look))


def mended_hex(look: Look, role: Role) -> str | None:
    """Find the colour nearest in lightness that a role could have without any fault of its own.

    Hue and colourfulness stay as far as sRGB allows it.

    Returns:
        Its hex, or `None` if no lighter or darker one would do.
    """
    place = oklab(look.rgb(role))
    for step in _LIGHTER_OR_DARKER:
        lightness = place[0] + step
        if not 0.0 <= lightness <= 1.0:
            continue
        tried = hex_of(of_oklab(np.array([lightness, *place[1:]])))
        changed = replace(look, hexes=MappingProxyType({**look.hexes, role: tried}))
        if not any(role in (fault.role, fault.other) for fault in look_faults(changed)):
            return tried
    return None


def _faint_words(look: Look) -> Iterator[LookFault]:
    for role in _WORDS:
        for ground in _GROUNDS:
            yield from _faint(look, role, look.rgb(ground), str(ground), LEAST_TEXT_CONTRAST)


def _faint_graphics(look: Look) -> Iterator[LookFault]:
    yield from _faint(look, Role.STRING, look.rgb(Role.GROUND), "ground", LEAST_GRAPHIC_CONTRAST)


def _faint_numbers(look: Look) -> Iterator[LookFault]:
    """Hold fret numbers against the bodies of the marks that they stand on, and numbers ahead."""
    ground = look.rgb(Role.GROUND)
    for role, strength in _BODIES.items():
        body = laid_over(look.rgb(role), look.alpha(role, strength), ground)
        yield from _faint(look, Role.TEXT, body, f"a {role} mark", LEAST_TEXT_CONTRAST)
    if look.is_dark:
        ahead = laid_over(look.rgb(Role.TEXT), _AHEAD_ALPHA, ground)
        ratio = contrast(ahead, ground)
        if _is_below(ratio, LEAST_TEXT_CONTRAST):
            yield LookFault(
                role=Role.TEXT,
                other="ground, for notes still ahead,",
                measured=ratio,
                limit=LEAST_TEXT_CONTRAST,
            )


def _faint(look: Look, role: Role, under: Rgb, other: str, limit: float) -> Iterator[LookFault]:
    ratio = contrast(look.rgb(role), under)
    if _is_below(ratio, limit):
        yield LookFault(role=role, other=other, measured=ratio, limit=limit)


def _alike(look: Look) -> Iterator[LookFault]:
    for one, other in combinations(HUES, 2):
        apart, vision = min(
            (distance(look.rgb(one), look.rgb(other), vision), vision) for vision in Vision
        )
        if _is_below(apart, LEAST_HUE_DISTANCE):
            yield LookFault(
                role=one,
                other=str(other),
                measured=apart,
                limit=LEAST_HUE_DISTANCE,
                vision=vision,
            )


def _is_below(measured: float, limit: float) -> bool:
    """Compare at the one decimal that is shown, so that no 4.5 is said to be less than 4.5."""
    return round(measured, 1) < limit
