"""Patterns that tell most of what comes back: planted ones, laws, and an annotated set."""

from collections.abc import Iterable
from statistics import fmean

import numpy as np
import pytest
from bench.patterns import DEVELOPMENT_SET, agreements
from hypothesis import given
from hypothesis import strategies as st

from riffract.analysis.patterns import discovery as pattern_discovery
from riffract.analysis.patterns import lines as pattern_lines
from riffract.analysis.patterns import occurrences as pattern_occurrences
from riffract.analysis.patterns import seeds as pattern_seeds
from riffract.analysis.patterns.discovery import discover
from riffract.analysis.patterns.lines import NONE, PointSet, followers, line_bits
from riffract.analysis.patterns.occurrences import Index
from riffract.analysis.patterns.point_patterns import translational_class
from riffract.analysis.patterns.seeds import returning_stretches

lines = st.lists(st.integers(50, 56), min_size=8, max_size=60)
textures = st.sets(st.tuples(st.integers(0, 24), st.integers(50, 58)), min_size=6, max_size=60)


def point_set(
    notes: Iterable[tuple[int, int]], *, ticks_per_quarter: int = 2, length: int = 1
) -> PointSet:
    onset, pitch = np.array(sorted(notes), dtype=np.int64).T
    line = followers(onset, onset + length, pitch)
    return PointSet.of(onset, pitch, line, ticks_per_quarter=ticks_per_quarter)


def row(pitches: Iterable[int], *, start: int = 0, step: int = 1) -> list[tuple[int, int]]:
    return [(start + step * k, pitch) for k, pitch in enumerate(pitches)]


def told(points: PointSet) -> list[tuple[tuple[tuple[int, ...], ...], float]]:
    return [(tuple(o.points for o in p.places), round(p.saved_bits, 6)) for p in discover(points)]


PHRASE = [60, 63, 62, 67, 65, 58, 59, 70, 68, 61]


def around_phrase(
    seed: int, shifts: tuple[int, ...], *, dropped: int | None = None
) -> tuple[list[tuple[int, int]], list[list[int]]]:
    """Set a phrase into random notes, moved each time; give the notes, and the phrase's places.

    What comes just before and after it differs each time, so that it cannot grow by chance.
    """
    rng = np.random.default_rng(seed)
    pitches: list[int | None] = []
    places: list[list[int]] = []
    for k, shift in enumerate(shifts):
        pitches += rng.integers(40, 80, int(rng.integers(7, 15))).tolist()
        pitches.append(PHRASE[0] + shift - 5 - k)
        gone = dropped if k == 1 else None
        places.append([len(pitches) + i for i in range(len(PHRASE)) if i != gone])
        pitches += [None if i == gone else p + shift for i, p in enumerate(PHRASE)]
        pitches.append(PHRASE[-1] + shift + 5 + k)
    return [(at, p) for at, p in enumerate(pitches) if p is not None], places


def best_places(notes: list[tuple[int, int]]) -> list[list[int]]:
    points = point_set(notes)
    return [points.onset_ticks[list(o.points)].tolist() for o in discover(points)[0].places]


@pytest.mark.parametrize("seed", range(20))
@pytest.mark.parametrize("shifts", [(0, 0, 0), (0, 5, -3), (2, 0, 7, -4)])
def test_a_phrase_planted_in_random_notes_is_the_first_pattern(seed, shifts):
    notes, places = around_phrase(seed, shifts)
    assert best_places(notes) == places


@pytest.mark.parametrize("dropped", range(1, 9))
def test_an_occurrence_with_a_note_missing_is_found(dropped):
    notes, places = around_phrase(3, (0, 5, -3, 2), dropped=dropped)
    assert best_places(notes) == places


def test_a_repeated_riff_is_told_once_and_not_in_twos_and_fours():
    points = point_set(row(PHRASE * 2 + [50, 51] + PHRASE * 2))
    best = discover(points)[0]
    assert len(best.places) in {2, 4}


