"""The clock scene: sets on a ring."""

from dataclasses import replace
from itertools import chain, combinations, pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.picture_studies import odd_study, plain_study, shot_of, weighed, wide_study
from tests.reference_tables import rows_of

from riffract.analysis.finding import Collection, Kind, Sonority
from riffract.analysis.spelling import spelled
from riffract.essay.shots import SceneName
from riffract.picture.bounds import Box, bounds_of
from riffract.picture.check import faults_of, words_seen
from riffract.picture.clock.column import entries_of
from riffract.picture.clock.face import (
    Face,
    Form,
    chord_marks,
    dot_marks,
    fin_marks,
    name_marks,
    runs,
    turn_between,
    turn_symmetry,
)
from riffract.picture.clock.joined import joined_marks
from riffract.picture.clock.scene import TURN_END_SECONDS, clock_scene
from riffract.picture.clock.strips import DOT_PX, strips_of
from riffract.picture.clock.subject import Subject, subject_of
from riffract.picture.clock.words import (
    form_label,
    grouped_names,
    occurrence_groups,
    prime_form_text,
    shape_words,
)
from riffract.picture.look import DARK, PAPER, Look
from riffract.picture.marks import Group, Role, Shape
from riffract.picture.scene import PORTRAIT, SQUARE, TALL, WIDE, Page
from riffract.picture.voices import voices_of
from riffract.weighing.study import Study, Verdict

ODD = odd_study()
FACE = Face(x=500, y=500, radius=200)
EVERY_SET = [frozenset(pc for pc in range(12) if mask >> pc & 1) for mask in range(4096)]
pc_sets = st.sampled_from(EVERY_SET)


def subject(study: Study, **changes: object) -> Subject:
    shot = replace(shot_of(study, SceneName.CLOCK), **changes)  # type: ignore[arg-type]
    return subject_of(study, shot, voices_of(study, shot))


def test_runs_hold_every_member_once_in_semitones() -> None:
    for pcs in EVERY_SET:
        found = runs(pcs)
        assert sorted(chain.from_iterable(found)) == sorted(pcs)
        for run in found:
            assert all((b - a) % 12 == 1 for a, b in pairwise(run))
            if len(run) < 12:
                assert (run[0] - 1) % 12 not in pcs
                assert (run[-1] + 1) % 12 not in pcs


def test_symmetric_collections_come_back_as_often_as_published() -> None:
    # Reference table of collections: a set has as many transpositions as its smallest turn.
    rows = rows_of("collections.csv")
    assert len(rows) > 10
    for row in rows:
        pcs = frozenset(int(pc) for pc in row["pitch_classes"].split())
        assert turn_symmetry(pcs) == int(row["distinct_transpositions"])


def test_a_turn_between_two_sets_takes_one_to_the_other() -> None:
    for pcs in EVERY_SET[1::7]:
        for n in range(12):
            turned = frozenset((pc + n) % 12 for pc in pcs)
            found = turn_between(pcs, turned)
            assert found is not None
            assert frozenset((pc + found) % 12 for pc in pcs) == turned
            assert abs(found) <= 6
            assert abs(found) <= turn_symmetry(pcs) / 2


def test_no_turn_is_found_where_there_is_none() -> None:
    assert turn_between({0, 4, 7}, {0, 3, 7}) is None


@pytest.mark.parametrize("side", ["inward", "outward"])
@given(pcs=pc_sets)
def test_fins_stand_on_their_side_of_the_ring(side: str, pcs: frozenset[int]) -> None:
    form = Form(pcs=pcs, side="inward" if side == "inward" else "outward", role=Role.FALL)
    for mark in fin_marks(FACE, form):
        if isinstance(mark, Shape) and mark.stroke is not None:
            for step in mark.path:
                x, y = step.x - FACE.x, step.y - FACE.y  # type: ignore[union-attr]
                reach = (x * x + y * y) ** 0.5 / FACE.radius
                assert reach <= 1.001 if side == "inward" else reach >= 0.999


