"""The page scene: strings in time."""

from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.making import Spelled, passage
from tests.picture_studies import (
    PM,
    SIX,
    Struck,
    make_passage,
    odd_study,
    palindrome_study,
    plain_study,
    shot_of,
    signs_study,
    steps,
    weighed,
    wide_study,
)

from riffract.analysis.attacks import attacks_of
from riffract.analysis.finding import Gesture, Kind, Passes, Reading
from riffract.essay.shots import SceneName, Shot
from riffract.music import Metre, NoteTableBuilder, Passage, Span, TempoMark, bars_in_row
from riffract.picture.bounds import bounds_of
from riffract.picture.check import faults_of, words_seen
from riffract.picture.departures import departures_of, tail_of_template
from riffract.picture.layout import layout_of
from riffract.picture.look import DARK, PAPER, Look
from riffract.picture.marks import Colour, Mark, Role, Shape
from riffract.picture.number_signs import width_behind
from riffract.picture.page.plan import CLOSE_UP_APART_SHARE, Plan, plan_rows
from riffract.picture.page.scene import page_scene
from riffract.picture.rows import Stretch, cut, metres_text, stretches
from riffract.picture.scene import PORTRAIT, SQUARE, TALL, WIDE, Page
from riffract.picture.string_view import fret_text, least_px_per_quarter, strings_used
from riffract.picture.type import text_width
from riffract.picture.voices import voices_of
from riffract.picture.wording import change_words, length_words
from riffract.weighing.study import Study
from riffract.weighing.weigh import study_passage

STUDIES = {
    "odd": odd_study,
    "plain": plain_study,
    "wide": wide_study,
    "palindrome": palindrome_study,
    "signs": signs_study,
}
studies = pytest.mark.parametrize("make", STUDIES.values(), ids=STUDIES)
Make = Callable[[], Study]


def reading_of(study: Study) -> Reading:
    (found,) = study.of_kind(Kind.PASSES)
    assert isinstance(found.finding.what, Passes)
    return found.finding.what.readings[0]


def playing(study: Study) -> Shot:
    end = min(study.passage.length_quarters, Fraction(64))
    return shot_of(
        study,
        SceneName.PAGE,
        plays=[Span(Fraction(0), end)],
        lines=["First the fall.", "Then the climb."],
        findings=study.of_kind(Kind.PASSES),
    )


def planned(study: Study) -> Plan:
    passes = study.of_kind(Kind.PASSES)
    return plan_rows(
        study.passage,
        tuple(study.passage.notes),
        reading_of(study) if passes else None,
        layout_of(shot_of(study, SceneName.PAGE), WIDE),
    )


def said(marks: tuple[Mark, ...]) -> list[str]:
    return [seen.words.text for seen in words_seen(marks)]


@studies
@pytest.mark.parametrize("share", [0.0, 0.2, 0.55, 0.9, 1.0])
def test_a_critical_eye_finds_nothing_while_it_plays(make: Make, share: float) -> None:
    study = make()
    scene = page_scene(study, playing(study), WIDE)
    assert faults_of(scene.at(share * scene.length_seconds), DARK, page=WIDE) == ()


@studies
@pytest.mark.parametrize("look", [DARK, PAPER], ids=lambda look: look.name)
def test_a_critical_eye_finds_nothing_at_rest(make: Make, look: Look) -> None:
    study = make()
    scene = page_scene(study, shot_of(study, SceneName.PAGE), WIDE)
    assert faults_of(scene.at_rest(), look, page=WIDE) == ()


@studies
def test_every_note_has_its_fret_number_on_one_page_and_row(make: Make) -> None:
    study = make()
    rows = [placed.row for page in planned(study).pages for placed in page]
    for note in study.passage.notes:
        assert sum(row.span.holds(note.onset_quarters) for row in rows) == 1


@studies
def test_rows_follow_one_another_without_a_gap(make: Make) -> None:
    study = make()
    spans = [placed.row.span for page in planned(study).pages for placed in page]
    assert spans[0].start_quarters == 0
    assert spans[-1].end_quarters == study.passage.length_quarters
    for before, after in pairwise(spans):
        assert before.end_quarters == after.start_quarters


