"""What cannot be asked of a short or bare passage. Common practice: two notes make no form."""

from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest
from tests.making import passage

from riffract.music import Metre, Passage
from riffract.music.notes import NO_PITCH
from riffract.weighing.weigh import study_passage

LONG = [(40 + step, Fraction(1, 2)) for step in (0, 3, 5, 6, 5, 3, 0, 7)] * 2


def all_dead(made: Passage) -> Passage:
    notes = made.notes
    return replace(made, notes=replace(notes, pitch=np.full(len(notes), NO_PITCH)))


@pytest.mark.parametrize(
    ("made", "what", "why"),
    [
        (passage([(None, 4)]), "every question", "all rests"),
        (passage([(40, 4)]), "every question", "one attack"),
        (passage([(40, 2), (43, 2)]), "every question", "2 attacks"),
        (passage([((40, 47, 52), 4)]), "every question", "one attack"),
        (all_dead(passage(LONG)), "every question about pitch", "every note is dead"),
        (passage([(40, 1)] * 8), "every question about pitch", "only one pitch"),
        (
            passage(LONG[:8], metres=[Metre(groups=(4,), unit=4)]),
            "how the riff sits against the bars",
            "one bar",
        ),
    ],
)
def test_the_reason_is_told_and_nothing_is_claimed(made, what, why):
    study = study_passage(made)
    assert study.ignored[0].what == what
    assert why in study.ignored[0].why
    assert not [one for one in study.findings if one.is_solid]


def test_a_passage_with_enough_in_it_is_asked_everything():
    assert study_passage(passage(LONG)).ignored == ()
