"""The path through collections against brute force, and by its laws."""

from collections.abc import Sequence
from itertools import groupby, product

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from riffract.analysis.collections.form import FAMILIES, FORMS, Form
from riffract.analysis.collections.path import (
    CHANGE_CHANCE,
    CHANGE_CHANCE_AT_BOUNDARY,
    MEMORY_ATTACKS,
    OUTSIDER_CHANCE,
    REPEAT_WEIGHT,
    most_likely_path,
    with_clear_borders,
)
from riffract.analysis.pitch_class_set import mask_of


def names(pcs: list[int], boundaries: set[int]) -> list[str]:
    path = most_likely_path([1 << pc for pc in pcs], [i in boundaries for i in range(len(pcs))])
    return [FORMS[place].name for place in path.forms]


LOW, HIGH = [0, 1, 4, 5, 8, 9], [1, 2, 5, 6, 9, 10]


def test_two_forms_of_one_family_are_told_apart_at_boundaries() -> None:
    line = (LOW * 2 + HIGH * 2) * 2
    found = names(line, {0, 12, 24, 36})
    assert found == (["HEX0,1"] * 12 + ["HEX1,2"] * 12) * 2


def test_a_change_within_a_limb_needs_more_than_a_passing_note() -> None:
    octatonic, other = [0, 1, 3, 4, 6, 7, 9, 10], [2, 4, 5, 7, 8, 10, 11, 1]
    assert set(names([*octatonic, 2, *octatonic], {0})) == {"OCT0,1"}
    found = names(octatonic * 4 + other * 4, {0})
    assert (found[0], found[-1]) == ("OCT0,1", "OCT1,2")


def test_a_repeated_note_counts_much_less_than_a_new_one() -> None:
    # One foreign note that comes back four times is still no other scale.
    line = [*LOW, 7, *LOW, 7, *LOW, 7, *LOW, 7, *LOW]
    assert set(names(line, {0})) == {"HEX0,1"}


def test_an_attack_of_several_notes_counts_all_of_them() -> None:
    chords = [mask_of([0, 4, 8]), mask_of([1, 5, 9])]
    assert FORMS[most_likely_path(chords, [True, False]).forms[1]].name == "HEX0,1"


def test_nothing_has_an_empty_path_and_rests_are_refused() -> None:
    assert most_likely_path([], []).forms == ()
    with pytest.raises(ValueError, match="pitch class"):
        most_likely_path([1, 0], [True, False])


# Brute force: the model is written out anew from its description, over every path of three steps.
def emission(form_pcs: set[int], seen: set[int], new: int) -> float:
    if new in seen:
        return float(emission(form_pcs, set(), new) ** REPEAT_WEIGHT)
    if len(form_pcs) == 12:
        return 1 / (12 - len(seen))
    if new in form_pcs:
        return (1 - OUTSIDER_CHANCE) / len(form_pcs - seen)
    return OUTSIDER_CHANCE / len(set(range(12)) - form_pcs - seen)


TOTAL_PRIOR = sum(f.prior for f in FAMILIES)


def transition(change: float) -> NDArray[np.float64]:
    rows = []
    for a in FORMS:
        leads = []
        others = sum(f.family == a.family for f in FORMS) - 1
        for b in FORMS:
            prior = b.family.prior / TOTAL_PRIOR / b.family.forms
            if not others:
                share = 2 * prior
            else:
                share = prior + (1 / others if a.family == b.family else 0.0)
            leads.append(0.0 if a is b else share)
        rows.append([change * x / sum(leads) for x in leads])
    matrix = np.array(rows)
    np.fill_diagonal(matrix, 1 - change)
    return matrix


@settings(max_examples=8, deadline=None)
@given(st.lists(st.integers(0, 11), min_size=3, max_size=3), st.booleans(), st.booleans())
def test_path_and_posterior_are_those_of_all_paths(
    pcs: list[int], second: bool, third: bool
) -> None:
    boundaries = [True, second, third]
    seen: set[int] = set()
    emissions = []
    for pc, boundary in zip(pcs, boundaries, strict=True):
        seen = set() if boundary else seen
        emissions.append(np.array([emission(set(f.pcs), seen, pc) for f in FORMS]))
        seen = seen | {pc}
    prior = np.array([f.family.prior / TOTAL_PRIOR / f.family.forms for f in FORMS])
    steps = [transition(CHANGE_CHANCE_AT_BOUNDARY if b else CHANGE_CHANCE) for b in boundaries]
    joint = (
        (prior * emissions[0])[:, None, None]
        * (steps[1] * emissions[1])[:, :, None]
        * (steps[2] * emissions[2])[None, :, :]
    )
    found = most_likely_path([1 << pc for pc in pcs], boundaries)
    assert joint[found.forms] >= joint.max() * (1 - 1e-9)
    same = np.eye(len(FORMS), dtype=bool)
    total = joint.sum()
    by_attack = [joint.sum(axis=tuple({0, 1, 2} - {i})) / total for i in range(3)]
    assert found.posterior == pytest.approx(np.array(by_attack))
    assert found.change_posterior[1] == pytest.approx(joint[~same].sum() / total)
    assert found.change_posterior[2] == pytest.approx(joint[:, ~same].sum() / total)


