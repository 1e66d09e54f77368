"""What a reader is told to find an answer on hand or metre in the notes again."""

from fractions import Fraction

import numpy as np
from tests.making import Spelled, passage
from tests.playing import Played, performed

from riffract.analysis.attacks import attacks_of
from riffract.analysis.finding import Hand, MetreAnswer, Passes
from riffract.analysis.hand.find import find_hand
from riffract.analysis.metre.find import find_metre
from riffract.analysis.metre.question import question_of
from riffract.analysis.passes.find import find_passes
from riffract.music import Passage
from riffract.publish.evidence.of_build import build_facts, build_sound

SHAPE = [(6, 0), (6, 3), (5, 2), (5, 4), (4, 1), (5, 3), (6, 2), (5, 1)]


def metre_of(music: Passage) -> MetreAnswer:
    attacks = attacks_of(music)
    readings = [
        f.what.readings[0] for f in find_passes(music, attacks) if isinstance(f.what, Passes)
    ]
    what = find_metre(music, attacks, readings, question_of(music, attacks))[0].what
    assert isinstance(what, MetreAnswer)
    return what


def test_a_moved_shape_is_told_with_its_places_by_products_and_assumed_costs():
    places = [(s, f + fret) for fret in (3, 5, 8) for s, f in SHAPE]
    music = performed(
        [
            Played(at=Fraction(k, 2), length="1/2", string=s, fret=f)
            for k, (s, f) in enumerate(places)
        ]
    )[0]
    found = find_hand(music, attacks_of(music))
    assert found is not None
    assert isinstance(found.finding.what, Hand)
    facts = dict(build_facts(found.finding.what, music))
    assert facts["shape moved"].startswith("eight notes, at bar 1")
    assert facts["explained by moved shapes"] == "67 %"
    assert facts["follow from the hand"].startswith("two transposed repeats, at bar 2")
    assert facts["cost, by assumed weights"].endswith("as written")


def test_a_riff_against_the_bars_is_told_by_where_its_passes_start():
    rng = np.random.default_rng(2)
    values = ["1/2", "1/4", "1/4", "1/2", "1/4", "1/2", "1/4", "1/4", "1/2", "1/4", "1/2", "1/4"]
    riff: list[Spelled] = [
        (int(p), v) for p, v in zip(rng.integers(40, 62, 12), values, strict=True)
    ]
    music = passage(riff * 6)
    what = metre_of(music)
    facts = dict(build_facts(what, music))
    assert facts["meet again after"] == "16 passes, 17 bars"
    assert facts["passes start at"].startswith("bar 1, beat 1; bar 2, beat 1.25; bar 3, beat 1.5")
    assert build_sound(what, music) == "where the riff starts against the bar"


def test_a_grouping_is_told_with_its_rival():
    music = passage([(35, "3/2"), (50, "3/2"), (47, 1)] * 4)
    what = metre_of(music)
    facts = dict(build_facts(what, music))
    assert (facts["grouping"], facts["or else"]) == ("3 + 3 + 2", "2 + 3 + 3")
    assert "2 + 2 + 2 + 2, as written" not in facts["grouping"]
    assert build_sound(what, music) == "how the strong strokes group the bar"


def test_a_beat_that_is_divided_otherwise_is_told_with_its_bars():
    four: list[Spelled] = [(40, "1")] * 4
    triplet: list[Spelled] = [(40, "1/3"), (43, "1/3"), (45, "1/3"), (40, "1"), (40, "2")]
    music = passage([*four, *four, *triplet])
    assert dict(build_facts(metre_of(music), music))["divided by"] == "3, in bar 3"
