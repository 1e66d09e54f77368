"""What is measured of a window, against published values, other libraries and the definitions."""

from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import islice
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats
from tests.making import SEVEN, Spelled, Value, passage, place_on
from tests.reference_tables import rows_of

from riffract.analysis.fourier import shares
from riffract.analysis.pitch_class_set import SETS, pcs_of, transposed
from riffract.music import Metre, Technique
from riffract.music.notes import NO_PITCH
from riffract.weighing.comparing import measures_of_line, windows
from riffract.weighing.comparing.line_intervals import line_intervals, turns_of_phrase
from riffract.weighing.comparing.measures_of import GROUPS, MEASURES, MEASURES_VERSION, measured
from riffract.weighing.comparing.measures_of_pitch_classes import smallest_symmetrical_sizes
from riffract.weighing.comparing.surface import felt_beats, is_uneven, surface_of
from riffract.weighing.comparing.windows import WINDOW_ATTACKS, longest_fitting, windows_of

CORPORA = Path(__file__).parents[3] / "shared" / "data" / "corpus"
FOUR = Metre(groups=(4,), unit=4)
SEVEN_EIGHT = Metre(groups=(2, 2, 3), unit=8)
PITCHES = st.lists(st.integers(41, 76), min_size=16, max_size=24)
VALUES = st.lists(
    st.sampled_from([Fraction(1, 4), Fraction(1, 3), Fraction(1, 2), Fraction(1), Fraction(3, 2)]),
    min_size=24,
    max_size=24,
)


def values_of(attacks: Sequence[Spelled], *, count: int = 8, **how: Any) -> dict[str, float]:
    """Measure the first window of a passage; values by name."""
    found = windows_of(surface_of(passage(attacks, **how)), count)
    return dict(zip((m.name for m in MEASURES), measured(found)[0].tolist(), strict=True))


def line(pitches: Sequence[int], values: Sequence[Value] | None = None) -> list[Spelled]:
    return list(zip(pitches, values or [1] * len(pitches), strict=False))


# Grabe & Low (2002); Patel & Daniele, Cognition 87 (2003); recomputed from the formula.
@pytest.mark.parametrize(
    ("values", "npvi"), [([1, 2], 66.6667), ([3, 1], 100.0), ([1, 1], 0.0)], ids=str
)
def test_contrast_of_values_is_as_published(values, npvi):
    found = values_of(line([60] * 8, values * 4))
    assert found["npvi"] == pytest.approx(npvi, abs=1e-3)


def test_evenness_is_one_for_equal_values_and_the_amount_of_a_mean_otherwise():
    assert values_of(line([60] * 8))["evenness"] == 1.0
    values = [1, 1, 2, 1, 1, 1, 1]
    onsets = np.cumsum([0, *values[:-1]])
    points = np.exp(2j * np.pi * (onsets / sum(values) - np.arange(7) / 7))
    found = values_of(line([60] * 8, [*values, 1]))
    assert found["evenness"] == pytest.approx(abs(points.sum()) / 7, abs=1e-6)


def test_interval_class_shares_are_the_published_vectors():
    # All set classes with their vectors (Forte 1973, in the shared reference table).
    for row in rows_of("set_classes.csv"):
        pcs = [int(x, 16) for x in row["prime_rahn"].replace("T", "a").replace("E", "b")]
        if len(pcs) < 2:
            continue
        found = values_of(line([48 + pc for pc in pcs] * 8)[:16], count=16)
        pairs = len(pcs) * (len(pcs) - 1) / 2
        published = [int(n) / pairs for n in row["ic_vector"].split()]
        measured_shares = [found[f"interval_class_{k}_share"] for k in range(1, 7)]
        assert measured_shares == pytest.approx(published, abs=1e-5), row["forte"]


