"""What a notebook shows of a passage, a study and a finding: all of it, and only as words."""

from dataclasses import replace
from typing import Any

import pytest
from lxml import html
from tests.making import passage
from tests.publish_fakes import small_study

from riffract.music import Proposed
from riffract.weighing.study import VERDICT_NAMES, Study

HOSTILE = "</table><script>alert(1)</script><img src=x onerror='y'> & \"riff\""
STUDY = small_study()


def shown(thing: Any) -> Any:
    """Read what a notebook would show, as a browser does."""
    return html.fromstring(thing._repr_html_())


def rows(table: Any) -> list[list[str]]:
    return [[cell.text_content() for cell in row] for row in table.xpath(".//tr")]


def test_a_passage_tells_its_strings_bars_metre_and_pace() -> None:
    told = dict(rows(shown(passage([(40, 1), (43, 3), (45, 4)], title="Stairs"))))
    assert told["strings, low to high"].endswith("E2 A2 D3 G3 B3 E4")
    assert told["bars"] == "2, 8 quarters"
    assert told["metre"] == "4/4"
    assert told["notes"] == "3"


def test_a_passage_tells_what_was_only_proposed() -> None:
    guessed = replace(passage([(40, 4)]), proposed=(Proposed.FINGERING, Proposed.TIME))
    assert dict(rows(shown(guessed)))["proposed, not written"] == "fingering, time"


def test_a_study_has_a_row_a_finding_with_its_verdict() -> None:
    heads, *found = rows(shown(STUDY))
    assert heads == ["finding", "kind", "from", "verdict", "p", "q"]
    assert [(row[0], row[3]) for row in found] == [
        (one.finding.sentence, VERDICT_NAMES[one.verdict]) for one in STUDY.findings
    ]
    for row, one in zip(found, STUDY.findings, strict=True):
        assert (row[4] == "") == (one.chance is None)
        if one.chance is not None:
            assert float(row[4]) == pytest.approx(one.chance.p, rel=0.005)


def test_a_study_without_findings_is_a_head_and_no_row() -> None:
    empty = replace(STUDY, findings=())
    assert len(rows(shown(empty))) == 1
    assert shown(empty).find("caption").text.count(": 0 findings") == 1


def test_a_finding_tells_all_its_measures() -> None:
    for one in STUDY.findings:
        told = dict(rows(shown(one)))
        assert told["id"] == one.finding.id
        assert {name.replace("_", " ") for name in one.finding.measures} <= told.keys()


def test_words_of_a_file_stay_words() -> None:
    named = replace(passage([(40, 4)], title=HOSTILE), source=HOSTILE)
    hostile: list[Any] = [named, replace(STUDY, passage=named)]
    hostile.append(
        replace(
            STUDY.findings[0],
            finding=replace(STUDY.findings[0].finding, sentence=HOSTILE, detail=HOSTILE),
        )
    )
    for thing in hostile:
        table = shown(thing)
        assert table.tag == "table"
        assert table.xpath(".//script | .//img") == []
        assert HOSTILE in table.find("caption").text


@pytest.mark.parametrize(
    "thing", [STUDY.passage, STUDY, STUDY.findings[0]], ids=lambda t: type(t).__name__
)
def test_a_screen_reader_can_say_what_each_cell_is_of(thing: Study) -> None:
    """WCAG 2.2, 1.3.1, by its techniques H39 (caption) and H63 (scope)."""
    table = shown(thing)
    assert table.find("caption").text.strip()
    assert {th.get("scope") for th in table.iter("th")} <= {"row", "col"}
    assert all(row[0].tag == "th" for row in table.xpath(".//tr"))
