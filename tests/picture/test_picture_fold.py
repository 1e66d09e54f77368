"""The fold scene: mirrors that stand, lie and bend."""

import re
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise
from typing import Final

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.making import Spelled, passage
from tests.picture_studies import (
    bells_study,
    mirrored_study,
    odd_study,
    palindrome_study,
    plain_study,
    shot_of,
    steps,
    weighed,
    wide_study,
)

from riffract.analysis.finding import Kind, Mirror, MirrorOf, MirrorPair
from riffract.essay.shots import SceneName, Shot
from riffract.music import Span
from riffract.picture.bent_mirror import bent_mirror, leaning, mirror_x, smooth_path
from riffract.picture.bounds import bounds_of, path_bounds
from riffract.picture.check import faults_of, words_seen
from riffract.picture.fold.counts import counted_pairs
from riffract.picture.fold.drawing import late_notes, met_marks, pitch_bars
from riffract.picture.fold.plan import FoldPlan, plan_fold
from riffract.picture.fold.scene import LEGEND_PX, LENGTHS_PX, fold_scene, fold_times
from riffract.picture.layout import layout_of
from riffract.picture.look import DARK, PAPER, Look
from riffract.picture.mapped import Mapping, mapped_shape
from riffract.picture.marks import (
    Colour,
    CurveTo,
    Group,
    MoveTo,
    Role,
    Shape,
    rectangle,
)
from riffract.picture.motion import FOLD_SECONDS, moved_share, smooth
from riffract.picture.scene import PORTRAIT, SQUARE, TALL, WIDE, Page
from riffract.picture.string_mark import Posture
from riffract.picture.voices import voices_of
from riffract.weighing.study import Study

ODD, PALINDROME = odd_study(), palindrome_study()
KINDS: tuple[MirrorOf, ...] = (
    "rhythm",
    "retrograde",
    "inversion",
    "retrograde_inversion",
    "weight",
    "gesture",
)
kinds = pytest.mark.parametrize("of", KINDS)
COUNTED: Final = re.compile(r"[0-9]+ (agree|without partner|.* off|off in .*)")


def plan_of(study: Study, shot: Shot | None = None) -> FoldPlan:
    asked = shot or shot_of(study, SceneName.FOLD)
    layout = layout_of(asked, WIDE)
    mirror = study.of_kind(Kind.MIRROR)[0].finding.what
    assert isinstance(mirror, Mirror)
    voices = voices_of(study, asked)
    base_y = layout.picture.bottom - LENGTHS_PX
    return plan_fold(study, voices, mirror, layout.picture, base_y=base_y, beside_px=LEGEND_PX)


@given(st.floats(-1.0, 2.0), st.floats(-1.0, 2.0))
def test_movement_eases_in_and_out_and_never_goes_back(one: float, other: float) -> None:
    low, high = sorted((one, other))
    assert 0.0 <= smooth(low) <= smooth(high) <= 1.0
    assert smooth(0.5 + one) + smooth(0.5 - one) == pytest.approx(1.0)


def test_movement_starts_and_ends_at_rest() -> None:
    step = 1e-4
    for end in (0.0, 1.0):
        assert abs(smooth(end + step) - smooth(end - step)) / step < 1e-6
    assert moved_share(2.4, 2.0, 0.8) == pytest.approx(0.5)


@given(st.floats(-300, 300), st.floats(-300, 300))
def test_mirroring_twice_changes_nothing(axis: float, x: float) -> None:
    over = Mapping(x_scale=-1.0, x_shift=2 * axis)
    twice = over.point(*over.point(x, 7.0))
    assert twice == pytest.approx((x, 7.0), abs=1e-6)


def test_a_mirrored_shape_keeps_its_stroke_and_colour() -> None:
    shape = Shape(path=rectangle(10, 10, 20, 30), fill=Colour(Role.FALL))
    over = mapped_shape(shape, Mapping(x_scale=-1.0, x_shift=100.0))
    box = bounds_of(over)
    assert box is not None
    assert (box.left, box.right, box.top) == (70, 90, 10)
    assert over.fill == shape.fill


