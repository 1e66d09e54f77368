"""How solid scales are: whole ones, fragments, strays, and vocabularies that are no scale."""

import random
from collections.abc import Sequence
from fractions import Fraction
from itertools import combinations

import numpy as np
import pytest
from tests.making import Spelled, passage

from riffract.analysis.collections import evidence as collection_evidence
from riffract.analysis.collections import form as collection_form
from riffract.analysis.collections.evidence import chance_of, ranked_forms
from riffract.analysis.collections.form import FAMILIES, FORMS
from riffract.analysis.finding import Collection, CollectionChange, Kind
from riffract.analysis.pitch_class_set import mask_of
from riffract.music import Metre, Passage
from riffract.weighing import of_collections
from riffract.weighing.of_collections import SCALE_P, weighed_collections
from riffract.weighing.scale_lines import ScaleLines
from riffract.weighing.study import Verdict
from riffract.weighing.view import view_of
from riffract.weighing.weigh import study_passage
from riffract.weighing.weighed import Weighed

SEVEN_EIGHT = Metre(groups=(2, 2, 3), unit=8)


def riff(pcs: Sequence[int], seed: int, *, count: int = 22, strays: Sequence[int] = ()) -> Passage:
    """Plant a riff that goes about a scale by step and leap, three times over."""
    draw = random.Random(seed)
    scale = [p for p in range(41, 62) if p % 12 in pcs]
    while True:
        at, line = draw.randrange(len(scale)), []
        for _ in range(count):
            at = min(max(at + draw.choice([-3, -2, -1, -1, 1, 1, 2, 3]), 0), len(scale) - 1)
            line.append(scale[at])
        if all([p % 12 for p in line].count(pc) >= 2 for pc in pcs):
            break
    for k, pitch in enumerate(strays):
        line[5 + 9 * k] = pitch
    spelled: list[Spelled] = [(p, draw.choice(["1/4", "1/2"])) for p in line]
    return passage(spelled * 3, metres=[SEVEN_EIGHT])


def scales_of(music: Passage) -> list[tuple[Weighed, Collection]]:
    found = weighed_collections(view_of(music, seed=1))
    return [(w, w.finding.what) for w in found if isinstance(w.finding.what, Collection)]


# Common practice: the members of each scale.
@pytest.mark.parametrize(
    "family", ["diatonic", "pentatonic", "hexatonic", "octatonic", "whole-tone", "harmonic minor"]
)
def test_a_riff_that_keeps_to_a_whole_scale_is_told_at_least_likely(family: str) -> None:
    pcs = next(f.on_zero for f in FAMILIES if f.name == family)
    study = study_passage(riff(pcs, seed=3))
    (found,) = study.of_kind(Kind.COLLECTION)
    assert isinstance(found.finding.what, Collection)
    assert found.finding.what.family == family
    assert found.verdict in {Verdict.FIRM, Verdict.LIKELY}


def test_a_passing_note_that_comes_once_a_riff_leaves_the_scale_likely() -> None:
    ((found, what),) = scales_of(riff((0, 2, 4, 5, 7, 9, 11), seed=5, count=30, strays=[54]))
    assert what.form == "DIA0"
    assert {note.pc for note in what.foreign} == {6}
    assert found.chance is not None
    assert found.chance.p <= 0.005


def test_a_vocabulary_that_is_no_scale_is_not_borne_out_by_keeping_to_it() -> None:
    # A semitone cluster and a third: no family has it whole, so that many would fit as well.
    ((found, _),) = scales_of(riff((0, 1, 2, 6, 7), seed=2))
    assert found.chance is not None
    assert not found.chance.draws
    assert found.chance.p > SCALE_P


def test_random_vocabularies_are_hardly_ever_called_a_scale() -> None:
    # Sixty riffs in seven pitch classes drawn at random: of those at most one in twenty may pass.
    passing = 0
    for seed in range(60):
        pcs = random.Random(seed).sample(range(12), 7)
        passing += any(
            w.chance is not None and w.chance.p <= 0.01 for w, _ in scales_of(riff(pcs, seed))
        )
    assert passing <= 6


# Enumerated: with modes 3 to 7 allowed any five pitch classes fit, so that it says nothing.
def test_a_fragment_of_a_rare_mode_is_never_rare_enough() -> None:
    rare = {f"mode {n}" for n in range(3, 8)}
    for pcs in combinations(range(12), 5):
        weights = [float(pc in pcs) for pc in range(12)]
        best = ranked_forms(weights)[0]
        if best.form.family.name in rare:
            assert chance_of(best.score, weights) > SCALE_P


