"""The passage drawn bar by bar: what a page keeps is what it would be sent anew."""

from fractions import Fraction
from importlib.resources import files
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from riffract.essay.draft import Draft, read_draft
from riffract.music import Technique
from riffract.studio.notation.sheet import Remembered, Sheet, sheet
from riffract.studio.notation.verbs import VERBS, At, Chosen, Wanted, done
from riffract.studio.problems import RefusedError

DEMO = (files("riffract.demo") / "passage.tab").read_text()


def demo() -> Draft:
    draft = read_draft(DEMO).draft
    assert draft is not None
    return draft


def drawn(draft: Draft, known: frozenset[str] = frozenset()) -> Sheet:
    return sheet(draft, "dark", known)


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


@settings(max_examples=25, deadline=None)
@given(st.lists(EDITS, min_size=1, max_size=4))
def test_bars_that_are_kept_look_as_if_drawn_anew(edits: list[tuple[int, float, int, str, int]]):
    draft = demo()
    remembered: Remembered = {}
    kept = dict(sheet(draft, "dark", (), remembered).pictures)
    for edit in edits:
        try:
            edited = done(draft, wanted(draft, edit))
        except RefusedError:
            continue
        draft = edited.draft
        now = sheet(draft, "dark", kept, remembered)
        kept |= now.pictures
        fresh = drawn(draft)
        assert now.bars == fresh.bars
        assert {bar.key: kept[bar.key] for bar in fresh.bars} == fresh.pictures


def test_one_fret_is_sent_as_few_bars():
    draft = demo()
    known = frozenset(drawn(draft).pictures)
    note = draft.passage.notes[5]
    home = draft.passage.bar_at(note.onset_quarters)
    at = At(bar=home.number, offset=str(note.onset_quarters - home.start_quarters), string=1)
    edited = done(draft, Wanted(verb="fret", at=at, number=7))
    # Its own bar, and the next one where its string is struck from it; passes look alike.
    assert 1 <= len(drawn(edited.draft, known).pictures) <= 2


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
    for index in range(len(seen.mends)):
        mended = done(short.draft, Wanted(verb="mend", at=at, number=index))
        assert drawn(mended.draft).bars[0].fault == "", seen.mends[index].words


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