@studies
def test_nothing_is_drawn_smaller_than_it_can_be_read(make: Make) -> None:
    study = make()
    for page in planned(study).pages:
        for placed in page:
            row = placed.row
            assert row.fret_size >= 30.0
            assert row.gap >= 1.25 * row.fret_size - 1e-9
            shown = [n for n in study.passage.notes if row.span.holds(n.onset_quarters)]
            assert row.px_per_quarter >= least_px_per_quarter(shown, row.fret_size) - 1e-6
            assert row.right <= 1920 - 96 + 1e-6


def test_only_strings_that_sound_are_strung() -> None:
    assert strings_used(odd_study().passage) == (2, 3, 4, 5, 6, 7, 8)


def test_a_still_shows_all_numbers_and_the_claim() -> None:
    study = plain_study()
    scene = page_scene(study, shot_of(study, SceneName.PAGE, title="A wave."), WIDE)
    words = said(scene.at_rest())
    assert words[0] == "A wave."
    for note in study.passage.notes:
        assert fret_text(note) in words


def test_a_long_passage_turns_to_the_page_that_sounds() -> None:
    study = wide_study()
    shot = shot_of(study, SceneName.PAGE, plays=[steps(0, 16 * 12)])
    scene = page_scene(study, shot, WIDE)
    (play,) = shot.plays
    seen = []
    for bar in range(12):
        words = said(scene.at(play.seconds_at(Fraction(4 * bar)) + 0.3))
        (where,) = [w for w in words if w.endswith("of 40")]
        first, last = (int(n) for n in where.split()[1].split("–"))
        assert first <= bar + 1 <= last
        seen.append(where)
    assert len(set(seen)) > 2


def test_a_second_hearing_turns_back_and_keeps_what_was_lit() -> None:
    study = wide_study()
    shot = shot_of(study, SceneName.PAGE, plays=[steps(0, 16 * 4), steps(0, 16)])
    scene = page_scene(study, shot, WIDE)
    at_start = said(scene.at(0.4))
    again = said(scene.at(shot.plays[1].at_seconds + 0.2))
    assert [w for w in again if w.endswith("of 40")] == [w for w in at_start if w.endswith("of 40")]
    numbers = [s.words for s in words_seen(scene.at(shot.plays[1].at_seconds + 0.2))]
    frets = [words for words in numbers if words.weight == 600 and words.text.isdigit()]
    assert all(words.colour.alpha == 1.0 for words in frets)


def test_notes_come_up_on_their_onset_and_stay() -> None:
    study = odd_study()
    shot = playing(study)
    scene = page_scene(study, shot, WIDE)
    (play,) = shot.plays

    def lit(seconds: float) -> int:
        return sum(
            seen.words.colour.alpha > 0.99 and seen.words.halo == 2.6
            for seen in words_seen(scene.at(seconds))
        )

    assert lit(0.4) == 0
    counts = [lit(play.seconds_at(step * Fraction(1, 4)) + 0.1) for step in range(0, 60, 3)]
    assert counts == sorted(counts)
    assert counts[1] > 0


def test_departures_are_named_where_they_are_heard() -> None:
    study = odd_study()
    scene = page_scene(study, playing(study), WIDE)
    by_half = said(scene.at(scene.length_seconds * 0.3))
    assert not any("+1 eighth" in words for words in by_half)
    (play,) = playing(study).plays
    assert "+1 eighth" in said(scene.at(play.seconds_at(Fraction(68, 4))))
    at_end = said(scene.at_rest())
    assert "A♭, not G" in at_end
    assert "no climb" in at_end


def test_an_observation_of_ones_own_says_nothing_of_passes() -> None:
    study = odd_study()
    words = said(page_scene(study, replace(playing(study), findings=()), WIDE).at_rest())
    assert not [w for w in words if w.startswith(("pass", "tag", "link", "coda"))]
    assert not {"+1 eighth", "A♭, not G", "no climb"} & set(words)


