"""Signs of how a note is played: beside its number, before it, over the row, in the contour."""

from dataclasses import replace
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.picture_studies import plain_study, shot_of, signs_study

from riffract.analysis.attacks import with_start_pitches
from riffract.essay.shots import SceneName
from riffract.music import Note, NoteTableBuilder, Span, Technique, TempoMark
from riffract.music.notes import PLAIN, Grace
from riffract.picture.bounds import Box, around, path_bounds
from riffract.picture.check import faults_of, words_seen
from riffract.picture.contour_view import Contour, heights_for
from riffract.picture.lead_in import LeadIn, lead_ins, lead_px
from riffract.picture.look import DARK, PAPER, Look
from riffract.picture.marks import LineTo, Mark, MoveTo, Shape, Words
from riffract.picture.number_signs import amount_text, signs_behind, width_behind
from riffract.picture.over_row import Over, over_marks, over_rows, signs_over, width_over
from riffract.picture.page.scene import page_scene
from riffract.picture.pitch_ways import pitches_reached, start_semitone, way_marks
from riffract.picture.scene import TALL, WIDE
from riffract.picture.string_mark import LIT
from riffract.picture.string_view import (
    StringRow,
    fret_text,
    least_px_per_quarter,
    number_end_px,
    strings_and_bars,
)
from riffract.picture.type import ink_box
from riffract.picture.voices import voices_of
from riffract.weighing.study import Study


def note(**more: Any) -> Note:
    values: dict[str, Any] = {
        "index": 0, "onset_quarters": Fraction(0), "duration_quarters": Fraction(1),
        "ring_end_quarters": Fraction(1), "string": 2, "fret": 8, "pitch": 67,
        "techniques": PLAIN, "line": 0, "column": 0,
    }  # fmt: skip
    return Note(**(values | more))


def box_of(marks: tuple[Mark, ...]) -> Box:
    """Give the box of the drawn lines and ink, strokes' widths apart."""
    boxes = []
    for mark in marks:
        if isinstance(mark, Shape):
            boxes.append(path_bounds(mark.path))
        elif isinstance(mark, Words):
            left, top, right, bottom = ink_box(mark)
            boxes.append(Box(left=left, top=top, right=right, bottom=bottom))
    found = around(box for box in boxes if box is not None)
    assert found is not None
    return found


# How guitarists write amounts: full, ½, 1½ … of a whole tone, ¼ for a quarter tone (common
# practice); a full one here as 1.
@pytest.mark.parametrize(
    ("cents", "text"),
    [(50, "¼"), (100, "½"), (150, "¾"), (200, "1"), (250, "1¼"), (300, "1½"), (400, "2")],
)
def test_amounts_of_bends_are_told_in_whole_tones(cents: int, text: str) -> None:
    assert amount_text(cents) == text
    assert amount_text(-cents) == f"−{text}"


ways = st.lists(st.sampled_from([0, 50, 100, 150, 200, 300, -100]), min_size=1, max_size=4)
HOW = st.sampled_from(
    [
        {},
        {"techniques": Technique.TRILL, "other_fret": 10},
        {"techniques": Technique.ARTIFICIAL_HARMONIC, "other_fret": 20},
        {"techniques": Technique.PINCH_HARMONIC},
        {"techniques": Technique.DOIT},
        {"techniques": Technique.FALLOFF},
    ]
)


@given(ways, HOW, st.integers(0, 4), st.sampled_from([30.0, 36.0, 43.5]))
def test_signs_stay_within_the_width_they_tell(
    way: list[int], how: dict[str, Any], tremolo: int, size: float
) -> None:
    one = note(bend=tuple(way), tremolo_marks=tremolo, **how)
    for sign in signs_behind(one, size, 20.0):
        box = box_of(sign.draw(100.0, 50.0, LIT))
        assert box.left >= 100.0 - 1.0
        assert box.right <= 100.0 + sign.width + 1.0
    widths = [sign.width for sign in signs_behind(one, size, 20.0)]
    assert width_behind(one, size) >= sum(widths)


def heads(way: tuple[int, ...]) -> list[str]:
    """Tell for each arrow of a bend where its point is to its feet."""
    found = []
    for sign in signs_behind(note(bend=way), 30.0, 20.0):
        marks = sign.draw(0.0, 50.0, LIT)
        if len(marks) == 2 and isinstance(marks[1], Shape):
            left, point, _ = marks[1].path
            assert isinstance(left, MoveTo)
            assert isinstance(point, LineTo)
            found.append("up" if point.y < left.y else "down")
    return found


