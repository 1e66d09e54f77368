"""Colours: contrast and their distance for every kind of colour vision."""

from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.reference_tables import rows_of

from riffract.picture.colour_vision import Vision, distance, of_oklab, oklab
from riffract.picture.look import DARK, LOOKS, PAPER, Look, contrast, hex_of, laid_over, rgb_of
from riffract.picture.look_check import HUES
from riffract.picture.marks import Role

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


@pytest.mark.parametrize(("one", "other", "ratio"), PUBLISHED_CONTRASTS)
def test_contrast_is_as_published(one: str, other: str, ratio: float) -> None:
    assert contrast(rgb_of(one), rgb_of(other)) == pytest.approx(ratio, abs=5e-5)


def test_contrast_agrees_with_the_reference_table() -> None:
    for row in rows_of("wcag_contrast.csv"):
        ratio = contrast(rgb_of(row["foreground"]), rgb_of(row["background"]))
        assert ratio == pytest.approx(float(row["contrast_ratio"]), abs=1e-4)


def test_oklab_agrees_with_the_reference_table() -> None:
    for row in rows_of("oklab_checks.csv"):
        expected = [float(row[name]) for name in ("L", "a", "b")]
        if row["hex"]:
            assert oklab(rgb_of(row["hex"])) == pytest.approx(expected, abs=2e-4)


@given(st.tuples(*[st.integers(0, 255)] * 3))
def test_a_colour_comes_back_from_oklab(channels: tuple[int, int, int]) -> None:
    hex_colour = "#{:02x}{:02x}{:02x}".format(*channels)
    assert hex_of(of_oklab(oklab(rgb_of(hex_colour)))) == hex_colour


@pytest.mark.parametrize("vision", Vision)
@given(grey=st.floats(0.0, 1.0))
def test_greys_stay_grey_to_every_eye(vision: Vision, grey: float) -> None:
    """The rows of the published matrices add up to 1, so that white stays white."""
    assert oklab((grey, grey, grey), vision)[1:] == pytest.approx([0.0, 0.0], abs=1e-3)


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
    (DARK, Vision.NORMAL, 13.3),
    (DARK, Vision.PROTAN, 13.1),
    (DARK, Vision.DEUTAN, 12.7),
    (DARK, Vision.TRITAN, 12.6),
    (PAPER, Vision.NORMAL, 15.0),
    (PAPER, Vision.PROTAN, 11.7),
    (PAPER, Vision.DEUTAN, 11.7),
    (PAPER, Vision.TRITAN, 11.7),
]


@pytest.mark.parametrize(("look", "vision", "expected"), DISTANCES)
def test_no_two_hues_look_alike_to_any_eye(look: Look, vision: Vision, expected: float) -> None:
    pairs = combinations((look.rgb(hue) for hue in HUES), 2)
    least = min(distance(one, other, vision) for one, other in pairs)
    assert least == pytest.approx(expected, abs=0.15)


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
