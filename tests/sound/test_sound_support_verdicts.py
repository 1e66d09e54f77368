"""Errors are planted in texts whose recording we synthesise here, by plain addition of partials.

The recording shares nothing with the code that listens: stiff partials by Fletcher's formula
(Normal vibration frequencies of a stiff piano string, JASA 36, 1964),
with a stiffness of the tests' own.
"""

from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest
from tests.making import SEVEN, passage

from riffract.music import NoteTableBuilder, Passage
from riffract.sound.alignment import Alignment, Checks, HeardAttack, Stretch
from riffract.sound.mono import LISTENING_HZ, Mono
from riffract.sound.support import RivalKind, Support, support
from riffract.sound.support.heard_pitches import HeardPitches
from riffract.sound.support.moments import listen

QUARTER_SECONDS = 0.5
LEAD_SECONDS = 0.4
LINE = [(p, Fraction(1, 2)) for p in (45, 47, 50, 52, 48, 57, 53, 45)]


def recording_of(
    music: Passage, *, drive: float = 0.0, stiffness: float = 8e-5, seed: int = 1
) -> Mono:
    """Add up partials that fall off as 1/n and die away, with a little noise."""
    rng = np.random.default_rng(seed)
    end = LEAD_SECONDS + QUARTER_SECONDS * float(music.length_quarters) + 0.5
    out = 1e-3 * rng.standard_normal(round(end * LISTENING_HZ))
    for note in music.notes:
        first = round((LEAD_SECONDS + QUARTER_SECONDS * float(note.onset_quarters)) * LISTENING_HZ)
        length = round(
            QUARTER_SECONDS * float(note.ring_end_quarters - note.onset_quarters) * LISTENING_HZ
        )
        times = np.arange(length) / LISTENING_HZ
        hz = 440.0 * 2.0 ** (((note.pitch or 0) - 69) / 12)
        for n in range(1, 25):
            partial_hz = n * hz * np.sqrt(1 + stiffness * n**2)
            wave = np.sin(2 * np.pi * partial_hz * times + rng.uniform(0, 6.28))
            out[first : first + length] += wave * np.exp(-(1.5 + 0.3 * n) * times) / n
    out = np.tanh(drive * out) if drive else out
    return Mono(samples=(0.5 * out / np.abs(out).max()).astype(np.float32), rate_hz=LISTENING_HZ)


def harmonic_and_driven(music: Passage) -> Mono:
    return recording_of(music, drive=9.0, stiffness=0.0)


def aligned(music: Passage) -> Alignment:
    onsets = sorted({n.onset_quarters for n in music.notes})

    def at(quarters: Fraction) -> float:
        return LEAD_SECONDS + QUARTER_SECONDS * float(quarters)

    attacks = tuple(
        HeardAttack(quarters=q, seconds=at(q), uncertainty_seconds=0.01, is_heard=True)
        for q in onsets
    )
    stretch = Stretch(
        span=music.span, attacks=attacks, start_seconds=at(Fraction(0)),
        end_seconds=at(music.length_quarters),
    )  # fmt: skip
    checks = Checks(
        agreement_share=1.0, stability_seconds=0.0, residual_share=0.0, chance_share=1.0,
        heard_share=1.0,
    )  # fmt: skip
    return Alignment(
        stretches=(stretch,), reference_hz=440.0, anchors=(), checks=checks,
        length_quarters=music.length_quarters,
    )  # fmt: skip


def edited(music: Passage, index: int, *, frets: int | None) -> Passage:
    """Move a note along its string; leave it out with `None`."""
    builder = NoteTableBuilder()
    for n in music.notes:
        if n.index == index and frets is None:
            continue
        by = frets or 0 if n.index == index else 0
        builder.add(
            onset_quarters=n.onset_quarters, duration_quarters=n.duration_quarters,
            string=n.string, fret=n.fret + by, pitch=(n.pitch or 0) + by,
            ring_end_quarters=n.ring_end_quarters,
        )  # fmt: skip
    return replace(music, notes=builder.build())


