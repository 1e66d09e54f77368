"""The Fourier profile beside the clock: its bars are the published magnitudes."""

from cmath import exp, pi
from dataclasses import replace
from itertools import groupby

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.fft import fft
from tests.picture_studies import odd_study, plain_study, shot_of, steps, weighed, wide_study
from tests.reference_tables import rows_of

from riffract.analysis.finding import Collection, Kind
from riffract.analysis.fourier import most_of_size
from riffract.essay.shots import SceneName, Shot
from riffract.picture.bounds import Box, path_bounds
from riffract.picture.check import faults_of
from riffract.picture.clock.profile import QUALITIES, Profile, profiles_of
from riffract.picture.clock.profile_figure import profile_marks
from riffract.picture.clock.scene import clock_scene
from riffract.picture.clock.subject import subject_of
from riffract.picture.layout import layout_of
from riffract.picture.look import DARK, PAPER
from riffract.picture.marks import Path, Role, Shape, Words
from riffract.picture.scene import PORTRAIT, SQUARE, TALL, WIDE, Page
from riffract.picture.voices import voices_of
from riffract.weighing.study import Study

ROOM = Box(left=1000.0, top=180.0, right=1824.0, bottom=1000.0)
ODD = odd_study()
OF_CHORD = next(iter(ODD.of_kind(Kind.SONORITY)))
pc_sets = st.frozensets(st.integers(0, 11), min_size=1, max_size=11)


def study_of(*sets: frozenset[int]) -> Study:
    """Give a study in which sets are found, one after the other."""
    found = [
        Collection(
            family="diatonic",
            form=f"F{i}",
            pcs=tuple(sorted(pcs)),
            fragment=False,
            inside_share=1.0,
            foreign=(),
            missing=(),
            with_drone=False,
        )
        for i, pcs in enumerate(sets)
    ]
    plain = plain_study()
    weigh = [
        weighed(Kind.COLLECTION, what, [steps(8 * i, 8 * i + 8)]) for i, what in enumerate(found)
    ]
    return replace(plain, findings=tuple(weigh))


def shown(study: Study, **changes: object) -> tuple[Profile, ...]:
    shot = replace(shot_of(study, SceneName.CLOCK), **changes)  # type: ignore[arg-type]
    return profiles_of(subject_of(study, shot, voices_of(study, shot)))


def bar_widths(profiles: tuple[Profile, ...], role: Role) -> list[float]:
    """Measure the filled bars of one colour in the rows, in px; swatches are left of them."""
    layout = layout_of(shot_of(ODD, SceneName.CLOCK), WIDE)
    found: list[float] = []
    axis_x = next(
        box_of(mark.path).left
        for mark in profile_marks(profiles, layout, ROOM)
        if isinstance(mark, Shape) and is_upright(mark, Role.STRING)
    )
    for mark in profile_marks(profiles, layout, ROOM):
        if isinstance(mark, Shape) and mark.fill is not None and mark.fill.role is role:
            box = box_of(mark.path)
            if abs(box.left - axis_x) < 0.01:
                found.append(box.width)
    return found


def box_of(path: Path) -> Box:
    box = path_bounds(path)
    assert box is not None
    return box


def is_upright(mark: Shape, role: Role) -> bool:
    if mark.fill is not None or mark.stroke is None:
        return False
    return mark.stroke.colour.role is role and box_of(mark.path).width < 0.01


def test_the_profile_is_that_of_the_reference_table() -> None:
    # Quinn (2006-07) and Amiot (2016); values from the definition, in the table.
    for row in rows_of("dft_magnitudes.csv"):
        pcs = frozenset(map(int, row["pitch_classes"].split()))
        (profile,) = shown(study_of(pcs))
        expected = [float(row[f"f{k}"]) for k in range(1, 7)]
        assert profile.values == pytest.approx(expected, abs=2e-6)


def test_strokes_stand_at_the_published_maxima() -> None:
    for row in rows_of("dft_maxima.csv"):
        expected = [float(row[f"max_f{k}"]) for k in range(1, 7)]
        assert most_of_size(int(row["cardinality"])) == pytest.approx(expected, abs=2e-6)


@given(pcs=pc_sets)
def test_the_profile_is_what_scipy_gives(pcs: frozenset[int]) -> None:
    (profile,) = shown(study_of(pcs))
    by_peer = abs(fft([float(pc in pcs) for pc in range(12)]))[1:7]
    assert profile.values == pytest.approx(list(by_peer), abs=1e-9)
    assert all(
        value <= most + 1e-9 for value, most in zip(profile.values, profile.most, strict=True)
    )


