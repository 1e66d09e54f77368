"""Runs of dashes: what is found says exactly what is asked, and is found if it can be."""

from collections.abc import Iterator
from itertools import combinations, pairwise

from hypothesis import given, settings
from hypothesis import strategies as st

from riffract.formats.tab.extents import Run, Wish, columns_for, in_few_rows, runs_for

COLUMNS = 5


def fulfils(runs: list[Run], wish: Wish) -> bool:
    """The definition: a run covers what starts under it, and ends it unless it is cut before."""
    over = [end for start, end in runs if start <= wish.start < end]
    if not over:
        return not wish.must
    return wish.may and min(over[0], wish.cut) == wish.end


def all_sets_of_runs() -> Iterator[list[Run]]:
    """Every way to draw runs that do not overlap."""
    every = list(combinations(range(COLUMNS + 1), 2))
    for count in range(COLUMNS + 1):
        for chosen in combinations(every, count):
            if all(a[1] <= b[0] for a, b in pairwise(chosen)):
                yield list(chosen)


EVERY_SET = list(all_sets_of_runs())


@st.composite
def strings_of_wishes(draw: st.DrawFn) -> list[Wish]:
    """What one string asks: starts in order, each ending before or at the next."""
    starts = sorted(draw(st.sets(st.integers(0, COLUMNS - 1), min_size=1, max_size=3)))
    wishes = []
    for start, later in zip(starts, [*starts[1:], COLUMNS + 2], strict=True):
        end = draw(st.integers(start + 1, min(later, COLUMNS)))
        must = draw(st.booleans())
        may = must or draw(st.booleans())
        wishes.append(Wish(start=start, end=end, cut=later, must=must, may=may))
    return wishes


@settings(max_examples=300, deadline=None)
@given(st.lists(strings_of_wishes(), min_size=1, max_size=3))
def test_runs_are_right_whenever_they_are_found(strings: list[list[Wish]]) -> None:
    wishes = [wish for string in strings for wish in string]
    runs = runs_for(wishes)
    if runs is not None:
        assert all(fulfils(runs, wish) for wish in wishes)
        assert all(a[1] <= b[0] for a, b in pairwise(runs))


@settings(max_examples=300, deadline=None)
@given(st.lists(strings_of_wishes(), min_size=1, max_size=3))
def test_runs_are_found_exactly_when_brute_force_finds_some(strings: list[list[Wish]]) -> None:
    wishes = [wish for string in strings for wish in string]
    can_be = any(all(fulfils(runs, wish) for wish in wishes) for runs in EVERY_SET)
    assert (runs_for(wishes) is not None) == can_be


@given(strings_of_wishes())
def test_one_string_alone_can_always_be_said(wishes: list[Wish]) -> None:
    assert runs_for(wishes) is not None


def test_strings_share_a_row_where_they_can() -> None:
    rings = [Wish(start=0, end=4, cut=9, must=True, may=True)]
    follows = [Wish(start=1, end=4, cut=9, must=True, may=True)]
    stays = [Wish(start=2, end=3, cut=3, must=False, may=False)]
    assert in_few_rows({1: rings, 2: follows}, [1, 2], runs_for) == [((), [(0, 4)])]
    assert in_few_rows({1: rings, 2: follows, 3: stays}, [1, 2], runs_for) == [((1, 2), [(0, 4)])]


def test_signs_of_strings_that_disagree_need_rows_of_their_own() -> None:
    signs = {1: [(0, "d"), (2, "")], 2: [(0, "d")], 3: [(2, "u")]}
    assert in_few_rows(signs, [1, 2, 3], columns_for) == [((1, 2), [(0, "d")]), ((3,), [(2, "u")])]
