"""The scenes with truth and the numbers that the listening parts are judged by."""

from collections import Counter
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

import numpy as np
import pytest
from bench.heard_errors import Mistake, WrongText, with_mistakes
from bench.heard_passages import PASSAGES, low_chug, ringing_eleven
from bench.heard_playing import Truth, drift, playing, read_truth, truth_of, write_truth
from bench.heard_strings import RATE_HZ, onset_of, plucked, plucked_passage
from bench.hearing_metrics import (
    alignment_of,
    doubting,
    onset_f,
    placing,
    pooled,
    struck_in,
    summary,
    wilson,
)
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binomtest

from riffract.music import Passage, Span
from riffract.sound.alignment.alignment import Alignment
from riffract.sound.support.support import (
    NoteSupport,
    Rival,
    RivalKind,
    Support,
    SupportReport,
    UnwrittenNote,
)


def perfect(
    truth: Truth,
    length_quarters: Fraction,
    *,
    off_seconds: float = 0.0,
    half_seconds: float = 0.01,
) -> Alignment:
    return alignment_of(
        truth, length_quarters, off_seconds=lambda: off_seconds, half_seconds=half_seconds
    )


def bars(text: Passage, first: int, past: int) -> Span:
    return Span(text.bars[first - 1].start_quarters, text.bars[past - 2].span.end_quarters)


# ---- playing


def test_an_even_playing_follows_the_written_tempo():
    text = low_chug()  # 150 quarters a minute: 0.4 s each
    truth = truth_of(playing(text, start_seconds=0.0))
    assert [a.seconds for a in truth.attacks] == pytest.approx(
        [float(a.quarters) * 0.4 for a in truth.attacks]
    )


def test_a_drift_is_the_integral_of_its_pace():
    # ∫ dq / (1 + q/L) over a passage of L quarters is L ln 2.
    text = low_chug()
    played = playing(text, pace=drift(1.0, 2.0), start_seconds=0.0)
    length = float(text.length_quarters)
    expected = 0.4 * length * np.log(2.0)
    assert played.time_map.seconds_at(text.length_quarters) == pytest.approx(expected, rel=2e-3)


def test_a_part_that_is_played_again_is_told_so_and_keeps_its_place_in_the_text():
    text = low_chug()
    spans = [bars(text, 1, 3), bars(text, 2, 3)]
    truth = truth_of(playing(text, spans=spans))
    assert [s.is_again for s in truth.stretches] == [False, True]
    again = [a.quarters for a in truth.attacks if a.stretch == 1]
    assert again == sorted({n.onset_quarters for n in text.notes if 3.5 <= n.onset_quarters < 7})


@pytest.mark.parametrize("name", PASSAGES)
def test_no_string_sounds_two_notes_at_once_in_any_passage(name):
    text = PASSAGES[name]()
    for string in range(1, text.tuning.string_count + 1):
        notes = [n for n in text.notes if n.string == string]
        for early, late in pairwise(notes):
            assert early.ring_end_quarters <= late.onset_quarters


@given(seed=st.integers(0, 50), jitter=st.floats(0.0, 0.05))
def test_attacks_keep_their_order_however_uneven_the_hand(seed, jitter):
    truth = truth_of(playing(ringing_eleven(), jitter_seconds=jitter, seed=seed))
    assert all(np.diff([a.seconds for a in truth.attacks]) > 0)


def test_truth_that_is_written_is_read_again(tmp_path):
    truth = truth_of(playing(low_chug(), jitter_seconds=0.003), strum_seconds=0.005)
    write_truth(tmp_path / "t.json", truth)
    read = read_truth(tmp_path / "t.json")
    assert [a.quarters for a in read.attacks] == [a.quarters for a in truth.attacks]
    assert [n.onset_seconds for n in read.notes] == pytest.approx(
        [n.onset_seconds for n in truth.notes], abs=1e-5
    )


# ---- the loop of delay lines