@given(pc_sets, st.integers(-6, 6))
def test_turning_back_a_turned_set_gives_the_first_one(pcs: frozenset[int], turn: int) -> None:
    first = fin_marks(FACE, Form(pcs=pcs, side="inward", role=Role.FALL))
    turned_pcs = frozenset((pc + turn) % 12 for pc in pcs)
    form = Form(pcs=turned_pcs, side="inward", role=Role.FALL)
    back = fin_marks(FACE, form, turned=float(turn))

    def corners(marks: list[Shape | Group]) -> list[tuple[float, float]]:
        boxes = [box for box in map(bounds_of, marks) if box is not None]
        return sorted((round(box.left, 3), round(box.top, 3)) for box in boxes)

    assert corners(first) == corners(back)  # type: ignore[arg-type]


def box_of(mark: object) -> Box:
    box = bounds_of(mark)  # type: ignore[arg-type]
    assert box is not None
    return box


@pytest.mark.parametrize(
    ("inward", "outward"),
    [
        ({0, 1, 4, 5, 8, 9}, {3, 4, 7, 8, 11, 0}),
        ({0, 2, 4, 6, 8, 10}, {1, 3, 5, 7, 9, 11}),
        ({0, 2, 4, 5, 7, 9, 11}, {0, 2, 4, 7, 9}),
        ({0, 1, 3, 4, 6, 7, 9, 10}, {1, 2, 4, 5, 7, 8, 10, 11}),
        ({0, 1, 2, 3, 4}, {6, 7, 8, 9, 10}),
    ],
    ids=["hexatonic", "whole-tone", "diatonic and pentatonic", "octatonic", "clusters"],
)
def test_names_keep_clear_of_each_other_and_of_the_dots(
    inward: set[int], outward: set[int]
) -> None:
    forms = [
        Form(pcs=frozenset(inward), side="inward", role=Role.FALL),
        Form(pcs=frozenset(outward), side="outward", role=Role.RISE),
    ]
    names = name_marks(FACE, forms, names=spelled(range(12)), size=30.0, strong=range(12))
    boxes = [box_of(words) for words in names]
    for i, box in enumerate(boxes):
        assert not any(box.meets(other) for other in boxes[i + 1 :])
    dots = dot_marks(FACE, forms, anchor_pc=None, used=range(12))
    for dot in dots:
        assert not any(box_of(dot).meets(box) for box in boxes)


@pytest.mark.parametrize("radius", [150.0, 200.0, 260.0])
def test_names_keep_clear_of_the_ring_around_the_note_that_sounds(radius: float) -> None:
    face = Face(x=500, y=500, radius=radius)
    sharps = dict.fromkeys(range(12), "G♯")
    for form in (frozenset({0, 2, 4, 6, 8, 10}), frozenset(range(5))):
        forms = [Form(pcs=form, side="inward", role=Role.QUIET)]
        names = name_marks(face, forms, names=sharps, size=40.0, strong=range(12))
        for pc, words in enumerate(names):
            box, (x, y) = box_of(words), face.at(pc)
            across = max(box.left - x, x - box.right, 0.0)
            along = max(box.top - y, y - box.bottom, 0.0)
            assert (across**2 + along**2) ** 0.5 >= 22.0  # the ring's middle line lies 24 px out


@pytest.mark.parametrize("page", [WIDE, TALL, SQUARE], ids=["wide", "tall", "square"])
def test_the_lines_below_the_column_explain_the_ring_and_what_moves_on_it(page: Page) -> None:
    still = clock_scene(ODD, shot_of(ODD, SceneName.CLOCK), page)
    played = clock_scene(ODD, shot_of(ODD, SceneName.CLOCK, plays=[ODD.passage.span]), page)
    always = {"twelve notes, neighbours a semitone apart", "lowest string"}
    moving = {"sounds now", "the last three notes"}
    said = [{seen.words.text for seen in words_seen(scene.at_rest())} for scene in (still, played)]
    if page is SQUARE:  # there the column is too narrow
        assert not (always | moving) & (said[0] | said[1])
        return
    assert always <= said[0]
    assert not moving & said[0]
    assert always | moving <= said[1]
    assert faults_of(played.at_rest(), DARK, page=page) == ()


