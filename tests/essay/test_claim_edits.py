"""Claims changed by a program leave alone what the analyst wrote around them."""

import tomllib
from importlib.resources import files

import pytest
from hypothesis import given
from hypothesis import strategies as st

from riffract.essay.claim_edits import (
    with_claim_field,
    with_claim_moved,
    with_row_added,
    without_claim,
)

DEMO = (files("riffract.demo") / "claims.toml").read_text(encoding="utf-8")
COUNT = len(tomllib.loads(DEMO)["claim"])
numbers = st.integers(0, COUNT - 1)


def titles(text: str) -> list[str]:
    return [claim["title"] for claim in tomllib.loads(text).get("claim", [])]


OWN = {
    "title": "My own.",
    "scene": "page",
    "lines": ["Look.", "Listen."],
    "play": [{"bars": "2", "speed": 0.5, "strings": [1, 2]}],
}


@given(numbers, numbers)
def test_a_claim_that_is_moved_keeps_all_others_in_order(at: int, to: int):
    moved = titles(with_claim_moved(DEMO, at, to))
    expected = titles(DEMO)
    expected.insert(to, expected.pop(at))
    assert moved == expected


@given(numbers)
def test_a_claim_that_is_taken_out_is_gone_and_no_other(at: int):
    expected = titles(DEMO)
    del expected[at]
    assert titles(without_claim(DEMO, at)) == expected


def test_the_last_claim_can_be_taken_out_and_one_put_in_again():
    text = '# mine\n[[claim]]\ntitle = "A."\nscene = "page"\n'
    empty = without_claim(text, 0)
    assert titles(empty) == []
    assert "# mine" in empty
    assert titles(with_row_added(empty, OWN, at=0)) == ["My own."]


def test_what_is_put_in_reads_back_as_it_was():
    text = with_row_added(DEMO, OWN, at=2)
    assert tomllib.loads(text)["claim"][2] == OWN
    assert titles(text)[:2] == titles(DEMO)[:2]
    assert text.startswith(DEMO.partition("[[claim]]")[0].rstrip())


@given(numbers, st.text(min_size=1, max_size=30).filter(lambda text: "\x00" not in text))
def test_any_words_can_be_a_title(at: int, title: str):
    title = "".join(sign for sign in title if sign.isprintable()) or "x"
    assert titles(with_claim_field(DEMO, at, "title", title))[at] == title


def test_fields_are_replaced_and_taken_out():
    play = [{"bars": "1"}, {"bars": "2-3", "speed": 0.5}]
    text = with_claim_field(with_claim_field(DEMO, 1, "play", play), 1, "finding", "")
    claim = tomllib.loads(text)["claim"][1]
    assert claim["play"] == play
    assert "finding" not in claim


OF_MINE = """\
# What I claim.
# Two things.

# Heard first.
[[claim]]
title = "A."  # short
lines = [
  "One.",  # the word
  "[[claim]]",
]

[mine]
seen = 3

# Heard late.
[[claim]]
title = "B."
"""


def test_a_claim_goes_with_the_comment_above_it_and_with_nothing_else_of_mine():
    moved = with_claim_moved(OF_MINE, 1, 0)
    assert moved.startswith("# What I claim.\n# Two things.\n\n# Heard late.\n[[claim]]\n")
    assert '# Heard first.\n[[claim]]\ntitle = "A."  # short\n' in moved
    out = without_claim(OF_MINE, 0)
    assert "Heard first" not in out
    assert tomllib.loads(out) == {"mine": {"seen": 3}, "claim": [{"title": "B."}]}


@given(numbers, numbers)
def test_moving_there_and_back_changes_no_sign(at: int, to: int):
    assert with_claim_moved(with_claim_moved(DEMO, at, to), to, at) == DEMO


def test_claims_in_one_list_can_be_changed_too():
    text = '# mine\nclaim = [{title = "A.", play = [{bars = "1"}]}, {title = "B."}]\n'
    moved = with_claim_moved(text, 0, 1)
    assert titles(moved) == ["B.", "A."]
    assert moved.startswith("# mine\n")
    assert tomllib.loads(moved)["claim"][1]["play"] == [{"bars": "1"}]


def test_places_that_are_not_there_are_refused():
    with pytest.raises(IndexError, match="none has the number 99"):
        without_claim(DEMO, 99)
    with pytest.raises(ValueError, match="not colour"):
        with_claim_field(DEMO, 0, "colour", "red")
