"""An idea that comes back is found and named, however it is moved, turned, scaled or mended."""

from collections.abc import Sequence
from fractions import Fraction
from itertools import pairwise, product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.making import Spelled, passage

from riffract.analysis.attacks import attacks_of, lead_notes
from riffract.analysis.finding import Motive
from riffract.analysis.motives.change import change_of
from riffract.analysis.motives.find import find_motives
from riffract.analysis.motives.line import MotiveLine, motive_line
from riffract.analysis.motives.prices import MOVES, OTHER_TIME_SHARE, TURNED_BITS, step_bits
from riffract.analysis.motives.search import Search
from riffract.analysis.what.motive import Transform

MOST = 4000
BUSY = settings(max_examples=50, deadline=None)
"""The machine may be busy with other tests; how long a search takes is measured elsewhere."""


def line(spelled: Sequence[Spelled], *, number: int = 0, title: str = "Test") -> MotiveLine:
    """Take every note of a one-voiced passage for its line."""
    music = passage(spelled, title=title)
    attacks = attacks_of(music)
    lead = lead_notes(music.notes, attacks, without=())
    return motive_line(music, attacks, lead, (), number=number, most_events=MOST)


def best_bits(source: Sequence[Spelled], back: Sequence[Spelled]) -> float:
    return fast_best(Search([line(source, number=-1)], line(back)))


def transform_of(source: Sequence[Spelled], back: Sequence[Spelled]) -> Transform:
    one, other = line(source, number=-1), line(back)
    found = Search([one], other).returns()[0]
    return change_of(
        one, other, found.pairs, inverted=found.inverted, backwards=found.backwards
    ).transform


def motives_within(spelled: Sequence[Spelled]) -> list[Motive]:
    own = line(spelled)
    found = find_motives([Search([own], own)], [])
    return [one.finding.what for one in found if isinstance(one.finding.what, Motive)]


def as_line(pitch_classes: str) -> list[Spelled]:
    """Spell a row of letters as equal notes within one octave, from C4."""
    names = ("C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B")
    number = {name: k for k, name in enumerate(names)}
    return [(60 + number[name], "1/2") for name in pitch_classes.split()]


# ---- published ------------------------------------------------------------------------------

WEBERN_24 = "B A# D D# G F# G# E F C C# A"
"""Webern, Concerto op. 24 (1934): each group of three notes is a turn of the first one (Babbitt,
Journal of Music Theory 5 (1961), 72-94; the row from memory)."""

WEBERN_21 = "A F# G G# E F B A# D C# C D#"
"""Webern, Symphony op. 21 (1928): the second half is the first one backwards, a tritone away
(Bailey, The Twelve-Note Music of Anton Webern (1991); the row from memory)."""


def pitches_of(row: str) -> list[int]:
    return [int(str(p)) for p, _ in as_line(row)]


def turned(pitches: Sequence[int], turn: tuple[bool, bool]) -> tuple[int, ...]:
    """Give the intervals, as pitch classes, of some notes turned by hand."""
    inverted, backwards = turn
    read = pitches[::-1] if backwards else pitches
    return tuple((-1 if inverted else 1) * (b - a) % 12 for a, b in pairwise(read))


@pytest.mark.parametrize(
    ("group", "turn"),
    [(1, (True, True)), (2, (False, True)), (3, (True, False))],
    ids=["retrograde inversion", "retrograde", "inversion"],
)
def test_the_groups_of_webern_24_are_turns_of_the_first_as_published(group, turn):
    row = pitches_of(WEBERN_24)
    assert turned(row[:3], turn) == turned(row[3 * group : 3 * group + 3], (False, False))


def in_one_register(row: list[int], model: Sequence[int]) -> list[int]:
    """Put notes into the octaves in which they have the intervals of a model."""
    placed = [row[0]]
    for (a, b), pitch in zip(pairwise(model), row[1:], strict=True):
        placed.append(placed[-1] + (b - a))
        assert (placed[-1] - pitch) % 12 == 0
    return placed


