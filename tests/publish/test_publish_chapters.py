"""Chapters, description and prompter: what goes under a film, and what is read aloud."""

from dataclasses import replace
from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st
from tests.publish_fakes import ABOUT, small_shots, small_study

from riffract.essay.shots import Line, SceneName, Shot
from riffract.publish.chapters import (
    Chapter,
    chapters,
    chapters_problems,
    chapters_text,
)
from riffract.publish.description import MOST_SIGNS, description_problems, description_text
from riffract.publish.prompter import prompter_problems, prompter_text, stressed

SHOTS = small_shots(small_study())


def film(*lengths_seconds: float) -> list[Shot]:
    return [
        replace(SHOTS[1], name=f"{n:02d}-page", title=f"Claim {n}", length_seconds=length, lines=())
        for n, length in enumerate(lengths_seconds)
    ]


# Common practice of video sites: first at 0:00, three or more, each at least ten seconds.


@given(lengths=st.lists(st.floats(0.1, 40.0), max_size=30))
def test_a_list_of_chapters_is_one_that_sites_take(lengths: list[float]) -> None:
    listed = chapters(film(*lengths))
    if not listed:
        return
    starts = [chapter.at_seconds for chapter in listed]
    assert starts[0] == 0
    assert len(starts) >= 3
    assert all(after - before >= 10 for before, after in pairwise([*starts, int(sum(lengths))]))


@given(lengths=st.lists(st.floats(10.0, 90.0), min_size=3, max_size=12))
def test_shots_that_are_long_enough_are_a_chapter_each(lengths: list[float]) -> None:
    # Whole seconds may take up to one from a shot.
    listed = chapters(film(*(length + 1.0 for length in lengths)))
    assert [chapter.title for chapter in listed] == [f"Claim {n}" for n in range(len(lengths))]


def test_a_short_shot_opens_the_next_chapter_and_the_last_closes_the_one_before() -> None:
    assert chapters(film(4.0, 20.0, 15.5, 30.0, 5.0)) == (
        Chapter(at_seconds=0, title="Claim 1"),
        Chapter(at_seconds=24, title="Claim 2"),
        Chapter(at_seconds=39, title="Claim 3"),
    )


def test_a_film_that_is_too_short_has_none_and_says_so() -> None:
    assert chapters(film(4.0, 12.0, 12.0)) == ()
    (problem,) = chapters_problems(())
    assert "too short" in problem.what
    assert chapters_problems(chapters(film(12.0, 12.0, 12.0))) == ()


def test_chapters_are_written_a_line_each_with_hours_only_where_there_are_any() -> None:
    long = chapters(film(75.0, 3600.0, 20.0))
    assert chapters_text(long) == "0:00 Claim 0\n1:15 Claim 1\n1:01:15 Claim 2\n"


def test_a_title_over_two_lines_is_one_line_of_chapters() -> None:
    shots = [replace(shot, title="One\nclaim") for shot in film(12.0, 12.0, 12.0)]
    assert chapters_text(chapters(shots)).splitlines()[0] == "0:00 One claim"


def test_a_description_holds_claims_makers_rights_and_how_to_listen() -> None:
    text = description_text(SHOTS, ABOUT)
    for words in (ABOUT.title, ABOUT.subtitle, *ABOUT.credits, ABOUT.rights):
        assert words in text
    assert "– Twelve quarters, twice; the second time two places differ. (0:03, firm)" in text
    assert "Listen at a moderate level" in text
    assert len(text) < MOST_SIGNS
    assert description_problems(text) == ()
    assert description_problems("x" * (MOST_SIGNS + 1))


def test_the_whole_sums_up_and_is_a_claim_only_where_it_stands_alone() -> None:
    one, whole = film(12.0, 12.0)
    whole = replace(whole, scene=SceneName.WHOLE, title="All together")
    assert "– All together" not in description_text([one, whole], ABOUT)
    assert "– All together" in description_text([whole], ABOUT)


def test_a_description_has_no_angle_brackets() -> None:
    text = description_text(SHOTS, replace(ABOUT, title="a <b> c"))
    assert text.startswith("a ‹b› c\n")


def test_only_chapters_start_a_line_with_a_time() -> None:
    shots = film(12.0, 5.0, 14.0, 20.0)
    lines = description_text(shots, ABOUT).splitlines()
    timed = [line for line in lines if line[:1].isdigit()]
    assert "\n".join(timed) + "\n" == chapters_text(chapters(shots))


def test_the_prompter_holds_all_that_is_said_in_order() -> None:
    text = prompter_text(SHOTS)
    said = [stressed(line.text) for shot in SHOTS for line in shot.lines]
    places = [text.index(words) for words in said]
    assert places == sorted(places)
    assert "[0:03.5, 3.8 s]" in text  # ten words at 160 a minute: 10 × 60 / 160 = 3.75 s


def test_a_line_that_takes_longer_than_it_has_is_told() -> None:
    hasty = replace(SHOTS[1], lines=(Line(text="word " * 20, start_seconds=0.0, end_seconds=2.0),))
    (problem,) = prompter_problems([hasty])
    assert "takes 7.5 s to be said and has 2.0 s" in problem.what
    calm = replace(hasty, lines=(Line(text="word " * 20, start_seconds=0.0, end_seconds=7.5),))
    assert prompter_problems([calm]) == ()


def test_a_term_inside_another_word_is_let_be() -> None:
    assert stressed("An emotive, locomotive motive") == "An emotive, locomotive MOtive"
    assert stressed("Hexatonic") == "HexaTONic"
