"""What single edits do, told in tabs: the text before, the edit, the text after."""

from fractions import Fraction

import pytest

from riffract.essay import draft as edits
from riffract.essay.draft import Cursor, Draft, Edited, Selection
from riffract.formats.tab import read_tab
from riffract.music import Metre, Span, Technique

HEAD = "tuning: E1 A1 D2 G2\nmetre: 4/4\ntempo: q = 100\n\n"
RIFF = """
time   q  q  e  e  q    w
G    |----------------|---|
D    |-------5--------|---|
A    |-3--5-----7-----|---|
E    |-------------0--|-0-|
"""
TWICE = """
time    q  q  h   w
G    |:--------:|----|
D    |:--------:|----|
A    |:-3--5---:|-7--|
E    |:--------:|----|
"""


def drafted(music: str, head: str = HEAD) -> Draft:
    read = edits.read_draft(head + music)
    assert read.draft is not None, read.problems
    return read.draft


def music_of(edited: Edited | Draft) -> str:
    """Give the rows, without the header."""
    draft = edited.draft if isinstance(edited, Edited) else edited
    return edits.write_draft(draft).partition("\n\n")[2]


def struck(draft: Draft) -> list[tuple[str, str, int, int]]:
    """Give onset, length, string and fret of the notes."""
    return [
        (str(n.onset_quarters), str(n.duration_quarters), n.string, n.fret)
        for n in draft.passage.notes
    ]


def at(draft: Draft, note: int, *strings: int) -> Selection:
    """Select a note, or all that start with it."""
    chosen = draft.passage.notes[note]
    span = Span(chosen.onset_quarters, chosen.end_quarters)
    return Selection(span=span, strings=frozenset(strings or (chosen.string,)))


def refused(edited: Edited) -> str:
    assert edited.refusal is not None
    assert edited.said == ""
    return edited.refusal.what


def test_a_note_replaces_what_starts_there_and_ends_what_sounds_into_it():
    draft = drafted(RIFF)
    put = edits.put(draft, Cursor(bar=1, offset_quarters=Fraction(1, 2), string=3), 8, Fraction(1))
    assert struck(put.draft)[:3] == [("0", "1/2", 3, 3), ("1/2", "1/2", 3, 8), ("1", "1", 3, 5)]
    again = edits.put(
        put.draft, Cursor(bar=1, offset_quarters=Fraction(1), string=3), 12, Fraction(1)
    )
    assert struck(again.draft)[2] == ("1", "1", 3, 12)


def test_the_cursor_goes_on_behind_a_note_and_into_the_next_bar():
    draft = drafted(RIFF)
    put = edits.put(draft, Cursor(bar=1, offset_quarters=Fraction(3), string=4), 2, Fraction(1))
    assert put.cursor == Cursor(bar=2, offset_quarters=Fraction(0), string=4)


def test_a_bar_that_is_not_full_grows_by_what_is_put_at_its_end():
    draft = drafted(RIFF)
    shorter = edits.delete_time(draft, Selection(span=Span(Fraction(3), Fraction(4)))).draft
    assert [m.written_number for m in shorter.misfills] == [1]
    put = edits.put(shorter, Cursor(bar=1, offset_quarters=Fraction(3), string=4), 0, Fraction(1))
    assert put.draft == draft


def test_typing_on_behind_the_last_full_bar_puts_a_bar_in():
    draft = drafted(RIFF)
    put = edits.put(draft, Cursor(bar=2, offset_quarters=Fraction(4), string=4), 3, Fraction(1))
    assert len(put.draft.passage.bars) == 3
    assert struck(put.draft)[-1] == ("8", "1", 4, 3)
    assert put.cursor == Cursor(bar=3, offset_quarters=Fraction(1), string=4)


def test_a_fret_beyond_the_neck_is_refused():
    edited = edits.put(drafted(RIFF), Cursor(bar=1, offset_quarters=Fraction(0)), 25, Fraction(1))
    assert refused(edited) == "fret 25 lies beyond the 24 frets of this instrument"