BY_NAME = {form.name: form for form in FORMS}


def border(line: list[int], old: str, new: str, at: int, boundaries: set[int]) -> int:
    forms = [BY_NAME[old]] * at + [BY_NAME[new]] * (len(line) - at)
    masks = [1 << pc for pc in line]
    moved = with_clear_borders(forms, masks, [i in boundaries for i in range(len(line))])
    return moved.index(BY_NAME[new])


# Planted: HEX0,1 and HEX1,2 share 1, 5 and 9.
def test_a_border_leaves_no_foreign_note_behind() -> None:
    line = [0, 4, 8, 1, 0, 4, 2, 6, 10, 2, 5, 6, 10, 2]
    for at in range(1, len(line)):
        assert border(line, "HEX0,1", "HEX1,2", at, set()) == 6


def test_a_border_that_is_as_good_stays_and_else_prefers_a_boundary() -> None:
    line = [0, 4, 8, 0, 1, 5, 9, 1, 2, 6, 10, 2]  # every border from 4 to 8 is clear
    for at in range(4, 9):
        assert border(line, "HEX0,1", "HEX1,2", at, {5}) == at
    assert border(line, "HEX0,1", "HEX1,2", 10, set()) == 8
    assert border(line, "HEX0,1", "HEX1,2", 10, {5}) == 5
    assert border(line, "HEX0,1", "HEX1,2", 2, {0, 2}) == 4


def test_a_passing_note_draws_no_border_into_a_form_that_holds_the_other() -> None:
    line = [0, 1, 4, 5, 3, 8, 9, 0, 1, 4, 5, 8, 9, 2, 3, 6, 7, 10, 11]
    assert border(line, "HEX0,1", "CHR", 13, set()) == 13


def test_a_border_goes_no_further_than_the_memory() -> None:
    line = [0, 2, *[5] * (MEMORY_ATTACKS + 4), 6, 10]
    found = border(line, "HEX0,1", "HEX1,2", len(line) - 1, set())
    assert found == len(line) - 2


names_of_forms = st.sampled_from(sorted(BY_NAME))
runs = st.lists(st.tuples(names_of_forms, st.integers(1, 9)), min_size=1, max_size=5)


@given(runs, st.data())
def test_moved_borders_leave_fewer_foreign_notes_and_no_run_out(
    planned: list[tuple[str, int]], data: st.DataObject
) -> None:
    forms = [BY_NAME[name] for name, length in planned for _ in range(length)]
    masks = data.draw(
        st.lists(st.integers(1, 4095), min_size=len(forms), max_size=len(forms)), label="masks"
    )
    moved = with_clear_borders(forms, masks, [False] * len(forms))

    def foreign(chosen: Sequence[Form]) -> int:
        return sum((m & ~f.mask).bit_count() for m, f in zip(masks, chosen, strict=True))

    assert foreign(moved) <= foreign(forms)
    assert [f.name for f, _ in groupby(moved)] == [f.name for f, _ in groupby(forms)]
    assert with_clear_borders(moved, masks, [False] * len(forms)) == moved


def test_a_pitch_class_is_new_again_after_the_memory_has_passed() -> None:
    def evidence(pause: int) -> float:
        line = [0, *[1] * pause, 0]
        return most_likely_path([1 << pc for pc in line], [False] * len(line)).change_posterior[-1]

    assert evidence(MEMORY_ATTACKS) != pytest.approx(evidence(MEMORY_ATTACKS - 1), rel=0.01)


@given(st.lists(st.integers(0, 11), min_size=1, max_size=40), st.integers(1, 9))
def test_every_attack_has_a_form_and_a_probability(pcs: list[int], every: int) -> None:
    boundaries = [i % every == 0 for i in range(len(pcs))]
    path = most_likely_path([1 << pc for pc in pcs], boundaries)
    assert len(path.forms) == len(path.change_posterior) == len(pcs)
    assert all(0 <= p <= 1 for p in path.change_posterior)
    assert path.change_posterior[0] == 0
    assert path.posterior.sum(axis=1) == pytest.approx(np.ones(len(pcs)))


def test_new_pitch_classes_have_chances_that_add_up() -> None:
    for form, size in product(FORMS, (0, 2)):
        seen = {form.pcs[0], *(pc for pc in range(12) if pc not in form.pcs)} if size else set()
        seen = set(sorted(seen)[:2])
        total = sum(emission(set(form.pcs), seen, pc) for pc in range(12) if pc not in seen)
        assert total == pytest.approx(1.0)
