"""What is struck between the attacks of a text; the recordings are added up in the tests."""

from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest
from tests.making import passage
from tests.sound.test_sound_support_verdicts import LEAD_SECONDS, aligned, edited, recording_of

from riffract.music import Passage
from riffract.sound.mono import LISTENING_HZ, Mono
from riffract.sound.support import Support, between, moments, support

EIGHTH = Fraction(1, 2)
CHUG = (
    [(40, EIGHTH)] * 6
    + [(47, 1)]
    + [(40, EIGHTH)] * 4
    + [(45, 1)]
    + [(47, 1), (45, 1)] * 2
    + [(40, 1)]
)


def told(text: Passage, recording: Mono) -> list[tuple[int, Fraction]]:
    return [(u.pitch, u.quarters) for u in support(text, aligned(text), recording).unwritten]


@pytest.mark.parametrize("drive", [0.0, 4.0], ids=["clean", "driven"])
@pytest.mark.parametrize(("index", "place"), [(2, Fraction(1)), (4, Fraction(2))])
def test_a_stroke_left_out_among_strokes_on_one_pitch_is_told(
    index: int, place: Fraction, drive: float
) -> None:
    music = passage(CHUG)
    text = edited(music, index, frets=None)
    assert told(text, recording_of(music, drive=drive)) == [(40, place)]


def test_a_string_that_rings_through_a_rest_is_no_stroke() -> None:
    text = passage([(40, EIGHTH), (None, 1), (45, EIGHTH), (47, EIGHTH), (None, 1), (40, EIGHTH)])
    ringing = passage([(40, Fraction(3, 2)), (45, EIGHTH), (47, Fraction(3, 2)), (40, EIGHTH)])
    assert told(text, recording_of(ringing)) == []


def test_clicks_at_every_place_are_the_sound() -> None:
    music = passage([(p, Fraction(1, 2)) for p in (40, 40, 45, 40, 40, 47, 40, 40)])
    text = edited(edited(music, 4, frets=None), 1, frets=None)
    clean = recording_of(text).samples.copy()
    rng = np.random.default_rng(3)
    for k in range(8):
        first = round((LEAD_SECONDS + 0.25 * k) * LISTENING_HZ)
        clean[first : first + 60] += 0.3 * rng.standard_normal(60).astype(np.float32)
    assert told(text, Mono(samples=clean, rate_hz=LISTENING_HZ)) == []


@pytest.mark.parametrize("drive", [0.0, 4.0], ids=["clean", "driven"])
@pytest.mark.parametrize("index", [1, 6, 11])
def test_a_stroke_left_out_spoils_no_note_before_it(index: int, drive: float) -> None:
    sixteenth = Fraction(1, 4)
    music = passage(
        [(40, sixteenth), (52, 3 * sixteenth), (40, sixteenth), (40, sixteenth), (47, EIGHTH)] * 4
    )
    text = edited(music, index, frets=None)
    report = support(text, aligned(text), recording_of(music, drive=drive))
    assert [(u.pitch, u.quarters) for u in report.unwritten] == [
        (52, music.notes[index].onset_quarters)
    ]
    assert Support.CONTRADICTED not in {note.support for note in report.notes}


@pytest.mark.parametrize("late_seconds", [-0.03, 0.0, 0.03])
def test_a_place_lies_where_something_begins(late_seconds: float) -> None:
    music = passage([(p, EIGHTH) for p in (45, 47, 50, 52, 48, 57, 53, 45)])
    text = edited(music, 3, frets=None)
    whole = aligned(text)
    (stretch,) = whole.stretches
    attacks = tuple(
        replace(a, seconds=a.seconds + (late_seconds if a.quarters in {1, 2} else 0.0))
        for a in stretch.attacks
    )
    moved = replace(stretch, attacks=attacks)
    (place,) = [
        p
        for p in between.places_along(text, moved, recording_of(music))
        if p.quarters == Fraction(3, 2)
    ]
    assert place.stroke > moments.CLEAR_STROKE
    assert place.seconds == pytest.approx(LEAD_SECONDS + 0.75, abs=0.012)


SETTINGS = [
    (moments, "CLEAR_STROKE", (0.7, 1.4)),
    (moments, "STANDS_OUT", (0.7, 1.5)),
    (between, "RESTLESS_SHARE", (0.8, 1.15)),
    (between, "SAME_STROKE_SECONDS", (0.5, 2.0)),
]


@pytest.mark.parametrize(
    ("module", "name", "factor"), [(m, n, f) for m, n, factors in SETTINGS for f in factors]
)
def test_what_is_told_hangs_little_on_the_numbers(
    module: object, name: str, factor: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(module, name, factor * getattr(module, name))
    music = passage(CHUG)
    text = edited(music, 2, frets=None)
    assert told(text, recording_of(music)) == [(40, Fraction(1))]
    assert told(music, recording_of(music)) == []