def test_an_erased_note_leaves_its_time():
    draft = drafted(RIFF)
    erased = edits.erase(draft, at(draft, 1)).draft
    assert erased.passage.bars == draft.passage.bars
    assert len(erased.passage.notes) == len(draft.passage.notes) - 1
    assert not erased.misfills


def test_a_longer_value_moves_the_rest_of_its_bar_and_no_other():
    draft = drafted(RIFF)
    edited = edits.set_value(draft, at(draft, 0), Fraction(3, 2))
    assert [onset for onset, *_ in struck(edited.draft)] == ["0", "3/2", "5/2", "3", "7/2", "9/2"]
    assert [m.written_number for m in edited.draft.misfills] == [1]
    problems = edits.read_draft(edits.write_draft(edited.draft)).problems
    assert problems[0].what == "the bar holds 4.5 quarters, its metre 4/4 holds 4"


def test_a_value_in_place_leaves_what_follows_where_it_is():
    draft = drafted(RIFF)
    edited = edits.set_value(draft, at(draft, 0), Fraction(1, 2), moves_rest=False)
    assert struck(edited.draft) == [("0", "1/2", 3, 3), *struck(draft)[1:]]
    assert not edited.draft.misfills


def test_three_eighths_in_the_time_of_two_last_a_third_each():
    # Common practice: a triplet's eighth is a third of a quarter.
    draft = drafted(RIFF)
    eighths = edits.set_value(draft, at(draft, 1), Fraction(1, 2)).draft
    chosen = Selection(span=Span(Fraction(1), Fraction(5, 2)))
    edited = edits.tuplet(eighths, chosen, 3, 2).draft
    assert [length for _, length, *_ in struck(edited)[1:4]] == ["1/3"] * 3
    assert edited.passage.bars[0].length_quarters == 3


def test_a_tie_takes_the_same_fret_in_and_refuses_another():
    draft = drafted(RIFF)
    assert struck(edits.tie(draft, at(draft, 4)).draft)[-1] == ("3", "5", 4, 0)
    assert refused(edits.tie(draft, at(draft, 0))) == "the next note on string 3 is fret 5"


def test_a_bar_that_comes_again_is_edited_in_all_its_passes():
    draft = drafted(TWICE)
    edited = edits.put(
        draft, Cursor(bar=2, offset_quarters=Fraction(2), string=4), 1, Fraction(2)
    ).draft
    assert [n for n in struck(edited) if n[2] == 4] == [("2", "2", 4, 1), ("6", "2", 4, 1)]
    assert ":|" in music_of(edited)
    longer = edits.set_value(draft, at(draft, 2), Fraction(2)).draft
    assert [str(bar.length_quarters) for bar in longer.passage.bars] == ["5", "5", "4"]


def test_what_sounds_through_a_repeat_writes_it_out_and_says_so():
    draft = drafted(TWICE)
    moved = edits.move_strings(draft, at(draft, 1), -1).draft
    edited = edits.ring_until(moved, at(moved, 1), Fraction(6))
    assert edited.said.endswith("the repeats are written out now")
    assert ":|" not in music_of(edited)


def test_the_same_pitch_on_another_string_lies_a_fourth_away():
    # Common practice: neighbouring strings of a bass lie five frets apart.
    draft = drafted(RIFF)
    edited = edits.refinger(draft, at(draft, 0), 1).draft
    assert struck(edited)[0] == ("0", "1", 4, 8)
    assert edited.passage.notes[0].pitch == draft.passage.notes[0].pitch
    assert refused(edits.refinger(draft, at(draft, 0), -1)) == "the note lies below the open string"


def test_the_same_fret_on_another_string_sounds_a_fourth_away():
    draft = drafted(RIFF)
    edited = edits.move_strings(draft, at(draft, 0), 1).draft
    assert struck(edited)[0] == ("0", "1", 4, 3)
    assert edited.passage.notes[0].pitch == (draft.passage.notes[0].pitch or 0) - 5


