"""What is said of hand and metre is solid where it was planted, and not where it was not."""

from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest
from tests.making import Spelled, passage
from tests.playing import Played, performed

from riffract.analysis.finding import Hand, Kind, MetreAnswer
from riffract.music import Metre, Passage, Proposed
from riffract.weighing import of_hand
from riffract.weighing.study import Study, Verdict, WeighedFinding
from riffract.weighing.view import view_of
from riffract.weighing.weigh import study_passage

ELEVEN_EIGHT = Metre(groups=(11,), unit=8)
SHAPE = [(6, 0), (6, 3), (5, 2), (5, 4), (4, 1), (5, 3), (6, 2), (5, 1)]
LOW = 35


def eighths(places: list[tuple[int, int]]) -> Passage:
    return performed(
        [
            Played(at=Fraction(k, 2), length="1/2", string=s, fret=f)
            for k, (s, f) in enumerate(places)
        ]
    )[0]


def moved_to(frets: list[int]) -> Passage:
    return eighths([(s, f + fret) for fret in frets for s, f in SHAPE])


def the(study: Study, kind: Kind) -> WeighedFinding:
    return study.of_kind(kind)[0]


@pytest.mark.parametrize("frets", [[3, 5, 8], [3, 5, 3, 5, 3, 5], [1, 4, 6, 9]])
def test_a_planted_shape_is_solid_wherever_it_is_moved(frets):
    found = the(study_passage(moved_to(frets)), Kind.HAND)
    assert found.is_solid
    assert isinstance(found.finding.what, Hand)
    assert found.finding.what.shapes[0].moves == tuple((0, fret - frets[0]) for fret in frets[1:])
    assert found.chance is not None
    assert found.chance.p <= 0.005


def test_a_shape_stays_solid_however_often_it_is_moved():
    frets = np.random.default_rng(1).integers(1, 9, 40).tolist()
    (weighed,) = of_hand.weighed_hand(view_of(moved_to(frets), seed=1))
    assert weighed.chance is not None
    assert weighed.chance.p <= 0.005


def test_a_shape_moved_across_strings_is_solid():
    places = [(s - k, f + 3) for k in (0, 1, 2) for s, f in SHAPE]
    assert the(study_passage(eighths(places)), Kind.HAND).is_solid


@pytest.mark.parametrize("seed", range(5))
def test_chords_of_one_shape_in_any_order_are_no_finding_about_the_hand(seed):
    roots = np.random.default_rng(seed).integers(1, 10, 48).tolist()
    places = [(6, 0), (5, 2), (4, 2)]
    music = performed(
        [Played(at=k, string=s, fret=f + root) for k, root in enumerate(roots) for s, f in places]
    )[0]
    assert not any(f.is_solid for f in study_passage(music).of_kind(Kind.HAND))


def walk(seed: int) -> list[Spelled]:
    """Walk through a scale at random, in mixed values."""
    rng = np.random.default_rng(seed)
    scale = [p for p in range(40, 68) if (p - seed) % 12 in {0, 2, 3, 5, 7, 8, 10}]
    at, line = len(scale) // 2, []
    for step in rng.integers(-2, 3, 80).tolist():
        at = at + step if 0 <= at + step < len(scale) else at - step
        line.append((scale[at], Fraction(int(rng.integers(1, 4)), 4)))
    return [(pitch, value) for pitch, value in line]


@pytest.mark.parametrize("seed", range(6))
def test_random_walks_in_a_scale_give_nothing_solid_of_hand_or_metre(seed):
    study = study_passage(passage(walk(seed)))
    solid = [f for kind in (Kind.HAND, Kind.METRE) for f in study.of_kind(kind) if f.is_solid]
    assert [f.finding.sentence for f in solid] == []


