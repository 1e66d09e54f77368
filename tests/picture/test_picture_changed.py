"""What changes between frames: the laws of parts of a picture, and of marks that stay."""

from hypothesis import given
from hypothesis import strategies as st

from riffract.picture.changed import NOWHERE, PixelBox, closed, joined, matches
from riffract.picture.marks import Mark, Shape, rectangle

sides = st.integers(0, 12)
boxes = st.builds(
    lambda left, top, width, height: PixelBox(
        left=left, top=top, right=left + width, bottom=top + height
    ),
    sides,
    sides,
    sides,
    sides,
)


def points(box: PixelBox) -> set[tuple[int, int]]:
    return {(x, y) for x in range(box.left, box.right) for y in range(box.top, box.bottom)}


@given(boxes, boxes)
def test_boxes_meet_where_they_share_a_point(one: PixelBox, other: PixelBox) -> None:
    assert one.meets(other) == bool(points(one) & points(other))
    assert one.area == len(points(one))


@given(st.lists(boxes, max_size=5))
def test_a_joined_box_holds_all_and_no_smaller_one_does(some: list[PixelBox]) -> None:
    whole = joined(some)
    held = set().union(*map(points, some))
    assert held <= points(whole)
    assert (
        {(min(p[i] for p in held), max(p[i] for p in held)) for i in (0, 1)}
        == {
            (whole.left, whole.right - 1),
            (whole.top, whole.bottom - 1),
        }
        if held
        else whole == NOWHERE
    )


@given(boxes, st.lists(boxes, max_size=6))
def test_a_closed_part_cuts_no_box(part: PixelBox, some: list[PixelBox]) -> None:
    grown, inside = closed(part, some)
    assert points(part) <= points(grown) or not part.area
    for number, box in enumerate(some):
        if number in inside:
            assert points(box) <= points(grown)
        else:
            assert not points(box) & points(grown)


def mark(x: int) -> Mark:
    return Shape(path=rectangle(x, 0, 1, 1))


marks = st.lists(st.integers(0, 4).map(mark), max_size=6)


@given(marks, marks)
def test_marks_that_stay_are_equal_and_keep_their_order(
    before: list[Mark], after: list[Mark]
) -> None:
    found = matches(before, after)
    assert len(found) == len(after)
    kept = [(n, number) for n, number in enumerate(found) if number is not None]
    assert all(before[number] == after[n] for n, number in kept)
    numbers = [number for _, number in kept]
    assert numbers == sorted(set(numbers))


@given(marks, marks, marks)
def test_what_is_taken_out_or_put_in_leaves_the_rest_matched(
    head: list[Mark], put_in: list[Mark], tail: list[Mark]
) -> None:
    shorter, longer = [*head, *tail], [*head, *put_in, *tail]
    assert sum(n is not None for n in matches(shorter, longer)) >= len(shorter)
    assert None not in matches(longer, shorter)
