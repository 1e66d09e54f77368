"""Riffs that come back, changed or not, and controls that never do.

The passages are ours; what is planted in them is the expectation.
"""

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.making import Spelled, passage

from riffract.analysis.attacks import attacks_of
from riffract.analysis.description import Spelling, same_values
from riffract.analysis.finding import Finding, Passes, Reading
from riffract.analysis.passes import cover as code
from riffract.analysis.passes.cover import Step, Template, cheapest_covers
from riffract.analysis.passes.cover_steps import cover
from riffract.analysis.passes.find import find_passes
from riffract.analysis.passes.templates import rank_template_sets
from riffract.music import Metre, Passage, Span

RIFF: list[Spelled] = [
    (50, "1/2"), (51, "1/4"), (53, "1/4"), (54, "1/2"), (56, "1/4"), (57, "1/4"), (59, 1),
    (60, "1/2"), (57, "1/4"), (53, "1/4"), (47, "3/4"), (45, "1/4"), (50, "1/2"),
]  # fmt: skip
ELEVEN = Metre(groups=(3, 3, 3, 2), unit=8)
THIRTEEN = Metre(groups=(3, 3, 3, 2, 2), unit=8)
THREE = Metre(groups=(3,), unit=8)


def finding_of(music: Passage) -> Finding | None:
    found = find_passes(music, attacks_of(music))
    return found[0] if found else None


def best_reading(music: Passage) -> Reading:
    finding = finding_of(music)
    assert finding is not None
    assert isinstance(finding.what, Passes)
    return finding.what.readings[0]


def starts(reading: Reading) -> list[Fraction]:
    return [one.span.start_quarters for one in reading.passes]


def test_four_equal_statements_are_four_passes_without_edits():
    reading = best_reading(passage(RIFF * 4, metres=[ELEVEN]))
    assert reading.template == Span(Fraction(0), Fraction(11, 2))
    assert starts(reading) == [Fraction(11, 2) * k for k in range(4)]
    assert all(not one.edits and one.truncated == "none" for one in reading.passes)
    assert reading.other == ()


def test_a_changed_note_is_a_substitution_at_its_place():
    changed = list(RIFF)
    changed[6] = (61, 1)
    reading = best_reading(passage(RIFF + RIFF + changed, metres=[ELEVEN]))
    (edit,) = reading.passes[2].edits
    assert edit.op == "substitute"
    assert edit.at_quarters == 11 + 2
    assert edit.expected is not None
    assert edit.found is not None
    assert (edit.expected.pitches, edit.found.pitches) == ((59,), (61,))


def test_added_attacks_are_insertions_and_a_longer_bar_does_not_matter():
    longer = [*RIFF[:9], (48, "1/2"), (49, "1/2"), *RIFF[9:]]
    music = passage(RIFF + longer + RIFF + RIFF, metres=[ELEVEN, THIRTEEN, ELEVEN, ELEVEN])
    reading = best_reading(music)
    assert starts(reading) == [0, Fraction(11, 2), 12, Fraction(35, 2)]
    assert [edit.op for edit in reading.passes[1].edits] == ["insert", "insert"]
    assert [str(edit.at_quarters) for edit in reading.passes[1].edits] == ["37/4", "39/4"]


def test_missing_attacks_are_deletions_that_say_what_was_expected():
    shorter = RIFF[:7] + RIFF[8:]
    music = passage(
        RIFF + RIFF + shorter + RIFF,
        metres=[ELEVEN, ELEVEN, Metre(groups=(10,), unit=8), ELEVEN],
    )
    (edit,) = best_reading(music).passes[2].edits
    assert edit.op == "delete"
    assert edit.found is None
    assert edit.expected is not None
    assert edit.expected.pitches == (60,)


def test_a_chord_that_changes_one_note_is_a_substitution_and_what_comes_before_it_is_added():
    crest: list[Spelled] = [((35, 50, 58), 1), ((50, 58), "1/4")]
    higher: list[Spelled] = [((35, 50, 61), 1), ((50, 61), "1/4"), (60, "1/4"), (58, "1/4")]
    plain = RIFF[:7] + crest + RIFF[7:]
    changed = [*RIFF[:7], (55, "1/2"), (56, "1/2"), *higher, *RIFF[7:]]
    short, long = Metre(groups=(27,), unit=16), Metre(groups=(33,), unit=16)
    music = passage(plain + changed + plain + plain, metres=[short, long, short, short])
    second = best_reading(music).passes[1]
    assert [edit.op for edit in second.edits] == [
        *("insert", "insert", "substitute", "substitute", "insert", "insert")
    ]
    assert [edit.template_attack for edit in second.edits] == [7, 7, 7, 8, 9, 9]


