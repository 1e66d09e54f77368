"""The forms of collections, and how much their fit to some pitch classes says."""

from itertools import combinations
from math import comb, log10

import pytest
from tests.reference_tables import rows_of

from riffract.analysis.collection_evidence import (
    chance_of,
    log10_bayes,
    prominence,
    ranked_forms,
)
from riffract.analysis.collection_form import (
    FAMILIES,
    FORMS,
    Family,
    Form,
    display_name,
    form_with,
    transposition_between,
)
from riffract.analysis.pitch_class_set import (
    mask_of,
    pcs_of,
    transposed,
    transpositions_onto_itself,
)

FAMILY_IN_TABLE = {
    "whole-tone": "whole-tone (Messiaen 1)",
    "octatonic": "octatonic (Messiaen 2)",
    "hexatonic": "hexatonic",
    "diatonic": "diatonic",
    "acoustic": "acoustic / melodic minor ascending",
    "harmonic minor": "harmonic minor",
    "harmonic major": "harmonic major",
    "pentatonic": "pentatonic",
    "chromatic": "chromatic",
    **{f"mode {n}": f"Messiaen {n}" for n in range(3, 8)},
}


def family(name: str) -> Family:
    return next(f for f in FAMILIES if f.name == name)


def plain(pcs: tuple[int, ...]) -> list[float]:
    return [float(pc in pcs) for pc in range(12)]


# Cohn, Music Analysis 15/1 (1996): the four hexatonic systems as unions of their triads, by pitch
# class. Messiaen (1944): three octatonic transpositions. Both enumerated as well.
@pytest.mark.parametrize(
    ("name", "pcs"),
    [
        ("HEX0,1", (0, 1, 4, 5, 8, 9)),
        ("HEX1,2", (1, 2, 5, 6, 9, 10)),
        ("HEX2,3", (2, 3, 6, 7, 10, 11)),
        ("HEX3,4", (0, 3, 4, 7, 8, 11)),
        ("OCT0,1", (0, 1, 3, 4, 6, 7, 9, 10)),
        ("OCT1,2", (1, 2, 4, 5, 7, 8, 10, 11)),
        ("OCT2,3", (0, 2, 3, 5, 6, 8, 9, 11)),
        ("WT0", (0, 2, 4, 6, 8, 10)),
        ("DIA7", (0, 2, 4, 6, 7, 9, 11)),
        ("HMIN9", (0, 2, 4, 5, 8, 9, 11)),
    ],
)
def test_forms_have_their_published_members(name: str, pcs: tuple[int, ...]) -> None:
    form = form_with(mask_of(pcs))
    assert (form.name, form.pcs) == (name, pcs)


def test_every_family_has_as_many_forms_as_its_symmetry_leaves() -> None:
    # Messiaen (1944), ch. XVI: 2, 3, 4, 6, 6, 6, 6 transpositions of modes 1 to 7.
    assert [f.forms for f in FAMILIES] == [2, 3, 4, 4, 6, 6, 6, 6, 12, 12, 12, 12, 12, 1]
    for f in FAMILIES:
        assert f.forms == 12 // len(transpositions_onto_itself(mask_of(f.on_zero)))
    assert len({form.mask for form in FORMS}) == len({form.name for form in FORMS}) == 98


def test_families_agree_with_the_reference_table() -> None:
    rows = {row["name"]: row for row in rows_of("collections.csv")}
    for f in FAMILIES:
        row = rows[FAMILY_IN_TABLE[f.name]]
        assert tuple(map(int, row["pitch_classes"].split())) == f.on_zero
        assert int(row["distinct_transpositions"]) == f.forms


def test_no_form_has_the_members_of_another_scale() -> None:
    with pytest.raises(ValueError, match="no collection has just the members"):
        form_with(mask_of([0, 1, 2]))


def test_names_are_written_with_subscripts() -> None:
    assert display_name("OCT2,3") == "OCT₂₃"
    assert display_name("HMIN11") == "HMIN₁₁"
    assert display_name("CHR") == "CHR"


def test_transpositions_are_the_shortest_way() -> None:
    masks = {form.name: form.mask for form in FORMS}
    assert transposition_between(masks["HEX0,1"], masks["HEX2,3"]) == 2
    assert transposition_between(masks["OCT0,1"], masks["OCT2,3"]) == -1
    assert transposition_between(masks["DIA0"], masks["DIA6"]) == 6
    assert transposition_between(masks["DIA0"], masks["ACO0"]) is None
    for a in FORMS:
        for b in FORMS:
            n = transposition_between(a.mask, b.mask)
            assert (n is None) == (a.family != b.family)
            assert n is None or transposed(a.mask, n) == b.mask


def fitting(names: set[str], k: int) -> int:
    """Count the sets of k pitch classes that some form of some families holds, by enumeration."""
    masks = [form.mask for form in FORMS if form.family.name in names]
    sets = [mask_of(pcs) for pcs in combinations(range(12), k)]
    return sum(any(not s & ~mask for mask in masks) for s in sets)


def test_chances_of_fitting_agree_with_the_reference_table() -> None:
    modes = {"whole-tone", "octatonic", *(f"mode {n}" for n in range(3, 8))}
    nine = {"whole-tone", "hexatonic", "octatonic"}
    names = {
        "any Messiaen mode": modes,
        "any of whole-tone, hexatonic or octatonic": nine,
        "any of those nine or a diatonic": nine | {"diatonic"},
        "harmonic minor or major": {"harmonic minor", "harmonic major"},
        **{f.name: {f.name} for f in FAMILIES},
        **{f"Messiaen {n}": {f"mode {n}"} for n in range(3, 8)},
    }
    checked = 0
    for row in rows_of("collection_fit_chance.csv"):
        title = row["family"].rpartition(" (")[0]
        if title in names:
            assert fitting(names[title], int(row["k"])) == int(row["subsets_that_fit"])
            checked += 1
    assert checked >= 150


