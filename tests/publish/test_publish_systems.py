"""Tab broken into systems that fit a page."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.publish_fakes import TAB_TEXT

from riffract.publish.handout.systems import systems


def tab_of(bar_widths: list[int], *, strings: int = 3) -> str:
    names = [f"{'GDAEBCFH'[n]}{n}" for n in range(strings)]
    rows = [
        f"{name:<4}|"
        + "|".join(("-" + str(n % 10) + "-" * 99)[:width] for width in bar_widths)
        + "|"
        for n, name in enumerate(names)
    ]
    above = "time|" + "|".join((" e" + " " * 99)[:width] for width in bar_widths) + "|"
    return "\n".join(["    3/8 = 3", above, *rows])


def test_what_fits_stays_as_it_is() -> None:
    head, system = systems(TAB_TEXT, most_columns=80)
    assert head == "\n".join(TAB_TEXT.splitlines()[:3])
    assert system == "\n".join(TAB_TEXT.splitlines()[4:])


def test_a_wide_system_is_broken_at_a_bar_line_and_repeats_its_names() -> None:
    _, first, second = systems(TAB_TEXT, most_columns=50)
    assert first.splitlines()[1:3] == [
        "time | e    e    e    e    e    e    e    |",
        "F4   |------------------------------------|",
    ]
    assert second.splitlines()[1:] == [
        "time | e    e    3:t 3:t |",
        "F4   |-------------------|",
        "C4   |-------------------|",
        "Ab3  |----------<12>-----|",
        "Eb3  |------------5------|",
        "Bb2  |----------4--------|",
        "F2   |-------------------|",
        "Bb1  |-0----x------------|",
    ]
    assert second.splitlines()[0].strip() == "5/8 = 3+2"


def test_parts_are_of_like_length() -> None:
    parts = systems(tab_of([20] * 6), most_columns=90)
    assert [part.splitlines()[-1].count("|") - 1 for part in parts] == [3, 3]


def test_a_double_bar_line_stays_together() -> None:
    rows = "\n".join(f"{name}   |--0---||--0---||--0---||" for name in "GDA")
    parts = systems(rows, most_columns=20)
    assert [part.splitlines()[0] for part in parts] == [
        "G   |--0---||",
        "G   |--0---||",
        "G   |--0---||",
    ]


def test_a_bar_wider_than_the_page_is_broken_between_its_signs() -> None:
    rows = "\n".join(f"{name}   |{'-12' * 30}|" for name in "GDA")
    parts = systems(rows, most_columns=40)
    assert len(parts) >= 3
    for part in parts:
        assert all(len(row) <= 40 for row in part.splitlines())
        assert not part.splitlines()[0].endswith("1")  # no fret number is cut in two


def test_prose_is_wrapped() -> None:
    (part,) = systems("title: " + "word " * 40, most_columns=40)
    assert max(map(len, part.splitlines())) <= 40


def test_too_narrow_a_page_is_refused() -> None:
    with pytest.raises(ValueError, match="at least 20 columns, got 12"):
        systems("G|--|", most_columns=12)


@given(
    st.lists(st.integers(2, 60), min_size=1, max_size=12),
    st.integers(4, 8),
    st.integers(30, 120),
)
def test_nothing_is_cut_off_and_nothing_lost(
    bar_widths: list[int], strings: int, most_columns: int
) -> None:
    tab = tab_of(bar_widths, strings=strings)
    parts = [part.splitlines()[-strings:] for part in systems(tab, most_columns=most_columns)]
    for part in systems(tab, most_columns=most_columns):
        assert max(map(len, part.splitlines())) <= most_columns
    for n, whole in enumerate(tab.splitlines()[-strings:]):
        rows = [part[n] for part in parts]
        joined = rows[0]
        for before, after in pairwise(rows):
            assert after[:4] == before[:4]
            assert after[4] == before[-1]
            joined += after[5:]
        assert joined == whole
