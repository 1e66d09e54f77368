"""Claims changed by a program leave alone what the analyst wrote around them."""

import tomllib
from importlib.resources import files

import pytest
from hypothesis import given
from hypothesis import strategies as st

from riffract.essay.claim_edits import (
    with_claim_field,
    with_claim_moved,
    with_claims_added,
    without_claim,
)
from riffract.essay.claims import Claim, Excerpt
from riffract.essay.shots import SceneName
from riffract.formats.tab import read_tab

DEMO = (files("riffract.demo") / "claims.toml").read_text(encoding="utf-8")
TAB = (files("riffract.demo") / "passage.tab").read_text(encoding="utf-8")
COUNT = len(tomllib.loads(DEMO)["claim"])
numbers = st.integers(0, COUNT - 1)


def titles(text: str) -> list[str]:
    return [claim["title"] for claim in tomllib.loads(text).get("claim", [])]


def own_claim() -> tuple[Claim, object]:
    passage = read_tab(TAB).passage
    assert passage is not None
    claim = Claim(
        title="My own.",
        scene=SceneName.PAGE,
        lines=("Look.", "Listen."),
        excerpts=(Excerpt(span=passage.bars[1].span, speed=0.5, strings=(1, 2)),),
        finding=None,
    )
    return claim, passage


@given(numbers, numbers)
def test_a_claim_that_is_moved_keeps_all_others_in_order(at: int, to: int):
    moved = titles(with_claim_moved(DEMO, at, to))
    expected = titles(DEMO)
    expected.insert(to, expected.pop(at))
    assert moved == expected


@given(numbers, numbers)
def test_moving_there_and_back_changes_no_claim(at: int, to: int):
    back = with_claim_moved(with_claim_moved(DEMO, at, to), to, at)
    assert tomllib.loads(back) == tomllib.loads(DEMO)


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
    claim, passage = own_claim()
    assert titles(with_claims_added(empty, [claim], passage, at=0)) == ["My own."]  # type: ignore[arg-type]


def test_what_is_put_in_reads_back_as_it_was():
    claim, passage = own_claim()
    text = with_claims_added(DEMO, [claim], passage, at=2)  # type: ignore[arg-type]
    added = tomllib.loads(text)["claim"][2]
    assert added["lines"] == ["Look.", "Listen."]
    assert added["play"] == [{"bars": "2", "speed": 0.5, "strings": [1, 2]}]
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


def test_places_that_are_not_there_are_refused():
    with pytest.raises(IndexError, match="none has the number 99"):
        without_claim(DEMO, 99)
    with pytest.raises(ValueError, match="not colour"):
        with_claim_field(DEMO, 0, "colour", "red")
