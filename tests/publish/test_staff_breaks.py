"""Line breaks of music: against all ways of breaking, and by what they must never do."""

from itertools import combinations, pairwise

from hypothesis import given
from hypothesis import strategies as st

from riffract.publish.staff.breaks import even_breaks

widths_of_bars = st.lists(st.integers(1, 12), min_size=1, max_size=9)
ROOM = 12


def cost(widths: list[int], starts: tuple[int, ...]) -> tuple[int, int]:
    """Lines, then the sum of squares of what stays empty."""
    lines = [sum(widths[a:b]) for a, b in pairwise((*starts, len(widths)))]
    assert max(lines) <= ROOM
    return len(lines), sum((ROOM - line) ** 2 for line in lines)


@given(widths_of_bars)
def test_no_way_of_breaking_is_better(widths: list[int]) -> None:
    """Against brute force: every way of cutting the bars into lines that fit."""
    ways = (
        (0, *cuts)
        for count in range(len(widths))
        for cuts in combinations(range(1, len(widths)), count)
    )
    fitting = [
        way
        for way in ways
        if all(sum(widths[a:b]) <= ROOM for a, b in pairwise((*way, len(widths))))
    ]
    found = even_breaks(widths, ROOM)
    assert cost(widths, found) == min(cost(widths, way) for way in fitting)


@given(st.lists(st.floats(0.5, 40.0), max_size=60))
def test_lines_hold_each_bar_once_and_only_a_wide_bar_is_wider_than_its_line(
    widths: list[float],
) -> None:
    starts = even_breaks(widths, 12.0)
    assert starts[:1] == ((0,) if widths else ())
    assert list(starts) == sorted(set(starts))
    for first, end in pairwise((*starts, len(widths))):
        assert end - first == 1 or sum(widths[first:end]) <= 12.0 + 1e-9


def test_no_bar_is_left_alone_on_the_last_line() -> None:
    assert even_breaks([10, 10, 10, 10, 10, 10], 50) == (0, 3)