def test_both_sets_are_told_before_the_ring_is_explained() -> None:
    """A portrait page with a caption has room for one or the other."""
    shot = shot_of(ODD, SceneName.CLOCK, plays=[ODD.passage.span], lines=["Hear both of them."])
    marks = clock_scene(ODD, shot, PORTRAIT).at(4.0)
    said = " ".join(seen.words.text for seen in words_seen(marks))
    assert "Rising: four close pairs" in said
    assert "Falling: the same shape" in said


def test_each_kind_of_membership_has_a_shape_of_its_own() -> None:
    forms = [
        Form(pcs=frozenset({0, 1}), side="inward", role=Role.FALL),
        Form(pcs=frozenset({1, 2}), side="outward", role=Role.RISE),
    ]
    used = {0, 1, 2, 3, 4, 5}
    marks = dot_marks(FACE, forms, anchor_pc=4, used=used, strays={5})

    def drawn(pc: int) -> list[tuple[object, object, int]]:
        x, y = FACE.at(pc)
        return [
            (m.fill is not None and m.fill.role, m.stroke and m.stroke.colour.role, len(m.path))
            for m in marks
            if isinstance(m, Shape) and abs(box_of(m).left + box_of(m).right - 2 * x) < 0.01
            if abs(box_of(m).top + box_of(m).bottom - 2 * y) < 0.01
        ]

    seen = [str(drawn(pc)) for pc in (0, 1, 2, 3, 4, 5, 6)]
    assert len(set(seen)) == 7


def test_a_chord_is_joined_note_to_note() -> None:
    assert chord_marks(FACE, (3,), width=2.0) == []
    (two,) = chord_marks(FACE, (3, 4), width=2.0)
    (three,) = chord_marks(FACE, (0, 1, 6, 0), width=2.0)
    assert isinstance(two, Shape)
    assert isinstance(three, Shape)
    assert len(two.path) == 2
    assert len(three.path) == 4


def test_the_falling_set_hangs_inward_and_the_rising_one_stands_outward() -> None:
    falling, rising = subject(ODD, findings=ODD.of_kind(Kind.COLLECTION_CHANGE)).collections
    assert (falling.found.form, falling.form.side, falling.form.role) == (
        "OCT0,1",
        "inward",
        Role.FALL,
    )
    assert (rising.found.form, rising.form.side, rising.form.role) == (
        "OCT1,2",
        "outward",
        Role.RISE,
    )


def test_sets_without_a_direction_are_told_apart_without_colour() -> None:
    whole = [ODD.passage.span]
    first, second = ODD.of_kind(Kind.COLLECTION)
    assert isinstance(first.finding.what, Collection)
    assert isinstance(second.finding.what, Collection)
    study = replace(
        ODD,
        findings=(
            weighed(Kind.COLLECTION, first.finding.what, whole),
            weighed(Kind.COLLECTION, second.finding.what, whole),
        ),
    )
    one, other = subject(study).collections
    assert (one.form.side, other.form.side) == ("inward", "outward")
    assert one.form.role is other.form.role is Role.QUIET


def test_the_shots_own_finding_comes_first() -> None:
    _, rising = ODD.of_kind(Kind.COLLECTION)
    (change,) = ODD.of_kind(Kind.COLLECTION_CHANGE)
    assert {c.found.form for c in subject(ODD, findings=(rising,)).collections} == {
        "OCT0,1",
        "OCT1,2",
    }
    assert len(subject(ODD, findings=(change,)).collections) == 2


def test_the_set_heard_first_comes_first_and_the_other_turns_out_of_it() -> None:
    # The odd passage opens with a climb, so the rising set is where the turn starts.
    rising, falling = entries_of(subject(ODD))[:2]
    assert rising.heading == "Rising: four close pairs"
    assert falling.words.startswith("OCT₀₁, one step down.")


@pytest.mark.parametrize("page", [WIDE, TALL, SQUARE], ids=["wide", "tall", "square"])
@pytest.mark.parametrize("turn", [1, 2, 3, 4, 5])
def test_the_words_of_a_turn_stand_clear_whichever_way_it_goes(turn: int, page: Page) -> None:
    whole = [ODD.passage.span]
    scale = (0, 2, 4, 5, 7, 9, 11)
    given = [one.finding.what for one in ODD.of_kind(Kind.COLLECTION)]
    for turns in ((0, turn), (turn, 0)):
        sets = [
            replace(what, pcs=tuple((pc + by) % 12 for pc in scale), form=f"DIA{by}")
            for what, by in zip(given, turns, strict=True)
            if isinstance(what, Collection)
        ]
        study = replace(ODD, findings=tuple(weighed(Kind.COLLECTION, what, whole) for what in sets))
        marks = clock_scene(study, shot_of(study, SceneName.CLOCK), page).at_rest()
        assert faults_of(marks, DARK, page=page) == ()