@pytest.mark.parametrize("drive", [0.0, 4.0], ids=["clean", "driven"])
def test_a_right_text_is_borne_out(drive: float) -> None:
    music = passage(LINE)
    report = support(music, aligned(music), recording_of(music, drive=drive))
    assert {v.support for v in report.notes} == {Support.BORNE_OUT}
    assert report.unwritten == ()
    assert all(v.rival is None for v in report.notes)


@pytest.mark.parametrize("drive", [0.0, 4.0], ids=["clean", "driven"])
@pytest.mark.parametrize("frets", [1, 2, 12])
def test_a_wrong_fret_is_contradicted_by_the_right_one(frets: int, drive: float) -> None:
    music = passage(LINE)
    text = edited(music, 2, frets=frets)
    report = support(text, aligned(text), recording_of(music, drive=drive))
    verdict = report.notes[2]
    assert verdict.support is Support.CONTRADICTED
    assert verdict.evidence < 0.0
    assert verdict.rival is not None
    assert (verdict.rival.kind, verdict.rival.pitch) == (RivalKind.PITCH, 50)
    assert verdict.rival.fret == music.notes[2].fret
    others = [v.support for v in report.notes if v.note != 2]
    assert Support.CONTRADICTED not in others


def test_a_note_left_out_of_a_chord_is_told_of() -> None:
    music = passage([(45, 1), ((45, 52), 1), (48, 1), (50, 1)])
    text = edited(music, 2, frets=None)
    report = support(text, aligned(text), recording_of(music))
    assert [(u.pitch, u.quarters) for u in report.unwritten] == [(52, Fraction(1))]


@pytest.mark.parametrize("index", [1, 4, 13])
def test_a_fifth_left_out_is_no_rival_of_the_octave(index: int) -> None:
    fifths = [((low, low + 7, low + 12), 1) for low in (38, 40, 36, 41)] * 2
    music = passage(fifths)
    left_out = music.notes[index]
    text = edited(music, index, frets=None)
    report = support(text, aligned(text), recording_of(music))
    assert [(u.pitch, u.quarters) for u in report.unwritten] == [
        (left_out.pitch, left_out.onset_quarters)
    ]
    assert Support.CONTRADICTED not in {note.support for note in report.notes}


@pytest.mark.parametrize("drive", [0.0, 1.0], ids=["clean", "driven"])
def test_an_octave_left_out_of_a_chord_is_told_of(drive: float) -> None:
    music = passage([(45, 1), ((40, 47, 52), 1), (48, 1), ((43, 50), 1)])
    text = edited(music, 3, frets=None)
    recording = recording_of(music, drive=drive)
    report = support(text, aligned(text), recording)
    assert [(u.pitch, u.quarters) for u in report.unwritten] == [(52, Fraction(1))]
    assert support(music, aligned(music), recording).unwritten == ()


@pytest.mark.parametrize("drive", [0.0, 1.0, 4.0], ids=["clean", "driven", "high"])
def test_octaves_that_are_not_played_are_not_told_of(drive: float) -> None:
    music = passage([(45, 1), ((40, 47), 1), (48, 1), ((43, 50), 1), ((45, 54), 1)])
    report = support(music, aligned(music), recording_of(music, drive=drive))
    assert report.unwritten == ()


@pytest.mark.parametrize("drive", [0.0, 4.0], ids=["clean", "driven"])
def test_an_attack_at_which_nothing_begins_is_faint(drive: float) -> None:
    """Its string rings there, so that its pitch is heard, but it was struck an eighth before."""
    played = passage([*LINE[:4], (55, 1), *LINE[4:]])
    builder = NoteTableBuilder()
    for n in played.notes:
        late = Fraction(1, 2) if n.index == 4 else Fraction(0)
        builder.add(
            onset_quarters=n.onset_quarters + late, duration_quarters=n.duration_quarters - late,
            string=n.string, fret=n.fret, pitch=n.pitch, ring_end_quarters=n.ring_end_quarters,
        )  # fmt: skip
    text = replace(played, notes=builder.build())
    recording = recording_of(played, drive=drive)
    heard = HeardPitches(listen(text, aligned(text), recording))
    faint = [n.onset_quarters for n in text.notes if heard.is_faint(n.onset_quarters)]
    assert faint == [Fraction(5, 2)]
    own = support(text, aligned(text), recording).notes[4].evidence
    assert own < min(v.evidence for v in support(played, aligned(played), recording).notes)


