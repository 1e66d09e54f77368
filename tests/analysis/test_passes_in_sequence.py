"""Riffs that go on in sequence: each statement as far from the one before.

That a real sequence keeps its intervals and a tonal one its scale steps is common practice; the
music is made up, and what is planted in it is the expectation.
"""

from fractions import Fraction

import numpy as np
import pytest
from bench.controls import CONTROLS
from tests.making import Spelled, passage

from riffract.analysis.attacks import attacks_of, lead_notes
from riffract.analysis.finding import Finding, Passes, Reading
from riffract.analysis.passes import in_sequence as passes_in_sequence
from riffract.analysis.passes.find import find_passes, spelling_of
from riffract.analysis.passes.in_sequence import told_in_sequence
from riffract.music import Metre, Passage

MAJOR = (0, 2, 4, 5, 7, 9, 11)
VALUES = (2, 1, 1, 3, 1, 4)
THREE_FOUR = Metre(groups=(3,), unit=4)
SEEDS = range(4)


def step_of_c_major(step: int) -> int:
    octave, degree = divmod(step, 7)
    return 48 + 12 * octave + MAJOR[degree]


def figure(seed: int) -> list[int]:
    return [int(n) for n in np.random.default_rng(seed).permutation([0, 1, 2, 4, 3, 6])]


def tonal(seed: int, step: int, count: int) -> list[Spelled]:
    """State a bar of six notes again and again, each time so many steps of the scale higher."""
    return [
        (step_of_c_major(12 + n + k * step), Fraction(value, 4))
        for k in range(count)
        for n, value in zip(figure(seed), VALUES, strict=True)
    ]


def real(seed: int, semitones: int, count: int) -> list[Spelled]:
    """State a bar of six notes again and again, each time so many semitones higher."""
    return [
        (58 + n + k * semitones, Fraction(value, 4))
        for k in range(count)
        for n, value in zip(figure(seed), VALUES, strict=True)
    ]


def told(music: Passage) -> tuple[Finding, ...]:
    attacks = attacks_of(music)
    lead = lead_notes(music.notes, attacks, without=frozenset())
    found = find_passes(music, attacks)
    return told_in_sequence(music, attacks, lead, spelling_of(music, attacks), found)


def best(found: Finding) -> Reading:
    assert isinstance(found.what, Passes)
    return found.what.readings[0]


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize(("step", "count"), [(-1, 5), (1, 6), (-2, 5)])
def test_a_tonal_sequence_is_told_once_without_departures(seed, step, count):
    line = tonal(seed, step, count)
    (found,) = told(passage(line, metres=[THREE_FOUR]))
    reading = best(found)
    assert [one.span.start_quarters for one in reading.passes] == [3 * k for k in range(count)]
    assert all(not one.edits and one.truncated == "none" for one in reading.passes)
    firsts = [pitch for pitch, _ in line[:: len(VALUES)]]
    assert [one.transposition for one in reading.passes] == [p - firsts[0] for p in firsts]  # type: ignore[operator]
    assert found.measures["edits"] == 0.0


@pytest.mark.parametrize("seed", SEEDS)
def test_a_real_sequence_is_told_by_its_interval(seed):
    (found,) = told(passage(real(seed, -2, 5), metres=[THREE_FOUR]))
    assert [one.transposition for one in best(found).passes] == [0, -2, -4, -6, -8]
    assert found.sentence == "The riff is played five times in a row, each time a whole tone lower."
    assert "one distance, −2 semitones, says all its levels." in found.detail


def test_music_before_and_after_is_named():
    before: list[Spelled] = [(60, "3/2"), (48, "1/2"), (65, "1/4"), (50, "3/4")]
    after: list[Spelled] = [(53, "1/4"), (67, "1/4"), (52, "1"), (59, "3/2")]
    (found,) = told(passage([*before, *tonal(1, -1, 6), *after], metres=[THREE_FOUR]))
    assert [other.role for other in best(found).other] == ["tag", "coda"]
    assert [one.span.start_quarters for one in best(found).passes] == [3 * k for k in range(1, 7)]


def test_levels_that_do_not_go_on_stay_as_they_are():
    parts = [real(1, 0, 1), real(1, 0, 1), real(1, 3, 2)[6:], real(1, 5, 2)[6:], real(1, 0, 1)]
    music = passage([one for part in parts for one in part], metres=[THREE_FOUR])
    attacks = attacks_of(music)
    assert told(music) == find_passes(music, attacks)


def test_a_riff_that_holds_a_sequence_is_still_the_riff():
    rng = np.random.default_rng(5)
    rest = [(int(p), Fraction(1, 2)) for p in rng.integers(45, 62, 12)]
    music = passage([*tonal(2, -1, 3), *rest] * 4, metres=[THREE_FOUR])
    attacks = attacks_of(music)
    assert told(music) == find_passes(music, attacks)


@pytest.mark.parametrize("name", list(CONTROLS))
def test_random_music_is_told_no_sequence(name):
    for seed in range(4):
        found = told(CONTROLS[name].draw(seed))
        assert not any("A sequence" in one.detail for one in found)


@pytest.mark.parametrize("share", [0.8, 0.95])
def test_the_share_that_it_must_hold_does_not_matter_here(monkeypatch, share):
    monkeypatch.setattr(passes_in_sequence, "HELD_SHARE", share)
    (found,) = told(passage(tonal(0, -1, 5), metres=[THREE_FOUR]))
    assert len(best(found).passes) == 5


def test_nothing_comes_of_nothing():
    assert told(passage([], metres=[THREE_FOUR])) == ()
    assert told(passage([(40, 1), (41, 1)], metres=[THREE_FOUR])) == ()
