"""Whatever the passage, hand and metre are answered, and the answers hold together."""

from math import isfinite

import pytest
from hypothesis import given, settings
from tests.analysis.test_any_passage import passages

from riffract.analysis.attacks import attacks_of
from riffract.analysis.finding import Finding, Hand, MetreAnswer, Passes, Reading
from riffract.analysis.hand.find import find_hand
from riffract.analysis.metre.find import find_metre
from riffract.analysis.metre.question import question_of
from riffract.analysis.passes.find import find_passes
from riffract.music import Passage


def answers(music: Passage) -> list[Finding]:
    attacks = attacks_of(music)
    readings: list[Reading] = [
        f.what.readings[0] for f in find_passes(music, attacks) if isinstance(f.what, Passes)
    ]
    hand = find_hand(music, attacks)
    metre = find_metre(music, attacks, readings, question_of(music, attacks))
    return [*metre, *([] if hand is None else [hand.finding])]


@settings(deadline=None, max_examples=80)
@given(passages())
def test_every_answer_on_hand_and_metre_has_its_place_evidence_and_words(music: Passage) -> None:
    findings = answers(music)
    assert findings == answers(music)
    assert len({f.id for f in findings}) == len(findings)
    for f in findings:
        assert f.spans
        assert list(f.spans) == sorted(f.spans)
        assert list(f.notes) == sorted(set(f.notes))
        for name, value in f.measures.items():
            assert isfinite(value), name
            assert not name.endswith("_share") or 0 <= value <= 1, name
        assert f.sentence.endswith(".")
        assert ". " not in f.sentence
        assert not any(sign in f.sentence + f.detail for sign in ("Fraction", "None", "  ", "#"))


@settings(deadline=None, max_examples=60)
@given(passages())
def test_costs_fingers_and_shares_are_what_they_can_be(music: Passage) -> None:
    fretted = {n.index for n in music.notes if n.fret and n.pitch is not None}
    for f in answers(music):
        match f.what:
            case Hand() as hand:
                assert hand.path_cost <= hand.written_cost + 1e-6
                for grip in hand.path:
                    assert {note for note, _ in grip.fingers} <= fretted
                    assert all(1 <= finger <= 4 for _, finger in grip.fingers)
            case MetreAnswer() as metre:
                assert len(metre.density) == len(music.bars)
                assert sum(
                    d * float(b.length_quarters)
                    for d, b in zip(metre.density, music.bars, strict=True)
                ) == pytest.approx(len(attacks_of(music)), abs=0.01)
                if metre.cycle:
                    assert metre.cycle[-1] < metre.cycle_pulses