def test_a_tail_before_the_first_pass_is_a_tag_and_a_missing_end_is_truncated():
    tail = RIFF[-3:]  # 3/2 quarters
    music = passage(tail + RIFF * 3 + [*RIFF[:6], (59, 2)], metres=[THREE, *[ELEVEN] * 4])
    reading = best_reading(music)
    assert [(o.role, o.span) for o in reading.other] == [("tag", Span(Fraction(0), Fraction(3, 2)))]
    assert [one.truncated for one in reading.passes] == ["none", "none", "none", "right"]
    assert reading.template.start_quarters == Fraction(3, 2)


def test_another_starting_point_is_kept_as_a_rival_with_its_distance_in_bits():
    tail = RIFF[-3:]
    finding = finding_of(passage(tail + RIFF * 3 + RIFF[:10], metres=[THREE, *[ELEVEN] * 4]))
    assert finding is not None
    assert isinstance(finding.what, Passes)
    readings = finding.what.readings
    assert len(readings) >= 2
    assert [r.bits for r in readings] == sorted(r.bits for r in readings)


def test_a_riff_of_eleven_eighths_is_found_against_bars_of_four_quarters():
    reading = best_reading(passage(RIFF * 5))
    assert starts(reading) == [Fraction(11, 2) * k for k in range(5)]


@given(st.integers(-6, 6))
@settings(max_examples=8, deadline=None)
def test_transposing_a_passage_moves_no_pass(semitones):
    music = passage(RIFF * 3, metres=[ELEVEN])
    moved = passage([(int(str(p)) + semitones, v) for p, v in RIFF] * 3, metres=[ELEVEN])
    assert starts(best_reading(music)) == starts(best_reading(moved))


def test_doubling_all_values_doubles_all_places():
    twice = [(pitch, Fraction(str(value)) * 2) for pitch, value in RIFF]
    slow = best_reading(passage(twice * 3, metres=[Metre(groups=(11,), unit=4)]))
    fast = best_reading(passage(RIFF * 3, metres=[ELEVEN]))
    assert starts(slow) == [2 * s for s in starts(fast)]


@pytest.mark.parametrize("seed", range(20))
def test_random_attacks_are_never_called_a_riff(seed):
    rng = np.random.default_rng(seed)
    pitches = rng.choice([40, 41, 43, 44, 46, 47, 49], 120).tolist()
    values = rng.choice(["1/2", "1/4"], 120).tolist()
    assert finding_of(passage(zip(pitches, values, strict=True))) is None


def test_one_repeated_attack_says_nothing():
    assert finding_of(passage([(40, "1/2")] * 64)) is None


def test_a_passage_of_three_attacks_says_nothing():
    assert finding_of(passage([(40, 1), (41, 1), (40, 1)])) is None


# The code itself


words = st.lists(st.sampled_from("abcd"), min_size=4, max_size=14)


def price_of(spelling: Spelling, template: Template, steps: tuple[Step, ...]) -> float:
    """Add up what the steps of a cover cost, straight from the tariff."""
    bits, total, previous = spelling.bits, 0.0, None
    goes_on, other_ends = code.other_bits(len(spelling))
    for k, step in enumerate(steps):
        on_bar = bool(spelling.on_bar_line[step.attack]) if step.attack < len(spelling) else False
        if step.begins and step.op == "other":
            total += code.OTHER_ON_BAR_LINE if on_bar else code.OTHER_OFF_BAR_LINE
        elif step.begins:
            total += code.PASS_ON_BAR_LINE if on_bar else code.PASS_OFF_BAR_LINE
            inside = code.FROM_INSIDE if step.attack else code.FROM_INSIDE_AT_FIRST
            total += (
                code.FROM_THE_START
                if step.place == 0
                else inside + np.log2(max(template.length, 2))
            )
        runs_on = previous is not None and previous.op == step.op and not step.begins
        if step.op == "other":
            total += bits[step.attack] + (0.0 if step.begins else goes_on)
        elif step.op == "insert":
            total += bits[step.attack] + (code.RUN_ON if runs_on else code.INSERT)
        elif step.op == "delete":
            total += code.RUN_ON if runs_on else code.DELETE
        elif step.op == "keep":
            total += code.KEEP
        elif step.op == "value":
            total += code.NEW_VALUE + spelling.value_bits[step.attack]
        elif step.op == "pitches":
            total += code.NEW_PITCHES + spelling.pitch_bits[step.attack]
        else:
            total += code.NEW_BOTH + bits[step.attack]
        ends = k == len(steps) - 1 or steps[k + 1].begins
        if ends and step.op == "other":
            total += other_ends
        elif ends and step.place < template.length - 1:
            total += code.STOP
        previous = step
    return total