@pytest.mark.parametrize("pitch", [30, 40, 52, 64])
def test_a_plucked_loop_sounds_in_tune_by_equal_temperament(pitch):
    # f(m) = 440 · 2^((m−69)/12), ISO 16:1975.
    wave = plucked(pitch, 2.0, np.random.default_rng(1))[4000 : 4000 + 2**16]
    spectrum = np.abs(np.fft.rfft(wave * np.hanning(len(wave)), 2**19))
    hz = np.fft.rfftfreq(2**19, 1 / RATE_HZ)
    written = 440.0 * 2.0 ** ((pitch - 69) / 12)
    near = (hz > 0.97 * written) & (hz < 1.03 * written)
    found = hz[near][spectrum[near].argmax()]
    assert abs(1200 * np.log2(found / written)) < 2.0


def test_a_plucked_passage_is_silent_before_its_first_attack_and_sounds_at_it():
    played = playing(low_chug(), start_seconds=0.5)
    wave = plucked_passage(played)
    assert np.abs(wave[: round(0.495 * RATE_HZ)]).max() == 0.0
    first = wave[round(0.45 * RATE_HZ) :]
    assert 0.45 + onset_of(first, RATE_HZ) == pytest.approx(0.5, abs=0.003)


# ---- placing


def test_a_perfect_alignment_has_no_error():
    text = low_chug()
    truth = truth_of(playing(text, spans=[bars(text, 1, 3), bars(text, 1, 3)]))
    held = placing(truth, perfect(truth, text.length_quarters))
    assert (held.missed, held.invented, held.stretches_right) == (0, 0, True)
    assert max(map(abs, held.errors_seconds)) == 0.0
    assert held.onset_f == 1.0


@given(off=st.floats(-0.04, 0.04))
def test_an_even_shift_is_the_median_and_the_maximum(off):
    text = ringing_eleven()
    truth = truth_of(playing(text))
    held = placing(truth, perfect(truth, text.length_quarters, off_seconds=off))
    told = summary([held])
    assert told.median_ms == pytest.approx(abs(off) * 1000, abs=1e-6)
    assert told.max_ms == pytest.approx(abs(off) * 1000, abs=1e-6)
    assert told.coverage == (1.0 if abs(off) <= 0.01 else 0.0) or abs(abs(off) - 0.01) < 1e-9


def test_what_is_left_out_counts_as_missed_and_within_no_limit():
    text = low_chug()
    truth = truth_of(playing(text))
    whole = perfect(truth, text.length_quarters)
    half = replace(whole.stretches[0], attacks=whole.stretches[0].attacks[::2])
    held = placing(truth, replace(whole, stretches=(half,)))
    assert held.missed == len(truth.attacks) // 2
    assert summary([held]).within_100 == pytest.approx(0.5)


def test_onset_f_of_a_worked_example():
    # Two of three found within 50 ms, one false: precision 2/3, recall 2/3.
    assert onset_f([1.0, 2.0, 3.0], [1.04, 2.0, 3.06]) == pytest.approx(2 / 3)


@given(st.integers(1, 300).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n))))
def test_the_interval_of_a_share_is_that_of_scipy(counts):
    successes, trials = counts
    expected = binomtest(successes, trials).proportion_ci(method="wilson")
    assert wilson(successes, trials) == pytest.approx((expected.low, expected.high), abs=1e-6)


def test_a_text_is_given_the_times_of_its_own_attacks_alone():
    text = low_chug()
    truth = truth_of(playing(text))
    wrong = with_mistakes(text, {Mistake.MISSING: 2, Mistake.ONSET: 1}, 3).text
    known = perfect(truth, text.length_quarters)
    (stretch,) = struck_in(wrong, known).stretches
    assert [a.quarters for a in stretch.attacks] == sorted({n.onset_quarters for n in wrong.notes})
    assert all(
        a.seconds == pytest.approx(known.time_map.seconds_at(a.quarters)) for a in stretch.attacks
    )


# ---- planted mistakes

ALL_KINDS = dict.fromkeys(Mistake, 1)


