"""Colours: contrast and their distance for every kind of colour vision."""

from itertools import combinations

import numpy as np
import pytest
from numpy.typing import NDArray
from tests.reference_tables import rows_of

from riffract.picture.look import DARK, LOOKS, PAPER, Look, contrast, laid_over, linear, rgb_of
from riffract.picture.marks import Role

Floats = NDArray[np.float64]
HUES = (Role.ANCHOR, Role.FALL, Role.RISE, Role.DRONE, Role.BEND)

# WCAG 2.2, from its definition of contrast ratio; the values are recomputed reference values.
PUBLISHED_CONTRASTS = [
    ("#000000", "#FFFFFF", 21.0),
    ("#777777", "#FFFFFF", 4.4781),
    ("#767676", "#FFFFFF", 4.5422),
    ("#595959", "#FFFFFF", 7.0047),
    ("#FF0000", "#FFFFFF", 3.9985),
    ("#0000FF", "#FFFFFF", 8.5925),
    ("#949494", "#FFFFFF", 3.0335),
]

# Machado, Oliveira & Fernandes, IEEE TVCG 15/6 (2009), severity 1.0 (from memory).
MACHADO = {
    "protan": [
        [0.152286, 1.052583, -0.204868],
        [0.114503, 0.786281, 0.099216],
        [-0.003882, -0.048116, 1.051998],
    ],
    "deutan": [
        [0.367322, 0.860646, -0.227968],
        [0.280085, 0.672501, 0.047413],
        [-0.011820, 0.042940, 0.968881],
    ],
    "tritan": [
        [1.255528, -0.076749, -0.178779],
        [-0.078411, 0.930809, 0.147602],
        [0.004733, 0.691367, 0.303900],
    ],
    "normal": [[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]],
}

# Ottosson (2020), A perceptual color space for image processing.
LMS = [
    [0.4122214708, 0.5363325363, 0.0514459929],
    [0.2119034982, 0.6806995451, 0.1073969566],
    [0.0883024619, 0.2817188376, 0.6299787005],
]
OKLAB = [
    [0.2104542553, 0.7936177850, -0.0040720468],
    [1.9779984951, -2.4285922050, 0.4505937099],
    [0.0259040371, 0.7827717662, -0.8086757660],
]


def oklab(linear_rgb: Floats) -> Floats:
    return np.array(OKLAB) @ np.cbrt(np.array(LMS) @ linear_rgb)


def seen(hex_colour: str, vision: str) -> Floats:
    linear_rgb = np.array([linear(channel) for channel in rgb_of(hex_colour)])
    return oklab(np.clip(np.array(MACHADO[vision]) @ linear_rgb, 0.0, 1.0))


@pytest.mark.parametrize(("one", "other", "ratio"), PUBLISHED_CONTRASTS)
def test_contrast_is_as_published(one: str, other: str, ratio: float) -> None:
    assert contrast(rgb_of(one), rgb_of(other)) == pytest.approx(ratio, abs=5e-5)


def test_contrast_agrees_with_the_reference_table() -> None:
    for row in rows_of("wcag_contrast.csv"):
        ratio = contrast(rgb_of(row["foreground"]), rgb_of(row["background"]))
        assert ratio == pytest.approx(float(row["contrast_ratio"]), abs=1e-4)


def test_the_oklab_of_these_tests_agrees_with_the_reference_table() -> None:
    for row in rows_of("oklab_checks.csv"):
        expected = [float(row[name]) for name in ("L", "a", "b")]
        if row["hex"]:
            assert seen(row["hex"], "normal") == pytest.approx(expected, abs=2e-4)


@pytest.mark.parametrize("look", LOOKS.values(), ids=lambda look: look.name)
@pytest.mark.parametrize("under", [Role.GROUND, Role.GLASS])
@pytest.mark.parametrize("role", [Role.TEXT, Role.QUIET, *HUES])
def test_words_in_every_colour_can_be_read(look: Look, under: Role, role: Role) -> None:
    # WCAG 2.2, success criterion 1.4.3: 4.5 : 1. Texts are large, where 3 : 1 would do.
    assert contrast(look.rgb(role), look.rgb(under)) >= 4.5 - 0.05


@pytest.mark.parametrize("look", LOOKS.values(), ids=lambda look: look.name)
def test_strings_can_be_seen(look: Look) -> None:
    # WCAG 2.2, success criterion 1.4.11: 3 : 1 for graphics that are needed to understand.
    assert contrast(look.rgb(Role.STRING), look.rgb(Role.GROUND)) >= 3.0


# The design's table of the smallest distances between any two of the five hues.
DISTANCES = [
    (DARK, "normal", 13.3),
    (DARK, "protan", 13.1),
    (DARK, "deutan", 12.7),
    (DARK, "tritan", 12.6),
    (PAPER, "normal", 15.0),
    (PAPER, "protan", 11.7),
    (PAPER, "deutan", 11.7),
    (PAPER, "tritan", 11.7),
]


@pytest.mark.parametrize(("look", "vision", "expected"), DISTANCES)
def test_no_two_hues_look_alike_to_any_eye(look: Look, vision: str, expected: float) -> None:
    colours = [seen(look.hexes[hue], vision) for hue in HUES]
    nearest = min(100 * float(np.linalg.norm(a - b)) for a, b in combinations(colours, 2))
    assert nearest == pytest.approx(expected, abs=0.15)


@pytest.mark.parametrize("look", LOOKS.values(), ids=lambda look: look.name)
@pytest.mark.parametrize(
    ("role", "strength"),
    [(Role.FALL, 0.44), (Role.RISE, 0.14), (Role.ANCHOR, 0.62), (Role.DRONE, 0.38)],
)
def test_fret_numbers_can_be_read_on_every_body(look: Look, role: Role, strength: float) -> None:
    body = laid_over(look.rgb(role), look.alpha(role, strength), look.rgb(Role.GROUND))
    assert contrast(look.rgb(Role.TEXT), body) >= 4.5


def test_numbers_ahead_can_be_read() -> None:
    ahead = laid_over(DARK.rgb(Role.TEXT), 0.55, DARK.rgb(Role.GROUND))
    assert contrast(ahead, DARK.rgb(Role.GROUND)) >= 4.5


def test_every_role_has_a_value_in_every_look() -> None:
    assert all(set(look.hexes) == set(Role) for look in LOOKS.values())
