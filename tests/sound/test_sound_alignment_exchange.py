"""Bars are told to be played in place of others only if the recording leaves no other reading."""

import pytest
from tests.making import Spelled, passage
from tests.sound.test_sound_alignment_found import EIGHTH, found, played

from riffract.music import Passage
from riffract.sound.alignment import coarse
from riffract.sound.alignment.path import LEAP_PRICE

QUARTERS_PER_MINUTE = 50.0


def bar(*pitches: int) -> list[Spelled]:
    return [(pitch, EIGHTH) for pitch in pitches]


FIRST = bar(40, 47, 40, 50, 40, 48, 40, 47)
SECOND = bar(40, 47, 40, 52, 40, 50, 40, 45)
THIRD = bar(43, 50, 43, 53, 43, 51, 43, 50)
LAST = bar(40, 47, 40, 52, 40, 50, 40, 43)


def bars_heard(text: Passage, music: Passage) -> list[int]:
    alignment = found(text, played(music, QUARTERS_PER_MINUTE))
    return [int(a.quarters // 4) + 1 for s in alignment.stretches for a in s.attacks][::8]


SHARES = [0.6, coarse.EXCHANGE_SHARE]
PRICES = [2.0, 3.0, 4.0]


@pytest.mark.parametrize(
    ("share", "times"), [(s, 3.0) for s in SHARES] + [(0.7, t) for t in PRICES]
)
def test_a_bar_with_mistakes_is_not_taken_for_another_bar(
    share: float, times: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(coarse, "EXCHANGE_SHARE", share)
    monkeypatch.setattr(coarse, "EXCHANGE_PRICES", (times * LEAP_PRICE,))
    mistaken = bar(42, 47, 40, 52, 40, 50, 40, 43)
    text = passage([*FIRST, *mistaken, *THIRD, *LAST])
    assert bars_heard(text, passage([*FIRST, *SECOND, *THIRD, *LAST])) == [1, 2, 3, 4]


@pytest.mark.parametrize("share", SHARES)
def test_a_bar_that_is_played_in_place_of_another_is_told(
    share: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(coarse, "EXCHANGE_SHARE", share)
    other = bar(37, 56, 38, 58, 54, 41, 46, 44)
    text = passage([*FIRST, *other, *THIRD, *LAST])
    assert bars_heard(text, passage([*FIRST, *LAST, *THIRD, *LAST])) == [1, 4, 3, 4]


def test_a_first_bar_with_mistakes_is_not_taken_for_a_last_one_that_is_like_it() -> None:
    """To come in a bar late costs no more than to come in at the first bar, at any pace."""
    mistaken = bar(41, 47, 41, 50, 41, 48, 41, 47)
    text = passage([*mistaken, *SECOND, *THIRD, *FIRST])
    assert bars_heard(text, passage([*FIRST, *SECOND, *THIRD, *FIRST])) == [1, 2, 3, 4]
