"""The thread scene: a ringing string and the fabric of its intervals."""

from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

import pytest
from tests.picture_studies import (
    BELL,
    RING,
    SIX,
    Struck,
    bells_study,
    make_passage,
    odd_study,
    plain_study,
    shot_of,
    steps,
)

from riffract.analysis.finding import Colour as DroneColour
from riffract.analysis.finding import Drone, Kind
from riffract.analysis.interval_name import colour_name, interval_name
from riffract.essay.shots import SceneName
from riffract.music import Metre
from riffract.picture.bounds import Box, around, bounds_of
from riffract.picture.check import faults_of, words_seen
from riffract.picture.fabric import HEARD, Weave, fabric_marks, name_of, weave_of
from riffract.picture.hearing import visits
from riffract.picture.layout import layout_of
from riffract.picture.look import DARK, PAPER, Look
from riffract.picture.marks import LineTo, MoveTo, Role, Shape
from riffract.picture.scene import PORTRAIT, SQUARE, TALL, WIDE, Page
from riffract.picture.scenes import scene_for
from riffract.picture.string_mark import LIT, Posture
from riffract.picture.thread.parts import MOST_NOTES, Part, thread_parts
from riffract.picture.thread.scene import thread_scene
from riffract.picture.voices import voices_of
from riffract.weighing.weigh import study_passage

ODD = odd_study()


def drone() -> Drone:
    (found,) = ODD.of_kind(Kind.DRONE)
    assert isinstance(found.finding.what, Drone)
    return found.finding.what


def parts() -> tuple[Part, ...]:
    shot = shot_of(ODD, SceneName.THREAD)
    return thread_parts(ODD, voices_of(ODD, shot), drone(), layout_of(shot, WIDE))


# Common practice: which interval classes are thirds, sixths, fourths and fifths.
@pytest.mark.parametrize(
    ("semitones", "weave"),
    [
        (0, Weave.SOLID),
        (1, Weave.TEETH),
        (-11, Weave.TEETH),
        (2, Weave.WIDE_TEETH),
        (3, Weave.RIBS),
        (-4, Weave.RIBS),
        (5, Weave.FRAME),
        (6, Weave.CROSS),
        (-7, Weave.FRAME),
        (9, Weave.RIBS),
        (10, Weave.WIDE_TEETH),
        (12, Weave.POSTS),
        (-24, Weave.POSTS),
        (16, Weave.RIBS),
    ],
)
def test_each_sort_of_interval_has_its_weave(semitones: int, weave: Weave) -> None:
    assert weave_of(semitones) is weave


def test_an_interval_and_its_inversion_are_woven_alike() -> None:
    for semitones in range(1, 12):
        assert weave_of(semitones) is weave_of(12 - semitones) is weave_of(-semitones)


def test_weaves_differ_without_colour() -> None:
    box = Box(left=0, top=0, right=120, bottom=80)
    drawn = {weave: fabric_marks(weave, box) for weave in Weave}
    assert len({str(marks) for marks in drawn.values()}) == len(Weave)

    def uprights(weave: Weave) -> int:
        *_, threads = drawn[weave]
        assert isinstance(threads, Shape)
        return sum(isinstance(step, MoveTo) for step in threads.path)

    assert uprights(Weave.FRAME) == 2
    assert uprights(Weave.POSTS) == 3
    assert uprights(Weave.RIBS) > 5
    assert uprights(Weave.CROSS) == 4


@pytest.mark.parametrize("weave", [Weave.TEETH, Weave.WIDE_TEETH, Weave.CROSS])
def test_a_weave_keeps_its_grain_however_tall_it_is(weave: Weave) -> None:
    def strokes(height: float) -> int:
        *_, threads = fabric_marks(weave, Box(left=0, top=0, right=60, bottom=height))
        assert isinstance(threads, Shape)
        return len(threads.path)

    low, tall, taller = strokes(20.0), strokes(840.0), strokes(1680.0)
    assert low < tall
    assert taller / tall == pytest.approx(2.0, rel=0.1)


def test_the_threads_of_a_weave_stay_in_its_box() -> None:
    for weave in set(Weave) - {Weave.SOLID}:
        for height in (8.0, 30.0, 31.0, 500.0):
            box = Box(left=10, top=20, right=70, bottom=20 + height)
            *_, threads = fabric_marks(weave, box)
            assert isinstance(threads, Shape)
            for step in threads.path:
                assert isinstance(step, MoveTo | LineTo)
                assert box.grown(0.001).holds(
                    Box(left=step.x, top=step.y, right=step.x, bottom=step.y)
                )


