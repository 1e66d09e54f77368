"""`alignment.json`: written and read again it says the same; what does not hold is not used."""

from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.making import passage

from riffract.essay.hearing import (
    ALIGNMENT_FILE,
    Hearing,
    MadeFrom,
    hearing_text,
    made_from,
    read_hearing,
    why_stale,
    write_hearing,
)
from riffract.formats.problem import Problem, Severity
from riffract.music import Span
from riffract.sound.alignment import Alignment, Anchor, Checks, HeardAttack, Stretch
from riffract.sound.support import (
    NoteSupport,
    Rival,
    RivalKind,
    Support,
    SupportReport,
    UnwrittenNote,
)

QUARTERS = st.fractions(min_value=0, max_value=64, max_denominator=24)
SECONDS = st.floats(0.0, 500.0)
CHECKS = Checks(
    agreement_share=1.0,
    stability_seconds=0.001,
    residual_share=0.2,
    chance_share=0.8,
    heard_share=1.0,
)
FROM = MadeFrom(recording="take.wav", recording_sha256="a", attacks_sha256="b", notes_sha256="c")


@st.composite
def hearings(draw: st.DrawFn) -> Hearing:
    onsets = sorted(draw(st.sets(QUARTERS, min_size=2, max_size=6)))
    attacks = tuple(
        HeardAttack(
            quarters=at,
            seconds=1.0 + float(at) / 2.0,
            uncertainty_seconds=draw(st.floats(0.001, 0.1)),
            is_heard=draw(st.booleans()),
        )
        for at in onsets
    )
    end = onsets[-1] + 1
    stretch = Stretch(
        span=Span(onsets[0], end),
        attacks=attacks,
        start_seconds=attacks[0].seconds,
        end_seconds=attacks[-1].seconds + 0.5,
    )
    rival = Rival(kind=RivalKind.PITCH, pitch=50, string=4, fret=5)
    return Hearing(
        made_from=FROM,
        alignment=Alignment(
            stretches=(stretch,),
            reference_hz=draw(st.floats(400.0, 480.0)),
            anchors=(Anchor(onsets[0], 1.0),),
            checks=CHECKS,
            length_quarters=end,
        ),
        support=SupportReport(
            notes=(
                NoteSupport(note=0, support=Support.BORNE_OUT, evidence=2.0, rival=None),
                NoteSupport(note=1, support=Support.CONTRADICTED, evidence=-1.0, rival=rival),
            ),
            unwritten=(
                UnwrittenNote(
                    quarters=onsets[0], seconds=1.0, pitch=40, string=6, fret=0, evidence=1.4
                ),
            ),
            explained_share=0.8,
        ),
        doubts=("Bar 1, beat 1: fret 5, not 6.",),
    )


@given(hearings())
def test_what_is_written_is_read_again(tmp_path_factory, hearing: Hearing) -> None:
    folder = tmp_path_factory.mktemp("essay")
    assert read_hearing(write_hearing(folder, hearing)) == hearing


@pytest.mark.parametrize(
    "text", ["", "{", "[]", '{"schema": 2}', '{"made_from": {}}', "\x00", "[" * 5000]
)
def test_a_broken_file_is_a_warning_with_a_mend(tmp_path: Path, text: str) -> None:
    (tmp_path / ALIGNMENT_FILE).write_text(text, encoding="utf-8")
    problem = read_hearing(tmp_path / ALIGNMENT_FILE)
    assert isinstance(problem, Problem)
    assert problem.severity is Severity.WARNING
    assert "riffract hear" in problem.mend


def test_it_holds_until_recording_rhythm_or_fixed_moments_change(tmp_path: Path) -> None:
    take = tmp_path / "take.wav"
    take.write_bytes(b"one")
    riff = passage([(40, 1), (43, 1), (45, 2)])
    now = made_from(riff, take)
    alignment = Alignment(
        stretches=(),
        reference_hz=440.0,
        anchors=(Anchor(Fraction(1), 2.0),),
        checks=CHECKS,
        length_quarters=Fraction(4),
    )
    kept = Hearing(
        made_from=now,
        alignment=alignment,
        support=SupportReport(notes=(), unwritten=(), explained_share=0.0),
    )
    same = (Anchor(Fraction(1), 2.0),)
    assert why_stale(kept, now, same) == ""
    assert why_stale(kept, made_from(passage([(47, 1), (43, 1), (45, 2)]), take), same) == ""
    assert "rhythm" in why_stale(kept, made_from(passage([(40, 2), (43, 2)]), take), same)
    assert "fixed moments" in why_stale(kept, now, ())
    take.write_bytes(b"another")
    assert "another recording" in why_stale(kept, made_from(riff, take), same)


def test_moments_are_exact_in_the_file() -> None:
    third = HeardAttack(
        quarters=Fraction(1, 3), seconds=1.0, uncertainty_seconds=0.01, is_heard=True
    )
    stretch = Stretch(
        span=Span(Fraction(0), Fraction(4)), attacks=(third,), start_seconds=0.0, end_seconds=2.0
    )
    alignment = Alignment(
        stretches=(stretch,),
        reference_hz=440.0,
        anchors=(),
        checks=CHECKS,
        length_quarters=Fraction(4),
    )
    hearing = Hearing(
        made_from=FROM,
        alignment=alignment,
        support=SupportReport(notes=(), unwritten=(), explained_share=0.0),
    )
    assert '"quarters": "1/3"' in hearing_text(hearing)