def test_a_theme_inside_a_section_is_told_as_well_if_it_stands_elsewhere():
    rng = np.random.default_rng(5)
    section = [*PHRASE, *rng.integers(40, 80, 20).tolist()]
    other = rng.integers(40, 80, 15).tolist()
    notes = [*section, *other[:7], *section, *other[7:], *PHRASE]
    points = point_set(row(notes))
    sizes = [(len(p.example), len(p.places)) for p in discover(points)]
    assert sizes[:2] == [(30, 2), (10, 3)]


def test_a_line_is_found_between_other_voices():
    rng = np.random.default_rng(2)
    upper = [(t, int(p)) for t, p in enumerate(rng.integers(80, 90, 60))]
    lower = [(t, int(p)) for t, p in enumerate(rng.integers(30, 40, 60))]
    middle = [*row(PHRASE, start=4), *row([p + 2 for p in PHRASE], start=31)]
    points = point_set([*upper, *middle, *lower])
    best = discover(points)[0]
    found = [
        list(zip(points.onset_ticks[list(o.points)], points.height[list(o.points)], strict=True))
        for o in best.places
    ]
    assert [note for o in found for note in o] == sorted(middle)


def test_random_notes_hold_no_pattern_beyond_a_few_steps():
    rng = np.random.default_rng(1)
    assert discover(point_set(row(rng.integers(40, 80, 300).tolist()))) == ()


@pytest.mark.parametrize("notes", [[(0, 60)], row([60] * 3), row([60] * 40)])
def test_hardly_anything_holds_no_pattern_or_a_trivial_one(notes):
    for pattern in discover(point_set(notes)):
        assert len(pattern.places) > 1


@given(lines, st.integers(-20, 20))
def test_transposing_changes_nothing(pitches, by):
    assert told(point_set(row(pitches))) == told(point_set(row([p + by for p in pitches])))


@given(lines)
def test_doubling_all_values_changes_nothing_but_the_shortest_length(pitches):
    slow = point_set(row(pitches, step=2), ticks_per_quarter=4, length=2)
    assert told(point_set(row(pitches))) == told(slow)


@given(lines, st.integers(1, 100))
def test_starting_later_changes_nothing(pitches, start):
    assert told(point_set(row(pitches))) == told(point_set(row(pitches, start=start)))


@given(textures)
def test_every_shape_found_has_every_exact_place_that_does_not_overlap(notes):
    points = point_set(notes)
    index = Index(points)
    table = np.stack([points.onset_ticks, points.height], axis=1)
    for example in returning_stretches(points, index.around):
        shape = index.shape(example)
        taken = {i for o in shape.occurrences for i in o.tolist()}
        exact = translational_class(tuple(example.tolist()), table)
        for vector in exact.translators:
            image = {
                int(np.flatnonzero((table == table[i] + np.array(vector)).all(axis=1))[0])
                for i in exact.pattern
            }
            assert len(image & taken) > pattern_seeds.OVERLAP_SHARE * len(image)


@given(textures)
def test_occurrences_are_images_that_hold_enough_of_the_pattern(notes):
    points = point_set(notes)
    for pattern in discover(points):
        example = list(pattern.example)
        onset, height = points.onset_ticks[example], points.height[example]
        for place in pattern.places:
            there = list(place.points)
            own = set(zip(points.onset_ticks[there], points.height[there], strict=True))
            image = zip(onset + place.move_ticks, height + place.move_height, strict=True)
            assert own <= set(image)
            assert len(own) == len(there) >= pattern_occurrences.LIKE_SHARE * len(example)
        assert sum(place.is_new for place in pattern.places) > 1
        assert 0 < pattern.saved_bits < pattern.passage_bits


@given(textures, st.data())
def test_what_is_known_saves_nothing(notes, data):
    points = point_set(notes)
    known = np.array(data.draw(st.lists(st.booleans(), min_size=len(points), max_size=len(points))))
    for pattern in discover(points, known=known):
        for place in pattern.places:
            if place.is_new:
                assert not known[list(place.points)].all()
    assert discover(points, known=np.ones(len(points), dtype=np.bool_)) == ()