def test_a_riff_that_runs_against_the_bars_is_as_solid_as_its_passes():
    rng = np.random.default_rng(2)
    values = ["1/2", "1/4", "1/4", "1/2", "1/4", "1/2", "1/4", "1/4", "1/2", "1/4", "1/2", "1/4"]
    riff: list[Spelled] = [
        (int(p), v) for p, v in zip(rng.integers(40, 62, 12), values, strict=True)
    ]
    study = study_passage(passage(riff * 6))
    found = the(study, Kind.METRE)
    assert isinstance(found.finding.what, MetreAnswer)
    assert found.finding.what.meets_after == (16, 17)
    assert found.verdict is Verdict.FIRM
    passes = the(study, Kind.PASSES)
    assert found.chance is not None
    assert passes.chance is not None
    assert found.chance.p == passes.chance.p
    assert found.finding.spans == passes.finding.spans


def grouped_line(bars: int) -> list[Spelled]:
    """Bars of 11/8 in which the low string opens groups of 3+3+3+2, with other notes each time."""
    rng = np.random.default_rng(bars)
    line: list[Spelled] = []
    for _ in range(bars):
        for k in range(11):
            if k in {0, 3, 6, 9}:
                line.append((LOW, "1/2"))
            elif rng.random() < 0.6:
                line.append((int(rng.integers(45, 60)), "1/2"))
            else:
                line.append((None, "1/2"))
    return line


def test_a_planted_grouping_is_solid_and_ahead_of_its_rivals():
    study = study_passage(passage(grouped_line(8), metres=[ELEVEN_EIGHT]))
    found = the(study, Kind.METRE)
    assert isinstance(found.finding.what, MetreAnswer)
    assert found.finding.what.grouping[0].groups == (3, 3, 3, 2)
    assert found.is_solid
    assert found.rivals[0].bits > 3.0


def beaten(seed: int) -> list[Spelled]:
    """The low string on every beat, now and then another note after it."""
    rng = np.random.default_rng(seed)
    line: list[Spelled] = []
    for _ in range(40):
        if rng.random() < 0.5:
            line.append((LOW, 1))
        else:
            line += [(LOW, "1/2"), (int(rng.integers(45, 60)), "1/2")]
    return line


@pytest.mark.parametrize("seed", range(3))
def test_that_strong_strokes_fall_on_plain_beats_is_trivially_true(seed):
    found = the(study_passage(passage(beaten(seed))), Kind.METRE)
    assert found.finding.sentence == "The strong strokes fall on the beats of 4/4."
    assert found.verdict is Verdict.TRIVIAL


def test_where_no_grouping_saves_bits_none_is_claimed():
    line: list[Spelled] = [
        (pitch, "1/2") for pitch in np.random.default_rng(4).integers(40, 60, 44).tolist()
    ]
    found = the(study_passage(passage(line, metres=[ELEVEN_EIGHT])), Kind.METRE)
    assert found.finding.sentence == "The strokes of 11/8 favour no grouping of the bar."
    assert found.verdict is Verdict.NOT_BEYOND_CHANCE


def test_places_that_nobody_wrote_are_left_out_with_a_reason():
    study = study_passage(replace(moved_to([3, 5, 8]), proposed=(Proposed.FINGERING,)))
    assert study.of_kind(Kind.HAND) == ()
    assert "what the hand explains" in [entry.what for entry in study.ignored]


@pytest.mark.parametrize("share", [0.25, 1.0])
def test_which_passes_are_kept_does_not_hang_on_its_threshold(monkeypatch, share):
    monkeypatch.setattr(of_hand, "SAME_PLACE_SHARE", share)
    (weighed,) = of_hand.weighed_hand(view_of(moved_to([3, 5, 3, 5, 3, 5]), seed=1))
    assert weighed.chance is not None
    assert weighed.chance.p <= 0.01


@pytest.mark.parametrize("attacks", [[], [(None, 4)], [(40, 4)], [(LOW, "1/2")] * 30])
def test_next_to_nothing_is_weighed_without_fuss(attacks):
    study = study_passage(passage(attacks))
    assert not any(f.is_solid for kind in (Kind.HAND, Kind.METRE) for f in study.of_kind(kind))