@pytest.mark.parametrize("name", ["low-chug", "ringing-eleven", "syncopated", "eight-strings"])
def test_a_wrong_text_differs_from_the_right_one_where_it_says(name):
    right = PASSAGES[name]()
    wrong = with_mistakes(right, {Mistake.FRET: 2, Mistake.MISSING: 1, Mistake.EXTRA: 1}, seed=3)
    assert Counter(e.mistake for e in wrong.errors) == {"fret": 2, "missing": 1, "extra": 1}
    told = {e.note for e in wrong.errors if e.note is not None}
    for index, origin in enumerate(wrong.origins):
        note = wrong.text.notes[index]
        same = origin is not None and note.pitch == right.notes[origin].pitch
        assert same == (index not in told)
    assert len(wrong.text.notes) == len(right.notes)


@given(seed=st.integers(0, 30))
def test_mistakes_leave_one_note_a_string(seed):
    wrong = with_mistakes(ringing_eleven(), dict.fromkeys(Mistake, 2), seed=seed)
    for string in range(1, 7):
        notes = [n for n in wrong.text.notes if n.string == string]
        for early, late in pairwise(notes):
            assert early.ring_end_quarters <= late.onset_quarters


def oracle(wrong: WrongText) -> SupportReport:
    """A report that knows the mistakes."""
    rivals = {
        Mistake.EXTRA: RivalKind.ABSENT,
        Mistake.ONSET: RivalKind.ABSENT,
        Mistake.LONGER: RivalKind.SHORTER,
        Mistake.SHORTER: RivalKind.LONGER,
    }
    by_note = {e.note: e for e in wrong.errors if e.note is not None}
    notes = []
    for index in range(len(wrong.text.notes)):
        error = by_note.get(index)
        rival = None
        if error:
            kind = rivals.get(error.mistake, RivalKind.PITCH)
            rival = Rival(kind=kind, pitch=error.true_pitch)
        support = Support.CONTRADICTED if error else Support.BORNE_OUT
        notes.append(NoteSupport(note=index, support=support, evidence=1.0, rival=rival))
    unwritten = tuple(
        UnwrittenNote(
            quarters=e.true_quarters, seconds=0.0, pitch=e.true_pitch, string=1, fret=0, evidence=1
        )
        for e in wrong.errors
        if e.mistake in {Mistake.MISSING, Mistake.ONSET} and e.true_pitch is not None
    )
    return SupportReport(notes=tuple(notes), unwritten=unwritten, explained_share=1.0)


def test_a_report_that_knows_all_is_perfect_and_one_that_doubts_nothing_finds_nothing():
    wrong = with_mistakes(ringing_eleven(), ALL_KINDS, seed=4)
    best = doubting(wrong.errors, oracle(wrong))
    assert (best.recall, best.precision, best.f, best.false_alarms) == (1.0, 1.0, 1.0, 0)
    assert all(f.named == f.planted for f in best.by_mistake.values())
    blind = replace(
        oracle(wrong),
        notes=tuple(replace(n, support=Support.BORNE_OUT, rival=None) for n in oracle(wrong).notes),
        unwritten=(),
    )
    assert doubting(wrong.errors, blind).recall == 0.0


def test_a_report_that_doubts_everything_has_every_right_note_as_a_false_alarm():
    wrong = with_mistakes(low_chug(), {Mistake.FRET: 3}, seed=4)
    report = oracle(wrong)
    notes = tuple(replace(n, support=Support.CONTRADICTED) for n in report.notes)
    held = doubting(wrong.errors, replace(report, notes=notes))
    assert held.false_alarms == held.right_notes == len(wrong.text.notes) - 3
    both = pooled([held, held])
    assert both.false_alarms == 2 * held.false_alarms
    assert both.by_mistake[Mistake.FRET].planted == 6


def test_a_wrong_onset_is_an_eighth_late_where_it_sounds_earlier():
    wrong = with_mistakes(PASSAGES["chords-rests"](), {Mistake.ONSET: 2}, seed=1)
    assert wrong.errors
    assert all(e.quarters - e.true_quarters == Fraction(1, 2) for e in wrong.errors)
