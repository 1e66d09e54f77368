"""The script as Markdown: what it tells, and that words stay words."""

from dataclasses import replace

import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from markdown_it import MarkdownIt
from tests.publish_fakes import small_passage, small_shots, small_study, small_whats, span, weighed

from riffract.analysis.finding import Kind
from riffract.essay.shots import Line
from riffract.publish.evidence.facts import (
    KIND_NAMES,
    METHODS,
    VERDICT_MEANINGS,
    facts,
    listen_for,
    measure_facts,
    rival_text,
    weighing_facts,
)
from riffract.publish.script import escaped, script_text
from riffract.weighing.study import VERDICT_NAMES, Rival, Verdict

STUDY = small_study()
MARKDOWN = MarkdownIt("commonmark")  # an independent reader of CommonMark


def test_a_claim_is_told_with_times_words_music_and_evidence() -> None:
    text = script_text(small_shots(STUDY), STUDY)
    start = text.index("## 3. ")
    claim = text[start : text.index("## 4. ")]
    for line in (
        "## 3. The climb turns the fall upside down in less time.",
        "0:10.0 to 0:19.0 · picture: fold · `03-fold`",
        "- 0:15.5 Where it fails, a bracket says by how much.",
        "- 0:11.0 bars 1 to 2, half speed, strings 3, 4 and 5 alone",
        "**Listen for:** the turn at bar 2, beat 1, and what comes back after it.",
        f"*likely* (`{STUDY.findings[1].finding.id}`)",
        "  - q: 0.0198",
        "  - chance: 100 random versions: rhythm kept, pitches reordered; seed 11",
        "  - rival: a straight mirror one eighth later (4.5 bits behind)",
    ):
        assert line in claim, line


def test_shots_follow_one_another_to_the_end_of_the_film() -> None:
    text = script_text(small_shots(STUDY), STUDY)
    assert "4 shots, 24 s." in text
    assert text.index("0:00.0 to 0:03.0") < text.index("0:03.0 to 0:10.0")
    assert "0:19.0 to 0:24.0" in text


def test_what_to_listen_for_is_heard_if_it_can_be() -> None:
    passage = small_passage()
    passes, gesture = small_whats()[Kind.PASSES], small_whats()[Kind.GESTURE]
    assert listen_for(passes, passage) == "what changes at bar 3, beat 2"
    assert listen_for(passes, passage, [span("19/2", 12)]) == "what changes at bar 4, beat 4 2/3"
    assert listen_for(gesture, passage) == "the falling stretch in bar 1"
    assert listen_for(gesture, passage, [span("7/2", 6)]).startswith("the rising stretch in bar 2")
    assert listen_for(gesture, passage, [span(6, 7)]) == "the falling stretch in bar 1"


def test_an_observation_without_a_finding_has_no_evidence() -> None:
    shot = replace(small_shots(STUDY)[1], findings=())
    assert "Evidence" not in script_text([shot], STUDY)


@given(st.text(max_size=80))
@example("- a list?")
@example("1. a list?")
@example("1) a list?")
@example("# a heading?")
@example("===")
@example("---")
@example("> a quote? &lt; &amp; &#35; <b>bold</b> ![x](y) `code` | a | *b* __c__ ~~~")
@example("+ a")
@example("a\\")
def test_words_read_back_as_they_were_meant(words: str) -> None:
    printable = "".join(sign for sign in words if sign.isprintable() or sign.isspace())
    meant = " ".join(printable.split())
    tokens = MARKDOWN.parse(escaped(printable))
    if not meant:
        assert tokens == []
        return
    assert [token.type for token in tokens] == ["paragraph_open", "inline", "paragraph_close"]
    children = tokens[1].children or []
    assert {child.type for child in children} <= {"text", "text_special"}
    assert "".join(child.content for child in children) == meant


def test_words_of_the_user_cannot_make_markup() -> None:
    shots = small_shots(STUDY)
    nasty = "](javascript:x) <script> **bold** \n# heading"
    shot = replace(
        shots[1],
        title=nasty,
        lines=(Line(text=nasty, start_seconds=0.0, end_seconds=1.0),),
        details=(nasty,),
    )
    html = MARKDOWN.render(script_text([shot], STUDY))
    assert "<script" not in html
    assert "href" not in html
    assert html.count("<h1>") == 1


@pytest.mark.parametrize("kind", list(Kind))
def test_every_kind_has_words_for_its_evidence(kind: Kind) -> None:
    what = small_whats()[kind]
    told = facts(what, small_passage())
    assert told
    assert all(name and text for name, text in told)
    assert "." not in listen_for(what, small_passage())[-1:]
    assert METHODS[kind].endswith(".")
    assert KIND_NAMES[kind]


@pytest.mark.parametrize("verdict", list(Verdict))
def test_every_verdict_is_named_and_explained(verdict: Verdict) -> None:
    assert VERDICT_NAMES[verdict]
    assert VERDICT_MEANINGS[verdict].endswith(".")


def test_numbers_that_do_not_exist_are_not_told() -> None:
    assert weighing_facts(weighed(Kind.DRONE)) == ()
    names = [name for name, _ in weighing_facts(weighed(Kind.COLLECTION))]
    assert names == ["p", "q", "effect", "chance", "Bayes factor"]
    one = weighed(Kind.MIRROR)
    assert one.chance is not None
    exact = replace(one, q=None, chance=replace(one.chance, draws=(), exact_p=0.25))
    assert weighing_facts(exact) == (
        ("p", "0.25"),
        ("chance", "computed exactly: rhythm kept, pitches reordered"),
    )


def test_measures_part_from_their_units() -> None:
    assert measure_facts(weighed(Kind.MIRROR), STUDY.passage) == (
        ("agreement", "30 %"),
        ("length", "12 eighths"),  # the metre is 7/8
    )


def test_a_rival_that_is_a_finding_is_told_in_its_words() -> None:
    other = STUDY.findings[2].finding
    assert rival_text(Rival(description=other.id, bits=0.0), STUDY) == (
        "A long fall is answered by a short climb (as good)"
    )