def test_priors_halved_or_doubled_leave_the_whole_scales_first(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    whole = [
        (form, [float(form.mask >> pc & 1) for pc in range(12)])
        for form in FORMS
        if form.family.name not in {"chromatic", *(f"mode {n}" for n in range(3, 8))}
    ]
    for factor in (0.5, 2.0):
        for form, weights in whole:
            scores = {
                r.form.name: r.score
                + (0.0 if r.form.family.prior == 1.0 else float(np.log10(factor)))
                for r in ranked_forms(weights)
            }
            assert max(scores, key=lambda name: scores[name]) == form.name
    assert collection_form.COMMON > collection_form.FAIRLY_COMMON > collection_form.RARE


def test_a_change_into_a_part_of_the_same_scale_is_none() -> None:
    up = [0, 2, 4, 5, 7, 9, 11, 12, 14, 16, 17, 19]
    few = [7, 9, 12, 14, 16, 19, 21, 19, 16, 14, 12, 9]
    line: list[Spelled] = [(48 + p, "1/2") for p in [*up, *up, *few, *few, *few]]
    changes = [
        w
        for w in weighed_collections(view_of(passage(line), seed=1))
        if isinstance(w.finding.what, CollectionChange)
    ]
    for weighed in changes:
        what = weighed.finding.what
        assert isinstance(what, CollectionChange)
        if set(what.to_pcs) <= set(what.from_pcs):
            assert weighed.chance is not None
            assert weighed.chance.p == 1.0


def test_scores_are_those_of_the_best_form_written_out() -> None:
    # B(1 + j, 9 + n - j) / B(1, 9) by the gamma function, over every form.
    from math import lgamma, log, log10

    rng = np.random.default_rng(1)
    intervals = rng.integers(-4, 5, 14)
    lines = ScaleLines(
        first_pitch=50,
        intervals=intervals,
        attack=np.array([*range(15), 3, 7]),
        above_lead=np.array([0] * 15 + [-5, -7]),
        fixed=np.zeros(12),
    )
    order = rng.permutation(14)
    lead = 50 + np.concatenate([[0], np.cumsum(intervals[order])])
    pcs = [int(p) % 12 for p in [*lead, lead[3] - 5, lead[7] - 7]]
    best = float("-inf")
    for form in FORMS[:-1]:
        n, j = len(pcs), sum(not form.mask >> pc & 1 for pc in pcs)
        strays = lgamma(1 + j) + lgamma(9 + n - j) + lgamma(10) - lgamma(10 + n) - lgamma(9)
        value = strays - (n - j) * log(form.size) - j * log(12 - form.size) + n * log(12)
        best = max(best, value / log(10) + log10(form.family.prior / form.family.forms))
    assert lines.best_scores(order[None, :])[0] == pytest.approx(best)
    assert mask_of(pcs) > 0


def test_a_change_of_form_in_the_same_family_names_its_limbs() -> None:
    hexatonic, other = (0, 1, 4, 5, 8, 9), (1, 2, 5, 6, 9, 10)
    up = [p for p in range(41, 62) if p % 12 in hexatonic]
    down = [p for p in range(41, 62) if p % 12 in other][::-1]
    line: list[Spelled] = [(p, "1/2") for p in up]
    line += [(p, "1/4") for p in down]
    study = study_passage(passage(line * 3))
    first = study.of_kind(Kind.COLLECTION_CHANGE)[0]
    what = first.finding.what
    assert isinstance(what, CollectionChange)
    assert first.is_solid
    assert (what.same_family, what.transposition, what.common_pcs) == (True, 1, (1, 5, 9))
    assert (what.from_limbs, what.to_limbs) == ("rising", "falling")
    assert [p.at_quarters for p in what.places] == [s.start_quarters for s in first.finding.spans]
    assert all(p.certainty > 0.5 for p in what.places)
    assert what.places[0].at_quarters == Fraction(len(up), 2)
    assert "the rising limbs keep to the one, the falling limbs to the other" in (
        first.finding.sentence
    )


@pytest.mark.parametrize("below", [0.35, 0.7])
def test_another_border_of_passing_notes_leaves_the_scale_with_its_stray(
    below: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(collection_evidence, "PASSING_BELOW", below)
    ((found, what),) = scales_of(riff((0, 2, 4, 5, 7, 9, 11), seed=5, count=30, strays=[54]))
    assert what.form == "DIA0"
    assert found.chance is not None
    assert found.chance.p <= 0.005


@pytest.mark.parametrize("scale_p", [0.025, 0.1])
def test_half_or_twice_the_rarity_of_a_vocabulary_leaves_diatonic_riffs_told(
    scale_p: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(of_collections, "SCALE_P", scale_p)
    ((whole, _),) = scales_of(riff((0, 2, 4, 5, 7, 9, 11), seed=3))
    ((part, _),) = scales_of(riff((0, 1, 2, 6, 7), seed=2))
    assert whole.chance is not None
    assert part.chance is not None
    assert whole.chance.p <= 0.005
    assert part.chance.p > 0.1
