"""An axis of pitch set by hand: against counting by hand, and against the question of inversion."""

from fractions import Fraction
from importlib.resources import files

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests import making

from riffract.analysis.mirrors.palindrome import MISS_BITS, Evidence
from riffract.analysis.mirrors.rows import pitches_of, voice_items
from riffract.analysis.mirrors.upside_down import LONGEST_LAG, MOST_MISSES, SHORTEST_LAG, best_run
from riffract.analysis.spelling import pitch_axis_spelled, spelled
from riffract.essay.by_hand import pitch_axis as hand_pitch_axis
from riffract.essay.by_hand.kept import PitchAxisEntry, read_hand_set, with_hand_set
from riffract.essay.by_hand.measured import measured_by_hand
from riffract.essay.by_hand.pitch_axis import pitch_axes_by_hand
from riffract.formats.tab import read_tab
from riffract.music import Passage
from riffract.weighing.view import View, view_of

# Subject and answer by contrary motion about E4: what rises by so much falls by so much. The law
# x + I(x) = constant is common practice (inversion about a pitch).
SUBJECT = (60, 64, 67, 65, 71, 69)
TURNED = tuple(128 - pitch for pitch in SUBJECT)


@pytest.fixture(scope="module")
def demo() -> Passage:
    found = read_tab((files("riffract.demo") / "passage.tab").read_text(encoding="utf-8")).passage
    assert found is not None
    return found


@pytest.fixture(scope="module")
def view(demo: Passage) -> View:
    return view_of(demo, seed=1)


def best_by_trying_all(pitches: list[int], pitch_sum: int) -> float:
    """Add up every stretch at every lag that no gap breaks: the slow twin."""
    row = np.array(pitches)
    worth = Evidence.of(row).worth(row)
    best = 0.0
    for lag in range(SHORTEST_LAG, min(LONGEST_LAG, len(row) - 1) + 1):
        fits = row[:-lag] + row[lag:] == pitch_sum
        for start in np.flatnonzero(fits).tolist():
            total, misses = 0.0, 0
            for k in range(start + 1, min(start + lag, len(fits))):
                misses = 0 if fits[k] else misses + 1
                if misses > MOST_MISSES:
                    break
                total += float(worth[k + lag]) if fits[k] else MISS_BITS
                # Kadane's scan leaves a start that has nothing left behind it.
                if fits[k] and total <= 0.0:
                    break
                best = max(best, total) if fits[k] else best
    return best


LINES = st.lists(st.integers(45, 57), min_size=8, max_size=22)


@settings(max_examples=60, deadline=None)
@given(line=LINES)
def test_each_axis_has_the_evidence_that_trying_every_stretch_finds(line: list[int]):
    one = view_of(making.passage([(pitch, 1) for pitch in line]), seed=1)
    voice = voice_items(one.passage, one.attacks, one.lead)
    pitches = [int(pitch) for pitch in pitches_of(voice)] if voice else []
    axes = pitch_axes_by_hand(one)
    for axis in axes:
        assert axis.bits == pytest.approx(best_by_trying_all(pitches, axis.pitch_sum), abs=2e-3)
        assert 0 < axis.p <= 1


def test_a_subject_turned_about_a_pitch_is_found_about_it():
    one = view_of(making.passage([(pitch, 1) for pitch in SUBJECT + TURNED]), seed=1)
    best = max(pitch_axes_by_hand(one), key=lambda axis: axis.bits)
    assert (
        pitch_axis_spelled(best.axis_pitch, spelled(pitch % 12 for pitch in SUBJECT)),
        best.fitting,
        best.notes,
    ) == ("E4", 6, 6)
    assert best.source is not None
    assert best.answer is not None
    assert [s.start_quarters for s in (best.source, best.answer)] == [Fraction(0), Fraction(6)]


@settings(max_examples=25, deadline=None)
@given(line=LINES, semitones=st.integers(-6, 6))
def test_transposing_a_line_moves_its_axes_by_as_much(line: list[int], semitones: int):
    def axes(by: int) -> dict[Fraction, float]:
        one = view_of(making.passage([(pitch + by, 1) for pitch in line]), seed=1)
        return {axis.axis_pitch - by: axis.bits for axis in pitch_axes_by_hand(one)}

    assert axes(semitones) == axes(0)


def test_the_best_axis_is_that_of_the_question_of_inversion(view: View):
    pitches = pitches_of(voice_items(view.passage, view.attacks, view.lead))
    run = best_run(pitches, Evidence.of(pitches))
    best = max(pitch_axes_by_hand(view), key=lambda axis: axis.bits)
    assert run is not None
    assert best.pitch_sum == run.pitch_sum
    assert best.bits == pytest.approx(run.bits, abs=1e-3)


@pytest.mark.parametrize("draws", [249, 499, 998])
def test_the_number_of_orders_does_not_change_what_is_beyond_chance(view: View, monkeypatch, draws):
    monkeypatch.setattr(hand_pitch_axis, "DRAWS", draws)
    axes = sorted(pitch_axes_by_hand(view), key=lambda axis: -axis.bits)
    assert axes[0].p < 0.05
    assert axes[-1].p > 0.5


@pytest.mark.parametrize("most", [10_000, 20_000, 40_000])
@pytest.mark.parametrize("fewest", [5, 6, 7])
def test_the_limits_of_length_do_not_decide_about_the_check_values(view, monkeypatch, most, fewest):
    monkeypatch.setattr(hand_pitch_axis, "MOST_NOTES", most)
    monkeypatch.setattr(hand_pitch_axis, "FEWEST_NOTES", fewest)
    best = max(pitch_axes_by_hand(view), key=lambda axis: axis.bits)
    assert best.pitch_sum == 89


def test_a_line_too_short_to_answer_has_no_axis():
    assert pitch_axes_by_hand(view_of(making.passage([(45, 1), (47, 1)]), seed=1)) == ()


def test_a_pitch_that_was_kept_is_measured(demo: Passage):
    text = with_hand_set("", PitchAxisEntry(pitch=44.5))
    text = with_hand_set(text, PitchAxisEntry(pitch=127.0))
    found, problems = read_hand_set(text, demo)
    assert not problems
    near, far = measured_by_hand(found, demo, seed=1)
    assert near.sentence == (
        "About the middle of A♭2 and A2 the line from bar 1, beat 7 comes back upside down at "
        "bar 3, beat 3."
    )
    assert any("the nearest one there is" in text for _, text in far.facts)


@pytest.mark.parametrize("pitch", ["44.25", "-1", "128"])
def test_a_pitch_that_is_none_is_told_with_its_line(demo: Passage, pitch: str):
    found, problems = read_hand_set(f"[[pitch_axis]]\npitch = {pitch}\n", demo)
    assert not found
    assert [p.line for p in problems] == [2]
