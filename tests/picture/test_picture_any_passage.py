"""Any passage gives pictures without a fault: random ones, one of rests, one of a single note."""

import random
from dataclasses import replace
from fractions import Fraction

import pytest
from tests.picture_studies import shot_of

from riffract.essay.shots import SceneName
from riffract.music import (
    Metre,
    NoteTableBuilder,
    Passage,
    Span,
    Technique,
    TempoMark,
    Tuning,
    bars_in_row,
)
from riffract.music.notes import Grace
from riffract.picture.check import faults_of
from riffract.picture.look import DARK
from riffract.picture.scene import WIDE
from riffract.picture.scenes import scene_for
from riffract.weighing.weigh import study_passage

METRES = (
    Metre(groups=(4,), unit=4),
    Metre(groups=(2, 2, 3), unit=8),
    Metre(groups=(3, 3, 3, 2), unit=8),
    Metre(groups=(3, 2), unit=16),
)
WAYS = ((0, 200), (0, 100, 0), (200,), (150, 0), (0, 50))
WITH_OTHER_FRET = Technique.TRILL | Technique.ARTIFICIAL_HARMONIC
VALUES = (Fraction(1, 4), Fraction(1, 2), Fraction(1), Fraction(1, 6), Fraction(1, 3))


def random_passage(seed: int) -> Passage:
    """Four to twelve strings, chords, all techniques, a figure that comes back now and then."""
    draw = random.Random(seed)
    strings = draw.choice([4, 6, 8, 12])
    tuning = Tuning(open_pitches=tuple(sorted(draw.sample(range(24, 70), strings))))
    metres = [draw.choice(METRES) for _ in range(draw.choice([1, 3, 9]))]
    end = sum((metre.length_quarters for metre in metres), Fraction(0))
    figure = [(draw.randint(1, strings), draw.randint(0, 14)) for _ in range(draw.randint(3, 9))]
    builder = NoteTableBuilder()
    now, count = Fraction(0), 0
    while now < end:
        value = min(draw.choice(VALUES), end - now)
        struck = {figure[count % len(figure)][0]: figure[count % len(figure)][1]}
        if draw.random() < 0.3:
            struck = {draw.randint(1, strings): draw.randint(0, 14) for _ in range(3)}
        for string, fret in struck.items():
            sign = draw.choice(list(Technique)) if draw.random() < 0.15 else Technique(0)
            is_dead = Technique.DEAD in sign
            builder.add(
                onset_quarters=now,
                duration_quarters=value,
                string=string,
                fret=fret,
                pitch=None if is_dead else tuning.pitch_at(string, fret),
                techniques=sign,
                bend=draw.choice(WAYS) if Technique.BEND in sign else (),
                other_fret=fret + draw.randint(1, 4) if sign & WITH_OTHER_FRET else None,
                tremolo_marks=draw.randint(1, 3) if Technique.TREMOLO in sign else 0,
            )
        now, count = now + value, count + 1
    passage = passage_of(tuning, metres, builder)
    return replace(passage, graces=_graces(passage, draw), fermatas=_fermatas(passage, draw))


def _graces(passage: Passage, draw: random.Random) -> tuple[Grace, ...]:
    """Lead to some of the notes, by one or two graces."""
    led_to = {n.onset_quarters: n for n in passage.notes if draw.random() < 0.1}
    return tuple(
        Grace(
            at_quarters=at,
            place=place,
            string=led_to[at].string,
            fret=draw.randint(0, 14),
            pitch=60,
            techniques=Technique.HAMMER_ON if place else Technique(0),
        )
        for at in sorted(led_to)
        for place in range(draw.randint(1, 2))
    )


def _fermatas(passage: Passage, draw: random.Random) -> tuple[Fraction, ...]:
    return tuple(sorted({n.onset_quarters for n in passage.notes if draw.random() < 0.05}))


def passage_of(tuning: Tuning, metres: list[Metre], builder: NoteTableBuilder) -> Passage:
    return Passage(
        title="Any",
        tuning=tuning,
        bars=bars_in_row((metre, None, i + 1) for i, metre in enumerate(metres)),
        tempos=(TempoMark(at_quarters=Fraction(0), quarters_per_minute=120.0),),
        notes=builder.build(),
    )


def one_note() -> Passage:
    builder = NoteTableBuilder()
    builder.add(
        onset_quarters=Fraction(0), duration_quarters=Fraction(4), string=1, fret=0, pitch=60
    )
    return passage_of(Tuning(open_pitches=(48, 52, 56, 60)), [METRES[0]], builder)


def rests() -> Passage:
    tuning = Tuning(open_pitches=(40, 45, 50, 55, 59, 64))
    return passage_of(tuning, [METRES[1], METRES[0]], NoteTableBuilder())


PASSAGES = {f"seed {seed}": random_passage(seed) for seed in (1, 2, 5)}
PASSAGES |= {"one note": one_note(), "rests": rests()}


@pytest.mark.parametrize("is_playing", [False, True], ids=["still", "playing"])
@pytest.mark.parametrize("passage", PASSAGES.values(), ids=PASSAGES)
def test_every_scene_of_any_passage_is_without_a_fault(passage: Passage, is_playing: bool) -> None:
    study = study_passage(passage)
    for name in SceneName:
        shot = shot_of(
            study,
            name,
            title="A claim that is one sentence long.",
            plays=[Span(Fraction(0), passage.length_quarters)] if is_playing else (),
            lines=["Hear this."] if is_playing else (),
            details=["One line."],
        )
        scene = scene_for(study, shot, WIDE)
        for share in (0.0, 0.55, 1.0):
            marks = scene.at(share * scene.length_seconds)
            assert faults_of(marks, DARK, page=WIDE) == (), (name, share)
