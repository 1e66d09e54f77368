"""How strongly the pitch classes that occur speak for a collection.

What counts is which pitch classes occur, not how often: a riff that repeats three notes a hundred
times has shown three pitch classes. A set S of k of them, j outside a form F of m members, is as
likely under F as

    P(S | F) = BetaBinomial(j | k; 1, 9) / (C(m, k - j) C(12 - m, j)),

that is: each is an outsider with a small probability, one in ten on average and itself uncertain,
and all sets with so many insiders and outsiders are equally likely. Under the chromatic scale every
set of k is as likely as any other, 1 / C(12, k). Forms of one family share the family's prior, so
that a family with many forms pays for the choice; common scales are likelier beforehand than rare
ones (see `collections.form`).

Source: marginal likelihood with a beta prior (textbook Bayesian model comparison, e.g. MacKay,
Information Theory, Inference, and Learning Algorithms (2003), ch. 28, from memory); the model is
ours.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache, lru_cache
from math import comb, factorial, log10
from typing import Final

import numpy as np
from numpy.typing import NDArray

from riffract.analysis.collections.form import FAMILIES, FORMS, Form
from riffract.analysis.pitch_class_set import ALL_TWELVE, SETS, mask_of, set_sizes, transposed

BITS: Final = log10(2)
"""How many powers of ten a bit is."""

PASSING_BELOW: Final = 0.5
"""A pitch class heard less than half as much as an even share is a passing one."""

_OUTSIDE, _INSIDE = 1, 9
"""The beta prior of an outsider's probability: mean one in ten."""


def log10_bayes(size: int, inside: int, outside: int) -> float:
    """Weigh a form against the chromatic scale: powers of ten in favour of the form.

    Args:
        size: how many members the form has.
        inside: how many pitch classes occur inside it.
        outside: how many occur outside it.

    Returns:
        The log of the Bayes factor; 0 for the chromatic scale itself; minus infinity if that many
        cannot be inside or outside.

    >>> [round(log10_bayes(*c), 2) for c in ((6, 6, 0), (6, 3, 0), (7, 6, 1))]
    [2.74, 0.92, 0.77]
    """
    if size == 12:
        return 0.0 if not outside else float("-inf")
    if inside > size or outside > 12 - size:
        return float("-inf")
    count = inside + outside
    # C(k, j) B(1 + j, 9 + k - j) / B(1, 9), written out in factorials.
    spread = (
        comb(count, outside)
        * _INSIDE
        * factorial(outside)
        * factorial(inside + _INSIDE - 1)
        / factorial(count + _INSIDE)
    )
    return log10(spread * comb(12, count) / (comb(size, inside) * comb(12 - size, outside)))


@dataclass(frozen=True, slots=True, kw_only=True)
class RankedForm:
    """A form with what speaks for it.

    Attributes:
        form: which.
        log10_bayes: against the chromatic scale.
        score: the same with the prior paid: powers of ten of the posterior odds.
    """

    form: Form
    log10_bayes: float
    score: float


def prominence(attack_share: Sequence[float], time_share: Sequence[float]) -> tuple[float, ...]:
    """Tell how prominent each pitch class is.

    Definition: the mean of its shares of the attacks and of the time, over the share that each
    would have if all that occur came alike. Half of that and more makes it prominent, and it counts
    1, so that prominent ones count as one pitch class each; less makes it passing, and all passing
    ones count the mean of theirs.

    Args:
        attack_share: by pitch class from C; they add up to 1.
        time_share: likewise.

    Returns:
        12 numbers, 0..1; 0 for what does not occur.

    >>> prominence([0.5, 0.45, 0.05] + [0] * 9, [0.5, 0.45, 0.05] + [0] * 9)[:3]
    (1.0, 1.0, 0.15000000000000002)
    """
    shares = [(a + t) / 2 for a, t in zip(attack_share, time_share, strict=True)]
    kinds = sum(share > 0 for share in shares)
    raw = [share * kinds for share in shares]
    passing = [one for one in raw if 0 < one < PASSING_BELOW]
    slight = sum(passing) / max(len(passing), 1)
    return tuple(1.0 if one >= PASSING_BELOW else slight if one > 0 else 0.0 for one in raw)


def ranked_forms(prominences: Sequence[float], *, origin: int = 0) -> tuple[RankedForm, ...]:
    """Rank all forms by how well they explain the pitch classes that occur, best first.

    Definition: an outsider counts by its prominence. With w_1 >= w_2 >= ... those of the outsiders,
    the evidence is that of the insiders alone, plus w_i times what the i-th outsider takes away.

    Args:
        prominences: by pitch class from C, as `prominence` gives them; 0 for what does not occur.
        origin: the pitch class that stands for C where forms are equally good, so that a transposed
            passage takes the transposed form.

    Returns:
        All forms by `score`; equal ones in the order of `FORMS`, seen from the origin.
    """
    weights = np.asarray(prominences, dtype=float)
    mask = mask_of(np.flatnonzero(weights > 0).tolist())
    inside = _members_inside()[mask]
    foreign = np.where(_is_member(), 0.0, weights)
    falling = -np.sort(-foreign, axis=1)
    sizes = np.array([form.size for form in FORMS])
    steps = _steps()[sizes, inside]
    log10s = _evidence()[sizes, inside, 0] + (steps * falling).sum(axis=1)
    ranked = [
        RankedForm(form=form, log10_bayes=float(value), score=float(value) + _log10_prior(form))
        for form, value in zip(FORMS, log10s, strict=True)
    ]
    order = {form.mask: place for place, form in enumerate(FORMS)}
    return tuple(
        sorted(
            ranked,
            key=lambda r: (-round(r.score, 9), order[transposed(r.form.mask, -origin)]),
        )
    )