def test_arrows_go_the_way_of_the_bend() -> None:
    assert heads((0, 200)) == ["up"]
    assert heads((0, 200, 0)) == ["up", "down"]
    assert heads((200,)) == ["up"]
    assert heads((200, 0)) == ["up", "down"]
    assert heads((0, 200, 100, 300)) == ["up", "down", "up"]


def test_a_pre_bend_stands_upright_and_a_bend_is_curved() -> None:
    def first_width(way: tuple[int, ...]) -> float:
        stem = signs_behind(note(bend=way), 30.0, 20.0)[0].draw(0.0, 50.0, LIT)[0]
        return box_of((stem,)).width

    assert first_width((200,)) == 0.0
    assert first_width((0, 200)) > 8.0


def texts(one: Note) -> list[str]:
    marks = [m for s in signs_behind(one, 30.0, 20.0) for m in s.draw(0.0, 50.0, LIT)]
    return [mark.text for mark in marks if isinstance(mark, Words)]


def test_a_return_to_the_fret_has_no_amount() -> None:
    assert texts(note(bend=(0, 150, 0))) == ["¾"]
    assert texts(note(bend=(100, 0, 200))) == ["½", "1"]


@pytest.mark.parametrize(
    "how",
    [Technique.NATURAL_HARMONIC, Technique.ARTIFICIAL_HARMONIC, Technique.PINCH_HARMONIC],
)
def test_every_harmonic_stands_between_angles(how: Technique) -> None:
    assert fret_text(note(techniques=how)) == "‹8›"


def test_an_artificial_harmonic_tells_where_it_is_touched_and_a_trill_its_other_fret() -> None:
    assert texts(note(techniques=Technique.ARTIFICIAL_HARMONIC, other_fret=20)) == ["20"]
    assert texts(note(techniques=Technique.TRILL, other_fret=10)) == ["tr", "10"]


@pytest.mark.parametrize("marks", [1, 2, 3])
def test_tremolo_has_as_many_slashes_as_marks(marks: int) -> None:
    (sign,) = signs_behind(note(tremolo_marks=marks), 30.0, 20.0)
    _, slashes = sign.draw(0.0, 50.0, LIT)
    assert isinstance(slashes, Shape)
    assert sum(isinstance(step, MoveTo) for step in slashes.path) == marks


def test_signs_and_graces_make_room_for_themselves() -> None:
    plain = [note(), note(index=1, onset_quarters=Fraction(1))]
    bent = [replace(plain[0], bend=(0, 200)), plain[1]]
    grace = Grace(at_quarters=Fraction(1), place=0, string=2, fret=7, pitch=66)
    least = [
        least_px_per_quarter(plain, 30.0),
        least_px_per_quarter(bent, 30.0),
        least_px_per_quarter(bent, 30.0, graces=[grace]),
    ]
    assert least == sorted(set(least))
    assert least[2] - least[1] == pytest.approx(lead_px([grace], 30.0))
    assert least[1] >= number_end_px(bent[0], 30.0)


@pytest.mark.parametrize("look", [DARK, PAPER], ids=lambda look: look.name)
def test_a_critical_eye_finds_nothing_on_a_tall_page(look: Look) -> None:
    study = signs_study()
    scene = page_scene(study, shot_of(study, SceneName.PAGE), TALL)
    assert faults_of(scene.at_rest(), look, page=TALL) == ()


def said(study: Study) -> list[str]:
    scene = page_scene(study, shot_of(study, SceneName.PAGE), WIDE)
    return [seen.words.text for seen in words_seen(scene.at_rest())]


def test_the_legend_explains_what_occurs() -> None:
    words = said(signs_study())
    for meaning in (
        "grace, before the beat", "bent, in whole tones", "trill with that fret",
        "picked again and again", "slid off upwards", "slid off downwards", "harmonic",
        "harmonic, touched at the small fret", "harmonic, pinched", "slid into", "downstroke",
        "upstroke", "tapped", "fermata",
    ):  # fmt: skip
        assert meaning in words
    only_plain = replace(plain_study().passage, notes=_one_note().build())
    words = said(replace(plain_study(), passage=only_plain, findings=()))
    assert not any(meaning in words for meaning in ("harmonic", "tapped", "fermata", "slid into"))


