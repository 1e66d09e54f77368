"""Riffs that are played in several places on the neck. Passages are ours."""

from fractions import Fraction

import pytest
from tests.playing import SIX, Played, performed

from riffract.analysis.attacks import attacks_of
from riffract.analysis.hand.grip import Place
from riffract.analysis.passes import places as pass_places
from riffract.analysis.passes.find import find_passes

RIFF = [(4, 7), (4, 10), (3, 9), (4, 5), (3, 12), (4, 8), (3, 7), (4, 12)]
# Common practice: strings 5 to 3 are tuned in fourths, so that a string lower and five frets higher
# is the same pitch.
LOWER = [(string + 1, fret + 5) for string, fret in RIFF]


def sentence(places: list[Place]) -> str:
    notes = [
        Played(at=Fraction(k, 2), length="1/2", string=string, fret=fret)
        for k, (string, fret) in enumerate(places)
    ]
    music = performed(notes, tuning=SIX)[0]
    (found,) = find_passes(music, attacks_of(music))
    return found.sentence


def test_the_same_riff_lower_on_the_strings_is_told_with_its_places():
    assert sentence([*RIFF, *LOWER, *RIFF, *LOWER]) == (
        "The riff is played four times, each time the same, in two places on the neck."
    )


@pytest.mark.parametrize("share", [0.25, 0.5, 0.8])
def test_one_note_taken_elsewhere_is_no_other_place(monkeypatch, share):
    monkeypatch.setattr(pass_places, "ALIKE_SHARE", share)
    again = [*RIFF[:3], LOWER[3], *RIFF[4:]]
    assert sentence([*RIFF, *again, *RIFF]) == (
        "The riff is played three times, each time the same."
    )
    assert "in two places" in sentence([*RIFF, *LOWER, *RIFF])