def holding(ranked: Sequence[RankedForm], mask: int) -> tuple[Form, ...]:
    """List the forms that hold all of a set, in the order given; the chromatic one never counts.

    >>> len(holding(ranked_forms([1, 1, 0, 0, 1] + [0] * 7), mask_of([0, 1, 4])))
    14
    """
    return tuple(r.form for r in ranked if not mask & ~r.form.mask and r.form.size < 12)


def chance_of(score: float, prominences: Sequence[float]) -> float:
    """Tell how many vocabularies of as many pitch classes have a form with a score as good.

    Definition: with a prominent pitch classes and b passing ones, all ways to choose a and b of the
    twelve are looked at, C(12, a) C(12 - a, b) of them; of all forms but the chromatic one the best
    of each is taken, so that the choice of family and form is paid for.

    Args:
        score: of the form that is put forward.
        prominences: of the pitch classes that occur, as `prominence` gives them.

    Returns:
        A share of the vocabularies, never 0.

    >>> found = ranked_forms([1, 1, 0, 0, 1, 1, 0, 0, 1, 1, 0, 0])[0]
    >>> found.form.name, round(chance_of(found.score, [1, 1, 0, 0, 1, 1, 0, 0, 1, 1, 0, 0]), 4)
    ('HEX0,1', 0.0065)
    """
    prominent = sum(w >= 1.0 for w in prominences)
    passing = [w for w in prominences if 0.0 < w < 1.0]
    inside, ways = _vocabularies(prominent, len(passing))
    slight = sum(passing) / max(len(passing), 1)
    scores = _scores(prominent, len(passing), slight)[_FORM_FAMILIES, inside]
    as_good = scores.max(axis=1) >= score - 1e-9
    return float(ways[as_good].sum() / ways.sum())


def _scores(prominent: int, passing: int, slight: float) -> NDArray[np.float64]:
    """Give each family's score by what lies inside. Shape: (families, inside).

    The column i + (passing + 1) j is for i passing and j prominent pitch classes inside.
    """
    scores = np.full((len(FAMILIES) - 1, (prominent + 1) * (passing + 1)), -np.inf)
    for place, family in enumerate(FAMILIES[:-1]):
        for j in range(prominent + 1):
            for i in range(passing + 1):
                first, last = prominent - j, prominent + passing - i - j
                steps = _steps()[family.size, i + j]
                scores[place, i + (passing + 1) * j] = (
                    _evidence()[family.size, i + j, 0]
                    + steps[:first].sum()
                    + slight * steps[first:last].sum()
                    + log10(family.prior / family.forms)
                )
    return scores


@lru_cache(maxsize=16)
def _vocabularies(prominent: int, passing: int) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """List the ways to choose prominent and passing pitch classes, transpositions taken as one.

    Returns:
        What lies inside each form but the chromatic one, as `_scores` numbers it, shape
        (vocabularies, forms); and how many transpositions each vocabulary stands for.
    """
    sets = np.flatnonzero(set_sizes() == prominent)
    least = np.minimum.reduce([(sets << n | sets >> (12 - n)) & ALL_TWELVE for n in range(12)])
    chosen, ways = np.unique(least, return_counts=True)
    others = np.flatnonzero(set_sizes() == passing)
    row, column = np.nonzero((chosen[:, np.newaxis] & others) == 0)
    members = _members_inside()[:, :-1]
    return members[others[column]] + (passing + 1) * members[chosen[row]], ways[row]


def _log10_prior(form: Form) -> float:
    """Give the prior odds against the chromatic scale: a family's share divided by its forms."""
    return log10(form.family.prior / form.family.forms)


_FORM_FAMILIES: Final = np.repeat(
    np.arange(len(FAMILIES) - 1), [family.forms for family in FAMILIES[:-1]]
)


@cache
def _members_inside() -> NDArray[np.int64]:
    """Count the members of each set inside each form. Shape: (4096, forms)."""
    masks = np.array([form.mask for form in FORMS])
    counts: NDArray[np.int64] = np.bitwise_count(np.arange(SETS)[:, np.newaxis] & masks).astype(
        np.int64
    )
    counts.setflags(write=False)
    return counts


@cache
def _is_member() -> NDArray[np.bool_]:
    """Say of each form which pitch classes it holds. Shape: (forms, 12)."""
    members = np.array([[bool(form.mask >> pc & 1) for pc in range(12)] for form in FORMS])
    members.setflags(write=False)
    return members


@cache
def _evidence() -> NDArray[np.float64]:
    """Tabulate `log10_bayes`. Shape: (13 sizes, 13 inside, 13 outside)."""
    values = np.array(
        [
            [
                [log10_bayes(m, i, j) if i + j <= 12 else -np.inf for j in range(13)]
                for i in range(13)
            ]
            for m in range(13)
        ]
    )
    values.setflags(write=False)
    return values


@cache
def _steps() -> NDArray[np.float64]:
    """Tabulate what the first, second ... outsider adds to the evidence. Shape: (13, 13, 12).

    What cannot happen counts 0: it is only ever multiplied by the weight 0 of no outsider.
    """
    table = _evidence()
    possible = np.isfinite(table[:, :, 1:]) & np.isfinite(table[:, :, :-1])
    steps = np.zeros(possible.shape)
    steps[possible] = (table[:, :, 1:] - np.where(np.isfinite(table), table, 0.0)[:, :, :-1])[
        possible
    ]
    steps.setflags(write=False)
    return steps
