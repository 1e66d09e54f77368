"""The forms of collections, and how much their fit to some pitch classes says."""

from collections.abc import Iterable
from itertools import combinations
from math import comb, log10

import pytest
from tests.reference_tables import rows_of

from riffract.analysis.collections.evidence import (
    chance_of,
    holding,
    log10_bayes,
    prominence,
    ranked_forms,
)
from riffract.analysis.collections.form import (
    FAMILIES,
    FORMS,
    Family,
    Form,
    display_name,
    form_with,
    transposition_between,
)
from riffract.analysis.pitch_class_set import (
    interval_class_vector,
    inverted,
    mask_of,
    pcs_of,
    transposed,
    transpositions_onto_itself,
)
from riffract.analysis.set_class import set_class_of

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


def fitting(masks: Iterable[int], k: int) -> int:
    """Count the sets of k pitch classes that one of some collections holds, by enumeration."""
    collections = tuple(masks)
    sets = [mask_of(pcs) for pcs in combinations(range(12), k)]
    return sum(any(not s & ~mask for mask in collections) for s in sets)


def forms_of(*names: str) -> list[int]:
    return [form.mask for form in FORMS if form.family.name in names]


MODES = ("whole-tone", "octatonic", *(f"mode {n}" for n in range(3, 8)))
NINE = ("whole-tone", "hexatonic", "octatonic")
# No family of ours, but in the table; its members by common practice.
DOUBLE_HARMONIC = [transposed(mask_of((0, 1, 4, 5, 7, 8, 11)), n) for n in range(12)]
TABLED = {
    "any Messiaen mode": forms_of(*MODES),
    "any of whole-tone, hexatonic, octatonic": forms_of(*NINE),
    "any of those nine or a diatonic": forms_of(*NINE, "diatonic"),
    "harmonic minor or major": forms_of("harmonic minor", "harmonic major"),
    "double harmonic": DOUBLE_HARMONIC,
    **{f.name: forms_of(f.name) for f in FAMILIES},
    **{f"Messiaen {n}": forms_of(f"mode {n}") for n in range(3, 8)},
}


def test_all_chances_of_fitting_agree_with_the_reference_table() -> None:
    rows = rows_of("collection_fit_chance.csv")
    assert len(rows) == 180
    for row in rows:
        k, masks = int(row["k"]), TABLED[row["family"].rpartition(" (")[0]]
        assert len(masks) == int(row["collections"])
        assert fitting(masks, k) == int(row["subsets_that_fit"])
        assert comb(12, k) == int(row["subsets_total"])
        assert fitting(masks, k) / comb(12, k) == pytest.approx(float(row["probability"]), abs=1e-6)


def numbers(text: str) -> tuple[int, ...]:
    return tuple(map(int, text.split()))


def test_all_collections_agree_with_the_reference_table() -> None:
    rows = rows_of("collections.csv")
    assert len(rows) == 21
    for row in rows:
        pcs = numbers(row["pitch_classes"])
        mask = mask_of(pcs)
        assert len(pcs) == int(row["size"])
        assert transpositions_onto_itself(mask) == numbers(row["invariant_T"])
        mirrors = tuple(n for n in range(12) if inverted(mask, n) == mask)
        assert mirrors == numbers(row["invariant_I"])
        assert interval_class_vector(mask) == numbers(row["ic_vector"])
        images = {transposed(mask, n) for n in range(12)}
        assert len(images) == int(row["distinct_transpositions"])
        modes = {transposed(mask, -pc) for pc in pcs}
        assert len(modes) == int(row["distinct_modes"])
        found = set_class_of(mask)
        assert found.forte == row["forte"]
        assert "".join("0123456789TE"[pc] for pc in found.prime_form) == row["prime_rahn"]
        assert "".join("0123456789TE"[pc] for pc in found.forte_form) == row["prime_forte"]


# Enumerated: which trichords live in each collection (references, section 2).
@pytest.mark.parametrize(
    ("family_name", "trichords"),
    [
        ("hexatonic", {"3-3", "3-4", "3-11", "3-12"}),
        ("octatonic", {"3-2", "3-3", "3-5", "3-7", "3-8", "3-10", "3-11"}),
        ("whole-tone", {"3-6", "3-8", "3-12"}),
        ("diatonic", {f"3-{n}" for n in range(1, 13)} - {"3-1", "3-3", "3-12"}),
    ],
)
def test_collections_hold_the_trichords_that_are_published(
    family_name: str, trichords: set[str]
) -> None:
    members = family(family_name).on_zero
    assert {set_class_of(mask_of(x)).forte for x in combinations(members, 3)} == trichords


# The trap: 016 is not hexatonic; 014 is both hexatonic and octatonic, and decides nothing.
def test_one_014_decides_nothing_and_016_speaks_against_the_hexatonic() -> None:
    holds_014 = {f.family.name for f in holding(ranked_forms(plain((0, 1, 4))), 0b10011)}
    assert {"hexatonic", "octatonic"} <= holds_014
    holds_016 = {f.family.name for f in holding(ranked_forms(plain((0, 1, 6))), 0b1000011)}
    assert "hexatonic" not in holds_016


# Enumerated, and published as a warning: with modes 3 to 7 allowed any five pitch classes fit.
def test_any_five_pitch_classes_lie_in_some_mode() -> None:
    assert fitting(forms_of(*MODES), 5) == 792


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