@given(pcs=pc_sets, turn=st.integers(1, 11), is_mirrored=st.booleans())
def test_a_turned_or_mirrored_set_shares_the_profile(
    pcs: frozenset[int], turn: int, is_mirrored: bool
) -> None:
    # Transposition turns phases, inversion conjugates: both keep magnitudes (Amiot 2016).
    other = frozenset((turn - pc if is_mirrored else turn + pc) % 12 for pc in pcs)
    (profile,) = shown(study_of(pcs, other))
    assert len(profile.headings) == 2


@given(pcs=pc_sets)
def test_bars_are_as_long_as_their_magnitudes_on_one_scale(pcs: frozenset[int]) -> None:
    (profile,) = profiles = shown(study_of(pcs))
    drawn = [value for value in profile.values if value > 0.02]
    widths = bar_widths(profiles, profile.role)
    assert len(widths) == len(drawn)
    unit = widths[0] / drawn[0]
    assert widths == pytest.approx([unit * value for value in drawn], abs=0.01)


def test_two_sets_that_differ_have_two_bars_in_each_row() -> None:
    diatonic, octatonic = frozenset({0, 2, 4, 5, 7, 9, 11}), frozenset({0, 1, 3, 4, 6, 7, 9, 10})
    profiles = shown(study_of(diatonic, octatonic))
    assert [round(profile.values[4], 4) for profile in profiles] == [3.7321, 0.0]
    assert [round(profile.values[3], 4) for profile in profiles] == [1.0, 4.0]
    assert [profile.side for profile in profiles] == ["inward", "outward"]
    marks = profile_marks(profiles, layout_of(shot_of(ODD, SceneName.CLOCK), WIDE), ROOM)
    numbers = [m for m in marks if isinstance(m, Words) and m.align == "end"]
    assert len(numbers) == 2 * len(QUALITIES)
    for _, row in groupby(sorted(n.y for n in numbers), key=round):
        assert len(list(row)) == 1


def test_a_shot_about_a_chord_has_the_chords_profile() -> None:
    (profile,) = shown(ODD, findings=(OF_CHORD,))
    assert "(013)" in profile.headings[0][0]
    # 013, from the definition: |1 + w + w^3| with w = exp(-2 pi i / 12).
    w = exp(-2j * pi / 12)
    assert profile.values[0] == pytest.approx(abs(1 + w + w**3))


def test_without_a_set_all_notes_that_occur_are_profiled() -> None:
    (profile,) = shown(plain_study())
    used = {n.pitch % 12 for n in plain_study().passage.notes if n.pitch is not None}
    assert profile.most == most_of_size(len(used))


def with_profile(study: Study, **changes: object) -> Shot:
    return replace(shot_of(study, SceneName.CLOCK), with_profile=True, **changes)  # type: ignore[arg-type]


CASES = {
    "sets": with_profile(ODD),
    "chord": with_profile(ODD, findings=(OF_CHORD,)),
    "two": with_profile(study_of(frozenset({0, 2, 4, 5, 7, 9, 11}), frozenset({0, 1, 4, 5, 8, 9}))),
    "notes": with_profile(plain_study()),
    "many": with_profile(wide_study()),
}
STUDIES = {
    "sets": ODD,
    "chord": ODD,
    "two": study_of(frozenset({0, 2, 4, 5, 7, 9, 11}), frozenset({0, 1, 4, 5, 8, 9})),
    "notes": plain_study(),
    "many": wide_study(),
}


@pytest.mark.parametrize(
    "page", [WIDE, TALL, SQUARE, PORTRAIT], ids=["wide", "tall", "square", "4:5"]
)
@pytest.mark.parametrize("case", CASES)
def test_a_clock_with_a_profile_is_without_a_fault(case: str, page: Page) -> None:
    scene = clock_scene(STUDIES[case], CASES[case], page)
    for look in (DARK, PAPER):
        assert faults_of(scene.at_rest(), look, page=page) == ()


def test_the_description_tells_the_profile_and_a_clock_without_it_has_none() -> None:
    told = clock_scene(ODD, CASES["sets"], WIDE).description
    assert "chromatic 0.0, tritones 0.0, hexatonic 0.0, octatonic 4.0" in told
    assert "octatonic 4.0" not in clock_scene(ODD, shot_of(ODD, SceneName.CLOCK), WIDE).description
