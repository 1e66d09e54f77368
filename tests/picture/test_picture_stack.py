"""The stack scene: passes in step."""

from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

import pytest
from tests.picture_studies import (
    SIX,
    Struck,
    make_passage,
    odd_study,
    plain_study,
    shot_of,
    steps,
    weighed,
)

from riffract.analysis.attacks import attacks_of
from riffract.analysis.finding import Edit, Kind, Pass, Passes, Reading
from riffract.analysis.saying import Language, said_in
from riffract.essay.shots import SceneName
from riffract.music import Metre
from riffract.picture.bounds import bounds_of, path_bounds
from riffract.picture.check import faults_of, words_seen
from riffract.picture.departures import attacks_in
from riffract.picture.layout import layout_of
from riffract.picture.look import DARK, PAPER, Look
from riffract.picture.marks import Shape, Words
from riffract.picture.scene import PORTRAIT, SQUARE, TALL, WIDE, Page
from riffract.picture.stack.axis import axis_of
from riffract.picture.stack.departures import WAITS, WITHIN_SHARE, departures_in
from riffract.picture.stack.rows import LEAST_ROW_PX, StackRow, stack_rows
from riffract.picture.stack.scene import LABELS_PX, stack_scene
from riffract.picture.string_mark import Posture
from riffract.picture.voices import voices_of
from riffract.weighing.study import Study
from riffract.weighing.weigh import study_passage

ODD = odd_study()


def reading_of(study: Study) -> Reading:
    (found,) = study.of_kind(Kind.PASSES)
    assert isinstance(found.finding.what, Passes)
    return found.finding.what.readings[0]


def rows_of(study: Study) -> tuple[StackRow, ...]:
    shot = shot_of(study, SceneName.STACK)
    room = replace(layout_of(shot, WIDE).picture_above_note, left=96.0 + LABELS_PX)
    return stack_rows(study.passage, voices_of(study, shot), reading_of(study), shot, room)


def many_passes(count: int) -> Study:
    """A bar of four notes, played over and over; each third time its last note is left out."""
    frets = (0, 3, 5, 7)
    notes = [
        Struck(16 * bar + 4 * i, 6 - i, fret, 4)
        for bar in range(count)
        for i, fret in enumerate(frets)
        if not (bar % 3 == 2 and i == 3)
    ]
    passage = make_passage(notes, SIX, [Metre(groups=(4,), unit=4)] * count, "Over and over", 100.0)
    attacks = attacks_of(passage)
    template = attacks_in(attacks, Fraction(0), Fraction(4))
    passes = []
    for bar in range(count):
        own = attacks_in(attacks, Fraction(4 * bar), Fraction(4 * bar + 4))
        deleted = (
            Edit(
                op="delete",
                at_quarters=Fraction(4 * bar + 4),
                expected=template[3].content,
                found=None,
                notes=(),
                template_attack=3,
            ),
        )
        passes.append(
            Pass(
                span=steps(16 * bar, 16 * bar + 16),
                edits=deleted if len(own) == 3 else (),
                truncated="none",
                pairs=tuple(zip(range(4), (a.index for a in own), strict=False)),
            )
        )
    reading = Reading(template=steps(0, 16), passes=tuple(passes), other=(), bits=1.0)
    finding = weighed(Kind.PASSES, Passes(readings=(reading,)), [passage.span])
    return Study(passage=passage, findings=(finding,), ignored=(), seed=1)


@pytest.mark.parametrize("look", [DARK, PAPER], ids=lambda look: look.name)
@pytest.mark.parametrize("study", [ODD, many_passes(4), many_passes(30)], ids=["odd", "4", "30"])
def test_a_critical_eye_finds_nothing_at_rest(study: Study, look: Look) -> None:
    scene = stack_scene(study, shot_of(study, SceneName.STACK), WIDE)
    assert faults_of(scene.at_rest(), look, page=WIDE) == ()


@pytest.mark.parametrize("share", [0.0, 0.3, 0.6, 0.8, 1.0])
def test_a_critical_eye_finds_nothing_while_it_plays(share: float) -> None:
    shot = shot_of(ODD, SceneName.STACK, plays=[ODD.passage.span], lines=["One.", "Two."])
    scene = stack_scene(ODD, shot, WIDE)
    assert faults_of(scene.at(share * scene.length_seconds), DARK, page=WIDE) == ()