def test_a_hammer_on_to_a_lower_fret_becomes_a_pull_off():
    draft = drafted(RIFF)
    up = edits.toggle(draft, at(draft, 1), Technique.HAMMER_ON).draft
    assert "h5" in music_of(up)
    down = edits.transpose(up, at(up, 1), -3).draft
    assert "p2" in music_of(down)
    assert refused(edits.toggle(draft, at(draft, 0), Technique.HAMMER_ON)).startswith("nothing")


@pytest.mark.parametrize("technique", list(Technique))
def test_a_technique_given_and_taken_leaves_the_draft_as_it_was(technique):
    draft = drafted(RIFF.replace("-3--5", "-3--7"))
    given = edits.toggle(draft, at(draft, 1), technique)
    if technique is Technique.PULL_OFF:  # fret 7 is led to from below
        assert given.draft.passage.notes[1].techniques == Technique.HAMMER_ON
        return
    assert given.refusal is None
    assert technique in given.draft.passage.notes[1].techniques
    assert edits.toggle(given.draft, at(given.draft, 1), technique).draft == draft


def test_a_natural_harmonic_sounds_over_the_open_string_by_its_node():
    # Common practice: over fret 7 the third partial sounds, an octave and a fifth up.
    draft = drafted(RIFF)
    edited = edits.put(
        draft, Cursor(bar=1, offset_quarters=Fraction(0), string=3), 7, Fraction(1), harmonic=True
    )
    assert edited.draft.passage.notes[0].pitch == 33 + 19


def test_a_tie_on_the_last_note_puts_a_bar_in_for_it():
    draft = drafted(RIFF)
    tied = edits.tie(draft, at(draft, len(draft.passage.notes) - 1))
    assert struck(tied.draft)[-1] == ("4", "8", 4, 0)
    assert len(tied.draft.passage.bars) == len(draft.passage.bars) + 1


def test_bars_that_were_copied_whole_are_put_in_with_their_metres():
    draft = edits.set_metre(drafted(RIFF), 2, Metre(groups=(2, 1), unit=4)).draft
    draft = edits.with_empty_bars_fitted(edits.mends(draft, 2)[0].edited).draft
    clip = edits.copy(draft, Selection(span=draft.bar(2).span))
    before = edits.paste_bars(draft, 1, clip)
    assert [bar.metre.label() for bar in before.draft.passage.bars] == ["3/4", "4/4", "3/4"]
    assert struck(before.draft)[0] == ("0", str(draft.bar(2).length_quarters), 4, 0)
    behind = edits.paste_bars(draft, 3, clip)
    assert [bar.metre.label() for bar in behind.draft.passage.bars] == ["4/4", "3/4", "3/4"]
    assert edits.read_draft(edits.write_draft(before.draft)).draft == before.draft


def test_bars_pasted_behind_the_last_one_keep_their_metres_and_those_pasted_over_are_told():
    draft = edits.set_metre(drafted(RIFF), 2, Metre(groups=(5,), unit=4)).draft
    clip = edits.copy(draft, Selection(span=draft.bar(1).span))
    last = draft.bar(2)
    end = Cursor(bar=2, offset_quarters=last.length_quarters, string=1)
    assert edits.paste(draft, end, clip).draft.bar(3).metre == draft.bar(1).metre
    over = edits.paste(draft, Cursor(bar=2, offset_quarters=Fraction(0)), clip)
    assert over.draft.bar(2).metre == last.metre
    assert "keep their metre" in over.said


def test_part_of_a_bar_or_some_strings_are_no_bars():
    draft = drafted(RIFF)
    for selection in (at(draft, 0), Selection(span=draft.bar(1).span, strings=frozenset({1}))):
        clip = edits.copy(draft, selection)
        assert refused(edits.paste_bars(draft, 1, clip)) == "no whole bars were copied"