def test_an_even_mirror_lands_on_its_partners() -> None:
    # A palindrome: each image must cover its partner exactly, edge on the far side.
    plan = plan_of(PALINDROME)
    assert not plan.draws_in
    for note in plan.notes:
        if note.partner is not None:
            assert note.last.onset_x == pytest.approx(note.partner.end_x)
            assert note.last.end_x == pytest.approx(note.partner.x)
            assert note.last.y == pytest.approx(note.partner.y)
            assert note.agrees
    assert late_notes(plan) == []
    assert plan.bent == ()


def test_the_note_on_the_axis_is_its_own_partner() -> None:
    plan = plan_of(PALINDROME)
    (top,) = [note for note in plan.notes if note.partner is None]
    assert plan.is_on_axis(top.placed)
    words = [
        s.words.text
        for s in words_seen(fold_scene(PALINDROME, long_shot(PALINDROME), WIDE).at_rest())
    ]
    assert "8 agree" in words
    assert not any("without partner" in text for text in words)


def long_shot(study: Study) -> Shot:
    return replace(shot_of(study, SceneName.FOLD), length_seconds=12.0)


def test_a_bent_mirror_brings_partners_together() -> None:
    plan = plan_of(ODD)
    assert plan.draws_in
    for note in plan.notes:
        if note.partner is not None:
            assert note.last.onset_x == pytest.approx(note.partner.end_x)
            assert note.last.end_x == pytest.approx(note.partner.x)


def test_images_never_cross_one_another_on_their_way() -> None:
    plan = plan_of(ODD)
    for stage in range(2):
        for share in (0.0, 0.25, 0.5, 0.75, 1.0):
            seats = [n.seats[stage].towards(n.seats[stage + 1], share) for n in plan.notes]
            middles = [seat.middle_x for seat in seats]
            ascending = all(b >= a - 1e-6 for a, b in pairwise(middles))
            descending = all(b <= a + 1e-6 for a, b in pairwise(middles))
            assert ascending or descending


def test_the_mirror_runs_through_the_midpoints() -> None:
    # The design: no midpoint lies more than one step from the line. A step is a sixteenth.
    plan = plan_of(ODD)
    step_px = plan.contour.px_per_quarter / 4
    for note in plan.notes:
        if note.partner is not None:
            x = (note.placed.middle_x + note.partner.middle_x) / 2
            y = (note.placed.y + note.partner.y) / 2
            assert abs(mirror_x(plan.bent, y) - x) <= step_px + 1e-6


def test_a_mirror_stands_on_its_axis_on_the_near_side() -> None:
    plan = plan_of(ODD)
    assert plan.bent[-1][0] == pytest.approx(plan.axis_x)
    assert plan.bent[0][0] < plan.axis_x


@given(
    st.lists(st.floats(0, 500), min_size=3, max_size=12, unique=True),
    st.booleans(),
)
def test_a_mirror_bends_smoothly_between_its_points(xs: list[float], peaks: bool) -> None:
    middles = [(x, 600.0 - 40.0 * i) for i, x in enumerate(xs)]
    points = bent_mirror(middles[::-1] if peaks else middles, 300.0, 60.0, 700.0)
    assert [y for _, y in points] == sorted(y for _, y in points)
    assert (points[0][1], points[-1][1]) == (60.0, 700.0)
    box = path_bounds(smooth_path(points))
    assert box is not None
    left, right = min(x for x, _ in points), max(x for x, _ in points)
    assert left - 1e-6 <= box.left
    assert box.right <= right + 1e-6


def test_midpoints_that_wander_make_no_mirror() -> None:
    wandering = [(10.0, 100.0), (20.0, 300.0), (30.0, 120.0), (40.0, 280.0), (50.0, 110.0)]
    assert bent_mirror(wandering, 0.0, 0.0, 400.0) == ()
    assert bent_mirror([(0.0, 1.0), (1.0, 2.0)], 0.0, 0.0, 10.0) == ()


def test_leaning_goes_from_upright_to_bent() -> None:
    bent = ((10.0, 0.0), (50.0, 100.0))
    assert leaning(bent, 50.0, 0.0) == ((50.0, 0.0), (50.0, 100.0))
    assert leaning(bent, 50.0, 1.0) == bent
    first, *rest = smooth_path(bent)
    assert isinstance(first, MoveTo)
    assert all(isinstance(step, CurveTo) for step in rest)


