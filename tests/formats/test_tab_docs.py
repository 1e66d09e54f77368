"""Every example in the description of the tab format reads as it says."""

import re
from pathlib import Path

import pytest
from tests.formats.test_tab_round_trip import as_read_again

from riffract.formats.tab import read_tab, write_tab

PAGE = (Path(__file__).parents[2] / "docs" / "tab-format.md").read_text(encoding="utf-8")
HEADER = "tuning: E1 A1 D2 G2\nmetre: 4/4\ntempo: q = 120\n\n"
GOOD = re.findall(r"```tab\n(.*?)```", PAGE, re.DOTALL)
SEVERAL = re.findall(r"```tab passages\n(.*?)```", PAGE, re.DOTALL)
FAULTY = re.findall(r"```tab mistake\n(.*?)```\n\n```text\n(.*?)```", PAGE, re.DOTALL)


def whole(example: str) -> str:
    return example if "tuning:" in example else HEADER + example


@pytest.mark.parametrize("example", GOOD)
def test_an_example_reads_without_any_problem(example: str) -> None:
    result = read_tab(whole(example))
    assert [problem.text("tab") for problem in result.problems] == []


@pytest.mark.parametrize("example", GOOD)
def test_an_example_is_the_same_after_writing(example: str) -> None:
    passage = read_tab(whole(example)).passage
    assert passage is not None
    assert read_tab(write_tab(passage)).passage == as_read_again(passage)


@pytest.mark.parametrize(("example", "messages"), FAULTY)
def test_a_mistake_gives_the_message_on_the_page(example: str, messages: str) -> None:
    problems = read_tab(whole(example)).problems
    assert "\n".join(problem.text("riff.tab") for problem in problems) == messages.strip()


@pytest.mark.parametrize("example", SEVERAL)
def test_several_passages_in_an_example_are_read_by_their_names(example: str) -> None:
    names = read_tab(example).parts
    assert len(names) > 1
    for name in names:
        assert read_tab(example, part=name).problems == ()