def _one_note(**more: Any) -> NoteTableBuilder:
    builder = NoteTableBuilder()
    builder.add(
        onset_quarters=Fraction(1),
        duration_quarters=Fraction(1),
        string=2,
        fret=8,
        pitch=67,
        **more,
    )
    return builder


def test_graces_come_up_with_the_note_they_lead_to() -> None:
    study = signs_study()
    shot = shot_of(study, SceneName.PAGE, plays=[study.passage.span])
    scene = page_scene(study, shot, WIDE)

    def lit(seconds: float) -> list[bool]:
        small = [s.words for s in words_seen(scene.at(seconds)) if s.words.weight == 400]
        return [words.colour.alpha > 0.99 for words in small if words.text == "5" and words.halo]

    (play,) = shot.plays
    assert lit(play.at_seconds - 0.1) == [True, False]  # the legend's sample, then the grace
    assert lit(play.at_seconds + 0.2)[-1] is True


def test_a_grace_goes_with_its_string_or_with_the_lowest_note() -> None:
    passage = signs_study().passage
    by_string = {
        (passage.notes[i].onset_quarters, passage.notes[i].string): lead
        for i, lead in lead_ins(passage).items()
    }
    lead = by_string[Fraction(4), 4]
    # The grace on string 3 leads to no note there; the trill on string 4 is all there is.
    assert {(grace.string, grace.fret) for grace in lead.shown} == {(4, 2), (3, 4), (4, 4)}
    assert [grace.fret for grace in by_string[Fraction(0), 3].shown] == [5]


def test_graces_stand_in_columns_before_the_beat() -> None:
    first, chord, last = (
        Grace(at_quarters=Fraction(1), place=place, string=string, fret=fret, pitch=60)
        for place, string, fret in ((0, 2, 5), (0, 3, 12), (1, 2, 7))
    )
    lead = LeadIn(shown=(first, chord, last), all=(first, chord, last))
    assert lead.left(first, 30.0) == lead.left(chord, 30.0) < lead.left(last, 30.0) < 0.0
    assert lead.middle(last, 30.0) < 0.0
    assert lead_px((first, chord, last), 30.0) == -lead.left(first, 30.0)


def test_what_stands_over_the_rows() -> None:
    over = over_rows(signs_study().passage)
    assert over.signs[Fraction(6)] == (Over.DOWN,)
    assert over.signs[Fraction(8)] == (Over.TAP,)
    assert over.signs[Fraction(14)] == over.signs[Fraction(21)] == (Over.FERMATA,)
    assert list(over.signs) == sorted(over.signs)
    assert [(words.text, words.span) for words in over.words] == [
        ("faster", Span(Fraction(8), Fraction(16))),
        ("free time", Span(Fraction(20), Fraction(24))),
    ]


def test_a_row_without_signs_takes_no_room_above() -> None:
    passage = replace(plain_study().passage, notes=_one_note().build())
    assert over_rows(passage).room_px(30.0, 28.0) == 0.0
    fermata = replace(passage, fermatas=(Fraction(1),))
    ramp = replace(
        fermata,
        tempos=(
            TempoMark(at_quarters=Fraction(0), quarters_per_minute=120.0, is_ramp=True),
            TempoMark(at_quarters=Fraction(4), quarters_per_minute=60.0),
        ),
    )
    rooms = [over_rows(each).room_px(30.0, 28.0) for each in (fermata, ramp)]
    assert 0.0 < rooms[0] < rooms[1]
    assert over_rows(ramp).words[0].text == "slower"


def test_a_ramp_is_named_where_it_starts_and_goes_on_in_the_next_row() -> None:
    over = over_rows(signs_study().passage)

    def words_of(span: Span) -> list[str]:
        marks = over_marks(
            over, span, left=100.0, px_per_quarter=80.0, bottom=200.0, fret_size=30.0,
            label_size=28.0,
        )  # fmt: skip
        assert all(box_of((mark,)).bottom <= 200.0 for mark in marks)
        return [mark.text for mark in marks if isinstance(mark, Words)]

    assert words_of(Span(Fraction(0), Fraction(12))) == ["faster"]
    assert words_of(Span(Fraction(12), Fraction(24))) == ["free time"]


