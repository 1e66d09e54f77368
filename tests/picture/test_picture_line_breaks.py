"""Where lines may end: nothing is lost, and words of letters stay whole."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from riffract.picture.line_breaks import breakable
from riffract.picture.type import wrap

SIGNS = "ab 7/8、。「」鏡曲がるッー한글（）"


@given(st.text(alphabet=SIGNS, max_size=30))
def test_nothing_is_lost_but_spaces_at_the_ends(text: str) -> None:
    joined = "".join(before + piece for before, piece in breakable(text))
    assert joined.strip() == " ".join(text.split())


@given(st.text(alphabet="abc é-’,.()7/8", max_size=40))
def test_letters_part_at_spaces_alone(text: str) -> None:
    assert [piece for _, piece in breakable(text)] == text.split()


# Common practice of Japanese setting: no line starts with a closing mark or a small kana, and none
# ends with an opening bracket.
@pytest.mark.parametrize(
    ("text", "pieces"),
    [
        ("「鏡」が", ["「鏡」", "が"]),
        ("曲がった。", ["曲", "がっ", "た。"]),
        ("7/8の鏡", ["7/8", "の", "鏡"]),
    ],
)
def test_marks_stay_with_what_they_belong_to(text: str, pieces: list[str]) -> None:
    assert [piece for _, piece in breakable(text)] == pieces


def test_a_long_line_of_wide_signs_is_wrapped() -> None:
    text = "鏡" * 40
    lines = wrap(text, 50.0, 600, 400.0)
    assert len(lines) > 1
    assert "".join(lines) == text