# Common practice: an octave more or less does not change how an interval is called here.
@pytest.mark.parametrize("octaves", [0, 1, 2])
def test_names_leave_octaves_aside(octaves: int) -> None:
    for semitones in range(1, 12):
        assert name_of(semitones + 12 * octaves) == name_of(-semitones) == interval_name(semitones)
    assert name_of(12 * (octaves + 1)) == "octave"
    assert name_of(0) == "unison"


def test_the_line_below_says_how_each_weave_that_occurs_sounds() -> None:
    scene = thread_scene(ODD, shot_of(ODD, SceneName.THREAD), WIDE)
    said = {seen.words.text for seen in words_seen(scene.at_rest())}
    found = {HEARD[weave_of(colour.semitones)] for colour in drone().colours}
    assert found <= said
    assert not (set(HEARD.values()) - found) & said - {"octave"}


def test_every_interval_is_shown_in_one_part() -> None:
    shown = [colour.note for part in parts() for colour in part.colours]
    assert shown == [colour.note for colour in drone().colours]
    assert all(len(part.colours) <= MOST_NOTES for part in parts())


def test_parts_follow_in_time_and_hold_their_notes() -> None:
    found = parts()
    for before, after in pairwise(found):
        assert before.contour.span.end_quarters <= after.contour.span.start_quarters
    for part in found:
        for colour in part.colours:
            assert part.contour.span.holds(colour.at_quarters)
            placed = part.placed(colour.note)
            assert (placed.y < part.drone_y) == (colour.semitones > 0)


def test_each_interval_is_named() -> None:
    for part in parts():
        named = {
            part.names[colour.note].text for colour in part.colours if colour.note in part.names
        }
        assert named == {name_of(colour.semitones) for colour in part.colours}
        assert [words.text for words in part.string_names] == ["open D, ringing"]


def up_and_down() -> Part:
    """Seven notes up from the left edge and down again, over a ringing D."""
    frets = (2, 4, 5, 7, 9, 11, 12, 11, 9, 7)
    notes = [Struck(2 * i, 3, fret, 2) for i, fret in enumerate(frets)]
    return over_ringing_d(
        [*notes, Struck(0, 4, 0, 20, techniques=RING)], Metre(groups=(6,), unit=8)
    )


def over_ringing_d(notes: list[Struck], metre: Metre) -> Part:
    """Draw what is played over the open fourth string, in two bars."""
    music = make_passage(notes, SIX, [metre] * 2, "Over D", 90.0)
    colours = tuple(
        DroneColour(
            at_quarters=n.onset_quarters,
            semitones=(n.pitch or 0) - 50,
            name=colour_name((n.pitch or 0) - 50),
            note=n.index,
        )
        for n in music.notes
        if n.string != 4
    )
    ringing = replace(drone(), string=4, pitch=50, colours=colours)
    study = replace(plain_study(), passage=music, findings=())
    shot = shot_of(study, SceneName.THREAD)
    (part,) = thread_parts(study, voices_of(study, shot), ringing, layout_of(shot, WIDE))
    return part


def test_a_line_that_climbs_from_the_edge_has_all_its_names() -> None:
    part = up_and_down()
    assert [c.note for c in part.colours if c.note not in part.names] == []


def test_the_name_of_a_turning_point_stands_over_its_own_note() -> None:
    part = up_and_down()
    top = min(part.voice, key=lambda placed: placed.y)
    words = part.names[top.note.index]
    box = bounds_of(words)
    assert box is not None
    assert (box.left + box.right) / 2 == pytest.approx(top.middle_x, abs=2.0)
    assert box.bottom < top.y
    # any other name ends before its note, or starts at its end, or is no longer and stands over it
    for placed in part.voice:
        if placed is not top:
            beside = bounds_of(part.names[placed.note.index])
            assert beside is not None
            is_over = placed.x <= beside.left and beside.right <= placed.end_x
            assert is_over or beside.right <= placed.x or beside.left >= placed.end_x


def down_to_the_string() -> Part:
    """Long notes that fall past a ringing D: each is longer than its name."""
    frets = (9, 8, 6, 5, 3, 2)
    notes = [Struck(2 * i, 5, fret, 2) for i, fret in enumerate(frets)]
    return over_ringing_d(
        [*notes, Struck(0, 4, 0, 12, techniques=RING)], Metre(groups=(3,), unit=8)
    )