def test_a_stroke_left_out_is_told_of() -> None:
    music = passage(LINE)
    text = edited(music, 3, frets=None)
    report = support(text, aligned(text), recording_of(music))
    assert [(u.pitch, u.quarters) for u in report.unwritten] == [(52, Fraction(3, 2))]


def test_a_note_that_is_not_played_is_absent() -> None:
    music = passage([(45, 1), ((45, 55), 1), (48, 1), (50, 1)])
    played = edited(music, 2, frets=None)
    verdict = support(music, aligned(music), recording_of(played)).notes[2]
    assert verdict.support is Support.CONTRADICTED
    assert verdict.rival is not None
    assert verdict.rival.kind is RivalKind.ABSENT


def test_what_the_recording_leaves_out_is_unclear() -> None:
    music = passage(LINE)
    alignment = aligned(music)
    (stretch,) = alignment.stretches
    shorter = replace(alignment, stretches=(replace(stretch, attacks=stretch.attacks[:4]),))
    report = support(music, shorter, recording_of(music))
    assert [(v.support, v.evidence) for v in report.notes[4:]] == [(Support.UNCLEAR, 0.0)] * 4


def test_loudness_changes_nothing() -> None:
    music = passage(LINE)
    loud = recording_of(music)
    soft = Mono(samples=(loud.samples * np.float32(0.05)), rate_hz=loud.rate_hz)
    mine, other = (support(music, aligned(music), r) for r in (loud, soft))
    assert [v.evidence for v in mine.notes] == pytest.approx(
        [v.evidence for v in other.notes], abs=0.05
    )


def test_silence_bears_nothing_out() -> None:
    music = passage(LINE, tuning=SEVEN)
    silence = Mono(samples=np.zeros(5 * LISTENING_HZ, dtype=np.float32), rate_hz=LISTENING_HZ)
    report = support(music, aligned(music), silence)
    assert Support.BORNE_OUT not in {v.support for v in report.notes}
    assert report.unwritten == ()
    assert report.explained_share == 0.0


def test_what_else_a_recording_holds_changes_no_verdict() -> None:
    text = passage(LINE)
    alone = recording_of(text)
    much = np.random.default_rng(2).normal(0.0, 0.3, 40 * LISTENING_HZ)
    rest = np.zeros(12 * LISTENING_HZ)
    samples = np.concatenate([much, rest, alone.samples, rest, much]).astype(np.float32)
    among = Mono(samples=np.clip(samples, -1.0, 1.0), rate_hz=LISTENING_HZ)
    assert support(text, aligned(text).later_by(52.0), among).notes == (
        support(text, aligned(text), alone).notes
    )


def test_what_an_amplifier_mixes_is_no_note() -> None:
    """A line over a drone that rings gives difference tones (2f - g, g - f), common practice."""
    line = [((55, 61), 1), ((55, 59), 1), ((55, 57), 1), ((55, 63), 1)]
    music = passage(line * 3)
    report = support(music, aligned(music), harmonic_and_driven(music))
    assert report.unwritten == ()
    assert Support.CONTRADICTED not in {v.support for v in report.notes}


def test_a_note_whose_partials_an_amplifier_mixes_is_not_told_to_be_absent() -> None:
    music = passage([(chord, 1) for chord in ((49, 56, 60), (50, 57), (55, 62, 67), (49, 56, 62))])
    report = support(music, aligned(music), harmonic_and_driven(music))
    assert Support.CONTRADICTED not in {v.support for v in report.notes}


def test_under_a_harmonic_driven_note_no_other_is_heard() -> None:
    """Strings without stiffness, as a delay line makes them (Karplus & Strong, CMJ 7/2, 1983)."""
    music = passage([(p, Fraction(1, 2)) for p in (47, 52, 47, 57, 47, 51, 42, 44, 42, 55, 47, 41)])
    report = support(music, aligned(music), harmonic_and_driven(music))
    assert report.unwritten == ()
    assert {v.support for v in report.notes} == {Support.BORNE_OUT}