def test_misses_are_marked_as_tall_as_they_are() -> None:
    plan = plan_of(ODD)
    missed = [n for n in plan.notes if n.partner is not None and not n.agrees]
    bars = pitch_bars(plan)
    assert len(bars) == len(missed)
    for note in missed:
        assert note.partner is not None
        away = plan.contour.heights.px_per_semitone * note.semitones_off
        assert note.last.y - note.partner.y == pytest.approx(away)


def test_notes_without_a_partner_leave_an_empty_cell() -> None:
    plan = plan_of(ODD)
    alone = [n for n in plan.notes if n.partner is None]
    cells = [
        mark
        for mark in met_marks(plan)
        if isinstance(mark, Shape) and mark.stroke is not None and mark.stroke.dash
    ]
    assert alone
    assert len(cells) == len(alone)


@kinds
def test_what_is_told_of_a_fold_is_what_it_shows_without_terms_or_numbers_of_chance(
    of: MirrorOf,
) -> None:
    study = mirrored_study(of)
    told = fold_scene(study, shot_of(study, SceneName.FOLD), WIDE).description
    plan = plan_of(study)
    assert {"upright": "A mirror stands at bar", "level": "level", "both": "half around"}[
        plan.stands
    ] in told
    assert all(count in told for count in counted_pairs(plan))
    finding = study.of_kind(Kind.MIRROR)[0].finding
    assert finding.detail not in told
    assert told.endswith(".")


def test_an_inversion_lies_level_and_keeps_its_order() -> None:
    plan = plan_of(mirrored_study("inversion"))
    assert plan.stands == "level"
    for note in plan.notes:
        assert note.seats[1].y - plan.axis_y == pytest.approx(plan.axis_y - note.placed.y)
        assert note.seats[1].y_scale == -1.0
        assert note.partner is not None
        assert note.last.onset_x == pytest.approx(note.partner.x)
        assert note.last.y == pytest.approx(note.partner.y)


def test_a_line_turned_half_around_is_mirrored_both_ways() -> None:
    plan = plan_of(mirrored_study("retrograde_inversion"))
    assert plan.stands == "both"
    for note in plan.notes:
        assert note.partner is not None
        assert note.last.onset_x == pytest.approx(note.partner.end_x)
        assert note.last.y == pytest.approx(note.partner.y)


@pytest.mark.parametrize("of", ["rhythm", "weight"])
def test_where_pitch_is_no_matter_all_notes_lie_level(of: MirrorOf) -> None:
    plan = plan_of(mirrored_study(of))
    assert len({note.placed.y for note in plan.notes} | {p.y for p in plan.others}) == 1
    assert all(note.agrees for note in plan.notes if note.partner is not None)
    assert pitch_bars(plan) == []


@kinds
@pytest.mark.parametrize("look", [DARK, PAPER], ids=lambda look: look.name)
def test_a_critical_eye_finds_nothing_when_it_has_moved(of: MirrorOf, look: Look) -> None:
    study = mirrored_study(of)
    scene = fold_scene(study, long_shot(study), WIDE)
    assert faults_of(scene.at_rest(), look, page=WIDE) == ()


@kinds
@pytest.mark.parametrize("seconds", [0.0, 1.3, 1.9, 2.6, 3.3, 4.0, 4.6])
def test_a_critical_eye_finds_nothing_while_it_moves(of: MirrorOf, seconds: float) -> None:
    study = mirrored_study(of)
    scene = fold_scene(study, long_shot(study), WIDE)
    assert faults_of(scene.at(seconds), DARK, page=WIDE) == ()


def test_the_image_is_named_and_its_overshoot_measured_before_the_mirror_bends() -> None:
    scene = fold_scene(ODD, long_shot(ODD), WIDE)
    folded = [s.words.text for s in words_seen(scene.at(2.5))]
    assert {"straight mirror", "image of the fall", "9 eighths past the end"} <= set(folded)
    bent = [s.words.text for s in words_seen(scene.at_rest())]
    assert "bent mirror" in bent
    assert not {"straight mirror", "image of the fall", "9 eighths past the end"} & set(bent)


def test_lengths_are_counted_in_one_unit() -> None:
    words = [s.words.text for s in words_seen(fold_scene(ODD, long_shot(ODD), WIDE).at(0.0))]
    assert "12 eighths down" in words
    assert "3 eighths up" in words


