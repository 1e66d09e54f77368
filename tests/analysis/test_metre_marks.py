"""Strong strokes on the starts of groups, bar after bar. Counted out by brute force."""

from collections.abc import Sequence
from fractions import Fraction
from itertools import combinations

import numpy as np
import pytest
from bench.controls import CONTROLS
from tests.making import SEVEN, place_on

from riffract.analysis.attacks import attacks_of
from riffract.analysis.finding import Passes
from riffract.analysis.metre import marks as metre_marks
from riffract.analysis.metre.find import readings_of_bar
from riffract.analysis.metre.marks import Marks, marks_of
from riffract.analysis.metre.question import question_of
from riffract.analysis.passes.find import find_passes
from riffract.music import Metre, NoteTableBuilder, Passage, Technique, TempoMark, bars_in_row
from riffract.weighing.weigh import study_passage

EIGHT = Metre(groups=(2, 2, 2, 2), unit=8)
THREE_THREE_TWO = (0, 3, 6)


def accented(bars: Sequence[tuple[Sequence[int], tuple[int, ...]]]) -> Passage:
    """Play bars of eight eighths, some of them accented."""
    builder = NoteTableBuilder()
    for bar, (pitches, accents) in enumerate(bars):
        for k, pitch in enumerate(pitches):
            string, fret = place_on(SEVEN, pitch)
            builder.add(
                onset_quarters=4 * bar + Fraction(k, 2),
                duration_quarters=Fraction(1, 2),
                string=string,
                fret=fret,
                pitch=pitch,
                techniques=Technique.ACCENT if k in accents else Technique(0),
            )
    return Passage(
        title="Test",
        tuning=SEVEN,
        bars=bars_in_row((EIGHT, None, n + 1) for n in range(len(bars))),
        tempos=(TempoMark(at_quarters=Fraction(0), quarters_per_minute=120.0),),
        notes=builder.build(),
    )


def other_notes(bars: int, accents: tuple[int, ...], seed: int = 0) -> Passage:
    rng = np.random.default_rng(seed)
    return accented([(rng.integers(45, 63, 8).tolist(), accents) for _ in range(bars)])


def marks(music: Passage) -> Marks | None:
    attacks = attacks_of(music)
    readings = [
        f.what.readings[0] for f in find_passes(music, attacks) if isinstance(f.what, Passes)
    ]
    question = question_of(music, attacks)
    if question is None:
        return None
    return marks_of(question, attacks, readings, readings_of_bar(question)[0].groups)


def test_the_chance_is_that_of_all_ways_to_place_the_accents():
    # Of three accents in a bar of eight, the first on its first stroke: counted out.
    ways = list(combinations(range(1, 8), 2))
    share = ways.count((3, 6)) / len(ways)
    found = marks(other_notes(12, THREE_THREE_TWO))
    assert found is not None
    assert (found.marked, found.bars) == (12, 12)
    groupings = 4  # 3+3+2, 3+2+3, 2+3+3 and 2+2+2+2
    assert found.p == pytest.approx(groupings * share**12)


@pytest.mark.parametrize("seed", range(3))
def test_written_accents_that_group_every_bar_otherwise_than_written_are_firm(seed):
    study = study_passage(other_notes(12, THREE_THREE_TWO, seed))
    told = [f for f in study.findings if f.finding.kind.name == "METRE"]
    assert [f.finding.sentence for f in told] == [
        "The strong strokes divide 8/8 into 3+3+2, not into 2+2+2+2 as written."
    ]
    assert told[0].is_solid


def test_one_bar_in_ten_may_go_otherwise():
    rng = np.random.default_rng(1)
    bars: list[tuple[list[int], tuple[int, ...]]] = [
        (rng.integers(45, 63, 8).tolist(), THREE_THREE_TWO) for _ in range(12)
    ]
    bars[11] = (bars[11][0], (0, 3))
    found = marks(accented(bars))
    assert found is not None
    assert (found.marked, found.bars) == (11, 12)
    bars[3], bars[7] = (bars[3][0], (0, 6)), (bars[7][0], (0, 3))
    assert marks(accented(bars)) is None


def test_a_bar_that_comes_back_says_it_once():
    rng = np.random.default_rng(2)
    bar = (rng.integers(45, 63, 8).tolist(), THREE_THREE_TWO)
    assert marks(accented([bar] * 12)) is None
    riff = [(rng.integers(45, 63, 8).tolist(), THREE_THREE_TWO) for _ in range(3)]
    assert marks(accented(riff * 4)) is None


def test_accents_that_are_no_grouping_mark_none():
    assert marks(other_notes(12, (0, 1, 2))) is None
    assert marks(other_notes(12, (0, 4))) is None


def test_accents_that_fall_anywhere_mark_none():
    rng = np.random.default_rng(4)
    for _ in range(30):
        bars = [
            (
                rng.integers(45, 63, 8).tolist(),
                (0, *sorted(rng.choice(np.arange(1, 8), 2, replace=False).tolist())),
            )
            for _ in range(12)
        ]
        assert marks(accented(bars)) is None


@pytest.mark.parametrize("name", list(CONTROLS))
def test_random_music_marks_no_groups_but_the_beats(name):
    for seed in range(4):
        music = CONTROLS[name].draw(seed)
        question = question_of(music, attacks_of(music))
        if question is not None and question.saves_bits:
            best = readings_of_bar(question)[0]
            assert (best.is_written and not question.is_stated) or marks(music) is None


@pytest.mark.parametrize(
    ("name", "value"),
    [("FEWEST_BARS", 2), ("FEWEST_BARS", 8), ("MARKED_SHARE", 0.8), ("MARKED_SHARE", 1.0)],
)
def test_other_thresholds_tell_the_same(monkeypatch, name, value):
    monkeypatch.setattr(metre_marks, name, value)
    assert marks(other_notes(12, THREE_THREE_TWO)) is not None
    assert marks(other_notes(12, (0, 4))) is None


def test_too_few_bars_mark_nothing():
    assert marks(other_notes(3, THREE_THREE_TWO)) is None
