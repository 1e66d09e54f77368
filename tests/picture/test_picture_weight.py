"""The dots of chance: as many as there were draws, in their places, none on another."""

from collections import Counter
from dataclasses import replace
from itertools import combinations, pairwise
from math import sin
from statistics import NormalDist

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.picture_studies import odd_study, shot_of

from riffract.essay.shots import SceneName, Shot
from riffract.picture.bounds import Box
from riffract.picture.check import faults_of, words_seen
from riffract.picture.layout import layout_of
from riffract.picture.look import DARK, PAPER, Look
from riffract.picture.scene import SQUARE, TALL, WIDE, Page
from riffract.picture.weight.dots import RAREST, Dots, column_width, dots_of
from riffract.picture.weight.scene import weight_scene
from riffract.weighing.chance import Chance
from riffract.weighing.study import Rival, Study, Verdict

ROOM = Box(left=96.0, top=200.0, right=1200.0, bottom=900.0)


def drawn(draws: tuple[float, ...], observed: float) -> Chance:
    return Chance(observed=observed, draws=draws, model="the order changed", seed=1)


def computed(p: float) -> Chance:
    return Chance(observed=0.0, draws=(), model="notes drawn one by one", seed=1, exact_p=p)


def inside(dots: Dots, room: Box) -> bool:
    grown = room.grown(0.01)
    return all(
        grown.left <= x - dots.radius
        and x + dots.radius <= grown.right
        and grown.top <= y - dots.radius
        and y + dots.radius <= grown.bottom
        for x, y in (*dots.usual, *dots.as_good)
    )


@given(
    st.lists(st.integers(0, 30), min_size=1, max_size=300),
    st.integers(0, 40),
)
def test_every_draw_has_a_dot_of_its_own(draws: list[int], observed: int) -> None:
    dots = dots_of(drawn(tuple(map(float, draws)), float(observed)), ROOM)
    as_good = sum(draw >= observed for draw in draws)
    assert dots.versions_a_dot == 1
    assert len(dots.as_good) == as_good
    assert len(dots.usual) == len(draws) - as_good
    assert inside(dots, ROOM)


@given(st.lists(st.floats(-5.0, 5.0), min_size=2, max_size=60), st.floats(-6.0, 6.0))
def test_no_dot_covers_another(draws: list[float], observed: float) -> None:
    dots = dots_of(drawn(tuple(draws), observed), ROOM)
    for one, other in combinations((*dots.usual, *dots.as_good), 2):
        assert np.hypot(one[0] - other[0], one[1] - other[1]) >= 2.0 * dots.radius


def test_five_thousand_draws_fit_and_dots_stay_visible() -> None:
    rng = np.random.default_rng(3)
    dots = dots_of(drawn(tuple(rng.normal(size=4_999)), 9.0), ROOM)
    assert inside(dots, ROOM)
    assert dots.radius >= 2.2
    assert dots.as_good == ()


@given(
    st.lists(st.floats(-5.0, 5.0), min_size=1, max_size=200),
    st.floats(-6.0, 6.0),
)
def test_the_riffs_stroke_parts_what_does_as_well_from_the_rest(
    draws: list[float], observed: float
) -> None:
    dots = dots_of(drawn(tuple(draws), observed), ROOM)
    assert dots.stroke_x is not None
    assert all(x + dots.radius <= dots.stroke_x for x, _ in dots.usual)
    assert all(x - dots.radius >= dots.stroke_x for x, _ in dots.as_good)


def test_columns_follow_the_rule_for_their_width() -> None:
    """Twice the interquartile range over the cube root of the count (Freedman & Diaconis 1981).

    For a normal distribution that range is 1.349 standard deviations (any table of it).
    """
    quantiles = (np.arange(1_000) + 0.5) / 1_000
    draws = tuple(NormalDist().inv_cdf(float(share)) for share in quantiles)
    assert column_width(draws, 0.0) == pytest.approx(2.0 * 1.349 / 10.0, rel=0.05)


def test_a_statistic_that_takes_steps_gets_columns_of_whole_steps() -> None:
    """Evenly many of each of 40 numbers stand evenly high: no spikes from uneven columns."""
    draws = tuple(float(value) for value in range(40)) * 24
    width = column_width(draws, 60.0)
    assert width == round(width)
    dots = dots_of(drawn(draws, 60.0), ROOM)
    assert len(set(Counter(x for x, _ in dots.usual).values())) == 1


