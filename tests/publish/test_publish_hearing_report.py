"""What was heard, in words: where it lies, how sure, what to doubt."""

from dataclasses import replace
from fractions import Fraction

import pytest
from tests.making import passage
from tests.publish.test_languages_whole import MADE_UP, left_english

from riffract.analysis.saying import said_in
from riffract.essay.hearing import Hearing, MadeFrom
from riffract.music import Passage, Span
from riffract.publish.hearing_report import doubts, hearing_report
from riffract.sound.alignment import Alignment, Anchor, Checks, HeardAttack, Stretch
from riffract.sound.alignment.checking import COULD_BE_CHANCE
from riffract.sound.support import (
    NoteSupport,
    Rival,
    RivalKind,
    Support,
    SupportReport,
    UnwrittenNote,
)

RIFF = passage([(p, 1) for p in (40, 43, 45, 47, 48, 50, 52, 53, 55, 57, 59, 60)], title="Stairs")
CHECKS = Checks(
    agreement_share=0.94,
    stability_seconds=0.002,
    residual_share=0.2,
    chance_share=0.7,
    heard_share=1.0,
)


def stretch(first_bar: int, last_bar: int, at: float, *, is_again: bool = False) -> Stretch:
    """Play some bars of 4/4 at 120 quarters a minute."""
    span = Span(Fraction(4 * (first_bar - 1)), Fraction(4 * last_bar))
    attacks = tuple(
        HeardAttack(
            quarters=note.onset_quarters,
            seconds=at + float(note.onset_quarters - span.start_quarters) / 2.0,
            uncertainty_seconds=0.01,
            is_heard=True,
        )
        for note in RIFF.notes
        if span.holds(note.onset_quarters)
    )
    end = at + float(span.length_quarters) / 2.0
    return Stretch(span=span, attacks=attacks, start_seconds=at, end_seconds=end, is_again=is_again)


def heard(*stretches: Stretch, notes: tuple[NoteSupport, ...] = (), **changed: object) -> Hearing:
    every = tuple(
        NoteSupport(note=n.index, support=Support.BORNE_OUT, evidence=2.0, rival=None)
        for n in RIFF.notes
    )
    alignment = Alignment(
        stretches=stretches,
        reference_hz=440.0,
        anchors=(),
        checks=CHECKS,
        length_quarters=RIFF.length_quarters,
    )
    return Hearing(
        made_from=MadeFrom(
            recording="take.wav", recording_sha256="", attacks_sha256="", notes_sha256=""
        ),
        alignment=replace(alignment, **changed),  # type: ignore[arg-type]
        support=SupportReport(notes=notes or every, unwritten=(), explained_share=0.9),
    )


def said(hearing: Hearing, of: Passage = RIFF) -> str:
    return " ".join(hearing_report(of, hearing, recording_seconds=20.0, width=100).split())


def test_it_says_where_when_and_how_fast() -> None:
    text = said(heard(stretch(1, 3, 2.5)))
    assert "from 0:02.500 to 0:08.500 of 0:20.000" in text
    assert "Its pace is about 120 quarters a minute" in text
    assert "1 0:02.500" in text
    assert "3 0:06.500" in text


def test_what_is_played_again_and_left_out_is_told_and_bends_no_pace() -> None:
    text = said(heard(stretch(1, 1, 1.0), stretch(1, 1, 3.0, is_again=True), stretch(3, 3, 5.0)))
    assert "The recording plays bar 1 again at 0:03.000." in text
    assert "The recording leaves out bar 2." in text
    assert "Its pace is about 120 quarters a minute" in text
    assert "8 of 8 notes that are played" in text


def test_another_tuning_is_told_in_cents() -> None:
    """32 cents: 1200 log2(432/440) = -31.77, computed."""
    assert "432.0 Hz, 32 cents below 440" in said(heard(stretch(1, 3, 0.0), reference_hz=432.0))


def test_a_fit_no_better_than_elsewhere_is_a_warning() -> None:
    weak = replace(CHECKS, residual_share=0.65)
    assert "listen before you trust" in said(heard(stretch(1, 3, 0.0), checks=weak))
    assert "listen before you trust" not in said(heard(stretch(1, 3, 0.0)))


def test_doubts_come_in_order_of_time_with_place_and_rival() -> None:
    other = Rival(kind=RivalKind.PITCH, pitch=54, string=3, fret=4)
    found = SupportReport(
        notes=(
            NoteSupport(note=7, support=Support.CONTRADICTED, evidence=-1.0, rival=other),
            NoteSupport(
                note=2,
                support=Support.UNCLEAR,
                evidence=0.1,
                rival=Rival(kind=RivalKind.ABSENT),
            ),
            NoteSupport(note=3, support=Support.UNCLEAR, evidence=0.2, rival=None),
        ),
        unwritten=(
            UnwrittenNote(
                quarters=Fraction(5), seconds=2.5, pitch=47, string=5, fret=2, evidence=1.5
            ),
        ),
        explained_share=0.8,
    )
    told = doubts(RIFF, found)
    assert [text.partition(":")[0] for text in told] == [
        "Bar 1, beat 3",
        "Bar 2, beat 2",
        "Bar 2, beat 4",
    ]
    assert told[0].endswith("(unclear).")
    assert "F♯3 instead of F3" in told[2]


@pytest.mark.parametrize("width", [40, 100])
def test_no_line_is_wider_than_asked(width: int) -> None:
    text = hearing_report(RIFF, heard(stretch(1, 3, 0.0)), recording_seconds=9.0, width=width)
    prose = [line for line in text.splitlines() if "0:0" not in line]
    assert all(len(line) <= width for line in prose)


def test_nothing_of_it_stays_english() -> None:
    """Every sentence that there is, but for the title, the file and the times."""
    doubtful = NoteSupport(
        note=2, support=Support.UNCLEAR, evidence=0.1, rival=Rival(kind=RivalKind.ABSENT)
    )
    missing = UnwrittenNote(
        quarters=Fraction(2), seconds=1.5, pitch=47, string=5, fret=2, evidence=1.2
    )
    unheard = replace(stretch(1, 1, 1.0).attacks[1], is_heard=False)
    anchor = Anchor(quarters=Fraction(4), seconds=3.0)
    first = stretch(1, 1, 1.0)
    several = heard(
        replace(first, attacks=(first.attacks[0], *[unheard] * 4)),
        stretch(1, 1, 3.0, is_again=True),
        reference_hz=415.0,
        anchors=(anchor,),
        doubtful_anchors=(anchor,),
        warning=COULD_BE_CHANCE,
        checks=replace(CHECKS, residual_share=0.65),
    )
    doubted = SupportReport(notes=(doubtful,), unwritten=(missing,), explained_share=0.9)
    several = Hearing(made_from=several.made_from, alignment=several.alignment, support=doubted)
    with said_in(MADE_UP):
        texts = [said(several), said(heard(replace(first, span=Span(Fraction(0), Fraction(1)))))]
    left = {word for word in set().union(*map(left_english, texts)) if word.isalpha()}
    assert left <= {"Stairs", "take", "wav"}