def test_a_short_name_near_the_string_stands_over_its_own_note() -> None:
    part = down_to_the_string()
    for colour in part.colours:
        if colour.semitones in (0, 1):
            box, placed = bounds_of(part.names[colour.note]), part.placed(colour.note)
            assert box is not None
            assert placed.x <= box.left < box.right <= placed.end_x
            assert box.bottom < placed.y


@pytest.mark.parametrize("look", [DARK, PAPER], ids=lambda look: look.name)
def test_a_critical_eye_finds_nothing_at_rest(look: Look) -> None:
    scene = thread_scene(ODD, shot_of(ODD, SceneName.THREAD), WIDE)
    assert faults_of(scene.at_rest(), look, page=WIDE) == ()


@pytest.mark.parametrize("share", [0.0, 0.25, 0.45, 0.7, 1.0])
def test_a_critical_eye_finds_nothing_while_it_plays(share: float) -> None:
    shot = shot_of(ODD, SceneName.THREAD, plays=[ODD.passage.span], lines=["Listen to the D."])
    scene = thread_scene(ODD, shot, WIDE)
    assert faults_of(scene.at(share * scene.length_seconds), DARK, page=WIDE) == ()


def test_names_come_with_their_notes() -> None:
    shot = shot_of(ODD, SceneName.THREAD, plays=[steps(6, 38)])
    scene = thread_scene(ODD, shot, WIDE)
    (play,) = shot.plays

    def words_at(quarters: Fraction) -> list[str]:
        return [s.words.text for s in words_seen(scene.at(play.seconds_at(quarters) + 0.1))]

    assert "fourth" not in words_at(Fraction(13, 4))
    assert "fourth" in words_at(Fraction(15, 4))


def test_the_part_that_sounds_is_seen() -> None:
    shot = shot_of(ODD, SceneName.THREAD, plays=[ODD.passage.span])
    pages = [[part.contour.span] for part in parts()]
    seen = visits(shot, pages)
    assert [visit.page for visit in seen] == list(range(len(pages)))
    assert seen[0].from_seconds == 0.0
    assert seen[-1].to_seconds == float("inf")
    (play,) = shot.plays
    for visit, (span,) in zip(seen[1:], pages[1:], strict=True):
        assert visit.from_seconds < play.seconds_at(span.start_quarters)


def test_a_still_shows_the_part_that_the_shot_plays() -> None:
    pages = [[part.contour.span] for part in parts()]
    assert len(pages) > 1
    for number, (span,) in enumerate(pages):
        still = shot_of(ODD, SceneName.THREAD, plays=[span]).as_still()
        assert [visit.page for visit in visits(still, pages)] == [number]


def test_a_still_of_what_plays_nothing_shows_the_part_of_its_finding() -> None:
    (found,) = ODD.of_kind(Kind.DRONE)
    pages = [[part.contour.span] for part in parts()]
    for number, (span,) in enumerate(pages):
        there = replace(found, finding=replace(found.finding, spans=(span,)))
        still = shot_of(ODD, SceneName.THREAD, findings=[there])
        assert [visit.page for visit in visits(still, pages)] == [number]
    assert [visit.page for visit in visits(shot_of(ODD, SceneName.THREAD), pages)] == [0]


def test_a_study_without_a_drone_is_refused() -> None:
    plain = plain_study()
    with pytest.raises(ValueError, match="kind `drone`"):
        thread_scene(plain, shot_of(plain, SceneName.THREAD), WIDE)


def test_a_drone_without_intervals_is_still_shown() -> None:
    (found,) = ODD.of_kind(Kind.DRONE)
    bare = replace(found.finding, what=replace(drone(), colours=()))
    study = replace(ODD, findings=(replace(found, finding=bare),))
    scene = thread_scene(study, shot_of(study, SceneName.THREAD), WIDE)
    assert faults_of(scene.at_rest(), DARK, page=WIDE) == ()


@pytest.mark.parametrize("page", [WIDE, TALL, SQUARE], ids=["wide", "tall", "square"])
def test_each_name_stands_nearest_to_its_own_note(page: Page) -> None:
    study = odd_study()
    shot = shot_of(study, SceneName.THREAD)
    (finding,) = study.of_kind(Kind.DRONE)
    assert isinstance(finding.finding.what, Drone)
    layout = layout_of(shot, page)
    for part in thread_parts(study, voices_of(study, shot), finding.finding.what, layout):
        for note, words in part.names.items():
            box = bounds_of(words)
            assert box is not None
            apart = {
                p.note.index: max(box.left - p.end_x, p.x - box.right, 0.0)
                + max(box.top - p.y, p.y - box.bottom, 0.0)
                for p in part.voice
            }
            assert apart[note] <= min(apart.values()) + 25.0