# Quinn (2006-07), Amiot (2016): which magnitude each collection drives; share 1 by Parseval.
@pytest.mark.parametrize(
    ("pcs", "k", "fit"),
    [
        ((0, 1, 4, 5, 8, 9), 3, "hexatonic_fit"),
        ((0, 1, 3, 4, 6, 7, 9, 10), 4, "octatonic_fit"),
        ((0, 2, 4, 6, 8, 10), 6, "whole_tone_fit"),
    ],
)
def test_a_symmetrical_collection_has_all_its_power_in_one_place_and_fits_itself(pcs, k, fit):
    count = {6: 24, 8: 16}[len(pcs)]
    notes = [48 + pc for pc in pcs] * (count // len(pcs))
    found = windows_of(surface_of(passage(line(notes))), count)
    values = dict(zip((m.name for m in MEASURES), measured(found)[0].tolist(), strict=True))
    assert values[f"fourier_{k}_share"] == pytest.approx(1.0)
    assert values[fit] == 1.0
    assert values["symmetrical_size"] == len(pcs)


@given(PITCHES)
def test_fourier_shares_and_entropy_agree_with_other_code(pitches):
    found = values_of(line(pitches), count=16)
    counts = np.bincount([p % 12 for p in pitches[:16]], minlength=12)
    for k, share in shares(counts.tolist()).items():
        assert found[f"fourier_{k}_share"] == pytest.approx(share, abs=1e-5)
    assert found["pc_entropy_bits"] == pytest.approx(stats.entropy(counts, base=2), abs=1e-5)


def test_the_smallest_symmetrical_set_is_found_by_trying_all():
    # A set is symmetrical if a transposition maps it onto itself; the twelve notes always are.
    symmetrical = [m for m in range(1, SETS) if any(transposed(m, n) == m for n in range(1, 12))]
    assert len(symmetrical) == 75  # 74 proper ones and all twelve notes (enumerated)
    sizes = smallest_symmetrical_sizes()
    for mask in range(0, SETS, 7):
        assert sizes[mask] == min(len(pcs_of(s)) for s in symmetrical if s & mask == mask)


def test_intervals_are_counted_by_hand():
    found = values_of(line([60, 61, 63, 69, 69, 62, 61, 48]))
    # Intervals: +1 +2 +6 0 -7 -1 -13.
    assert found["semitone_share"] == pytest.approx(2 / 7, abs=1e-6)
    assert found["step_share"] == pytest.approx(3 / 7, abs=1e-6)
    assert found["leap_share"] == pytest.approx(3 / 7, abs=1e-6)
    assert found["tritone_share"] == pytest.approx(1 / 7, abs=1e-6)
    assert found["repeat_share"] == pytest.approx(1 / 7, abs=1e-6)
    assert found["fall_share"] == pytest.approx(3 / 7, abs=1e-6)
    assert found["mean_interval_semitones"] == pytest.approx(30 / 7, abs=1e-5)
    assert found["range_semitones"] == 21
    assert found["turns_per_note"] == pytest.approx(1 / 6, abs=1e-6)
    assert found["distinct_pcs"] == 5


def test_rhythm_and_texture_are_counted_by_hand():
    attacks: list[Spelled] = [
        *((60, "1/2"), ((48, 60), "1/2"), (60, "1/2"), (None, "1/2"), (60, 1), (60, "1/4")),
        *((60, "3/4"), (60, 1), (60, 1)),
    ]
    found = values_of(attacks)
    # Onsets 0 1/2 1 2 3 3 1/4 4 5, so values 1/2 1/2 1 1 1/4 3/4 1.
    assert found["attacks_per_quarter"] == pytest.approx(7 / 5, abs=1e-6)
    assert found["distinct_values"] == 4
    assert found["commonest_value_share"] == pytest.approx(3 / 7, abs=1e-6)
    assert found["off_beat_share"] == pytest.approx(2 / 8, abs=1e-6)
    assert found["chord_share"] == pytest.approx(1 / 8, abs=1e-6)
    assert found["notes_per_attack"] == pytest.approx(9 / 8, abs=1e-6)


def test_a_cell_that_comes_back_is_found_at_its_period():
    found = values_of(line([60, 64, 67, 65] * 8), count=32)
    assert found["period_share"] == 1.0
    rng = np.random.default_rng(1)
    random = values_of(line(rng.integers(41, 76, 32).tolist()), count=32)
    assert random["period_share"] < 0.5


def test_a_palindrome_scores_above_its_shuffle_and_equal_items_score_nothing():
    half = [60, 67, 62, 69, 61, 70, 65, 71]
    mirrored = values_of(line(half + half[::-1]), count=16)["line_mirror_bits"]
    shuffled = values_of(line(half + half[4:] + half[:4]), count=16)["line_mirror_bits"]
    assert mirrored > 2 * shuffled
    assert values_of(line([60] * 16), count=16)["line_mirror_bits"] == 0.0


@given(PITCHES, VALUES, st.integers(-5, 5))
def test_transposing_changes_no_measure(pitches, values, semitones):
    here = values_of(line(pitches, values), count=16)
    there = values_of(line([p + semitones for p in pitches], values), count=16)
    assert there == here


@given(PITCHES, VALUES)
def test_doubling_all_values_and_the_metre_changes_the_density_only(pitches, values):
    here = values_of(line(pitches, values), count=16)
    twice = Metre(groups=(4,), unit=2)
    there = values_of(line(pitches, [2 * v for v in values]), count=16, metres=[twice])
    assert there.pop("attacks_per_quarter") == pytest.approx(
        here.pop("attacks_per_quarter") / 2, abs=2e-6
    )
    assert there == here


def test_moving_notes_to_other_strings_changes_nothing():
    made = passage(line([60, 64, 67, 65] * 4))
    notes = made.notes
    string = np.array([place_on(SEVEN, int(p), taken=(1, 2))[0] for p in notes.pitch])
    fret = notes.pitch - np.array([SEVEN.open_pitch(int(s)) for s in string])
    moved = replace(made, notes=replace(notes, string=string, fret=fret))
    assert (string != notes.string).any()
    for count in (8, 16):
        here, there = (measured(windows_of(surface_of(p), count)) for p in (made, moved))
        assert here.tolist() == there.tolist()


def test_every_measure_has_a_name_words_a_definition_and_a_source():
    names = [m.name for m in MEASURES]
    assert len(set(names)) == len(names)
    assert all(m.phrase and m.definition and m.source for m in MEASURES)
    assert [k for group in GROUPS for k in group] == list(range(len(MEASURES)))


@given(PITCHES, VALUES)
def test_shares_lie_between_nothing_and_all(pitches, values):
    found = measured(windows_of(surface_of(passage(line(pitches, values))), 8))
    shares_of = found[:, [k for k, m in enumerate(MEASURES) if m.unit == "share"]]
    assert np.isfinite(found).all()
    assert ((shares_of >= 0) & (shares_of <= 1)).all()


# Which beats are felt is common practice.
@pytest.mark.parametrize(
    ("metre", "beats", "uneven"),
    [
        (FOUR, (1, 1, 1, 1), False),
        (Metre(groups=(6,), unit=8), (3, 3), False),
        (Metre(groups=(5,), unit=4), (1,) * 5, True),
        (Metre(groups=(5,), unit=8), (2, 3), True),
        (Metre(groups=(7,), unit=8), (2, 2, 3), True),
        (Metre(groups=(3, 3, 2), unit=8), (3, 3, 2), True),
        (Metre(groups=(4,), unit=8), (2, 2), False),
        (Metre(groups=(1,), unit=8), (1,), False),
    ],
    ids=lambda x: x.label_with_groups() if isinstance(x, Metre) else None,
)
def test_felt_beats(metre, beats, uneven):
    assert felt_beats(metre) == beats
    assert is_uneven(metre) == uneven


def test_off_beats_follow_the_stated_groups():
    found = values_of(line([60] * 14, [Fraction(1, 2)] * 14), metres=[SEVEN_EIGHT])
    # Eighths 1 3 5 of each bar of seven are felt: of the first eight attacks those at 0 2 4 7.
    assert found["off_beat_share"] == 0.5
    assert found["uneven_metre_share"] == 1.0


def test_a_bent_note_counts_by_the_pitch_it_starts_from():
    made = passage(line([60] * 8))
    paths = ((), (200, 0), (0, 200))
    bent = np.array([0, 1, 2, 0, 0, 0, 0, 0])
    notes = replace(made.notes, bend_path=bent, bend_paths=paths)
    assert surface_of(replace(made, notes=notes)).line_pitch.tolist() == [60, 62, *[60] * 6]


def test_windows_start_with_bars_and_do_not_overlap():
    found = windows_of(surface_of(passage(line([60, 62, 64] * 14))), 8)
    assert found.starts.tolist() == [0, 8, 16, 24, 32]
    three = Metre(groups=(3,), unit=4)
    found = windows_of(surface_of(passage(line([60, 62, 64] * 14), metres=[three])), 8)
    assert found.starts.tolist() == [0, 9, 18, 27]


def test_no_window_reaches_across_a_long_silence():
    parts = [*line([60] * 12), (None, 9), *line([62] * 12)]
    found = windows_of(surface_of(passage(parts)), 8)
    assert found.starts.tolist() == [0, 12]
    assert windows_of(surface_of(passage(parts)), 16).starts.tolist() == []
    short = [*line([60] * 12), (None, 7), *line([62] * 12)]
    assert len(windows_of(surface_of(passage(short)), 16)) == 1


def test_windows_without_pitch_are_left_out():
    made = passage(line([60] * 16))
    dead = np.arange(16) < 9
    notes = replace(
        made.notes,
        pitch=np.where(dead, NO_PITCH, made.notes.pitch),
        techniques=np.where(dead, int(Technique.DEAD), made.notes.techniques),
    )
    found = windows_of(surface_of(replace(made, notes=notes)), 8)
    assert found.starts.tolist() == [8]


def test_a_long_part_gives_no_more_windows_than_a_corpus_can_bear():
    surface = surface_of(passage(line([60 + k % 7 for k in range(2000)])))
    found = windows_of(surface, 8)
    assert len(found) == windows.MOST_WINDOWS
    assert found.starts[0] == 0
    assert found.starts[-1] == 1992


@pytest.mark.parametrize("count", [7, 8, 15, 16, 127, 128])
def test_a_passage_finds_the_longest_window_that_fits(count):
    expected = max((n for n in WINDOW_ATTACKS if n <= count), default=None)
    assert (
        longest_fitting(surface_of(passage(line([60 + k % 5 for k in range(count)])))) == expected
    )


@given(PITCHES, st.integers(-12, 12))
def test_turns_of_phrase_are_the_same_wherever_they_stand(pitches, semitones):
    def turns(row: list[int]) -> list[int]:
        return [int(n) for n in turns_of_phrase(line_intervals(np.array([row])).semitones[0])]

    assert turns(pitches) == turns([p + semitones for p in pitches])
    assert turns(pitches) == turns([p for p in pitches for _ in range(2)])


def test_turns_of_phrase_are_counted_by_hand():
    # Six notes that all move: two runs of four intervals.
    semitones = line_intervals(np.array([[60, 62, 64, 65, 67, 69]])).semitones[0]
    assert len(turns_of_phrase(semitones)) == 2
    assert turns_of_phrase(np.array([1, 0, 0, 1, 1])).tolist() == []


@pytest.mark.parametrize("least", [3, 4, 6, 7])
def test_where_a_leap_begins_does_not_decide_which_line_leaps(least, monkeypatch):
    monkeypatch.setattr(measures_of_line, "SMALLEST_LEAP_SEMITONES", least)
    leaping = values_of(line([45, 60, 52, 69, 48, 64, 50, 67]))["leap_share"]
    stepping = values_of(line([60, 62, 64, 65, 67, 65, 64, 62]))["leap_share"]
    assert leaping == 1.0
    assert stepping == 0.0


@pytest.mark.parametrize("least", [0.25, 0.5, 0.75])
def test_how_many_pitches_a_window_needs_does_not_decide_the_clear_cases(least, monkeypatch):
    monkeypatch.setattr(windows, "LEAST_PITCHED_SHARE", least)
    made = passage(line([60] * 16), metres=[Metre(groups=(8,), unit=4)])
    notes = replace(made.notes, pitch=np.where(np.arange(16) < 8, NO_PITCH, made.notes.pitch))
    found = windows_of(surface_of(replace(made, notes=notes)), 8)
    assert found.starts.tolist() == [8]


@pytest.mark.parametrize("silence", [4, 8, 16])
def test_how_long_a_silence_is_does_not_change_where_none_is_long(silence, monkeypatch):
    monkeypatch.setattr(windows, "LONGEST_SILENCE_QUARTERS", silence)
    parts = [*line([60] * 12), (None, 3), *line([62] * 12), (None, 40), *line([62] * 12)]
    assert windows_of(surface_of(passage(parts)), 8).starts.tolist() == [0, 8, 24]


def test_the_documents_list_every_measure_as_it_is():
    text = (Path(__file__).parents[2] / "docs" / "corpus.md").read_text("utf-8")
    rows = [f"| `{m.name}` | {m.unit.value} | {m.phrase} |" for m in MEASURES]
    assert [row for row in rows if row not in text] == []


def test_steps_fall_and_leaps_rise_in_songs_as_published():
    # Vos & Troost, Music Perception 6/4 (1989), from memory: in Western melodies small intervals
    # mostly descend, and large ones mostly ascend.
    if not CORPORA.exists():
        pytest.skip("the corpora for comparison are not here")
    from tools.corpus_from_notes import bar_lines, pieces, surface_of_part

    found = []
    for piece in islice(pieces(CORPORA, "lieder"), 300):
        bars = bar_lines(piece) if piece["meters"] else []
        for part in piece["parts"] if bars else ():
            surface = surface_of_part(part, bars) if part["notes"] else None
            if surface is not None and (surface.note_count == 1).all():
                found.append(line_intervals(surface.line_pitch[None, :]).semitones[0])
    semitones = np.concatenate(found)
    steps = semitones[(semitones != 0) & (np.abs(semitones) <= 2)]
    leaps = semitones[np.abs(semitones) >= 5]
    assert len(steps) > 10_000
    assert (steps < 0).mean() > 0.55
    assert (leaps > 0).mean() > 0.53


# Computed by this very code: they are right by the tests above, and guard against change only.
KEPT = {
    "attacks_per_quarter": 2.22222,
    "distinct_values": 4.0,
    "commonest_value_share": 0.46667,
    "npvi": 47.14286,
    "evenness": 0.98706,
    "off_beat_share": 0.6875,
    "uneven_metre_share": 1.0,
    "chord_share": 0.0625,
    "notes_per_attack": 1.0625,
    "range_semitones": 18.0,
    "mean_interval_semitones": 7.33333,
    "repeat_share": 0.0,
    "semitone_share": 0.06667,
    "step_share": 0.13333,
    "leap_share": 0.66667,
    "tritone_share": 0.0,
    "fall_share": 0.46667,
    "turns_per_note": 0.85714,
    "distinct_pcs": 7.0,
    "pc_entropy_bits": 2.4165,
    "fourier_1_share": 0.11231,
    "fourier_2_share": 0.43414,
    "fourier_3_share": 0.15213,
    "fourier_4_share": 0.15956,
    "fourier_5_share": 0.12517,
    "fourier_6_share": 0.0167,
    "hexatonic_fit": 0.76471,
    "octatonic_fit": 0.82353,
    "whole_tone_fit": 0.58824,
    "diatonic_fit": 0.88235,
    "pentatonic_fit": 0.64706,
    "symmetrical_size": 10.0,
    "interval_class_1_share": 0.2381,
    "interval_class_2_share": 0.14286,
    "interval_class_3_share": 0.14286,
    "interval_class_4_share": 0.19048,
    "interval_class_5_share": 0.19048,
    "interval_class_6_share": 0.09524,
    "rhythm_mirror_bits": 0.1502,
    "line_mirror_bits": 0.26125,
    "period_share": 0.1,
}


def test_against_itself_a_changed_measure_needs_a_new_version_and_a_new_background():
    """An index and the table that ships must not be compared with what is measured otherwise.

    If this fails for a good reason, raise `MEASURES_VERSION`, run
    `python -m tools.corpus_from_notes background FOLDER`, and keep the new values here.
    """
    pitches = [40, 52, 47, 51, 46, 52, 40, 55, 51, 54, 47, 52, 40, 52, 47, 58]
    quarters = [Fraction(n, 4) for n in (2, 1, 1, 2, 2, 3, 1, 2, 2, 2, 1, 1, 4, 2, 1, 1)]
    attacks = line(pitches, quarters)
    attacks[4] = ((46, 53), quarters[4])
    found = values_of(attacks, count=16, metres=[SEVEN_EIGHT])
    assert MEASURES_VERSION == 1
    assert found == pytest.approx(KEPT, abs=1.1e-5)