def all_covers(spelling: Spelling, template: Template) -> float:
    """Price of the cheapest cover, by trying all ways recursively: slow, and plainly right."""
    count, length = len(spelling), template.length

    def op_at(attack: int, place: int) -> str:
        source = template.start + place
        same_pitch = spelling.pitches[attack] == spelling.pitches[source]
        same_value = bool(
            same_values(spelling.values[attack : attack + 1], spelling.values[source])[0]
        )
        if same_pitch:
            return "keep" if same_value else "value"
        return "pitches" if same_value else "both"

    def ways(steps: list[Step], attack: int) -> list[tuple[Step, ...]]:
        if attack == count:
            return [tuple(steps)] if steps and steps[-1].op != "delete" else []
        found: list[tuple[Step, ...]] = []
        last = steps[-1] if steps else None
        can_seam = last is None or last.op != "delete"
        if can_seam:
            other = Step(attack=attack, place=-1, op="other", begins=True)
            found += ways([*steps, other], attack + 1)
            for place in range(length):
                step = Step(attack=attack, place=place, op=op_at(attack, place), begins=True)  # type: ignore[arg-type]
                found += ways([*steps, step], attack + 1)
        if last is not None and last.op == "other":
            found += ways([*steps, Step(attack=attack, place=-1, op="other")], attack + 1)
        if last is not None and last.op != "other":
            place = last.place + 1
            if place < length:
                step = Step(attack=attack, place=place, op=op_at(attack, place))  # type: ignore[arg-type]
                found += ways([*steps, step], attack + 1)
                found += ways([*steps, Step(attack=attack, place=place, op="delete")], attack)
            found += ways([*steps, Step(attack=attack, place=last.place, op="insert")], attack + 1)
        return found

    return min(price_of(spelling, template, way) for way in ways([], 0))


@given(words, st.integers(0, 3), st.integers(2, 5))
@settings(deadline=None)
def test_the_steps_of_a_cover_cost_what_the_search_said(word, start, length):
    length = min(length, len(word) - start)
    if length < 2:
        return
    spelling = Spelling.of(word, [1] * len(word), [k % 4 == 0 for k in range(len(word))])
    template = Template(start=start, length=length)
    steps = cover(spelling, [template])
    assert [s.attack for s in steps if s.op != "delete"] == list(range(len(word)))
    searched = float(cheapest_covers(spelling, [[template]])[0])
    assert price_of(spelling, template, steps) == pytest.approx(searched, abs=1e-3)


@pytest.mark.parametrize("word", ["abab", "abcab", "aabaa", "abbab", "abcba"])
def test_the_search_finds_the_cheapest_of_all_covers(word):
    spelling = Spelling.of(word, "11211"[: len(word)], [k % 3 == 0 for k in range(len(word))])
    template = Template(start=0, length=3)
    searched = float(cheapest_covers(spelling, [[template]])[0])
    assert searched == pytest.approx(all_covers(spelling, template), abs=1e-3)


def test_what_happens_at_one_step_has_probability_one_at_most():
    prices = (code.KEEP, code.NEW_VALUE, code.NEW_PITCHES, code.NEW_BOTH, code.INSERT, code.DELETE)
    assert sum(2.0**-price for price in (*prices, code.STOP)) <= 1.005


def test_of_random_words_no_more_than_the_bound_are_shortened_by_many_bits():
    # Grünwald, The Minimum Description Length Principle (2007), from memory: a code shortens
    # words of its own null model by k bits with probability at most 2^-k.
    rng = np.random.default_rng(7)
    shortened = 0
    for _ in range(60):
        word = rng.integers(0, 6, 40)
        spelling = Spelling.of(word.tolist(), [1] * 40, [k % 8 == 0 for k in range(40)])
        plain = float(spelling.bits.sum())
        ranked = rank_template_sets(spelling, plain)
        shortened += bool(ranked) and ranked[0][1] <= plain - 4.0
    assert shortened <= 60 * 2.0**-4 + 3