def test_movements_follow_what_is_said_and_are_over_in_time() -> None:
    lines = ["Hear the fall.", "Fold it over.", "Let the mirror bend."]
    shot = shot_of(ODD, SceneName.FOLD, plays=[steps(6, 38)], lines=lines)
    times = fold_times(shot, plan_of(ODD))
    assert times.fold_start == pytest.approx(shot.lines[1].start_seconds)
    assert times.draw_start == pytest.approx(shot.lines[2].start_seconds)
    short = replace(shot, length_seconds=6.0)
    hurried = fold_times(short, plan_of(ODD))
    assert hurried.end <= 6.0
    assert hurried.draw_start >= hurried.fold_start + FOLD_SECONDS


def test_a_study_without_a_mirror_is_refused() -> None:
    wide = wide_study()
    with pytest.raises(ValueError, match="kind `mirror`"):
        fold_scene(wide, shot_of(wide, SceneName.FOLD), WIDE)


def test_a_mirror_without_pairs_is_still_shown() -> None:
    plain = plain_study()
    (found,) = PALINDROME.of_kind(Kind.MIRROR)
    mirror = found.finding.what
    assert isinstance(mirror, Mirror)
    bare = replace(
        mirror, pairs=(), left=steps(0, 16), right=steps(16, 32), axis_quarters=Fraction(4)
    )
    finding = replace(found, finding=replace(found.finding, what=bare))
    study = replace(plain, findings=(*plain.findings, finding))
    scene = fold_scene(study, long_shot(study), WIDE)
    assert faults_of(scene.at_rest(), DARK, page=WIDE) == ()


def uneven_study() -> Study:
    """Five notes, two of unequal values, and the five in reverse order: only the turn is off."""
    fall: list[Spelled] = [(p, Fraction(1, 2)) for p in (64, 62, 60, 59, 57)]
    music = passage([*fall, (52, 1), (53, 2), *fall[::-1]])
    pairs = [(5, 6), (4, 7), (3, 8), (2, 9), (1, 10), (0, 11)]
    mirror = Mirror(
        of="retrograde",
        voice="the moving voice",
        axis_quarters=Fraction(4),
        axis_pitch=None,
        core_quarters=Fraction(0),
        reach_quarters=Fraction(4),
        left=Span(Fraction(0), Fraction(7, 2)),
        right=Span(Fraction(7, 2), Fraction(8)),
        limb_ratio=1.0,
        scale=1.0,
        deviations=(),
        pairs=tuple(
            MirrorPair(left=a, right=b, semitones_off=1 if a == 5 else 0) for a, b in pairs
        ),
    )
    findings = (weighed(Kind.MIRROR, mirror, [music.span], range(12)),)
    return Study(passage=music, findings=findings, ignored=(), seed=1)


def test_the_mirror_stands_where_most_partners_meet() -> None:
    """What is told in the claim as one departure is no delay of all that agrees."""
    plan = plan_of(uneven_study())
    assert late_notes(plan) == []
    assert sum(note.agrees for note in plan.notes) == 5


def test_what_comes_back_at_its_own_pace_is_not_told_as_late() -> None:
    """A slow climb and a quick fall, backwards: as long, and yet each note at another moment."""
    study = bells_study()
    uneven = next(
        found
        for found in study.of_kind(Kind.MIRROR)
        if isinstance(found.finding.what, Mirror) and len(found.finding.what.deviations) == 2
    )
    plan = plan_of(replace(study, findings=(uneven,)))
    assert plan.draws_in
    assert plan.bent == ()
    assert counted_pairs(plan) == ["22 agree", "2 off in pitch"]


def test_a_string_that_rings_on_lies_over_no_other_images() -> None:
    study = bells_study()
    for weighed_mirror in study.of_kind(Kind.MIRROR):
        plan = plan_of(replace(study, findings=(weighed_mirror,)))
        for note in plan.notes:
            if note.placed.posture is Posture.RINGS:
                first = note.seats[1]
                assert min(first.onset_x, first.end_x) >= plan.axis_x - note.placed.length


def test_a_still_shows_what_the_movements_come_to_however_short_its_shot() -> None:
    for study in (ODD, uneven_study()):
        long = fold_scene(study, shot_of(study, SceneName.FOLD, "One."), WIDE)
        shot = replace(shot_of(study, SceneName.FOLD, "One."), length_seconds=0.5)
        short = fold_scene(study, shot, WIDE)
        assert short.at_rest() == short.at(60.0)
        assert short.at_rest() == long.at(60.0)


