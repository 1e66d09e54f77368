"""The flash meter, against the thresholds of WCAG 2.2 (success criterion 2.3.1)."""

import itertools
from collections.abc import Callable, Iterable

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from riffract.publish.film.flash import Flashing, FlashMeter

WIDTH, HEIGHT, FPS = 320, 180, 30
Pixels = NDArray[np.uint8]


def page(grey: int = 0) -> Pixels:
    return np.full((HEIGHT, WIDTH, 4), grey, dtype=np.uint8)


def watch(frames: Iterable[Pixels], fps: float = FPS) -> Flashing | None:
    meter = FlashMeter(width=WIDTH, height=HEIGHT)
    for k, frame in enumerate(frames):
        flashing = meter.add(k / fps, frame)
        if flashing is not None:
            return flashing
    return None


def blinking(
    transitions_a_second: float, on: Pixels, off: Pixels, *, seconds: float = 2.0
) -> list[Pixels]:
    return [
        on if int(k * transitions_a_second / FPS + 1e-9) % 2 else off
        for k in range(round(seconds * FPS))
    ]


def box(share_wide: float, share_high: float, colour: tuple[int, int, int] = (255,) * 3) -> Pixels:
    """Light a box in the upper left corner, given as shares of the picture's sides."""
    frame = page()
    frame[: round(share_high * HEIGHT), : round(share_wide * WIDTH), :3] = colour
    return frame


def test_three_flashes_a_second_pass_and_more_do_not() -> None:
    assert watch(blinking(6, page(255), page(0))) is None
    flashing = watch(blinking(7.5, page(255), page(0)))
    assert flashing is not None
    assert flashing.flashes == 3.5


def test_the_place_of_the_flashing_is_told() -> None:
    calm = [page(0)] * 60
    flashing = watch([*calm, *blinking(15, page(255), page(0))])
    assert flashing is not None
    assert flashing.from_seconds == pytest.approx(60 / FPS + 2 / FPS)


def test_a_burst_of_three_flashes_passes_if_a_second_of_rest_follows() -> None:
    burst = blinking(30, page(255), page(0), seconds=7 / FPS)  # six transitions
    rest = [page(0)] * FPS
    assert watch([*burst, *rest, *burst, *rest]) is None
    assert watch([*burst, *rest[:10], *burst]) is not None


@pytest.mark.parametrize(("grey", "is_flash"), [(88, False), (91, True)])
def test_a_change_counts_from_a_tenth_of_full_luminance(grey: int, *, is_flash: bool) -> None:
    """Of sRGB greys, 89 is the last below a tenth: ((89/255 + .055) / 1.055)^2.4 = .0998."""
    assert (watch(blinking(15, page(grey), page(0))) is not None) is is_flash


@pytest.mark.parametrize(("darker", "is_flash"), [(233, False), (229, True)])
def test_a_change_between_light_greys_does_not_count(darker: int, *, is_flash: bool) -> None:
    """Luminance 0.8 is sRGB grey 231: ((231/255 + .055) / 1.055)^2.4 = .7991; white is 1."""
    assert (watch(blinking(15, page(255), page(darker))) is not None) is is_flash


@pytest.mark.parametrize(("share", "is_flash"), [(0.23, False), (0.28, True)])
def test_a_quarter_of_a_field_is_the_limit(share: float, *, is_flash: bool) -> None:
    """A field is 341 × 256 of 1024 × 768 px: a third by a third."""
    small = box(1 / 3, share / 3)
    assert (watch(blinking(15, small, page())) is not None) is is_flash


def test_a_strip_a_field_wide_is_found_wherever_it_lies() -> None:
    for row, column in itertools.product((0, 55, 119), (0, 101, 213)):
        frame = page()
        frame[row : row + 61, column : column + 107] = 255
        assert watch(blinking(15, frame, page())) is not None, (row, column)


def test_a_slow_fade_up_and_down_is_one_flash() -> None:
    ramp = [page(round(v)) for v in np.linspace(0, 255, 15)]
    assert watch([*ramp, *ramp[::-1]] * 2) is None


def test_fades_at_four_a_second_are_flashes_too() -> None:
    greys = [round(127.5 - 127.5 * np.cos(2 * np.pi * 4 * k / 60)) for k in range(120)]
    assert watch((page(grey) for grey in greys), fps=60) is not None


def test_one_cut_after_another_is_no_flash() -> None:
    assert watch(itertools.chain.from_iterable([page(g)] * 10 for g in (0, 60, 120, 180))) is None


def test_halves_that_change_places_are_flashes() -> None:
    left, right = page(), page()
    left[:, : WIDTH // 2] = 255
    right[:, WIDTH // 2 :] = 255
    assert watch(blinking(15, left, right)) is not None


def test_a_small_light_that_wanders_is_no_flash() -> None:
    def frame(k: int) -> Pixels:
        picture = page()
        column = (k * 17) % (WIDTH - 20)
        picture[80:100, column : column + 20] = 255
        return picture

    assert watch(frame(k) for k in range(120)) is None


def test_saturated_red_counts_where_luminance_does_not() -> None:
    """In 8 bits: red 80 has luminance .017, far below the limit, but is saturated."""
    assert watch(blinking(15, box(1, 1, (0, 0, 140)), page())) is not None
    assert watch(blinking(15, box(1, 1, (140, 0, 0)), page())) is None  # blue, as dark


def test_a_dark_red_is_too_little_change() -> None:
    """R − G − B must change by more than 20 / 320 = .0625: sRGB 70 is .0612, 74 is .0685."""
    assert watch(blinking(15, box(1, 1, (0, 0, 70)), page())) is None
    assert watch(blinking(15, box(1, 1, (0, 0, 74)), page())) is not None


@pytest.mark.parametrize(
    "still", [page(0), page(255), box(0.5, 0.5)], ids=["black", "white", "half"]
)
def test_a_still_never_flashes(still: Pixels) -> None:
    assert watch([still] * 90) is None


def _transitions_of_a_point(levels: list[float]) -> list[int]:
    """Find transitions the slow way, between adjacent peaks and valleys; for the oracle below."""
    turns: list[int] = []
    low = high = levels[0]
    last = 0
    for k, level in enumerate(levels):
        low, high = min(low, level), max(high, level)
        if last != 1 and level - low >= 0.1 - 1e-6 and low < 0.8:
            last, high = 1, level
            turns.append(k)
        elif last != -1 and high - level >= 0.1 - 1e-6 and level < 0.8:
            last, low = -1, level
            turns.append(k)
    return turns


@given(st.lists(st.sampled_from([0, 60, 95, 128, 190, 235, 255]), min_size=2, max_size=60))
@settings(max_examples=60)
def test_the_whole_page_flashes_as_one_point_does(greys: list[int]) -> None:
    linear: Callable[[float], float] = lambda c: (  # noqa: E731
        c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4
    )
    turns = _transitions_of_a_point([linear(grey / 255) for grey in greys])
    too_many = any(sum(first <= k < first + FPS for k in turns) > 6 for first in turns)
    assert (watch(page(grey) for grey in greys) is not None) is too_many
