"""Forms that come back in reverse order, against orders counted out by hand and by brute force."""

from fractions import Fraction
from itertools import permutations
from math import comb

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.planted_mirrors import passes

from riffract.analysis.attacks import attacks_of
from riffract.analysis.finding import Passes, Reading
from riffract.analysis.mirrors.find import mirror_in
from riffract.analysis.mirrors.of_passes import form_mirror, form_rows, longest_mirrors
from riffract.analysis.passes.find import find_passes
from riffract.music import Passage, Section, Span
from riffract.weighing.exact_orders import chance_of_order, different_orders

forms = st.lists(st.integers(0, 3), min_size=2, max_size=9).map(np.array)


def readings_of(music: Passage) -> list[Reading]:
    found = find_passes(music, attacks_of(music))
    return [f.what.readings[0] for f in found if isinstance(f.what, Passes)]


@pytest.mark.parametrize("seed", [0, 1, 2])
@pytest.mark.parametrize("form", ["ABCBA", "ABCDCBA", "ABCCBA"])
def test_planted_forms_turn_where_they_were_planted(form: str, seed: int):
    planted = passes(seed, form=form)
    attacks = attacks_of(planted.music)
    (row,) = form_rows(planted.music, attacks, readings_of(planted.music))
    found = form_mirror(planted.music, attacks, row)
    assert found is not None
    what = mirror_in(found)
    assert what.of == "passes"
    assert what.axis_quarters == planted.axis_quarters
    assert what.core_quarters == what.reach_quarters == planted.axis_quarters
    assert found.measures["pairs"] == planted.pairs
    assert found.sentence == f"The riffs come back in reverse order: {' '.join(form)}."


def test_sections_named_by_the_analyst_are_a_form_as_well():
    music = passes(0, form="A").music
    quarter = music.length_quarters / 5
    spans = [Span(k * quarter, (k + 1) * quarter) for k in range(5)]
    labelled = Passage(
        title=music.title,
        tuning=music.tuning,
        bars=music.bars,
        tempos=music.tempos,
        notes=music.notes,
        sections=tuple(Section(label=a, span=s) for a, s in zip("ABCBA", spans, strict=True)),
    )
    attacks = attacks_of(labelled)
    (row,) = form_rows(labelled, attacks, [])
    found = form_mirror(labelled, attacks, row)
    assert found is not None
    assert mirror_in(found).axis_quarters == Fraction(5, 2) * quarter
    assert found.sentence == "The sections come back in reverse order: A B C B A."


def test_one_riff_all_the_time_is_no_form():
    music = passes(1, form="AAAA").music
    assert form_rows(music, attacks_of(music), readings_of(music)) == ()


@given(forms)
def test_the_longest_mirror_equals_trying_every_stretch(form):
    lengths = [
        stop - start
        for start in range(len(form))
        for stop in range(start + 2, len(form) + 1)
        if np.array_equal(form[start:stop], form[start:stop][::-1])
    ]
    assert longest_mirrors(form[None, :]).tolist() == [max(lengths, default=0)]


# Counted by hand: A B C B A has 5!/(2! 2!) = 30 orders. Two of them mirror from end to end, since C
# must stand in the middle; A B C D C B A has 7!/(2!)^3 = 630, six of which do.
@pytest.mark.parametrize(
    ("form", "orders", "mirrors"), [("ABCBA", 30, 2), ("ABCDCBA", 630, 6), ("AABB", 6, 2)]
)
def test_orders_of_a_form_are_counted_out(form: str, orders: int, mirrors: int):
    ids = np.array([ord(letter) - 65 for letter in form])
    assert different_orders(ids) == orders
    chance = chance_of_order(ids, longest_mirrors, model="", seed=1)
    expected = mirrors / orders if form != "AABB" else None
    assert chance.draws == ()
    if expected is not None:
        assert chance.p == pytest.approx(expected)


@given(st.lists(st.integers(0, 2), min_size=3, max_size=7).map(np.array))
def test_the_share_of_orders_equals_brute_force(form):
    chance = chance_of_order(form, longest_mirrors, model="", seed=1)
    every = np.array(list(permutations(form.tolist())))
    assert chance.p == pytest.approx(float((longest_mirrors(every) >= chance.observed).mean()))


def test_long_forms_are_drawn_with_a_seed():
    form = np.array([0, 1, 2, 3, 4, 5, 6, 5, 4, 3, 2, 1, 0])
    assert different_orders(form) > comb(20, 10)
    first, second = (chance_of_order(form, longest_mirrors, model="", seed=5) for _ in range(2))
    assert first.draws == second.draws
    assert first.p == pytest.approx(1 / 1000)