def test_strays_are_diamonds_only_where_one_set_is_shown() -> None:
    first, _ = ODD.of_kind(Kind.COLLECTION)
    assert subject(ODD).strays == frozenset()
    alone = replace(ODD, findings=(first,))
    assert subject(alone).strays == frozenset()


def test_the_column_says_what_the_ring_shows() -> None:
    changing = subject(ODD, findings=ODD.of_kind(Kind.COLLECTION_CHANGE))
    falling, rising, chord = entries_of(changing)
    assert falling.heading == "Falling: four close pairs"
    assert falling.words == "Turned by a quarter, it looks the same. OCT₀₁."
    assert rising.heading == "Rising: the same shape"
    assert rising.words.startswith("OCT₁₂, one step up. Only D♭, E, G and B♭ belong to both")
    assert chord.heading == "The trichord (013)"
    assert chord.names == "A G G♭"


def test_without_findings_the_ring_only_tells_which_notes_are_used() -> None:
    (entry,) = entries_of(subject(wide_study()))
    assert entry.heading == "All twelve notes"
    assert entry.words == ""


@pytest.mark.parametrize(
    ("pcs", "words"),
    [
        ({0, 1, 4, 5, 8, 9}, "three close pairs"),
        ({0, 2, 4, 6, 8, 10}, "six notes, evenly spread"),
        ({0, 2, 4, 7, 9}, "five notes, none side by side"),
        ({0, 1, 2, 6, 7, 8}, "two runs of three"),
        (set(range(12)), "all twelve notes"),
        ({0, 2, 4, 5, 7, 9, 11}, "family"),
    ],
)
def test_shapes_are_said_in_plain_words(pcs: set[int], words: str) -> None:
    assert shape_words(pcs, "family") == words


def test_signs_of_the_trade_are_written_as_such() -> None:
    assert form_label("HEX3,4") == "HEX₃₄"
    assert form_label("OCT10,11") == "OCT₁₀, ₁₁"
    assert prime_form_text((0, 1, 6)) == "(016)"
    assert grouped_names({11, 0, 4}, spelled(range(12))) == "E · B C"


def test_occurrences_are_sorted_by_how_they_relate() -> None:
    sonority = Sonority(
        prime_form=(0, 1, 6),
        forte="3-5",
        how="struck",
        occurrences=(ODD.passage.span,) * 4,
        occurrence_pcs=((0, 1, 6), (6, 0, 1), (2, 3, 8), (0, 5, 6)),
        share=0.1,
        is_first_sound=True,
    )
    assert occurrence_groups(sonority) == (
        ("The same notes, twice", (0, 1, 6), (0, 1)),
        ("Moved, once", (2, 3, 8), (2,)),
        ("Mirrored, once", (0, 5, 6), (3,)),
    )


@pytest.mark.parametrize("look", [DARK, PAPER], ids=lambda look: look.name)
@pytest.mark.parametrize("study", [ODD, plain_study(), wide_study()], ids=["odd", "plain", "wide"])
def test_a_critical_eye_finds_nothing_at_rest(study: Study, look: Look) -> None:
    scene = clock_scene(study, shot_of(study, SceneName.CLOCK), WIDE)
    assert faults_of(scene.at_rest(), look, page=WIDE) == ()


def test_a_shot_about_a_chord_shows_where_it_is_heard() -> None:
    shot = shot_of(
        ODD,
        SceneName.CLOCK,
        plays=[ODD.passage.span],
        findings=ODD.of_kind(Kind.SONORITY),
        lines=["Listen for three notes."],
    )
    scene = clock_scene(ODD, shot, WIDE)
    words = [seen.words.text for seen in words_seen(scene.at(4.0))]
    assert "The same notes, twice" in words
    assert "Mirrored, once" in words
    assert scene.cues == ()
    for seconds in (0.0, 2.0, 5.0, scene.length_seconds):
        assert faults_of(scene.at(seconds), DARK, page=WIDE) == ()


