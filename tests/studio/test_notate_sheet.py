"""The passage drawn bar by bar: what a page keeps is what it would be sent anew."""

from fractions import Fraction
from importlib.resources import files
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from riffract.essay.draft import Draft, read_draft
from riffract.music import Technique
from riffract.studio.notation.sent import SentSheets, SheetSent
from riffract.studio.notation.sheet import BarSeen, Sheet, sheet
from riffract.studio.notation.verbs import VERBS, At, Chosen, Wanted, done
from riffract.studio.problems import RefusedError

DEMO = (files("riffract.demo") / "passage.tab").read_text()


def demo() -> Draft:
    draft = read_draft(DEMO).draft
    assert draft is not None
    return draft


def drawn(draft: Draft) -> Sheet:
    return sheet(draft, "dark")


def wanted(draft: Draft, edit: tuple[int, float, int, str, int]) -> Wanted:
    """Do something at a place of a bar where something starts or stops."""
    bar, share, string, verb, number = edit
    seen = drawn(draft).bars[bar % len(draft.passage.bars)]
    offset = seen.places[int(share * len(seen.places))].offset
    text = {"toggle": "palm_mute", "shift": "1/2", "bend": "0 200", "section": "B"}.get(verb, "")
    at = At(bar=seen.number, offset=offset, string=string)
    return Wanted(verb=verb, at=at, number=number, text=text)


WRITTEN = """\
fret,dead,erase,value,tie,toggle,ring,bend,shift,section,insert time,delete time,insert bar,
delete bars,grace,tremolo,repeat""".replace("\n", "").split(",")

EDITS = st.tuples(
    st.integers(0, 11),
    st.floats(0, 0.999),
    st.integers(1, 6),
    st.sampled_from(WRITTEN),
    st.integers(0, 3),
)


class Page:
    """A page that is sent what it does not have, and puts it together."""

    def __init__(self) -> None:
        self.number = 0
        self.sheets: dict[int, list[BarSeen]] = {0: []}
        self.pictures: dict[str, str] = {}

    def take(self, sent: SheetSent) -> list[BarSeen]:
        before = self.sheets[sent.since]
        bars = [sent.bars[i] if i in sent.bars else before[i] for i in range(sent.count)]
        self.sheets[sent.number] = bars
        self.number = sent.number
        self.pictures |= sent.pictures
        return bars


@settings(max_examples=25, deadline=None)
@given(st.lists(EDITS, min_size=1, max_size=4))
def test_bars_that_are_kept_look_as_if_drawn_anew(edits: list[tuple[int, float, int, str, int]]):
    draft = demo()
    sheets, page = SentSheets(), Page()
    page.take(sheets.to_send(draft, "dark", page.number))
    for edit in edits:
        try:
            edited = done(draft, wanted(draft, edit))
        except RefusedError:
            continue
        draft = edited.draft
        sent = sheets.to_send(draft, "dark", page.number)
        bars = page.take(sent)
        fresh = drawn(draft)
        assert tuple(bars) == fresh.bars
        assert sent.firsts == fresh.firsts
        assert {bar.key: page.pictures[bar.key] for bar in fresh.bars} == fresh.pictures


def test_a_page_that_is_behind_is_sent_all_that_it_lacks():
    draft = demo()
    sheets, page = SentSheets(), Page()
    page.take(sheets.to_send(draft, "dark", page.number))
    for number in (3, 4, 5):
        at = At(bar=number, offset="0", string=1)
        draft = done(draft, Wanted(verb="fret", at=at, number=7)).draft
        sheets.to_send(draft, "dark", 0)
    assert tuple(page.take(sheets.to_send(draft, "dark", page.number))) == drawn(draft).bars
    # Another look has other pictures; a number that nobody gave is none.
    assert len(sheets.to_send(draft, "paper", page.number).pictures) > 1
    assert sheets.to_send(draft, "dark", 7).since == 0


def test_nothing_is_sent_twice_and_what_comes_again_is_not_drawn_again():
    draft = demo()
    sheets = SentSheets()
    first = sheets.to_send(draft, "dark", 0)
    again = sheets.to_send(draft, "dark", first.number)
    assert (again.number, again.bars, again.pictures) == (first.number, {}, {})


def test_a_note_that_is_put_in_early_leaves_later_bars_alone():
    draft = demo()
    sheets, page = SentSheets(), Page()
    page.take(sheets.to_send(draft, "dark", 0))
    at = At(bar=1, offset="0", string=1)
    edited = done(draft, Wanted(verb="fret", at=at, number=7)).draft
    assert len(edited.passage.notes) > len(draft.passage.notes)
    sent = sheets.to_send(edited, "dark", page.number)
    written = draft.passage.bars[0].written_number
    alike = sum(bar.written_number == written for bar in draft.passage.bars)
    assert 1 <= len(sent.bars) <= 2 * alike
    firsts = [sum(len(b.notes) for b in page.take(sent)[:i]) for i in range(sent.count)]
    assert list(sent.firsts) == firsts