# Enumerated, and published as a warning: with modes 3 to 7 allowed any five pitch classes fit.
def test_any_five_pitch_classes_lie_in_some_mode() -> None:
    assert fitting({"whole-tone", "octatonic", *(f"mode {n}" for n in range(3, 8))}, 5) == 792


def test_a_mode_that_holds_any_five_pitch_classes_says_nothing() -> None:
    for pcs in combinations(range(12), 5):
        ranked = ranked_forms(plain(pcs))
        holding = [r for r in ranked if not mask_of(pcs) & ~r.form.mask]
        seventh = [r.score for r in holding if r.form.family.name == "mode 7"]
        assert all(chance_of(score, plain(pcs)) == 1.0 for score in seventh[:1])
        if ranked[0].form.family.name in {"mode 3", "mode 4", "mode 6", "mode 7"}:
            assert chance_of(ranked[0].score, plain(pcs)) > 0.5


def test_evidence_of_a_whole_hexatonic_scale_by_hand() -> None:
    # Six pitch classes, all of them the six members: 1 of C(12, 6) = 924 sets; no outsider in six
    # has probability 9/15 under a beta prior of (1, 9).
    assert log10_bayes(6, 6, 0) == pytest.approx(log10(924 * 9 / 15))


def test_the_chances_of_all_sets_add_up_to_one() -> None:
    for size in {f.size for f in FAMILIES} - {12}:
        for k in range(1, 12):
            total = sum(
                comb(size, k - out) * comb(12 - size, out) * 10 ** log10_bayes(size, k - out, out)
                for out in range(k + 1)
                if k - out <= size and out <= 12 - size
            )
            # Outsiders that cannot be, since there are too few places, have the rest.
            full = k <= min(size, 12 - size)
            assert total / comb(12, k) <= 1 + 1e-12
            assert not full or total / comb(12, k) == pytest.approx(1.0)


def test_the_first_outsider_always_speaks_against_a_form() -> None:
    for size in {f.size for f in FAMILIES} - {12}:
        for inside in range(1, size + 1):
            assert log10_bayes(size, inside, 1) < log10_bayes(size, inside, 0)


def test_the_chromatic_scale_is_the_measure_and_never_evidence() -> None:
    assert log10_bayes(12, 7, 0) == 0.0
    assert ranked_forms([1.0] * 12)[0].form.name == "CHR"


@pytest.mark.parametrize("form", FORMS[:-1], ids=lambda form: str(form.name))
def test_a_whole_collection_is_recognised(form: Form) -> None:
    assert ranked_forms(plain(form.pcs))[0].form == form


def test_one_passing_note_is_not_fatal_and_counts_by_its_prominence() -> None:
    whole = plain((0, 1, 4, 5, 8, 9))
    slight, strong = list(whole), list(whole)
    slight[6], strong[6] = 0.1, 1.0
    best = [ranked_forms(w)[0] for w in (whole, slight, strong)]
    assert [b.form.name for b in best[:2]] == ["HEX0,1", "HEX0,1"]
    assert best[0].log10_bayes > best[1].log10_bayes > best[2].log10_bayes


def test_repeats_do_not_add_evidence() -> None:
    few = prominence([0.25, 0.25, 0, 0, 0.5, *[0] * 7], [0.25, 0.25, 0, 0, 0.5, *[0] * 7])
    many = prominence([0.3, 0.3, 0, 0, 0.4, *[0] * 7], [0.3, 0.3, 0, 0, 0.4, *[0] * 7])
    scores = [[r.score for r in ranked_forms(p)] for p in (few, many)]
    assert scores[0][0] == pytest.approx(scores[1][0])


@pytest.mark.parametrize("k", [3, 4, 9])
def test_the_chance_is_the_share_of_sets_with_as_good_a_form(k: int) -> None:
    sets = [plain(pcs) for pcs in combinations(range(12), k)]
    best = [max(r.score for r in ranked_forms(s) if r.form.size < 12) for s in sets]
    for score in sorted(set(best))[:: max(len(set(best)) // 4, 1)]:
        expected = sum(b >= score - 1e-9 for b in best) / len(best)
        assert chance_of(score, sets[0]) == pytest.approx(expected)


@pytest.mark.parametrize(("prominent", "passing"), [(2, 1), (2, 2), (3, 1)])
def test_with_passing_notes_all_vocabularies_are_counted(prominent: int, passing: int) -> None:
    # Brute force: all ways to choose which pitch classes are prominent, and which passing.
    best = []
    for chosen in combinations(range(12), prominent):
        rest = [pc for pc in range(12) if pc not in chosen]
        for slight in combinations(rest, passing):
            weights = [1.0 if pc in chosen else 0.3 if pc in slight else 0.0 for pc in range(12)]
            best.append(max(r.score for r in ranked_forms(weights) if r.form.size < 12))
    like = [1.0] * prominent + [0.3] * passing + [0.0] * (12 - prominent - passing)
    for score in sorted({round(b, 9) for b in best}):
        share = sum(b >= score - 1e-8 for b in best) / len(best)
        assert chance_of(score - 5e-9, like) == pytest.approx(share)


def test_a_transposed_set_has_the_transposed_form() -> None:
    for pcs in combinations(range(12), 4):
        found = ranked_forms(plain(pcs), origin=pcs[0])[0].form
        moved = tuple((pc + 5) % 12 for pc in pcs)
        there = ranked_forms(plain(moved), origin=moved[0])[0].form
        assert there.mask == transposed(found.mask, 5)
        assert pcs_of(there.mask) == there.pcs