@pytest.mark.parametrize("size", [30.0, 43.5])
def test_signs_over_a_note_stand_side_by_side(size: float) -> None:
    signs = tuple(Over)
    boxes = [box_of(tuple(signs_over([sign], 0.0, 100.0, size))) for sign in signs]
    assert all(box.bottom <= 100.0 and box.top >= 100.0 - size for box in boxes)
    together = box_of(tuple(signs_over(signs, 0.0, 100.0, size)))
    assert together.right == pytest.approx(width_over(signs, size), abs=0.1)


def test_free_bars_have_a_tick_for_each_unit_they_last() -> None:
    passage = signs_study().passage
    bars = list(passage.bars)
    bars[5] = replace(bars[5], length_quarters=Fraction(13, 2))
    row = StringRow(
        span=Span(Fraction(16), Fraction(53, 2)), left=100.0, px_per_quarter=80.0, top=200.0,
        gap=40.0, strings=(1, 2, 3, 4, 5, 6), fret_size=30.0,
    )  # fmt: skip
    *_, ticks = strings_and_bars(replace(passage, bars=tuple(bars)), row)
    assert isinstance(ticks, Shape)
    places = [step.x for step in ticks.path if isinstance(step, MoveTo)]
    assert places == [row.x(Fraction(quarter)) for quarter in range(16, 27)]


# A note's place in the contour is the pitch it is heard at (common practice of bends).
@pytest.mark.parametrize(
    ("way", "start", "end"),
    [((0, 200), 67.0, 69.0), ((150,), 68.5, 68.5), ((200, 0), 69.0, 67.0), ((0, 50), 67.0, 67.5)],
)
def test_a_contour_follows_a_bend(way: tuple[int, ...], start: float, end: float) -> None:
    study = plain_study()
    passage = replace(study.passage, notes=_one_note(bend=way).build())
    heights = heights_for([60, 72], top=100.0, base_y=500.0, has_anchor=False)
    shot = shot_of(study, SceneName.TITLE)
    voices = voices_of(replace(study, passage=passage, findings=()), shot)
    contour = Contour(
        passage=passage, voices=voices, span=passage.span, left=0.0, px_per_quarter=100.0,
        heights=heights,
    )  # fmt: skip
    placed = contour.placed(0)
    assert placed.y == pytest.approx(heights.y(start))
    drawn = way_marks(
        placed.note, (placed.x, placed.y), placed.length, LIT,
        px_per_semitone=heights.px_per_semitone,
    )  # fmt: skip
    if len(way) == 1:
        assert drawn == ()
        return
    first, *_, last = drawn[0].path
    assert isinstance(first, MoveTo)
    assert isinstance(last, LineTo)
    assert first.y == pytest.approx(heights.y(start))
    assert last.y == pytest.approx(heights.y(end))


# The two rules are one: notes are named in the picture as the analyses name them.
@given(st.lists(ways.map(tuple), min_size=1, max_size=5))
def test_a_bent_note_is_named_by_the_pitch_the_analyses_see(bends: list[tuple[int, ...]]) -> None:
    builder = NoteTableBuilder()
    for at, way in enumerate(bends):
        start, one = Fraction(at), Fraction(1)
        builder.add(
            onset_quarters=start, duration_quarters=one, string=2, fret=8, pitch=67, bend=way
        )
    passage = replace(plain_study().passage, notes=builder.build())
    seen = [each.pitch for each in with_start_pitches(passage).notes]
    assert [start_semitone(each) for each in passage.notes] == seen


def test_a_contour_makes_room_for_all_that_is_reached() -> None:
    assert pitches_reached(note(pitch=None, techniques=Technique.DEAD)) == ()
    assert set(pitches_reached(note())) == {67}
    assert pitches_reached(note(bend=(0, 150, -50))) == (66, 69)
    assert pitches_reached(note(techniques=Technique.TRILL, other_fret=5)) == (64, 67)


@pytest.mark.parametrize(
    ("how", "count"),
    [
        (Technique.SCOOP, 1),
        (Technique.DOIT, 1),
        (Technique.SCOOP | Technique.FALLOFF, 2),
        (PLAIN, 0),
    ],
)
def test_slides_from_and_to_nowhere_lean_in_the_contour(how: Technique, count: int) -> None:
    drawn = way_marks(note(techniques=how), (50.0, 50.0), 80.0, LIT, px_per_semitone=10.0)
    assert len(drawn) == count