def test_passes_in_reverse_order_are_shown_as_passes() -> None:
    """Four bars, A B B A: two pairs, and no note within a bar is looked at."""
    bars = {"A": (45, 48, 52, 50), "B": (47, 43, 55, 53)}
    music = passage([(pitch, 1) for bar in "ABBA" for pitch in bars[bar]])
    mirror = Mirror(
        of="passes",
        voice="riffs",
        axis_quarters=Fraction(8),
        axis_pitch=None,
        core_quarters=Fraction(8),
        reach_quarters=Fraction(8),
        left=Span(Fraction(0), Fraction(8)),
        right=Span(Fraction(8), Fraction(16)),
        limb_ratio=1.0,
        scale=1.0,
        deviations=(),
        pairs=(
            MirrorPair(left=4, right=8, semitones_off=0),
            MirrorPair(left=0, right=12, semitones_off=0),
        ),
    )
    findings = (weighed(Kind.MIRROR, mirror, [music.span], range(16)),)
    study = Study(passage=music, findings=findings, ignored=(), seed=1)
    plan = plan_of(study)
    bar_px = 4 * plan.contour.px_per_quarter
    assert [n.placed.length for n in plan.notes] == pytest.approx([bar_px, bar_px])
    assert [p.length for p in plan.others] == pytest.approx([bar_px, bar_px])
    scene = fold_scene(study, long_shot(study), WIDE)
    said = [s.words.text for s in words_seen(scene.at_rest())]
    assert "2 agree" in said
    assert not any("without partner" in text for text in said)


@pytest.mark.parametrize("page", [TALL, SQUARE, PORTRAIT], ids=["tall", "square", "portrait"])
@pytest.mark.parametrize("of", ["gesture", "retrograde", "inversion", "rhythm"])
def test_on_a_narrow_page_the_limbs_have_its_width_and_counts_stand_below(
    of: MirrorOf, page: Page
) -> None:
    study = mirrored_study(of)
    shot = long_shot(study)
    scene = fold_scene(study, shot, page)
    marks = scene.at_rest()
    assert faults_of(marks, DARK, page=page) == ()
    count = next(s for s in words_seen(marks) if s.words.text.endswith(" agree"))
    layout = layout_of(shot, page)
    assert count.words.y > layout.picture.bottom - 2.5 * 68.0
    xs = [x for x, _ in scene.places(0.0).values()]
    if of != "gesture":  # its image, before the mirror bends, reaches far beyond
        assert max(xs) > layout.left + 0.75 * layout.picture.width


@pytest.mark.parametrize("page", [TALL, SQUARE, PORTRAIT], ids=["tall", "square", "portrait"])
@pytest.mark.parametrize(
    "study", [ODD, PALINDROME, *map(mirrored_study, KINDS)], ids=["odd", "palindrome", *KINDS]
)
def test_no_count_stands_alone_in_its_line(study: Study, page: Page) -> None:
    marks = fold_scene(study, long_shot(study), page).at_rest()
    told = [s.words for s in words_seen(marks) if COUNTED.fullmatch(s.words.text)]
    lines = [sum(other.y == one.y for other in told) for one in told]
    assert len(set(lines)) == 1


def test_what_is_told_of_the_straight_mirror_leaves_by_and_by() -> None:
    """As the mirror begins to bend, the bars of the delays fade; no picture differs at a stroke."""
    shot = long_shot(ODD)
    times = fold_times(shot, plan_of(ODD))
    scene = fold_scene(ODD, shot, WIDE)

    def bars(seconds: float) -> list[float]:
        """Give how strong each stroke in the colour of departures is."""
        return [
            group.opacity
            for group in scene.moving(seconds)
            if isinstance(group, Group)
            for mark in group.marks
            if isinstance(mark, Shape) and mark.stroke and mark.stroke.colour.role is Role.BEND
        ]

    early, later = (bars(times.draw_start + s) for s in (0.02, 0.1))
    assert early
    assert len(early) == len(later)
    assert min(early) > 0.9
    assert 0.2 < later[0] < 0.8
    assert bars(times.draw_start + 0.3) == []