@given(textures)
def test_the_queue_tells_what_looking_at_all_shapes_each_time_would_tell(notes):
    index = Index(point_set(notes))
    shapes = [index.shape(r) for r in returning_stretches(index.points, index.around)]
    shapes = [s for s in shapes if len(s.occurrences) > 1]
    untold = np.ones(len(index.points), dtype=np.bool_)
    untold_at_first = untold.copy()
    least = pattern_discovery.LEAST_SHARE * index.bits.sum()
    expected: list[int] = []
    left = dict(enumerate(shapes))
    while left and len(expected) < pattern_discovery.MOST_TOLD:
        worth = {k: pattern_discovery._worth(index, s, untold) for k, s in left.items()}
        k = max(worth, key=lambda k: (worth[k].rank if worth[k].saved_bits >= least else 0, -k))
        if worth[k].saved_bits < least:
            break
        expected.append(k)
        for place in worth[k].new[1:]:
            untold[shapes[k].occurrences[place]] = False
        del left[k]
    found = list(pattern_discovery._told(index, shapes, untold_at_first))
    assert [p.example for p in found] == [tuple(shapes[k].example.tolist()) for k in expected]


@given(textures)
def test_lines_take_each_note_once_and_never_go_back(notes):
    points = point_set(notes)
    after = points.follower[points.follower != NONE]
    assert len(set(after.tolist())) == len(after)
    linked = points.follower != NONE
    assert (points.onset_ticks[after] > points.onset_ticks[linked]).all()


def test_a_step_that_is_everywhere_is_cheaper_than_one_that_is_rare():
    bits = line_bits(point_set(row([60, 61, 62, 63, 64, 65, 72])))
    assert bits[1] == pytest.approx(np.log2(7 / 5))
    assert bits[6] == pytest.approx(np.log2(7))


def test_points_must_be_distinct():
    onset = np.array([0, 0])
    with pytest.raises(ValueError, match="distinct"):
        PointSet.of(onset, onset, onset - 1, ticks_per_quarter=1)


# The best symbolic methods published reach .53 to .61 on the test set of the task (second hand);
# these pieces are its development set, and the method was chosen while looking at them.
BEST_PUBLISHED = 0.61


def mean_three_layer_f1(version: str) -> float:
    if not DEVELOPMENT_SET.exists():
        pytest.skip("the development set is not here")
    return fmean(row[3].f1 for *_, row in agreements(version, in_steps=True))


@pytest.mark.parametrize("version", ["monophonic", "polyphonic"])
def test_annotated_patterns_are_found(version):
    assert mean_three_layer_f1(version) >= 0.70


@pytest.mark.parametrize("version", ["monophonic", "polyphonic"])
@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("LEAST_SHARE", 1 / 80),
        ("LEAST_SHARE", 1 / 20),
        ("FEWEST_QUARTERS", 1.5),
        ("FEWEST_QUARTERS", 6.0),
        ("NEW_SHARE", 0.5),
        ("NEW_SHARE", 0.9),
        ("LIKE_SHARE", 2 / 3),
        ("LIKE_SHARE", 0.9),
        ("DENSE_SHARE", 0.5),
        ("DENSE_SHARE", 0.9),
        ("OVERLAP_SHARE", 0.1),
        ("OVERLAP_SHARE", 0.4),
        ("CORE_SHARE", 1 / 3),
        ("CORE_SHARE", 2 / 3),
        ("PERIODIC_SHARE", 0.8),
        ("PERIODIC_SHARE", 1.0),
        ("WIDEST_LEAP", 6),
        ("WIDEST_LEAP", 24),
        ("LONGEST_REST_STEPS", 8),
        ("LONGEST_REST_STEPS", 32),
    ],
)
def test_other_thresholds_do_not_undo_it(monkeypatch, version, name, value):
    for module in (pattern_discovery, pattern_lines, pattern_occurrences, pattern_seeds):
        if hasattr(module, name):
            monkeypatch.setattr(module, name, value)
    assert mean_three_layer_f1(version) > BEST_PUBLISHED