BELLS = bells_study()


def test_all_strings_that_ring_hold_still() -> None:
    """A second open string that rings on is no part of the line that moves past it."""
    voices = voices_of(BELLS, shot_of(BELLS, SceneName.THREAD))
    notes = BELLS.passage.notes
    ringing = [note.index for note in notes if note.string in BELL]
    assert voices.ringing_notes == frozenset(ringing)
    assert {voices.postures[note] for note in ringing} == {Posture.RINGS}
    assert voices.ringing_notes.isdisjoint(voices.lead)
    assert [drone.pitch for drone in voices.drones] == [50, 62, 64]


@pytest.mark.parametrize("page", [WIDE, TALL, SQUARE, PORTRAIT], ids=str)
@pytest.mark.parametrize(
    "name",
    [SceneName.PAGE, SceneName.CONTOUR, SceneName.STACK, SceneName.THREAD, SceneName.WHOLE],
    ids=str,
)
def test_a_critical_eye_finds_nothing_where_three_strings_ring(name: SceneName, page: Page) -> None:
    marks = scene_for(BELLS, shot_of(BELLS, name), page).at_rest()
    assert list(faults_of(marks, DARK, page=page)) == []


@pytest.mark.parametrize("page", [WIDE, TALL, SQUARE, PORTRAIT], ids=str)
def test_each_ringing_string_is_named_with_its_octave_where_letters_are_alike(page: Page) -> None:
    seen = words_seen(thread_scene(BELLS, shot_of(BELLS, SceneName.THREAD), page).at_rest())
    said = [one.words.text for one in seen if one.words.colour.role is Role.DRONE]
    long = {"open D3, ringing", "open D4, ringing", "open E, ringing"}
    assert set(said) in (long, {"D3", "D4", "E4"})


@pytest.mark.parametrize("page", [WIDE, TALL], ids=["wide", "tall"])
def test_a_voice_that_ends_on_the_lowest_open_string_stays_in_the_picture(page: Page) -> None:
    """Seen left over on the next part: it stood on the base line, below what is turned."""
    fall = ((3, 5), (4, 5), (4, 3), (5, 5), (5, 3), (6, 5), (6, 3), (6, 0))
    notes = [
        struck
        for bar in range(6)
        for struck in (
            Struck(16 * bar, 1, 0, 16, RING, 16),
            *(Struck(16 * bar + 2 * i, *place, 2) for i, place in enumerate(fall)),
        )
    ]
    music = make_passage(notes, SIX, [Metre(groups=(4,), unit=4)] * 6, "Down to it", 100.0)
    study = study_passage(music)
    shot = shot_of(study, SceneName.THREAD)
    voices, layout = voices_of(study, shot), layout_of(shot, page)
    assert voices.drone is not None
    lowest = 0
    for part in thread_parts(study, voices, voices.drone, layout):
        for placed in part.voice:
            pitch = music.notes[placed.note.index].pitch
            assert pitch is not None
            assert placed.y == pytest.approx(part.contour.heights.y(pitch))
            assert placed.y < layout.picture_above_note.bottom
            lowest += pitch == SIX.lowest_pitch
    assert lowest


def test_a_string_struck_before_a_part_is_seen_to_ring_on_in_it() -> None:
    """Else the fabric of a fall hangs from nothing, where the string was struck at the climb."""
    shot = shot_of(BELLS, SceneName.THREAD)
    voices, layout = voices_of(BELLS, shot), layout_of(shot, TALL)
    assert voices.drone is not None
    parts_seen = thread_parts(BELLS, voices, voices.drone, layout)
    assert any(not part.starts_here(placed) for part in parts_seen for placed in part.strokes)
    for part in parts_seen:
        drawn = {round(placed.y, 3) for placed in part.strokes}
        assert drawn == {round(part.contour.heights.y(one.pitch), 3) for one in voices.drones}
        for placed in part.strokes:
            box = around(b for b in map(bounds_of, part.marks_of(placed, LIT)) if b is not None)
            assert box is not None
            assert box.left >= part.contour.left - 6.0