@pytest.mark.parametrize(
    ("group", "turn"),
    [(1, (True, True)), (2, (False, True)), (3, (True, False))],
    ids=["retrograde inversion", "retrograde", "inversion"],
)
def test_webern_24_with_its_groups_in_like_registers_is_read_as_published(group, turn):
    """A leading note makes the groups long enough to be more than a pair of intervals."""
    row = pitches_of(WEBERN_24)
    inverted, backwards = turn
    first = row[:3]
    image = [(-1 if inverted else 1) * p for p in (first[::-1] if backwards else first)]
    placed = in_one_register(row[3 * group : 3 * group + 3], image)
    source: list[Spelled] = [(p, v) for p, v in zip(first, ("1/2", "1/4", "1"), strict=True)]
    values = ("1", "1/4", "1/2") if backwards else ("1/2", "1/4", "1")
    back: list[Spelled] = [(p, v) for p, v in zip(placed, values, strict=True)]
    found = transform_of([*source], [*back])
    assert (found.inversion, found.retrograde) == turn


def test_the_second_half_of_webern_21_is_the_first_backwards_a_tritone_away_as_published():
    row = pitches_of(WEBERN_21)
    first, second = row[:6], row[6:]
    placed = in_one_register(second, first[::-1])
    found = transform_of([(p, 1) for p in first], [(p, 1) for p in placed])
    assert (found.inversion, found.retrograde) == (False, True)
    assert found.transposition % 12 == 6


SUBJECT: list[Spelled] = [
    *((62, 2), (69, 2), (65, 2), (62, 2), (61, 2), (62, 1), (64, 1)),
    *((65, "5/2"), (67, "1/2"), (65, "1/2"), (64, "1/2"), (62, 1)),
]
"""J. S. Bach, The Art of Fugue, the subject (1751; public domain, from memory)."""


@pytest.mark.parametrize("scale", [Fraction(1, 2), Fraction(2), Fraction(3, 2)])
def test_bachs_subject_is_found_in_other_values(scale):
    """Contrapunctus VI and VII answer the subject in half and in twice its values."""
    answer: list[Spelled] = [(int(str(p)) + 7, Fraction(v) * scale) for p, v in SUBJECT]
    found = transform_of(SUBJECT, answer)
    assert found == Transform(transposition=7, inversion=False, retrograde=False, scale=scale)


# ---- brute force ----------------------------------------------------------------------------


def slow_best(search: Search) -> float:
    """The best chain over all pairs, turns and scales, with no words, band or drop; for oracle."""
    source, back = search.sources[0], search.back
    bits = step_bits(back.heights, back.values, back.segments)
    steps = bits.of_steps(back.heights)
    best_bits = 0.0
    for inverted, backwards in product((False, True), repeat=2):
        heights = source.heights[::-1] if backwards else source.heights
        values = source.values[::-1] if backwards else source.values
        onsets = np.concatenate([[0.0], np.cumsum(values)])
        sign = -1 if inverted else 1
        gain = np.zeros((len(heights), len(back)))
        for i, j in product(range(len(heights)), range(len(back))):
            for (a, b), price in MOVES.items():
                if i < a or j < b:
                    continue
                rise = int(back.heights[j] - back.heights[j - b])
                if rise != sign * int(heights[i] - heights[i - a]):
                    continue
                told = steps[j - 1] if (a, b) == (1, 1) else bits.of_leaps(np.array([rise]))[0]
                in_time = np.isclose(onsets[i] - onsets[i - a], back.onsets[j] - back.onsets[j - b])
                time = (
                    (bits.of_value[j - 1] if b == 1 else 0.0)
                    if in_time
                    else np.log2(OTHER_TIME_SHARE)
                )
                gain[i, j] = max(gain[i, j], gain[i - a, j - b] + price + told + time)
        best_bits = max(best_bits, float(gain.max()) - TURNED_BITS[inverted, backwards])
    return best_bits


def fast_best(search: Search) -> float:
    return max((found.bits for found in search.returns()), default=0.0)


equal_notes = st.lists(st.integers(50, 56), min_size=6, max_size=14).map(
    lambda pitches: [(p, "1/2") for p in pitches]
)


