"""Two to five riffs, planted in turn: are they found where they were put?

The passages are random riffs of ours; what is planted in them is the expectation.
"""

from fractions import Fraction
from itertools import combinations

import numpy as np
import pytest
from tests.making import Spelled, passage

from riffract.analysis.attacks import attacks_of
from riffract.analysis.description import Spelling
from riffract.analysis.passes.cover import Template
from riffract.analysis.passes.find import find_passes
from riffract.analysis.passes.template_prices import prices_of
from riffract.analysis.passes.templates import rank_template_sets


def planted(
    form: str, seed: int, substituted: int = 0
) -> tuple[list[Spelled], list[list[Fraction]]]:
    """Give the attacks of a form such as `AABB`, and where each riff that comes back starts."""
    rng = np.random.default_rng(seed)
    riffs: dict[str, list[tuple[int, Fraction]]] = {}
    for name in sorted(set(form)):
        count = int(rng.integers(8, 17))
        pitches = rng.choice([40, 40, *range(41, 62)], count).tolist()
        values = rng.choice([1, 2, 2, 2, 4], count).tolist()
        riffs[name] = [(p, Fraction(v, 4)) for p, v in zip(pitches, values, strict=True)]
    line: list[tuple[int, Fraction]] = []
    starts: dict[str, list[Fraction]] = {name: [] for name in riffs}
    for name in form:
        starts[name].append(sum((value for _, value in line), Fraction(0)))
        line += riffs[name]
    for k in rng.choice(np.arange(1, len(line) - 1), substituted, replace=False).tolist():
        line[k] = (line[k][0] + 3, line[k][1])
    return list(line), sorted(places for places in starts.values() if len(places) > 1)


def planted_in_bars(form: str, seed: int) -> tuple[list[Spelled], list[list[Fraction]]]:
    """Give the attacks of a form whose riffs fill a bar of 4/4 each, and where each starts."""
    rng = np.random.default_rng(seed)
    line: dict[str, list[Spelled]] = {}
    for name in sorted(set(form)):
        values = rng.permutation([1, 1, 2, 2, 2, 2, 3, 3]).tolist()
        pitches = rng.choice([40, *range(41, 62)], len(values)).tolist()
        line[name] = [(p, Fraction(v, 4)) for p, v in zip(pitches, values, strict=True)]
    starts = [[Fraction(4 * k) for k, own in enumerate(form) if own == name] for name in line]
    return [attack for name in form for attack in line[name]], sorted(starts)


@pytest.mark.parametrize("substituted", [0, 1])
@pytest.mark.parametrize("seed", [1, 2, 3])
@pytest.mark.parametrize("form", ["AABB", "AABBAABB", "AABBCC", "AAABAAAB", "AAAABBBB"])
def test_riffs_in_turn_are_heard_where_they_were_planted(form, seed, substituted):
    line, expected = planted(form, seed, substituted)
    music = passage(line)
    found = find_passes(music, attacks_of(music))
    heard = [[one.start_quarters for one in riff.spans] for riff in found]
    assert sorted(heard) == expected


@pytest.mark.parametrize("seed", [1, 2, 3])
@pytest.mark.parametrize("form", ["AABBCCDDCCBBAA", "AABBCCDD", "AABBCCDDEEDDCCBBAA"])
def test_four_and_five_riffs_are_heard_apart(form, seed):
    # An arch is read as it is built: no two of its riffs make up one with its end missing.
    line, expected = planted_in_bars(form, seed)
    music = passage(line)
    found = find_passes(music, attacks_of(music))
    assert sorted([one.start_quarters for one in riff.spans] for riff in found) == expected
    assert all(riff.measures["complete_passes"] == riff.measures["passes"] for riff in found)


@pytest.mark.parametrize("statements", [3, 5])
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_an_intro_is_not_the_beginning_of_the_riff(seed, statements):
    # A bar of chugs leads up to the riff once, and closes the passage.
    riff, _ = planted("A", seed)
    chugs: list[Spelled] = [(40, Fraction(1, 2))] * 8
    music = passage([*chugs, *(riff * statements), *chugs])
    attacks = attacks_of(music)
    expected = [attacks[8 + len(riff) * k].onset_quarters for k in range(statements)]
    found = find_passes(music, attacks)
    assert expected in [[one.start_quarters for one in each.spans] for each in found]


@pytest.mark.parametrize("word", ["abcdabcdefghefgh", "abcdabcdefghiefghi", "abcdxyabcdzw"])
def test_no_pair_of_stretches_of_a_tiny_passage_is_cheaper(word):
    spelling = Spelling.of(word, [1] * len(word), [k % 4 == 0 for k in range(len(word))])
    best = rank_template_sets(spelling, float(spelling.bits.sum()))[0][1]
    stretches = [
        Template(start=start, length=length)
        for start in range(len(word))
        for length in range(2, len(word) - start)
    ]
    # Riffs of one set are unlike one another: here, they share no attack.
    pairs = [
        (one, other)
        for one, other in combinations(stretches, 2)
        if not set(word[one.start :][: one.length]) & set(word[other.start :][: other.length])
    ]
    cheapest = min(prices_of(spelling, [*((one,) for one in stretches), *pairs]).values())
    assert best <= cheapest + 1e-3


def test_a_riff_that_may_as_well_be_longer_has_a_close_rival():
    # The link after each pass differs by one note only: part of the riff, or not?
    rng = np.random.default_rng(5)
    riff = [(int(p), "1/2") for p in rng.integers(41, 62, 10)]
    line = [*riff, (45, "1/2"), (50, "1/2"), *riff, (45, "1/2"), (51, "1/2")]
    music = passage([*line, (40, 2)])
    (found, *_) = find_passes(music, attacks_of(music))
    readings = found.what.readings  # type: ignore[union-attr]
    assert len(readings) >= 2
    # Within the 3 bits at which weighing calls a finding contested.
    assert 0 <= readings[1].bits - readings[0].bits < 3