@pytest.mark.parametrize("page", [TALL, SQUARE, PORTRAIT], ids=["tall", "square", "portrait"])
@pytest.mark.parametrize("study", [ODD, many_passes(30)], ids=["odd", "30"])
def test_every_shape_is_explained_on_every_page(study: Study, page: Page) -> None:
    scene = stack_scene(study, shot_of(study, SceneName.STACK), page)
    assert faults_of(scene.at_rest(), DARK, page=page) == ()
    said = {seen.words.text for seen in words_seen(scene.at_rest())}
    kinds = {"missing", "added", "changed"} if study is ODD else {"missing"}
    assert kinds <= said


def test_few_passes_fill_the_page() -> None:
    """A bar that is played twice takes most of the room that the page has."""
    study = many_passes(2)
    rows = rows_of(study)
    layout = layout_of(shot_of(study, SceneName.STACK), WIDE)
    assert max(p.end_x for row in rows for p in row.notes) > 0.95 * layout.right
    assert sum(row.box.height for row in rows) > 0.9 * layout.picture_above_note.height


def test_what_stands_for_the_same_attack_stands_in_one_column() -> None:
    reading = reading_of(ODD)
    attacks = attacks_of(ODD.passage)
    x_of = {p.note.index: p.x for row in rows_of(ODD) for p in row.notes}
    first_note = {a.index: [n for n in a.notes if n in x_of] for a in attacks}
    compared = 0
    for one in reading.passes:
        for template, own in one.pairs:
            for a in first_note[template][:1]:
                for b in first_note[own][:1]:
                    assert x_of[a] == pytest.approx(x_of[b])
                    compared += 1
    assert compared > 30


def test_the_string_that_rings_on_is_seen_in_every_pass() -> None:
    shot = shot_of(ODD, SceneName.STACK)
    ringing = voices_of(ODD, shot).drone_notes
    rows = [row for row in rows_of(ODD) if not row.is_tag]
    assert rows
    for row in rows:
        struck = {i for i in ringing if row.span.holds(ODD.passage.notes[i].onset_quarters)}
        assert struck
        placed = {p.note.index: p for p in row.notes if p.posture is Posture.RINGS}
        assert set(placed) == struck
        assert all(row.box.top <= p.y <= row.box.bottom for p in placed.values())


def test_what_rings_on_is_no_part_of_the_shape_of_a_departure() -> None:
    for row in rows_of(ODD):
        assert all(p.posture is not Posture.RINGS for placed in row.expected for p in placed)


def test_rows_do_not_overlap_and_stay_in_their_room() -> None:
    rows = rows_of(ODD)
    assert [row.heading + row.number for row in rows] == ["tag", "pass1", "pass2", "pass3"]
    for above, below in pairwise(rows):
        assert above.box.bottom <= below.box.top + 1e-9
    for row in rows:
        assert row.box.height >= LEAST_ROW_PX
        for placed in row.notes:
            assert row.box.top <= placed.y <= row.box.bottom
            assert placed.end_x <= row.box.right + 1e-6


def test_an_added_attack_opens_a_slot_in_all_rows() -> None:
    reading = reading_of(ODD)
    attacks = attacks_of(ODD.passage)
    template = attacks_in(attacks, reading.template.start_quarters, reading.template.end_quarters)
    axis = axis_of(template, reading.passes, attacks)
    ((start, length),) = axis.slots.values()
    assert length == Fraction(1, 2)
    assert start == Fraction(26, 4)
    assert axis.length_quarters == Fraction(34, 4)
    places = axis.places(reading.passes[1], attacks)
    assert sorted(places.values())[-8:-6] == [start, start + Fraction(1, 4)]


def test_every_departure_is_named() -> None:
    scene = stack_scene(ODD, shot_of(ODD, SceneName.STACK), WIDE)
    words = [seen.words.text for seen in words_seen(scene.at_rest())]
    for expected in ("+1 eighth", "A♭, not G", "no climb", "the climb, heard first"):
        assert expected in words
    assert any("Faint: as in pass 1." in text for text in words)


def test_dots_where_a_row_waits_for_others_are_explained_and_free_of_words() -> None:
    rows = rows_of(ODD)
    assert any(row.waits for row in rows)
    for page in (WIDE, SQUARE, PORTRAIT):
        marks = stack_scene(ODD, shot_of(ODD, SceneName.STACK), page).at_rest()
        said = words_seen(marks)
        assert any("others have more here" in seen.words.text for seen in said)
        dots = [
            box
            for mark in marks
            if isinstance(mark, Shape) and mark.stroke == WAITS
            if (box := path_bounds(mark.path)) is not None
        ]
        assert dots
        lines = [replace(box, bottom=box.bottom + 1.0) for box in dots]
        assert not [seen for seen in said for line in lines if line.meets(seen.box)]