def test_departures_are_marked_only_where_the_shot_is_about_passes() -> None:
    study = odd_study()
    shot = replace(playing(study), findings=study.of_kind(Kind.GESTURE))
    words = said(page_scene(study, shot, WIDE).at_rest())
    assert any(w.startswith("pass") for w in words)
    assert not {"+1 eighth", "A♭, not G", "no climb"} & set(words)


def test_departures_are_gathered() -> None:
    study = odd_study()
    reading = reading_of(study)
    voices = voices_of(study, shot_of(study, SceneName.STACK))

    def of(index: int) -> list[tuple[str, str, int]]:
        found = departures_of(
            reading.passes[index], reading, voices.attacks, voices.limbs, voices.names
        )
        return [(d.kind, d.words, len(d.attacks)) for d in found]

    assert of(0) == []
    assert of(1) == [("added", "+1 eighth", 2)]
    assert of(2) == [
        ("changed", "A♭, not G", 1),
        ("missing", "no climb", 0),
    ]


def test_a_tag_is_known_as_the_end_of_the_riff() -> None:
    study = odd_study()
    attacks = attacks_of(study.passage)
    template = [a for a in attacks if 6 <= a.onset_quarters * 4 < 38]
    tag = [a for a in attacks if a.onset_quarters * 4 < 6]
    pairs = tail_of_template(tag, template)
    assert len(pairs) == 6
    assert pairs[-1] == (template[-1].index, tag[-1].index)
    assert tail_of_template(template[:6], template) == ()


four = Metre(groups=(4,), unit=4)
odd_metres = st.lists(
    st.sampled_from([four, Metre(groups=(2, 2, 3), unit=8), Metre(groups=(3, 3, 3, 2), unit=8)]),
    min_size=1,
    max_size=24,
)


def empty_passage(metres: list[Metre]) -> Passage:
    return Passage(
        title="",
        tuning=SIX,
        bars=bars_in_row((metre, None, i + 1) for i, metre in enumerate(metres)),
        tempos=(TempoMark(at_quarters=Fraction(0), quarters_per_minute=90.0),),
        notes=NoteTableBuilder().build(),
    )


@settings(deadline=None)
@given(odd_metres, st.floats(0.6, 40.0))
def test_rows_are_cut_so_that_they_fit_and_nothing_is_lost(
    metres: list[Metre], longest: float
) -> None:
    passage = empty_passage(metres)
    (whole,) = stretches(passage, None)
    rows = cut(passage, whole, longest)
    assert [row.span.start_quarters for row in rows] == [
        Fraction(0),
        *(row.span.end_quarters for row in rows[:-1]),
    ]
    assert rows[-1].span.end_quarters == passage.length_quarters
    unit = 1.0  # the largest of these metres, in quarters
    assert all(float(r.span.length_quarters) <= max(longest, unit) + 1e-9 for r in rows)


def test_rows_within_a_bar_are_told_apart() -> None:
    """The first one tells the whole bar's metre, the others where they start."""
    passage = empty_passage([Metre(groups=(3, 2), unit=4)] * 2)
    rows = cut(passage, stretches(passage, None)[0], 3.2)
    told = [(row.heading, row.detail) for row in rows]
    assert told[:2] == [("bar 1", "5/4"), ("", "bar 1, beat 4")]
    assert told[2:] == [("bar 2", "5/4"), ("", "bar 2, beat 4")]


@pytest.mark.parametrize("page", [WIDE, TALL, SQUARE, PORTRAIT], ids=str)
def test_numbers_are_large_only_where_they_stand_apart(page: Page) -> None:
    """A bar of one long group, full of sixteenths, may be cut within the group."""
    notes = [Struck(i, 5, 10 + i % 3, 1) for i in range(80)]
    music = make_passage(notes, SIX, [Metre(groups=(5,), unit=4)] * 4, "Tens", 100.0)
    study = replace(plain_study(), passage=music, findings=())
    layout = layout_of(shot_of(study, SceneName.PAGE), page)
    plan = plan_rows(music, tuple(music.notes), None, layout)
    row = plan.pages[0][0].row
    least = least_px_per_quarter(tuple(music.notes), row.fret_size)
    is_large = row.fret_size > layout.sizes.fret
    assert row.px_per_quarter >= least * (CLOSE_UP_APART_SHARE if is_large else 1.0) - 1e-6


