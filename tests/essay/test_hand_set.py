"""What is set by hand: kept in the file as written, measured from the notes."""

from fractions import Fraction
from importlib.resources import files
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests import making

from riffract.cli.main import main
from riffract.essay.by_hand.axis import axes_by_hand, nearest_axis
from riffract.essay.by_hand.kept import (
    AxisEntry,
    HandEntry,
    PitchAxisEntry,
    RiffEntry,
    StretchEntry,
    read_hand_set,
    with_hand_set,
    without_hand_set,
)
from riffract.essay.by_hand.measured import measured_by_hand
from riffract.essay.by_hand.riff import attacks_within, riff_by_hand
from riffract.formats.tab import read_tab
from riffract.music import Passage
from riffract.weighing.view import View, view_of

WRITTEN = '# mine\n[[axis]]\nof = "rhythm"\nat = "7/2"\n'


@pytest.fixture(scope="module")
def passage() -> Passage:
    found = read_tab((files("riffract.demo") / "passage.tab").read_text(encoding="utf-8")).passage
    assert found is not None
    return found


@pytest.fixture(scope="module")
def view(passage: Passage) -> View:
    return view_of(passage, seed=1)


def pairs_by_counting(row: list[Fraction], doubled: int) -> int:
    """Count equal pairs outwards from an axis, one by one: the slow twin."""
    left, right, pairs = (doubled - 1) // 2, doubled - (doubled - 1) // 2, 0
    while left >= 0 and right < len(row) and row[left] == row[right]:
        left, right, pairs = left - 1, right + 1, pairs + 1
    return pairs


VALUES = st.lists(
    st.sampled_from([Fraction(1, 2), Fraction(1), Fraction(2)]), min_size=5, max_size=14
)


@settings(max_examples=40, deadline=None)
@given(values=VALUES)
def test_pairs_about_each_axis_are_those_that_counting_finds(values: list[Fraction]):
    of = making.passage([(45 + 2 * (i % 4), value) for i, value in enumerate(values)])
    axes = axes_by_hand(view_of(of, seed=1), "rhythm")
    counted = [pairs_by_counting(values, doubled) for doubled in range(1, 2 * len(values) - 2)]
    assert [axis.core_pairs for axis in axes] == counted
    assert all(0 < axis.p <= 1 for axis in axes)


def test_the_riff_that_was_found_costs_by_hand_what_it_cost_in_the_study(view: View):
    best = view.readings[0]
    riff = riff_by_hand(view.passage, *attacks_within(view.attacks, best.template))
    assert riff.reading.bits == pytest.approx(best.bits, abs=1e-3)
    assert riff.reading.passes == best.passes


def test_a_riff_one_attack_later_costs_no_less(view: View):
    first, count = attacks_within(view.attacks, view.readings[0].template)
    moved = riff_by_hand(view.passage, first + 1, count)
    assert moved.reading.bits >= view.readings[0].bits
    assert 0 < moved.most_chance <= 1


def test_a_stretch_that_never_comes_back_is_told_so(view: View):
    whole = riff_by_hand(view.passage, 0, len(view.attacks))
    assert whole.sentence == "This stretch does not come back."
    assert whole.most_chance == 1.0
    with pytest.raises(ValueError, match="2 or more of 129 attacks, got 1 from number 0"):
        riff_by_hand(view.passage, 0, 1)


def test_what_was_written_around_it_stays(passage: Passage):
    text = with_hand_set(WRITTEN, RiffEntry(start="0", end="15"))
    assert text.startswith(WRITTEN)
    found, problems = read_hand_set(text, passage)
    assert not problems
    assert [one.table for one in found] == ["axis", "riff"]
    assert without_hand_set(text, "riff", 0).strip() == WRITTEN.strip()
    with pytest.raises(IndexError):
        without_hand_set(WRITTEN, "axis", 1)


ENTRIES = st.lists(
    st.one_of(
        st.builds(
            AxisEntry,
            of=st.sampled_from(["rhythm", "retrograde"]),
            at=st.integers(0, 60).map(lambda n: str(Fraction(n, 2))),
        ),
        st.integers(0, 20).map(lambda n: RiffEntry(start=str(n), end=str(n + 9))),
        st.integers(80, 140).map(lambda n: PitchAxisEntry(pitch=n / 2)),
        st.integers(1, 6).map(lambda n: StretchEntry(bars=f"{n}-{n + 2}")),
        st.integers(1, 6).map(lambda n: StretchEntry(bars=f"{n}:2.5-{n + 2}:3")),
    ),
    max_size=6,
)


@settings(max_examples=40, deadline=None)
@given(entries=ENTRIES)
def test_writing_then_reading_gives_the_same_by_table(passage: Passage, entries: list[HandEntry]):
    text = ""
    for entry in entries:
        text = with_hand_set(text, entry)
    found, problems = read_hand_set(text, passage)
    assert not problems
    for kind in (AxisEntry, PitchAxisEntry, RiffEntry, StretchEntry):
        written = [e for e in entries if isinstance(e, kind)]
        assert [one.entry for one in found if isinstance(one.entry, kind)] == written


@pytest.mark.parametrize(
    ("row", "line", "what"),
    [
        ('[[axis]]\nof = "rhythm"\nat = "900"', 3, '"900" is no moment of the passage'),
        ('[[axis]]\nof = "rhythm"\nat = "1/0"', 3, '"1/0" is no moment of the passage'),
        ('[[riff]]\nstart = "4"\nend = "3"', 3, "the riff holds fewer than 2 attacks"),
        ('[[stretch]]\nbars = "3-99"', 2, '"3-99" names no stretch of the passage'),
    ],
)
def test_a_row_that_is_not_about_the_passage_is_told(passage: Passage, row, line, what):
    found, problems = read_hand_set(row, passage)
    assert not found
    assert [(p.line, p.what) for p in problems] == [(line, what)]
    assert problems[0].mend


def test_everything_set_is_measured_from_the_notes(passage: Passage, view: View):
    best = max(axes_by_hand(view, "rhythm"), key=lambda axis: axis.bits)
    text = with_hand_set("", AxisEntry(of="rhythm", at=str(best.at_quarters)))
    text = with_hand_set(text, RiffEntry(start="0", end="29/2"))
    text = with_hand_set(text, StretchEntry(bars="1-3"))
    found, _ = read_hand_set(text, passage)
    axis, riff, stretch = measured_by_hand(found, passage, seed=1)
    assert f"{best.core_pairs} steps each way" in axis.sentence
    assert "four times" in riff.sentence
    assert stretch.sentence.startswith("Bars 1 to 3, looked at alone:")
    assert nearest_axis(axes_by_hand(view, "rhythm"), best.at_quarters) == best


def test_the_study_of_an_essay_tells_what_was_set_by_hand(tmp_path: Path, capsys):
    for name in ("essay.toml", "passage.tab"):
        (tmp_path / name).write_bytes((files("riffract.demo") / name).read_bytes())
    (tmp_path / "findings.toml").write_text(
        with_hand_set('[[stretch]]\nbars = "0"\n', RiffEntry(start="0", end="15"))
    )
    assert main(["study", str(tmp_path)]) == 0
    out, err = capsys.readouterr()
    assert "Set by hand\n  The riff is played four times" in out
    assert 'findings.toml:2 (stretch 1, bars): "0" names no stretch of the passage' in err
