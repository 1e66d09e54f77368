"""The Fourier view of windows against the forms that they were made of."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from riffract.analysis.collections.form import FAMILIES, FORMS, Form
from riffract.analysis.collections.fourier_view import WINDOW_ATTACKS, agreement
from riffract.analysis.fourier import Floats, greatest, magnitudes, shares, spectra

PEAKED = [form for form in FORMS if form.family.peak]


def round_the(form: Form, attacks: int) -> Floats:
    """Let a line go round the members of a form, one an attack."""
    weights = np.zeros((attacks, 12))
    weights[np.arange(attacks), [form.pcs[k % form.size] for k in range(attacks)]] = 1.0
    return weights


# Quinn (2006-07), Amiot (2016): each of these families is the extreme of one coefficient, and its
# phase tells the forms apart.
@pytest.mark.parametrize("form", PEAKED, ids=lambda form: str(form.name))
def test_windows_that_show_a_whole_form_point_to_it_alone(form: Form) -> None:
    whole = round_the(form, form.size)
    assert agreement([whole], form) == (1.0, 1)
    others = [other for other in PEAKED if other.family == form.family and other != form]
    assert all(agreement([whole], other) == (0.0, 1) for other in others)


def test_a_family_without_a_peak_has_nothing_to_agree_with() -> None:
    harmonic = next(form for form in FORMS if form.family.name == "harmonic minor")
    assert agreement([round_the(harmonic, 20)], harmonic) is None


def test_windows_slide_within_stretches_and_a_short_stretch_is_one() -> None:
    form = next(form for form in FORMS if form.name == "HEX0,1")
    assert agreement([round_the(form, WINDOW_ATTACKS + 8), round_the(form, 6)], form) == (1.0, 4)


def test_another_scale_disagrees() -> None:
    forms = {form.name: form for form in FORMS}
    found = agreement([round_the(forms["DIA0"], 28)], forms["HEX0,1"])
    assert found is not None
    assert found[0] < 0.2


weights = st.lists(st.integers(0, 9), min_size=12, max_size=12)


@given(weights, st.integers(0, 11))
def test_moving_the_set_up_turns_each_phase_by_its_share_of_the_circle(
    w: list[int], n: int
) -> None:
    plain = spectra(np.array([w], dtype=float))[0]
    moved = spectra(np.array([w[-n:] + w[:-n]] if n else [w], dtype=float))[0]
    turned = plain * np.exp(-2j * np.pi * np.arange(7) * n / 12)
    assert moved == pytest.approx(turned, abs=1e-9)
    assert np.abs(plain) == pytest.approx(np.array(magnitudes(w)), abs=1e-9)


@given(weights.filter(lambda w: len(set(w)) > 1))
def test_the_greatest_is_that_of_the_greatest_share(w: list[int]) -> None:
    share = shares(w)
    found = int(greatest(spectra(np.array([w], dtype=float)))[0])
    assert share[found] == pytest.approx(max(share.values()))


def test_an_even_spread_has_no_greatest() -> None:
    assert greatest(spectra(np.ones((1, 12)))).tolist() == [0]


def test_the_peaks_of_the_families_are_the_greatest_of_their_forms() -> None:
    for family in FAMILIES:
        if family.peak:
            row = [float(pc in family.on_zero) for pc in range(12)]
            assert int(greatest(spectra(np.array([row])))[0]) == family.peak