def test_bars_of_one_length_go_evenly() -> None:
    passage = empty_passage([four] * 16)
    rows = cut(passage, stretches(passage, None)[0], 13.0)
    assert {row.span.length_quarters for row in rows} == {Fraction(8)}
    assert rows[0].heading == "bars 1–2"
    assert rows[0].detail == "2 × 4/4"
    assert rows[1].detail == ""


def test_a_stretch_without_a_heading_is_cut_inside_itself() -> None:
    """Bars of one length go by twos and threes, but only those of the stretch."""
    passage = empty_passage([four] * 19)
    for start, end in ((20, 44), (20, Fraction(87, 2)), (8, 10)):
        span = Span(Fraction(start), Fraction(end))
        rows = cut(passage, Stretch(span=span, heading="", detail="", is_tag=True), 9.0)
        assert rows[0].span.start_quarters == span.start_quarters
        assert rows[-1].span.end_quarters == span.end_quarters
        assert all(a.span.end_quarters == b.span.start_quarters for a, b in pairwise(rows))


def test_a_pass_that_does_not_fit_goes_on_in_the_next_row() -> None:
    study = odd_study()
    parts = stretches(study.passage, reading_of(study))
    assert [part.heading for part in parts] == ["tag", "pass 1", "pass 2", "pass 3"]
    first, second = cut(study.passage, parts[1], 5.0)
    assert (first.heading, first.detail) == ("pass 1", "9/8 + 7/8")
    assert (second.heading, second.detail) == ("", "bar 3")


def test_a_span_off_the_bar_lines_is_told_by_its_length() -> None:
    passage = empty_passage([four, four])
    assert metres_text(passage, Span(Fraction(1), Fraction(5))) == "4/4 long"
    assert metres_text(passage, Span(Fraction(1), Fraction(11, 3))) == "8 triplet eighths long"


def test_many_metres_are_told_as_such() -> None:
    seven = Metre(groups=(2, 2, 3), unit=8)
    assert metres_text(*_whole([four, seven] * 2)) == "4/4 + 7/8 + 4/4 + 7/8"
    assert metres_text(*_whole([four, seven] * 3)) == "changing metres"


def _whole(metres: list[Metre]) -> tuple[Passage, Span]:
    passage = empty_passage(metres)
    return passage, passage.span


@pytest.mark.parametrize(
    ("quarters", "words"),
    [
        (Fraction(1), "one quarter"),
        (Fraction(1, 2), "one eighth"),
        (Fraction(3, 4), "three sixteenths"),
        (Fraction(1, 8), "one thirty-second"),
        (Fraction(1, 3), "one triplet eighth"),
        (Fraction(2, 5), "0.40 quarters"),
    ],
)
def test_lengths_are_said_in_note_values(quarters: Fraction, words: str) -> None:
    assert length_words(quarters) == words


def test_changes_are_said_in_letters() -> None:
    names = {0: "C", 4: "E", 7: "G"}
    assert change_words((60,), (64,), names) == "E, not C"
    assert change_words((60,), (72,), names) == "C5, not C4"
    assert change_words((60,), (60, 67), names) == "with G"
    assert change_words((60, 64, 67), (61, 65, 67), names) == "other notes"


def test_the_densest_string_sets_the_scale() -> None:
    study = plain_study()
    notes = tuple(note for note in study.passage.notes if not width_behind(note, 30.0))
    assert least_px_per_quarter(notes[:1], 30.0) == 0.0
    least = least_px_per_quarter(notes, 40.0, between_px=0.0)
    assert least_px_per_quarter(notes, 80.0, between_px=0.0) == pytest.approx(2 * least)


def bar_of(value: Fraction) -> Study:
    count = int(4 / value)
    line: list[Spelled] = [(45 + step % 5, value) for step in range(count)]
    return Study(passage=passage(line), findings=(), ignored=(), seed=1)


