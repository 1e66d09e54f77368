"""What all scenes share: the claim, the captions, and who is heard when."""

from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.picture_studies import odd_study, plain_study, shot_of, steps, wide_study

from riffract.analysis.finding import Kind
from riffract.essay.shots import Line, SceneName
from riffract.music import Technique
from riffract.picture.hearing import first_heard_seconds, moment_heard_seconds, now_heard
from riffract.picture.layout import captions, claim_marks, layout_of
from riffract.picture.legend import posture_lines
from riffract.picture.legend_lines import written
from riffract.picture.marks import Group, Mark, Words
from riffract.picture.scene import SQUARE, TALL, WIDE, Page
from riffract.picture.string_mark import Posture
from riffract.picture.type import ink_box, text_width
from riffract.picture.voices import chosen, voices_of
from riffract.weighing.study import Verdict

ODD = odd_study()
STILL = shot_of(ODD, SceneName.PAGE)
LONG = " ".join(["A rather long sentence about a short riff goes on and on."] * 6)


def texts(marks: tuple[Mark, ...]) -> list[str]:
    found = []
    for mark in marks:
        if isinstance(mark, Words):
            found.append(mark.text)
        elif isinstance(mark, Group):
            found += texts(mark.marks)
    return found


def test_the_claim_stands_on_its_baseline_at_the_margin() -> None:
    (claim,) = claim_marks(layout_of(STILL, WIDE))
    assert isinstance(claim, Words)
    assert (claim.x, claim.y, claim.size, claim.weight) == (96.0, 112.0, 50.0, 600)


@pytest.mark.parametrize("page", [WIDE, TALL])
def test_a_long_claim_takes_more_lines_and_never_shrinks(page: Page) -> None:
    layout = layout_of(replace(STILL, title=LONG), page)
    claim = claim_marks(layout)
    assert len(claim) > 1
    assert " ".join(texts(claim)) == LONG
    for words in claim:
        assert isinstance(words, Words)
        assert ink_box(words)[2] <= page.width * 0.95 + 1
    last = claim[-1]
    assert isinstance(last, Words)
    assert layout.picture.top > last.y


def test_without_captions_the_picture_reaches_further_down() -> None:
    speaking = layout_of(shot_of(ODD, SceneName.PAGE, lines=["One."]), WIDE)
    assert speaking.picture.bottom < layout_of(STILL, WIDE).picture.bottom


def test_a_caption_comes_and_goes_with_its_line() -> None:
    layout = layout_of(STILL, WIDE)
    at = captions(layout, [Line(text="Hear it.", start_seconds=1.0, end_seconds=3.0)])
    assert at(0.9) == ()
    assert texts(at(2.0)) == ["Hear it."]
    assert at(3.0) == ()
    (coming,), (there,), (going,) = at(1.05), at(2.0), at(2.95)
    assert isinstance(coming, Group)
    assert isinstance(there, Group)
    assert isinstance(going, Group)
    assert 0 < coming.opacity < 1
    assert there.opacity == 1
    assert 0 < going.opacity < 1


def test_a_caption_that_follows_at_once_does_not_fade() -> None:
    lines = [
        Line(text="One.", start_seconds=0.0, end_seconds=2.0),
        Line(text="Two.", start_seconds=2.0, end_seconds=4.0),
    ]
    at = captions(layout_of(STILL, WIDE), lines)
    (last,), (first,) = at(1.999), at(2.0)
    assert isinstance(last, Group)
    assert isinstance(first, Group)
    assert last.opacity == first.opacity == 1.0


@given(st.lists(st.sampled_from(["fall", "climb", "the", "mirror", "again,"]), max_size=90))
def test_a_long_line_is_shown_in_parts_that_lose_nothing(words: list[str]) -> None:
    layout = layout_of(STILL, WIDE)
    at = captions(layout, [Line(text=" ".join(words), start_seconds=0.0, end_seconds=20.0)])
    shown: list[str] = []
    for tenth in range(200):
        now = texts(at(tenth / 10))
        assert len(now) <= len(layout.caption_baselines)
        assert all(text_width(row, 30.0, 400) <= layout.right - layout.left for row in now)
        if now and now != shown[-len(now) :]:
            shown += now
    assert " ".join(shown).split() == words