@BUSY
@given(equal_notes, equal_notes)
def test_words_and_bands_never_find_more_than_all_pairs_do(source, back):
    search = Search([line(source, number=-1)], line(back))
    assert fast_best(search) <= slow_best(search) + 1e-6


@pytest.mark.parametrize("seed", range(80))
def test_words_and_bands_find_all_that_is_worth_more_than_a_few_notes(seed):
    """Less than 8 bits is what three notes are worth, which is never told."""
    rng = np.random.default_rng(seed)
    source, back = rng.integers(50, 50 + int(rng.integers(4, 12)), (2, 14)).tolist()
    search = Search(
        [line([(p, "1/2") for p in source], number=-1)], line([(p, "1/2") for p in back])
    )
    exact = slow_best(search)
    assert exact < 8.0 or fast_best(search) == pytest.approx(exact)


@pytest.mark.parametrize("seed", range(20))
def test_a_planted_return_is_worth_as_much_as_all_pairs_say(seed):
    rng = np.random.default_rng(seed)
    idea = rng.integers(50, 62, 9).tolist()
    moved = [p + 4 for p in idea]
    moved[4] += 1
    around = [rng.integers(50, 62, 6).tolist() for _ in range(4)]
    source: list[Spelled] = [(p, "1/2") for p in around[0] + idea + around[1]]
    back: list[Spelled] = [(p, "1/2") for p in around[2] + moved + around[3]]
    search = Search([line(source, number=-1)], line(back))
    assert fast_best(search) == pytest.approx(slow_best(search))


def test_many_versions_at_once_give_what_each_gives_by_itself():
    rng = np.random.default_rng(4)
    lines = [line([(int(p), "1/2") for p in rng.integers(48, 60, 30)]) for _ in range(6)]
    search = Search([lines[0]], lines[0])
    heights = np.stack([one.heights for one in lines])
    together = search.best_bits(heights, heights)
    alone = [search.best_bits(row[None, :], row[None, :])[0] for row in heights]
    assert together == pytest.approx(alone)


# ---- laws -----------------------------------------------------------------------------------

values = st.sampled_from([Fraction(1, 4), Fraction(1, 2), Fraction(3, 4), Fraction(1)])


@st.composite
def ideas(draw: st.DrawFn) -> list[Spelled]:
    """Ideas with as many kinds of steps as notes, so that no turn of one is another turn of it."""
    steps = draw(st.permutations([1, -2, 3, -4, 5, 6, -7, -1]))
    pitches = np.cumsum([60, *steps]).tolist()
    return [(p, draw(values)) for p in pitches]


@BUSY
@given(ideas(), st.integers(-7, 7))
def test_moving_the_later_passage_changes_the_transposition_alone(idea, semitones):
    moved: list[Spelled] = [(int(str(p)) + semitones, v) for p, v in idea]
    assert transform_of(idea, moved) == Transform(
        transposition=semitones, inversion=False, retrograde=False, scale=Fraction(1)
    )


@BUSY
@given(ideas(), st.sampled_from([Fraction(2), Fraction(1, 2), Fraction(3, 2), Fraction(4, 3)]))
def test_scaling_all_values_changes_the_scale_alone(idea, scale):
    scaled: list[Spelled] = [(p, Fraction(v) * scale) for p, v in idea]
    assert transform_of(idea, scaled) == Transform(
        transposition=0, inversion=False, retrograde=False, scale=scale
    )


def inverted(idea: Sequence[Spelled]) -> list[Spelled]:
    return [(120 - int(str(p)), v) for p, v in idea]


@BUSY
@given(ideas())
def test_turning_twice_is_no_turn(idea):
    assert transform_of(idea, inverted(inverted(idea))) == transform_of(idea, idea)
    assert transform_of(idea, idea[::-1][::-1]) == transform_of(idea, idea)


@BUSY
@given(ideas())
def test_each_turn_is_named(idea):
    turns = [idea[::-1], inverted(idea), inverted(idea)[::-1]]
    found = [transform_of(idea, one) for one in turns]
    assert [(t.inversion, t.retrograde) for t in found] == [
        (False, True),
        (True, False),
        (True, True),
    ]
    assert {t.scale for t in found} == {Fraction(1)}


