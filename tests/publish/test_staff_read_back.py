"""What the engraver has understood, read back from it: each note once, its pitch, its time."""

from collections import defaultdict
from dataclasses import replace
from fractions import Fraction
from importlib.resources import files
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest
import verovio
from hypothesis import Phase, given, settings
from hypothesis import strategies as st
from tests.formats.musicxml_passages import passages

from riffract.formats.tab import read_tab
from riffract.music import Note, NoteTableBuilder, Passage
from riffract.publish.staff.drawing import Spacing, drawn_lines
from riffract.publish.staff.notation import notation_of

RICH = (Path(__file__).parent / "data" / "rich.tab").read_text("utf-8")
DEMO = files("riffract.demo").joinpath("passage.tab").read_text("utf-8")


def passage_of(text: str) -> Passage:
    read = read_tab(text)
    assert read.passage is not None, read.problems
    return read.passage


def read_back(passage: Passage) -> None:
    """Compare each note with the engraver's own clock and pitches; times are quarters in floats."""
    notation = notation_of(passage)
    engraver = verovio.toolkit()
    engraver.loadData(notation.xml.decode("utf-8"))
    starts, ends = _clock(engraver)
    heads: dict[int, list[str]] = defaultdict(list)
    for fret in notation.frets:
        if isinstance(fret.played, Note):
            heads[fret.played.index].append(fret.id)
    assert sorted(heads) == [note.index for note in passage.notes]
    for note in passage.notes:
        names = sorted(heads[note.index], key=starts.__getitem__)
        assert starts[names[0]] == pytest.approx(float(note.onset_quarters), abs=1e-3)
        assert ends[names[-1]] == pytest.approx(float(note.end_quarters), abs=1e-3)
        for before, after in pairwise(names):
            assert ends[before] == pytest.approx(starts[after], abs=1e-3), "ties leave no gap"
        if note.pitch is not None:
            pitches = {engraver.getMIDIValuesForElement(name)["pitch"] for name in names}
            assert pitches == {note.pitch}


def _clock(engraver: Any) -> tuple[dict[str, float], dict[str, float]]:
    """Tell when each written note starts and ends."""
    starts: dict[str, float] = {}
    ends: dict[str, float] = {}
    for moment in engraver.renderToTimemap({}):
        starts |= dict.fromkeys(moment.get("on", ()), moment["qstamp"])
        ends |= dict.fromkeys(moment.get("off", ()), moment["qstamp"])
    return starts, ends


@pytest.mark.parametrize("text", [RICH, DEMO], ids=["rich", "demo"])
def test_the_engraver_has_each_note_once_with_its_pitch_and_time(text: str) -> None:
    read_back(passage_of(text))


VALUES = {
    "s": Fraction(1, 4),
    "e": Fraction(1, 2),
    "e.": Fraction(3, 4),
    "q": Fraction(1),
    "q.": Fraction(3, 2),
    "h": Fraction(2),
    "e3 e3 e3": Fraction(1),
    "s5 s5 s5 s5 s5": Fraction(1),
}


@settings(max_examples=30, deadline=None)
@given(
    st.lists(
        st.tuples(st.sampled_from(sorted(VALUES)), st.integers(1, 4)), min_size=1, max_size=12
    ),
    st.sampled_from(["E2 A2 D3 G3", "E1 A1 D2 G2", "B0 E1 A1 D2"]),
)
def test_so_it_has_in_any_mix_of_values_and_strings(
    parts: list[tuple[str, int]], tuning: str
) -> None:
    sixteenths = sum(VALUES[value] for value, _ in parts) * 4
    values = [(value, string) for written, string in parts for value in written.split()]
    rows = [" ".join(["time  ", *(value.ljust(4) for value, _ in values)])]
    for string in range(1, 5):
        cells = ("7" if string == at else "-" for _, at in values)
        rows.append("      |" + "".join(cell.ljust(5, "-") for cell in cells) + "|")
    head = f"tuning: {tuning}\nmetre: {sixteenths}/16\ntempo: q = 100\n\n"
    read_back(passage_of(head + "\n".join(rows)))


FINEST_TICKS = 2000
"""Finer times need notes beyond the 1024th, which the engraver does not know."""


@settings(max_examples=40, deadline=None, phases=[Phase.explicit, Phase.reuse, Phase.generate])
@given(passages())
def test_so_it_has_in_any_passage(passage: Passage) -> None:
    """Graces apart: the engraver plays them, and takes their time from their neighbours."""
    if len(passage.notes) and passage.notes.ticks_per_quarter <= FINEST_TICKS:
        read_back(replace(passage, graces=()))


def test_a_second_voice_that_enters_inside_a_triplet_keeps_its_place() -> None:
    """A case that was found: a gap of a third was read as a sixteenth, and the rest came early."""
    builder = NoteTableBuilder()
    for onset, length, string in ((0, 3, 1), (1, 1, 2), (2, 2, 2)):
        start, end = Fraction(onset, 3), Fraction(onset + length, 3)
        builder.add(
            onset_quarters=start,
            duration_quarters=end - start,
            ring_end_quarters=end,
            string=string,
            fret=0,
            pitch=50,
        )
    passage = passage_of(
        "tuning: D3 D3 D3 D3\nmetre: 2/4\ntempo: q = 60\n\ntime   h\n" + "     |-0-|\n" * 4
    )
    read_back(replace(passage, notes=builder.build()))


@pytest.mark.parametrize("text", [RICH, DEMO], ids=["rich", "demo"])
def test_the_engraver_has_nothing_to_warn_of(
    text: str, capfd: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    verovio.enableLog(verovio.LOG_WARNING)
    monkeypatch.setattr(verovio, "enableLog", lambda _level: None)
    drawn_lines(notation_of(passage_of(text)).xml, 2237, Spacing(0.0))
    assert capfd.readouterr() == ("", "")