def test_notes_are_first_heard_where_they_are_first_played() -> None:
    shot = shot_of(ODD, SceneName.PAGE, plays=[steps(6, 38), steps(6, 38)])
    first = next(n for n in ODD.passage.notes if n.onset_quarters == Fraction(3, 2))
    assert first_heard_seconds(shot, first) == 0.5
    outside = ODD.passage.notes[0]
    assert first_heard_seconds(shot, outside) is None


def test_a_muted_string_is_not_heard() -> None:
    shot = shot_of(ODD, SceneName.PAGE, plays=[ODD.passage.span])
    (play,) = shot.plays
    only_low = replace(shot, plays=(replace(play, strings=(8,)),))
    notes = tuple(ODD.passage.notes)
    heard = {n.string for n in notes if first_heard_seconds(only_low, n) is not None}
    assert heard == {8}
    at = now_heard(only_low, notes, voices_of(ODD, shot).attacks)
    assert at(play.seconds_at(Fraction(1))) is None


def test_the_attack_that_sounds_now_is_the_latest_one_until_its_notes_end() -> None:
    shot = shot_of(ODD, SceneName.PAGE, plays=[ODD.passage.span])
    (play,) = shot.plays
    attacks = voices_of(ODD, shot).attacks
    at = now_heard(shot, tuple(ODD.passage.notes), attacks)
    assert at(0.0) is None
    for attack in attacks:
        assert at(play.seconds_at(attack.onset_quarters) + 1e-6) == attack
    assert at(play.at_seconds + play.length_seconds + 0.01) is None


def test_the_end_of_a_play_is_reached_too() -> None:
    shot = shot_of(ODD, SceneName.PAGE, plays=[steps(0, 8)])
    (play,) = shot.plays
    assert moment_heard_seconds(shot, Fraction(2)) == play.at_seconds + play.length_seconds
    assert moment_heard_seconds(shot, Fraction(3)) is None


def test_postures_follow_the_findings() -> None:
    voices = voices_of(ODD, STILL)
    for note in ODD.passage.notes:
        posture = voices.postures[note.index]
        if note.string == 8 and note.fret == 0:
            assert posture is Posture.ANCHORS
        elif note.string == 4 and note.fret == 0:
            assert posture is Posture.RINGS
        else:
            climbs = note.onset_quarters / Fraction(1, 4) % 100
            rising = any(a <= climbs < b for a, b in ((0, 6), (32, 38), (66, 72)))
            assert posture is (Posture.STANDS if rising else Posture.HANGS)


def test_without_findings_notes_are_plain() -> None:
    wide = wide_study()
    postures = set(voices_of(wide, shot_of(wide, SceneName.PAGE)).postures)
    assert postures == {Posture.PLAIN, Posture.ANCHORS}


def test_what_is_not_beyond_chance_is_only_shown_when_asked_for() -> None:
    plain = plain_study()
    (gesture,) = plain.of_kind(Kind.GESTURE)
    weak = replace(gesture, verdict=Verdict.NOT_BEYOND_CHANCE)
    doubtful = replace(plain, findings=(weak,))
    assert chosen(doubtful, shot_of(plain, SceneName.PAGE), Kind.GESTURE) is None
    asked = shot_of(plain, SceneName.PAGE, findings=[weak])
    assert chosen(doubtful, asked, Kind.GESTURE) == weak.finding


def test_the_study_for_tests_uses_every_technique() -> None:
    used = Technique(0)
    for note in (*ODD.passage.notes, *plain_study().passage.notes):
        used |= note.techniques
    assert used | Technique.STACCATO == ~Technique(0)


@pytest.mark.parametrize("page", [WIDE, TALL, SQUARE], ids=["wide", "tall", "square"])
def test_a_legend_leaves_no_entry_alone_and_stands_in_columns(page: Page) -> None:
    layout = layout_of(STILL, page)
    voices, notes = voices_of(ODD, STILL), tuple(ODD.passage.notes)
    lines = posture_lines(layout, voices, notes, ODD.passage)
    assert len(lines) == 1 or min(map(len, lines)) > 1
    said = [mark for mark in written(layout, lines) if isinstance(mark, Words)]
    assert len(said) == sum(map(len, lines))
    assert max(w.x + text_width(w.text, w.size, w.weight) for w in said) <= layout.right
    if page is WIDE:
        starts = [[w.x for w in said if w.y == y] for y in sorted({w.y for w in said})]
        assert all(below == above[: len(below)] for above, below in pairwise(starts))
