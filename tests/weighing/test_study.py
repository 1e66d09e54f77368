"""Planted structure is found at its place, by its name, with a solid verdict; noise yields nothing.

The passages are ours: what was planted is the expectation.
"""

from fractions import Fraction

import numpy as np
import pytest
from tests.making import Spelled, passage

from riffract.analysis.finding import (
    Anchor,
    Collection,
    CollectionChange,
    Drone,
    Finding,
    Kind,
    Mirror,
    Passes,
)
from riffract.music import Metre, Passage, Span
from riffract.weighing.study import Study, Verdict, WeighedFinding
from riffract.weighing.weigh import study_passage

SEVEN_EIGHT = Metre(groups=(2, 2, 3), unit=8)
ELEVEN_EIGHT = Metre(groups=(3, 3, 3, 2), unit=8)


def solid(study: Study, kind: Kind) -> list[WeighedFinding]:
    return [f for f in study.of_kind(kind) if f.is_solid]


def mirror_of(study: Study, of: str) -> WeighedFinding:
    for found in study.of_kind(Kind.MIRROR):
        if isinstance(found.finding.what, Mirror) and found.finding.what.of == of:
            return found
    raise AssertionError(f"no mirror of {of}")


def random_line(seed: int, count: int, low: int = 40, high: int = 62) -> list[Spelled]:
    rng = np.random.default_rng(seed)
    pitches = rng.integers(low, high, count).tolist()
    values = rng.choice(["1/2", "1/4", "3/4"], count).tolist()
    return [(pitch, value) for pitch, value in zip(pitches, values, strict=True)]


def chugging_line(seed: int) -> list[Spelled]:
    """Random notes, each answered by two or three short strokes of the lowest open string."""
    rng = np.random.default_rng(seed)
    line: list[Spelled] = []
    for _ in range(14):
        line.append((int(rng.integers(46, 60)), "1/2"))
        line += [(40, "1/4")] * int(rng.integers(2, 4))
    return line


@pytest.mark.parametrize("seed", range(12))
def test_random_notes_between_chugs_mirror_no_rhythm_and_no_weight(seed):
    study = study_passage(passage(chugging_line(seed), metres=[SEVEN_EIGHT]))
    kinds = ("rhythm", "weight")
    assert [
        f.finding.sentence
        for f in study.of_kind(Kind.MIRROR)
        if f.is_solid and isinstance(f.finding.what, Mirror) and f.finding.what.of in kinds
    ] == []


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("walks", [False, True])
def test_nothing_in_a_random_line_is_called_solid(seed, walks):
    line = random_line(seed, 90)
    if walks:
        rng = np.random.default_rng(seed)
        steps = np.cumsum(rng.choice([-3, -2, -1, 1, 2, 3], 90))
        folded = 40 + np.abs((steps + 12) % 48 - 24)
        line = [(pitch, value) for pitch, (_, value) in zip(folded.tolist(), line, strict=True)]
    study = study_passage(passage(line, metres=[SEVEN_EIGHT]))
    assert [f.finding.sentence for f in study.findings if f.is_solid] == []


@pytest.mark.parametrize("seed", range(4))
def test_a_planted_palindrome_of_pitches_and_values_is_firm_at_its_axis(seed):
    half = random_line(seed, 16)
    before, after = random_line(seed + 50, 20), random_line(seed + 90, 20)
    music = passage(before + half + half[::-1] + after, metres=[SEVEN_EIGHT])
    length = sum(Fraction(str(v)) for _, v in before + half)
    study = study_passage(music)
    for of in ("retrograde", "rhythm"):
        found = mirror_of(study, of)
        assert isinstance(found.finding.what, Mirror)
        assert found.finding.what.axis_quarters == length
        assert found.is_solid
    assert mirror_of(study, "retrograde").verdict is Verdict.FIRM


@pytest.mark.parametrize("seed", range(4))
def test_a_planted_line_upside_down_is_solid_about_its_pitch(seed):
    up = random_line(seed, 14, 44, 60)
    down: list[Spelled] = [(104 - int(str(p)), v) for p, v in up]
    study = study_passage(passage(up + down + random_line(seed + 70, 20), metres=[SEVEN_EIGHT]))
    found = mirror_of(study, "inversion")
    assert isinstance(found.finding.what, Mirror)
    assert found.finding.what.axis_pitch == 52
    assert found.finding.what.axis_quarters == sum(Fraction(str(v)) for _, v in up)
    assert found.is_solid


def test_a_planted_line_turned_half_around_is_solid_about_its_pitch():
    first = random_line(3, 14, 44, 60)
    turned: list[Spelled] = [(105 - int(str(p)), v) for p, v in first[::-1]]
    study = study_passage(passage(first + turned + random_line(8, 12), metres=[SEVEN_EIGHT]))
    found = mirror_of(study, "retrograde_inversion")
    assert isinstance(found.finding.what, Mirror)
    assert found.finding.what.axis_pitch == Fraction(105, 2)
    assert found.is_solid


def test_equal_values_mirror_in_rhythm_trivially():
    line: list[Spelled] = [(p, "1/2") for p, _ in random_line(1, 40)]
    found = mirror_of(study_passage(passage(line)), "rhythm")
    assert found.verdict is Verdict.TRIVIAL
    assert found.chance is not None
    assert found.chance.p == 1.0