def test_a_single_bar_takes_the_width_of_the_page_at_close_up_size() -> None:
    (rows,) = planned(bar_of(Fraction(1))).pages
    (placed,) = rows
    layout = layout_of(shot_of(plain_study(), SceneName.PAGE), WIDE)
    end = placed.row.left + 4 * placed.row.px_per_quarter
    assert end > 0.95 * layout.right
    assert placed.row.fret_size > 1.4 * layout.sizes.fret


def test_numbers_that_stand_close_are_not_drawn_larger() -> None:
    """Larger numbers would be read as one: 7 5 as 75."""
    (rows,) = planned(bar_of(Fraction(1, 8))).pages
    layout = layout_of(shot_of(plain_study(), SceneName.PAGE), WIDE)
    row = rows[0].row
    digit = text_width("0", row.fret_size, 600)
    step = row.px_per_quarter / 8
    assert step > CLOSE_UP_APART_SHARE * digit or row.fret_size == layout.sizes.fret


def test_without_passes_a_bar_stays_whole_if_its_numbers_have_room() -> None:
    study = bar_of(Fraction(1, 4))
    layout = layout_of(shot_of(study, SceneName.PAGE), TALL)
    plan = plan_rows(study.passage, tuple(study.passage.notes), None, layout)
    assert [len(rows) for rows in plan.pages] == [1]


def test_turning_a_page_leaves_what_is_said_of_the_claim() -> None:
    """What covers the page before reaches neither the claim's sign nor its words."""
    study = wide_study()
    finding = weighed(Kind.GESTURE, Gesture(limbs=(), ratio=None, contour=()), [study.passage.span])
    shot = replace(playing(study), findings=(finding,))
    scene = page_scene(study, shot, WIDE)
    sure = next(s.words for s in words_seen(scene.ground) if s.words.text == "firm")
    box = bounds_of(sure)
    assert box is not None
    covers = [
        covered
        for cue in scene.cues
        for mark in cue.marks
        if isinstance(mark, Shape) and mark.fill == Colour(Role.GROUND)
        for covered in [bounds_of(mark)]
        if covered is not None and covered.width > 500.0
    ]
    assert covers
    assert not any(covered.meets(box) for covered in covers)


def test_numbers_of_two_digits_in_a_run_are_told_apart_where_there_is_room() -> None:
    """Sixteenths at frets 13 12 10 on a tall page: a quarter of a number's size between them."""
    line: list[Spelled] = [(64 + fret, Fraction(1, 4)) for fret in (13, 12, 10, 12) * 4]
    study = Study(passage=passage(line), findings=(), ignored=(), seed=1)
    layout = layout_of(shot_of(study, SceneName.PAGE), TALL)
    plan = plan_rows(study.passage, tuple(study.passage.notes), None, layout)
    row = plan.pages[0][0].row
    gap = row.px_per_quarter / 4 - text_width("13", row.fret_size, 600)
    assert gap > 0.25 * row.fret_size


@pytest.mark.parametrize("page", [WIDE, TALL, SQUARE, PORTRAIT])
def test_what_departs_is_named_between_rows_of_one_string(page: Page) -> None:
    """Two bars of sixteenths on one string, three times; each time one note is another."""
    riff = [0, 0, 0, 3, 0, 0, 5, 0, 0, 1, 0, 0, 6, 0, 0, 3, 0, 0, 1, 0, 7, 6, 5, 3]
    riff += [0, 0, 3, 1, 0, 0, 1, 3]
    second = [*riff[:21], 8, *riff[22:]]
    third = [*riff[:6], 8, *riff[7:]]
    frets = [*riff, *second, *third, *riff]
    notes = [Struck(i, 6, fret, 1, PM) for i, fret in enumerate(frets)]
    music = make_passage(notes, SIX, [Metre(groups=(4,), unit=4)] * 8, "One string", 100.0)
    study = study_passage(music)
    shot = replace(
        shot_of(study, SceneName.PAGE, plays=[], lines=[]), findings=study.of_kind(Kind.PASSES)[:1]
    )
    marks = page_scene(study, shot, page).at_rest()
    assert faults_of(marks, DARK, page=page) == ()
    said = [seen.words.text for seen in words_seen(marks)]
    assert sum(", not " in words for words in said) == 2