@pytest.mark.parametrize("page", [WIDE, SQUARE, PORTRAIT], ids=["wide", "square", "portrait"])
@pytest.mark.parametrize("study", [ODD, many_passes(9)], ids=["odd", "many"])
def test_words_stand_nearest_to_the_departure_that_they_name(study: Study, page: Page) -> None:
    """Words under a row keep away from the departures of the next one."""
    shot = shot_of(study, SceneName.STACK)
    layout = layout_of(shot, page)
    room = replace(layout.picture_above_note, left=layout.left + LABELS_PX)
    voices = voices_of(study, shot)
    rows = stack_rows(study.passage, voices, reading_of(study), shot, room)
    drawn = [marks for _, marks in departures_in(rows, voices, layout, foot_y=room.bottom)]
    for marks in drawn:
        *shapes, words = marks
        if not isinstance(words, Words):
            continue
        own = bounds_of(shapes[-1])
        box = bounds_of(words)
        assert own is not None
        assert box is not None
        assert own.grown(WITHIN_SHARE * words.size).meets(box)


def test_departures_come_up_when_they_are_heard() -> None:
    shot = shot_of(ODD, SceneName.STACK, plays=[ODD.passage.span])
    scene = stack_scene(ODD, shot, WIDE)
    (play,) = shot.plays

    def words_at(quarters: Fraction) -> list[str]:
        return [s.words.text for s in words_seen(scene.at(play.seconds_at(quarters) + 0.3))]

    assert "+1 eighth" not in words_at(Fraction(60, 4))
    assert "+1 eighth" in words_at(Fraction(66, 4))
    assert "no climb" in words_at(Fraction(104, 4))


def test_of_many_passes_those_that_depart_are_shown_and_the_others_told() -> None:
    study = many_passes(30)
    numbers = [row.number for row in rows_of(study)]
    assert numbers[0] == "1"
    assert all(int(number) % 3 == 0 for number in numbers[1:])
    scene = stack_scene(study, shot_of(study, SceneName.STACK), WIDE)
    words = " ".join(seen.words.text for seen in words_seen(scene.at_rest()))
    assert "23 of 30 passes are not shown." in words


def test_a_study_without_passes_is_refused() -> None:
    plain = plain_study()
    with pytest.raises(ValueError, match="kind `passes`"):
        stack_scene(plain, shot_of(plain, SceneName.STACK), WIDE)


def test_long_names_of_rows_end_before_the_notes() -> None:
    german = Language(code="de", phrases={"pass": "Durchgang"})
    shot = shot_of(ODD, SceneName.STACK)
    with said_in(german):
        scene = stack_scene(ODD, shot, WIDE)
    seen = {item.words.text: item.box for item in words_seen(scene.at_rest())}
    lines = [
        box
        for mark in scene.at_rest()
        if isinstance(mark, Shape) and (box := bounds_of(mark)) and box.width > WIDE.width / 2
    ]
    assert lines
    assert seen["Durchgang"].right < seen["1"].left
    assert seen["3"].right < min(box.left for box in lines)


def test_many_changes_that_nobody_names_go_without_words() -> None:
    """Eight bars of one riff, whose chord of two notes is another one in each of the last seven."""
    line = [
        Struck(at, 4, fret, 1) for at, fret in zip(range(2, 16), (2, 4, 5, 7) * 4, strict=False)
    ]
    notes = [
        replace(struck, at=struck.at + 16 * bar)
        for bar in range(8)
        for struck in (
            Struck(0, 6, 3 + bar % 5, 2),
            Struck(0, 5, 5 + bar % 5, 2),
            *line,
        )
    ]
    music = make_passage(notes, SIX, [Metre(groups=(4,), unit=4)] * 8, "Chords", 100.0)
    study = study_passage(music)
    marks = stack_scene(study, shot_of(study, SceneName.STACK), WIDE).at_rest()
    said = [seen.words.text for seen in words_seen(marks)]
    assert "changed" in said
    assert said.count("other notes") == 0
    assert faults_of(marks, DARK, page=WIDE) == ()