@BUSY
@given(ideas(), ideas())
def test_bits_do_not_depend_on_where_both_passages_lie(source, back):
    higher: list[Spelled] = [(int(str(p)) + 3, v) for p, v in back]
    assert best_bits(source, back) == pytest.approx(best_bits(source, higher))


# ---- what is told ---------------------------------------------------------------------------

IDEA: list[Spelled] = [
    *((52, "1/2"), (55, "1/4"), (54, "1/4"), (59, "1/2"), (57, "1/2"), (50, "3/4"), (56, "1/4"))
]
REST: list[Spelled] = [(p, "1/2") for p in (45, 46, 51, 47, 53, 48)]


def moved_by(idea: Sequence[Spelled], semitones: int) -> list[Spelled]:
    return [(int(str(p)) + semitones, v) for p, v in idea]


def test_a_figure_moved_up_is_told_with_its_places_and_notes():
    (found, *_) = motives_within([*IDEA, *REST, *moved_by(IDEA, 5)])
    assert found.transform == Transform(
        transposition=5, inversion=False, retrograde=False, scale=Fraction(1)
    )
    assert found.source.notes == tuple(range(7))
    assert found.return_.notes == tuple(range(13, 20))
    assert found.source.span.start_quarters == 0
    assert found.return_.span.start_quarters == 6
    assert (found.inserted, found.dropped, found.changed) == ((), (), ())


def test_a_note_put_in_one_left_out_and_one_changed_are_each_told():
    answer = moved_by(IDEA, 3)
    put_in: list[Spelled] = [*answer[:4], (61, "1/2"), *answer[4:]]
    left_out = [*answer[:3], *answer[4:]]
    changed: list[Spelled] = [*answer[:3], (63, "1/2"), *answer[4:]]
    for back, field, expected in (
        (put_in, "inserted", (17,)),
        (left_out, "dropped", (3,)),
        (changed, "changed", ((3, 16),)),
    ):
        (found, *_) = motives_within([*IDEA, *REST, *back])
        assert found.transform.transposition == 3
        told = getattr(found, field)
        assert set(expected) <= set(told), field


def test_a_figure_that_steps_up_is_one_sequence():
    figure: list[Spelled] = [(55, "1/4"), (58, "1/4"), (56, "1/2")]
    steps = [note for k in range(4) for note in moved_by(figure, 2 * k)]
    own = line([*REST, *steps, *IDEA])
    (found, *_) = find_motives([Search([own], own)], [])
    assert isinstance(found.finding.what, Motive)
    assert found.finding.what.transform.transposition == 2
    assert [place.notes for place in found.finding.what.goes_on] == [(12, 13, 14), (15, 16, 17)]
    assert found.finding.sentence == (
        "The figure at bar 1, beat 4 is played four times in a row, each time a whole tone higher."
    )


def test_a_figure_in_another_rhythm_comes_back_free():
    other_values = ("1/4", "1/2", "3/4", "1/8", "5/4", "3/4", "1")
    free: list[Spelled] = [
        (int(str(p)) - 2, v) for (p, _), v in zip(IDEA, other_values, strict=True)
    ]
    (found, *_) = motives_within([*IDEA, *REST, *free])
    assert found.transform.transposition == -2
    assert found.is_free


def test_a_figure_that_is_its_own_reverse_names_both_turns():
    up: list[Spelled] = [(p, "1/2") for p in (50, 53, 54, 58, 59, 62)]
    own = line([*REST, *up, *IDEA, *moved_by(up[::-1], -1)])
    (found, *_) = find_motives([Search([own], own)], [])
    assert isinstance(found.finding.what, Motive)
    names = {name for name, _ in found.rivals}
    assert found.finding.what.transform.retrograde or found.finding.what.transform.inversion
    assert names & {"inversion", "retrograde"}


@pytest.mark.parametrize(
    "spelled", [[], [(40, 1)], [(None, 4)], [(40, 1)] * 40, [(40, 1), (42, 1)]]
)
def test_nothing_is_found_where_nothing_can_come_back(spelled):
    own = line(spelled)
    searches = [s for s in [Search([own], own)] if s.is_possible]
    assert find_motives(searches, []) == ()