def test_uneven_values_heap_up_without_blocks() -> None:
    """Twenty-eight values that keep no step, each many times: their heap has one smooth top."""
    values = [place + 0.1 * sin(7.0 * place) for place in range(28)]
    shares = [NormalDist(14.0, 4.0).pdf(value) for value in values]
    draws = [v for v, share in zip(values, shares, strict=True) for _ in range(round(999 * share))]
    dots = dots_of(drawn(tuple(draws), 40.3), ROOM)
    assert len(dots.usual) == len(draws)
    heights = [n for _, n in sorted(Counter(round(x, 3) for x, _ in dots.usual).items())]
    tallest = max(heights)
    assert all(abs(a - b) <= 0.15 * tallest for a, b in pairwise(heights))
    # Averaging histograms of width w adds w² / 6 to the variance, and keeps the mean (Scott 1985).
    assert dots.stroke_x is not None
    away = dots.stroke_x - np.array([x for x, _ in dots.usual])
    spread = np.sqrt(np.var(draws) + column_width(draws, 40.3) ** 2 / 6.0)
    middle = 40.3 - float(away.mean()) * float(spread / away.std())
    assert middle == pytest.approx(float(np.mean(draws)), abs=0.3)


def test_what_lies_alone_stands_alone_near_its_place() -> None:
    draws = (*(0.01 * i**1.3 for i in range(60)), 9.0)
    dots = dots_of(drawn(draws, 12.0), ROOM)
    far = max(x for x, _ in dots.usual)
    assert dots.stroke_x is not None
    assert dots.stroke_x - far == pytest.approx((dots.stroke_x - ROOM.left) * 0.25, rel=0.6)


@pytest.mark.parametrize(("p", "count"), [(1.0, 1), (0.5, 2), (0.01, 100), (1e-9, RAREST)])
def test_one_dot_among_as_many_as_chance_takes(p: float, count: int) -> None:
    dots = dots_of(computed(p), ROOM)
    assert len(dots.as_good) == 1
    assert len(dots.usual) == count - 1
    assert dots.stroke_x is None
    assert inside(dots, ROOM)


def weighed_shot(chance: Chance, verdict: Verdict) -> tuple[Study, Shot]:
    study = odd_study()
    rival = Rival(description="a riff that starts a bar later and is as long", bits=4.0)
    weighed = replace(
        study.findings[0], chance=chance, q=min(4 * chance.p, 1.0), verdict=verdict, rivals=(rival,)
    )
    shot = shot_of(study, SceneName.WEIGHT, plays=[], lines=[])
    return replace(study, asked=25), replace(shot, findings=(weighed,))


@pytest.mark.parametrize("page", [WIDE, TALL, SQUARE], ids=["wide", "tall", "square"])
@pytest.mark.parametrize("look", [DARK, PAPER], ids=lambda look: look.name)
@pytest.mark.parametrize(
    "chance",
    [
        drawn((0.0,) * 99, 3.0),
        drawn(tuple(float(i % 7) for i in range(999)), 5.0),
        drawn((1.0,), 1.0),
        computed(1e-12),
        computed(0.4),
    ],
    ids=["all alike", "many as good", "one draw", "rarest", "common"],
)
def test_a_critical_eye_finds_nothing(chance: Chance, look: Look, page: Page) -> None:
    study, shot = weighed_shot(chance, Verdict.FIRM)
    assert faults_of(weight_scene(study, shot, page).at_rest(), look, page=page) == ()


def test_the_words_count_what_the_dots_show() -> None:
    study, shot = weighed_shot(drawn((1.0, 2.0, 3.0, 3.0), 3.0), Verdict.NOT_BEYOND_CHANCE)
    said = " ".join(
        words.words.text for words in words_seen(weight_scene(study, shot, WIDE).at_rest())
    )
    assert "not beyond chance" in said
    assert "2 of 4 shuffled versions do as well." in said
    assert "4 bits behind" in said


@pytest.mark.parametrize("page", [WIDE, TALL, SQUARE], ids=["wide", "tall", "square"])
def test_the_words_leave_no_half_of_their_room_empty(page: Page) -> None:
    study, shot = weighed_shot(drawn(tuple(float(i % 7) for i in range(999)), 5.0), Verdict.FIRM)
    layout = layout_of(shot, page)
    said = words_seen(weight_scene(study, shot, page).at_rest())
    figure = next(seen for seen in said if seen.words.size > 2 * layout.sizes.heading)
    last = max(seen.box.bottom for seen in said if seen.words.x >= figure.words.x)
    below = layout.picture.bottom - last
    if page.is_narrow:
        assert below < 2 * layout.sizes.label
    else:
        assert below < 2 * (figure.box.top - layout.picture.top)
    assert "Each dot is a shuffled version" in " ".join(seen.words.text for seen in said)


def test_a_finding_without_chance_is_shown_as_a_page() -> None:
    study = odd_study()
    shot = shot_of(study, SceneName.WEIGHT, plays=[], lines=[])
    found = replace(study.findings[0], chance=None, q=None, verdict=Verdict.TRIVIAL)
    scene = weight_scene(study, replace(shot, findings=(found,)), WIDE)
    assert "random version" not in scene.description
