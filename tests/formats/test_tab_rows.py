"""The rows above the strings: palm mute, ringing, holding, accents."""

from hypothesis import given, settings
from tests.formats.tab_passages import passages
from tests.formats.tab_reading import HEADER, flags, messages, places, read, rings, times

from riffract.formats.ringing import Struck, ring_ends
from riffract.formats.tab import read_tab, write_tab
from riffract.music import Passage, Technique

PLAIN = Technique(0)
MUTED = Technique.PALM_MUTE
RINGS = Technique.LET_RING


def test_a_run_of_palm_muting_covers_what_starts_under_it() -> None:
    passage = read("""\
pm        -------
time   q  q   q   q
G    |--------------|
D    |--------------|
A    |----5---------|
E    |-0--0---0---0-|
""")
    assert flags(passage) == [PLAIN, MUTED, MUTED, MUTED, PLAIN]


def test_a_row_can_be_meant_for_some_strings() -> None:
    passage = read("""\
pm 4   ===
time   h  h
G    |------|
D    |-7----|
A    |-7----|
E    |-5--5-|
""")
    assert flags(passage) == [MUTED, PLAIN, PLAIN, PLAIN]


def test_a_ringing_note_sounds_to_the_end_of_its_run() -> None:
    passage = read("""\
ring   ------
time   q  q  q  q
G    |-------------|
D    |----7--------|
A    |-5-----------|
E    |-------0-----|
""")
    assert flags(passage) == [RINGS, RINGS, PLAIN]
    assert rings(passage) == ["1", "0", "0"]


CUT_OFF = """\
ring   -------------
time   q  q  q  q
G    |--------------|
D    |-------5------|
A    |----3-----{}---|
E    |-0------------|
"""


def test_the_next_note_on_its_string_ends_a_ringing_note() -> None:
    passage = read(CUT_OFF.format(3))
    assert rings(passage) == ["3", "1", "1", "0"]


def test_another_fret_that_cuts_off_a_ringing_note_is_doubted_once_for_each_sign() -> None:
    what = "fret 5 cuts off fret 3, which `ring` lets sound on"
    assert messages(CUT_OFF.format(5)) == [what]
    other = CUT_OFF.format(5).replace("|-0-", "|-1-")
    assert messages(f"{CUT_OFF.format(5)}\n{other}\n{other}") == [what, what]
    assert messages(CUT_OFF.format("x")) == ["a dead note under `ring` does not ring"]
    assert messages(CUT_OFF.format(5).replace("-5---|", "h5---|")) == []


def test_a_run_that_ends_before_the_bar_line_ends_with_it() -> None:
    passage = read(
        """\
ring   ----------    --
time   h    h     h    h
G    |----------|---------|
D    |----------|-7-------|
A    |-5--------|---------|
E    |----------|---------|
""".replace("ring   ----------    --", "ring   ---------  --")
    )
    assert rings(passage) == ["2", "0"]


def test_a_run_drawn_through_a_bar_line_goes_on() -> None:
    passage = read("""\
ring   --------------
time   h    h     h    h
G    |----------|---------|
D    |----------|---------|
A    |-5--------|---------|
E    |----------|---------|
""")
    assert rings(passage) == ["4"]


SPLIT = """\
ring   ----------
time   h    h
G    |----------|
D    |----------|
A    |-5--------|
E    |----------|

ring {run}
time   h    h
G    |---------|
D    |------3--|
A    |---------|
E    |---------|
"""


def test_a_run_goes_on_in_the_next_line_if_it_is_drawn_onto_both_bar_lines() -> None:
    assert rings(read(SPLIT.format(run="----"))) == ["4", "0"]
    assert rings(read(SPLIT.format(run="       -"))) == ["2", "0"]


def test_a_run_that_stops_short_of_the_bar_line_ends_with_the_line() -> None:
    short = SPLIT.replace("ring   ----------", "ring   ---------")
    assert rings(read(short.format(run="----"))) == ["2", "0"]


def test_muted_and_dead_notes_do_not_ring_and_a_run_over_them_is_doubted_once() -> None:
    music = """\
pm     -
ring   ---------
time   q  q  q  q
G    |-------------|
D    |-------7-----|
A    |----x--------|
E    |-0-----------|
"""
    assert messages(music) == [
        "a palm-muted note under `ring` does not ring",
        "a dead note under `ring` does not ring",
    ]
    passage = read_tab(HEADER + music).passage
    assert passage is not None
    assert flags(passage) == [MUTED, Technique.DEAD, RINGS]
    assert rings(passage) == ["0", "0", "0"]


def test_holding_lets_a_value_last_without_ringing() -> None:
    passage = read("""\
hold 4 -----------
time   e  e  q  h
G    |-------------|
D    |----7--5--7--|
A    |-------------|
E    |-0-----------|
""")
    assert places(passage) == [(4, 0), (2, 7), (2, 5), (2, 7)]
    assert times(passage) == [("0", "4"), ("1/2", "1/2"), ("1", "1"), ("2", "2")]
    assert set(flags(passage)) == {PLAIN}


def test_holding_ends_with_its_run_and_with_the_next_note_on_the_string() -> None:
    passage = read("""\
hold   -------
time   e  e  q  h
G    |-------------|
D    |----7--5-----|
A    |-------------|
E    |-0--------0--|
""")
    assert times(passage) == [("0", "2"), ("1/2", "1/2"), ("1", "1"), ("2", "2")]


def test_accents_and_staccato_stand_over_their_notes() -> None:
    passage = read("""\
accent     >     >
staccato 3    .  .
time       q  q  q  q
G        |-------------|
D        |-------------|
A        |----5--5-----|
E        |-0-----0--0--|
""")
    assert flags(passage) == [
        Technique.ACCENT,
        Technique.STACCATO,
        Technique.ACCENT,
        Technique.ACCENT | Technique.STACCATO,
        PLAIN,
    ]


def test_a_tied_note_is_not_struck_and_so_not_muted() -> None:
    music = """\
pm              --
time   w         w
G    |--------|-------|
D    |--------|-------|
A    |-5------|-(5)---|
E    |--------|-------|
"""
    assert messages(music) == ["this `pm` sign covers no note"]
    passage = read_tab(f"{HEADER}\n{music}").passage
    assert passage is not None
    assert flags(passage) == [PLAIN]
    assert times(passage) == [("0", "8")]


@settings(max_examples=50, deadline=None)
@given(passages())
def test_what_is_read_rings_by_the_rule_that_all_readers_share(passage: Passage) -> None:
    read_again = read_tab(write_tab(passage)).passage
    assert read_again is not None
    notes = list(read_again.notes)
    struck = [
        Struck(
            onset=note.onset_quarters,
            end=note.end_quarters,
            string=note.string,
            techniques=note.techniques,
            let_ring_end=note.ring_end_quarters,
        )
        for note in notes
    ]
    assert ring_ends(struck, read_again.length_quarters) == [n.ring_end_quarters for n in notes]