def test_a_clip_is_pasted_with_its_strings_and_a_repeat_brings_its_bars():
    draft = drafted(RIFF)
    first_bar = Selection(span=draft.passage.bars[0].span)
    pasted = edits.paste(
        draft, Cursor(bar=2, offset_quarters=Fraction(0)), edits.copy(draft, first_bar)
    )
    assert struck(pasted.draft)[5:] == [
        (str(Fraction(on) + 4), length, string, fret)
        for on, length, string, fret in struck(draft)[:5]
    ]
    whole = edits.repeat(draft, Selection(span=draft.passage.span))
    assert len(whole.draft.passage.bars) == 4
    assert len(whole.draft.passage.notes) == 12


def test_bars_put_in_and_taken_out_again_leave_the_draft_as_it_was():
    draft = drafted(RIFF, HEAD + "# first\nsection: A\n")
    for bar in (1, 2, 3):
        longer = edits.insert_bars(draft, bar, 2).draft
        assert len(longer.passage.bars) == 4
    assert edits.delete_bars(longer, 3, 4).draft.passage.notes == draft.passage.notes
    assert longer.kept_lines == draft.kept_lines


def test_a_remark_goes_to_the_next_bar_where_its_own_is_gone():
    draft = drafted(RIFF + "# here\n" + RIFF)
    shorter = edits.delete_bars(draft, 3, 3).draft
    assert [(line.text, line.before_bar) for line in shorter.kept_lines] == [("# here", 3)]


def test_a_repeat_is_counted_and_taken_away():
    draft = drafted(RIFF)
    thrice = edits.set_repeats(draft, 1, 2, 3)
    assert ":|x3" in music_of(thrice)
    assert edits.set_repeats(thrice.draft, 1, 2, 1).draft == draft


def test_a_metre_leaves_values_and_tells_the_bars_that_do_not_fill():
    draft = drafted(RIFF)
    edited = edits.set_metre(draft, 1, Metre(groups=(2, 2, 3), unit=8)).draft
    assert [m.written_number for m in edited.misfills] == [1, 2]
    assert struck(edited) == struck(draft)


def test_each_mend_of_a_short_bar_says_what_it_does_and_mends():
    draft = drafted(RIFF)
    short = edits.delete_time(draft, Selection(span=Span(Fraction(7, 2), Fraction(4)))).draft
    found = edits.mends(short, 1)
    assert [mend.words for mend in found] == [
        "fill it with a rest of an eighth",
        "give it a metre of its own, 7/8",
        "make it a pick-up",
        "let it be played freely",
    ]
    for mend in found:
        text = edits.write_draft(mend.edited.draft)
        assert read_tab(text).passage == mend.edited.draft.passage
    assert edits.mends(draft, 1) == ()


def test_another_tuning_keeps_frets_or_pitches():
    draft = drafted(RIFF.replace("--0--|-0-", "--2--|-2-"))
    low = (26, 33, 38, 43)
    frets = edits.set_tuning(draft, low).draft
    assert struck(frets) == struck(draft)
    assert frets.passage.notes[5].pitch == 28
    pitches = edits.set_tuning(draft, low, keeps_pitches=True).draft
    assert [n.pitch for n in pitches.passage.notes] == [n.pitch for n in draft.passage.notes]
    assert struck(pitches)[5] == ("4", "4", 4, 4)


def test_what_the_recording_speaks_for_is_taken():
    draft = drafted(RIFF)
    edited = edits.accept_rival(draft, 0, 4, 8).draft
    assert struck(edited)[0] == ("0", "1", 4, 8)


def test_a_pasted_tab_becomes_a_draft_in_a_proposed_time():
    rows = "G|-----\nD|---5-\nA|-3---\nE|-----\n".replace("-\n", "-|\n")
    read = edits.draft_of_pasted(rows)
    assert read.draft is not None, read.problems
    assert len(read.draft.passage.notes) == 2
    assert edits.read_draft(edits.write_draft(read.draft)).draft == read.draft