def test_a_gallop_mirrors_in_any_order_and_is_never_solid():
    values = ["1/2", "1/4", "1/4"] * 16
    line: list[Spelled] = [(p, v) for (p, _), v in zip(random_line(2, 48), values, strict=True)]
    study = study_passage(passage(line))
    for found in study.of_kind(Kind.MIRROR):
        assert isinstance(found.finding.what, Mirror)
        assert found.finding.what.of != "rhythm" or not found.is_solid


def with_drone() -> Passage:
    """A voice that falls past an open string, three times, over a low stroke."""
    fall = (64, 62, 61, 60, 54, 53, 52, 51)
    line: list[Spelled] = []
    for _ in range(3):
        line += [((35, 55, 64), 1)]
        line += [(p, "1/2") for p in fall[1:]]
        line += [(35, "1/2"), (35, "1/2")]
    return passage(line, metres=[ELEVEN_EIGHT], ringing=[55], muted=())


def test_a_ringing_string_is_a_firm_drone_with_its_colours():
    (found,) = solid(study_passage(with_drone()), Kind.DRONE)
    what = found.finding.what
    assert isinstance(what, Drone)
    assert (what.pitch, what.is_open) == (55, True)
    assert found.verdict is Verdict.FIRM
    first = [(c.semitones, c.name) for c in what.colours[:4]]
    assert first == [
        (9, "major sixth above"),
        (7, "fifth above"),
        (6, "tritone above"),
        (5, "fourth above"),
    ]


def test_what_sits_above_the_lowest_string_is_counted():
    (found,) = study_passage(with_drone()).of_kind(Kind.ANCHOR)
    assert isinstance(found.finding.what, Anchor)
    assert found.finding.what.pitch == 35
    assert found.finding.what.intervals[29].count == 3
    assert len(found.finding.what.timeline) == 9


def test_two_forms_of_one_symmetrical_family_are_two_collections_and_a_change():
    # Hexatonic collections as in Cohn, Music Analysis 15/1 (1996): {0,1,4,5,8,9} and its neighbour
    # {0,3,4,7,8,11}.
    down = (69, 68, 65, 64, 61, 60, 57, 56, 53, 52)
    up = (51, 52, 55, 56, 59, 60, 63, 64, 67, 68)
    line: list[Spelled] = [(p, "1/2") for _ in range(3) for p in (*down, *up)]
    study = study_passage(passage(line, metres=[Metre(groups=(10,), unit=8)]))
    forms = {
        f.finding.what.form: f
        for f in solid(study, Kind.COLLECTION)
        if isinstance(f.finding.what, Collection)
    }
    assert set(forms) == {"HEX0,1", "HEX3,4"}
    changes = [f.finding.what for f in study.of_kind(Kind.COLLECTION_CHANGE)]
    first = changes[0]
    assert isinstance(first, CollectionChange)
    assert {first.from_form, first.to_form} == {"HEX0,1", "HEX3,4"}
    assert set(first.common_pcs) == {0, 4, 8}
    assert first.at_quarters % 5 == 0


def test_passes_have_their_rivals_and_the_finding_a_p_value_that_is_never_zero():
    riff = random_line(5, 18)
    study = study_passage(passage(riff * 4, metres=[SEVEN_EIGHT]))
    (found,) = study.of_kind(Kind.PASSES)
    assert isinstance(found.finding.what, Passes)
    assert found.verdict in {Verdict.FIRM, Verdict.LIKELY}
    assert found.chance is not None
    assert 0.0 < found.chance.p < 1e-6


def test_the_same_passage_and_seed_give_the_same_study():
    music = with_drone()
    first, second = study_passage(music, seed=3), study_passage(music, seed=3)
    assert [f.finding.id for f in first.findings] == [f.finding.id for f in second.findings]
    assert [f.q for f in first.findings] == [f.q for f in second.findings]


def test_names_of_findings_do_not_hang_on_the_seed():
    music = with_drone()
    first, second = study_passage(music, seed=3), study_passage(music, seed=4)
    assert {f.finding.id for f in first.findings if f.is_solid} <= {
        f.finding.id for f in second.findings
    }


@pytest.mark.parametrize(
    "line",
    [
        [(None, 4)],
        [(40, 4)],
        [(40, 1), (None, 1), (43, 1)],
        [((40, 47, 52), 1)] * 3,
        [(40, "1/4")] * 40,
    ],
    ids=["rests", "one-note", "two-notes", "one-chord", "one-pitch"],
)
def test_passages_with_little_in_them_are_studied_without_a_claim(line):
    study = study_passage(passage(line))
    assert not [f for f in study.findings if f.is_solid]


def test_a_finding_tells_where_it_stands_and_which_notes_bear_it_out():
    study = study_passage(with_drone())
    whole = Span(Fraction(0), study.passage.length_quarters)
    for weighed in study.findings:
        finding: Finding = weighed.finding
        assert finding.spans
        assert all(whole.overlap_quarters(s) == s.length_quarters for s in finding.spans)
        assert all(0 <= i < len(study.passage.notes) for i in finding.notes)
        assert finding.sentence.endswith(".")
        assert finding.sentence[0].isupper()