def test_one_fret_is_sent_as_few_bars():
    draft = demo()
    sheets = SentSheets()
    has = sheets.to_send(draft, "dark", 0).number
    note = draft.passage.notes[5]
    home = draft.passage.bar_at(note.onset_quarters)
    at = At(bar=home.number, offset=str(note.onset_quarters - home.start_quarters), string=1)
    edited = done(draft, Wanted(verb="fret", at=at, number=7))
    # Its own bar, and the next one where its string is struck from it; passes look alike.
    assert 1 <= len(sheets.to_send(edited.draft, "dark", has).pictures) <= 2


def test_bars_join_in_time_and_hold_their_notes():
    draft = demo()
    seen = drawn(draft)
    for one, two in pairwise(seen.bars):
        assert Fraction(one.start) + Fraction(one.length) == Fraction(two.start)
    assert sum(len(bar.notes) for bar in seen.bars) == len(draft.passage.notes)
    for bar in seen.bars:
        assert {note.offset for note in bar.notes} <= {place.offset for place in bar.places}
        assert [p.x for p in bar.places] == sorted(p.x for p in bar.places)
        assert bar.places[-1].x <= bar.width + 0.01


def test_numbers_of_a_bar_do_not_touch():
    for bar in drawn(demo()).bars:
        onsets = sorted({Fraction(note.offset) for note in bar.notes})
        apart = [float(b - a) * bar.px_per_quarter for a, b in pairwise(onsets)]
        assert all(px >= 15 for px in apart)


def test_a_bar_that_does_not_fill_says_what_it_holds_and_each_mend_fills_it():
    draft = demo()
    at = At(bar=1, offset="0", string=6)
    short = done(draft, Wanted(verb="delete time", at=at, value="e"))
    seen = drawn(short.draft).bars[0]
    assert "should hold" in seen.fault
    assert seen.mends
    for mend in seen.mends:
        mended = done(short.draft, Wanted(verb="mend", at=at, text=mend.words))
        assert drawn(mended.draft).bars[0].fault == "", mend.words


def test_each_technique_has_a_name_that_can_be_asked_for():
    draft = demo()
    for flag in Technique:
        chosen = Chosen(start="0", end="1/2")
        at = At(bar=1, offset="0", string=6)
        asked = Wanted(verb="toggle", at=at, chosen=chosen, text=str(flag.name).lower())
        done(draft, asked)  # is carried out, or refused in words, but is known


@pytest.mark.parametrize("verb", ["metre", "tuning", "tuplet", "value", "bend"])
def test_what_makes_no_sense_is_refused_in_words(verb: str):
    at = At(bar=1, offset="0", string=6)
    with pytest.raises(RefusedError):
        done(demo(), Wanted(verb=verb, at=at, text="7/8 = 2+2", value="zz"))


def test_what_nobody_knows_is_refused():
    assert "fly" not in VERBS
    with pytest.raises(RefusedError, match="nothing is called fly"):
        done(demo(), Wanted(verb="fly", at=At(bar=1, offset="0", string=1)))


def test_a_second_digit_in_a_row_makes_one_number():
    draft = demo()
    at = At(bar=1, offset="0", string=1)
    first = done(draft, Wanted(verb="fret", at=at, number=1)).draft
    second = done(first, Wanted(verb="fret", at=at, number=2, is_quick=True)).draft
    later = done(first, Wanted(verb="fret", at=at, number=2)).draft
    assert next(n.fret for n in second.passage.notes if n.string == 1) == 12
    assert next(n.fret for n in later.passage.notes if n.string == 1) == 2


THREE_BARS = """\
tuning: E2 A2 D3 G3
metre: 4/4
tempo: q = 120

time  w  w  w
G3   |5-|5-|5-|
D3   |--|--|--|
A2   |--|--|--|
E2   |--|--|--|
"""


def three_bars() -> Draft:
    draft = read_draft(THREE_BARS).draft
    assert draft is not None
    return draft


@pytest.mark.parametrize("is_ticked", [True, False])
def test_a_ticked_box_keeps_a_metre_to_its_bar(is_ticked: bool):
    at = At(bar=2, offset="0", string=1)
    asked = Wanted(verb="metre", at=at, text="3/4", is_ticked=is_ticked)
    bars = done(three_bars(), asked).draft.passage.bars
    last = "4/4" if is_ticked else "3/4"
    assert [bar.metre.label() for bar in bars] == ["4/4", "3/4", last]


@pytest.mark.parametrize(("is_ticked", "fret", "pitch"), [(True, 7, 60), (False, 5, 58)])
def test_a_ticked_box_keeps_the_pitches_in_another_tuning(is_ticked: bool, fret: int, pitch: int):
    at = At(bar=1, offset="0", string=1)
    asked = Wanted(verb="tuning", at=at, text="E2 A2 D3 F3", is_ticked=is_ticked)
    notes = done(three_bars(), asked).draft.passage.notes
    assert {(note.fret, note.pitch) for note in notes} == {(fret, pitch)}