@pytest.mark.parametrize("height", [110.0, 170.0, 238.0, 386.0, 500.0, 900.0])
def test_strips_stand_clear_of_one_another_and_within_their_room(height: float) -> None:
    room = Box(left=60.0, top=400.0, right=1020.0, bottom=400.0 + height)
    shot = shot_of(ODD, SceneName.CLOCK, findings=ODD.of_kind(Kind.SONORITY))
    voices = voices_of(ODD, shot)
    strips = strips_of(ODD, voices, subject_of(ODD, shot, voices), room)
    ends = [max(strip.dot(span)[1] for span in strip.spans) + DOT_PX for strip in strips]
    assert all(end <= below.top for end, below in zip(ends, strips[1:], strict=False))
    assert strips[0].top >= room.top
    assert ends[-1] <= room.bottom


def test_the_second_set_turns_out_of_the_first_before_anything_is_joined() -> None:
    change = ODD.of_kind(Kind.COLLECTION_CHANGE)
    shot = shot_of(ODD, SceneName.CLOCK, plays=[ODD.passage.span], findings=change)
    scene = clock_scene(ODD, shot, WIDE)
    before, during = scene.at(0.9), scene.at(1.4)
    after = scene.at(TURN_END_SECONDS + 0.5)
    assert len(during) > len(before)
    words = [seen.words.text for seen in words_seen(after)]
    assert "one step up" in words
    assert "one step up" not in [seen.words.text for seen in words_seen(during)]


def test_a_doubtful_set_is_only_shown_when_asked_for() -> None:
    first, _ = ODD.of_kind(Kind.COLLECTION)
    weak = replace(first, verdict=Verdict.NOT_BEYOND_CHANCE)
    study = replace(ODD, findings=(weak,))
    assert subject(study).collections == ()
    assert len(subject(study, findings=(weak,)).collections) == 1


def test_a_shot_about_a_sound_keeps_its_shape_and_lets_it_rest_between() -> None:
    (about,) = ODD.of_kind(Kind.SONORITY)
    what = about.finding.what
    assert isinstance(what, Sonority)
    shot = replace(shot_of(ODD, SceneName.CLOCK, plays=[ODD.passage.span]), findings=(about,))
    voices = voices_of(ODD, shot)
    joined = joined_marks(ODD, shot, voices, FACE, subject_of(ODD, shot, voices))
    shapes = {tuple(chord_marks(FACE, pcs, width=4.0)[0].path) for pcs in what.occurrence_pcs}  # type: ignore[union-attr]
    (play,) = shot.plays
    for attack in voices.attacks:
        onset = attack.onset_quarters
        lines = [m for m in joined(play.seconds_at(onset) + 0.01) if isinstance(m, Shape)]
        is_now = any(s.start_quarters <= onset < s.end_quarters for s in what.occurrences)
        line = next(m for m in lines if m.stroke and len(m.path) > 2)
        assert tuple(line.path) in shapes
        assert line.stroke is not None
        assert line.stroke.colour.role is (Role.TEXT if is_now else Role.QUIET)


@pytest.mark.parametrize("radius", [60.0, 80.0, 100.0, 160.0, 300.0])
@pytest.mark.parametrize(
    "pcs", [{0, 2, 4, 6, 8, 10}, {1, 3, 5, 7, 9, 11}, {0, 1, 3, 4, 6, 7, 9, 10}]
)
def test_no_name_stands_over_another_on_a_small_clock(pcs: set[int], radius: float) -> None:
    """Names step aside for fins, and did so onto their neighbours on a page with a long claim."""
    form = Form(pcs=frozenset(pcs), side="outward", role=Role.RISE)
    names = dict(enumerate(["C", "C♯", "D", "D♯", "E", "F", "F♯", "G", "G♯", "A", "B♭", "B"]))
    face = Face(x=500.0, y=500.0, radius=radius)
    written = name_marks(face, [form], names=names, size=34.0, strong=pcs)
    boxes = [box for box in map(bounds_of, written) if box is not None]
    for one, other in combinations(boxes, 2):
        assert not one.meets(other)
