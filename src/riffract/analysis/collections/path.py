"""Which collection a line draws on from attack to attack: a hidden Markov model over all forms.

The states are the forms of every family, the chromatic scale among them. In each state a line adds
pitch classes to those that it has lately shown: from within the form with 1 - ε, all that are still
to come equally likely, from outside with ε. What it has shown lately and repeats says little, so
that a riff of three notes does not grow certain by going round. Leaving a state is unlikely,
but much less so where the voice starts a limb, a pass or a section; half of the changes stay in the
family. The most likely path is found by Viterbi's algorithm, the probability of each change by the
forward-backward algorithm. Since the starts of limbs draw changes to them, a border may leave a few
notes on the side of the form that they are foreign to; so it is moved afterwards to where fewest
are.

Source: Rabiner, Proceedings of the IEEE 77/2 (1989), 257-286, from memory; the model is ours.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from itertools import groupby, pairwise
from typing import Final

import numpy as np
from numpy.typing import NDArray

from riffract.analysis.collections.form import CHROMATIC, FAMILIES, FORMS, Form
from riffract.analysis.pitch_class_set import ALL_TWELVE, pcs_of

OUTSIDER_CHANCE: Final = 0.05
"""ε: how likely a new pitch class lies outside the form; 0 would make one passing note fatal."""

CHANGE_CHANCE: Final = 0.005
"""Within a limb: one attack in two hundred, so that one or two passing notes do not change the
form."""
CHANGE_CHANCE_AT_BOUNDARY: Final = 0.25
"""How likely the form changes at an attack. At the start of a limb it may well; within one it takes
about three foreign pitch classes in a row to say so."""

MEMORY_ATTACKS: Final = 16
"""For how many attacks a pitch class counts as lately shown: about as much as a limb or a bar."""

REPEAT_WEIGHT: Final = 0.15
"""What a repeated pitch class counts; with 0 a change within a long limb would go unheard, since
what both forms share is never new."""

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FormPath:
    """The forms that a line goes through.

    Attributes:
        forms: places in `FORMS`, one for each attack.
        change_posterior: how likely the form changes at each attack, 0 for the first.
        posterior: how likely each form is at each attack, given all of them; the most likely path
            need not go through the most likely forms. Shape: (attacks, forms).
    """

    forms: tuple[int, ...]
    change_posterior: tuple[float, ...]
    posterior: Floats


def most_likely_path(masks: Sequence[int], is_boundary: Sequence[bool]) -> FormPath:
    """Find the most likely form at each attack of a line.

    Args:
        masks: the pitch classes of each attack.
        is_boundary: whether a limb, a pass or a section starts there.

    Returns:
        One form an attack; of forms that are as likely the first in the order of `FORMS`.

    Raises:
        ValueError: if an attack has no pitch class.

    >>> low, high = [0b1, 0b10, 0b10000, 0b100000] * 2, [0b1000, 0b10000, 0b10000000, 0b1] * 2
    >>> path = most_likely_path(low + high, [i in {0, 8} for i in range(16)])
    >>> [FORMS[path.forms[i]].name for i in (0, 7, 8, 15)]
    ['HEX0,1', 'HEX0,1', 'HEX3,4', 'HEX3,4']
    """
    if not len(masks):
        return FormPath(forms=(), change_posterior=(), posterior=np.zeros((0, len(FORMS))))
    if not all(masks):
        raise ValueError("every attack of the line needs a pitch class")
    log_emissions = _emissions(masks, is_boundary)
    changes = np.where(is_boundary, CHANGE_CHANCE_AT_BOUNDARY, CHANGE_CHANCE)
    posterior, change_posterior = _posteriors(log_emissions, changes)
    return FormPath(
        forms=tuple(_viterbi(log_emissions, changes)),
        change_posterior=tuple(change_posterior.tolist()),
        posterior=posterior,
    )


def with_clear_borders(
    forms: Sequence[Form], masks: Sequence[int], is_boundary: Sequence[bool]
) -> list[Form]:
    """Move each border between two forms to where fewest notes are foreign on either side.

    It stays where it is as good as any other place; of other places that are equally good, one at a
    boundary is taken, then the nearest. It goes no further than the model's memory, and no stretch
    loses its last attack. A border stays, too, where one form holds all of the other: any passing
    note would draw it into the larger one.

    Args:
        forms: one an attack.
        masks: the pitch classes of each attack.
        is_boundary: whether a limb, a pass or a section starts there.

    >>> low, high = (f for f in FORMS if f.name in {"WT0", "WT1"})
    >>> line = [1 << pc for pc in (0, 2, 4, 1, 3, 5, 7, 9)]
    >>> with_clear_borders([low] * 5 + [high] * 3, line, [False] * 8).index(high)
    3
    """
    runs = [list(run) for _, run in groupby(range(len(forms)), lambda i: forms[i].name)]
    starts = [*(run[0] for run in runs), len(forms)]
    settled: list[int] = []
    while starts != settled:  # each move leaves fewer notes foreign, so this ends
        settled = list(starts)
        for k, (left, right) in enumerate(pairwise(runs), start=1):
            starts[k] = _clear_border(
                (forms[left[0]].mask, forms[right[0]].mask),
                (starts[k - 1], starts[k], starts[k + 1]),
                masks,
                is_boundary,
            )
    lengths = [stop - start for start, stop in pairwise(starts)]
    return [forms[run[0]] for run, n in zip(runs, lengths, strict=True) for _ in range(n)]


def _clear_border(
    forms: tuple[int, int],
    starts: tuple[int, int, int],
    masks: Sequence[int],
    is_boundary: Sequence[bool],
) -> int:
    """Give where the second of two stretches should start.

    Args:
        forms: their pitch classes.
        starts: where the first, the second and what follows them start.
        masks: the pitch classes of each attack.
        is_boundary: whether a limb, a pass or a section starts there.
    """
    (old, new), (start, border, stop) = forms, starts
    if old & new in forms:
        return border
    first = max(start + 1, border - MEMORY_ATTACKS)
    last = min(stop - 1, border + MEMORY_ATTACKS)

    def cost(place: int) -> tuple[int, bool, bool, int]:
        foreign = sum(
            (masks[i] & ~(old if i < place else new)).bit_count() for i in range(first, last)
        )
        return foreign, place != border, not is_boundary[place], abs(place - border)

    return min(range(first, last + 1), key=cost)


def _emissions(masks: Sequence[int], is_boundary: Sequence[bool]) -> Floats:
    """Tell how likely each form makes what each attack shows, as logs. Shape: (attacks, forms)."""
    seen: list[int] = []
    shown: list[int] = []
    weights: list[float] = []
    starts: list[int] = []
    last_shown = [-MEMORY_ATTACKS - 1] * 12
    since = 0
    for i, (mask, boundary) in enumerate(zip(masks, is_boundary, strict=True)):
        since = i if boundary else since
        earliest = max(since, i - MEMORY_ATTACKS)
        lately = sum(1 << pc for pc in range(12) if last_shown[pc] >= earliest)
        starts.append(len(shown))
        for pc in pcs_of(mask):
            is_new = not lately >> pc & 1
            # A new one is drawn from those still to come, a repeated one from the whole form.
            seen.append(lately if is_new else 0)
            weights.append(1.0 if is_new else REPEAT_WEIGHT)
            shown.append(pc)
            lately |= 1 << pc
            last_shown[pc] = i
    log_each = _log_likelihoods(np.array(seen), np.array(shown))
    summed: Floats = np.add.reduceat(log_each * np.array(weights)[:, np.newaxis], starts, axis=0)
    return summed


def _log_likelihoods(seen: NDArray[np.int64], shown: NDArray[np.int64]) -> Floats:
    """Tell how likely each form makes a pitch class, as logs. Shape: (pitch classes, forms).

    Args:
        seen: sets that it is not drawn from, as masks.
        shown: the pitch classes.
    """
    masks = np.array([form.mask for form in FORMS])
    still_inside = np.bitwise_count(masks & ~seen[:, np.newaxis])
    still_outside = np.bitwise_count(ALL_TWELVE & ~masks & ~seen[:, np.newaxis])
    is_inside = (masks >> shown[:, np.newaxis] & 1).astype(np.bool_)
    chance = np.where(is_inside, 1 - OUTSIDER_CHANCE, OUTSIDER_CHANCE)
    chance[:, CHROMATIC] = 1.0
    log_likelihoods: Floats = np.log(chance / np.where(is_inside, still_inside, still_outside))
    return log_likelihoods


def _viterbi(log_emissions: Floats, changes: Floats) -> list[int]:
    """Give the most likely form of each row.

    A change costs the same from every form of a family, so the best way in comes from the form
    itself, from the best of its family, or from the best of all: no pair needs to be compared.
    """
    starts, family_of, log_within, log_anywhere = _change_tables()
    log_changes, log_stays = np.log(changes), np.log1p(-changes)
    scores = np.empty_like(log_emissions)
    scores[0] = log_emissions[0] + _log_prior()
    into_family, into_any = np.empty(len(FORMS)), np.empty(len(FORMS))
    for i in range(1, len(scores)):
        before, score = scores[i - 1], scores[i]
        best_of_family = np.maximum.reduceat(before, starts)
        np.add(best_of_family[family_of], log_within + log_changes[i], out=into_family)
        np.add(log_anywhere, best_of_family.max() + log_changes[i], out=into_any)
        np.add(before, log_stays[i], out=score)
        np.maximum(score, into_family, out=score)
        np.maximum(score, into_any, out=score)
        score += log_emissions[i]
    return _way_back(scores, log_changes.tolist(), log_stays.tolist())


def _way_back(
    scores: Floats, log_changes: Sequence[float], log_stays: Sequence[float]
) -> list[int]:
    starts, family_of, log_within, log_anywhere = _change_tables()
    best_of_family = np.maximum.reduceat(scores, starts, axis=1)
    best = best_of_family.max(axis=1).tolist()
    form = int(scores[-1].argmax())
    path = [form]
    for i in range(len(scores) - 1, 0, -1):
        family = int(family_of[form])
        stay = scores[i - 1, form] + log_stays[i]
        within = best_of_family[i - 1, family] + log_within[form] + log_changes[i]
        anywhere = best[i - 1] + log_anywhere[form] + log_changes[i]
        if stay < max(within, anywhere):
            first = int(starts[family]) if within >= anywhere else 0
            last = first + FAMILIES[family].forms if within >= anywhere else len(FORMS)
            form = first + int(scores[i - 1, first:last].argmax())
        path.append(form)
    return path[::-1]


@cache
def _log_prior() -> Floats:
    """Give each form its share of its family's prior. Shape: (forms,)."""
    priors = np.array([form.family.prior / form.family.forms for form in FORMS])
    log_priors: Floats = np.log(priors / priors.sum())
    return log_priors


@cache
def _change_tables() -> tuple[NDArray[np.int64], NDArray[np.int64], Floats, Floats]:
    """Tabulate where families start, which is whose, and the log chances of the ways to change."""
    counts = np.array([family.forms for family in FAMILIES])
    starts = np.cumsum(counts) - counts
    family_of = np.repeat(np.arange(len(FAMILIES)), counts)
    others = np.maximum(counts - 1, 1)[family_of]
    within = np.where(counts[family_of] > 1, 0.5 / others, 1e-300)
    return starts, family_of, np.log(within), np.log(0.5) + _log_prior()


@cache
def _transitions(change: float) -> Floats:
    """Give the chances of going from each form to each. Shape: (from, to); rows add up to 1."""
    prior = np.exp(_log_prior())
    family = _change_tables()[1]
    same = (family[:, np.newaxis] == family) & ~np.eye(len(FORMS), dtype=np.bool_)
    within = np.where(same.any(axis=1, keepdims=True), same, prior)
    leads = within / within.sum(axis=1, keepdims=True) + prior
    np.fill_diagonal(leads, 0.0)
    matrix: Floats = change * leads / leads.sum(axis=1, keepdims=True)
    np.fill_diagonal(matrix, 1 - change)
    matrix.setflags(write=False)
    return matrix


def _posteriors(log_emissions: Floats, changes: Floats) -> tuple[Floats, Floats]:
    """Give how likely each form is at each row, and how likely it changes there, given all rows.

    The forward-backward algorithm; a change never comes at the first row.
    """
    likelihood = np.exp(log_emissions - log_emissions.max(axis=1, keepdims=True))
    steps = [_transitions(change) for change in changes.tolist()]
    forward = np.empty_like(likelihood)
    row = np.exp(_log_prior()) * likelihood[0]
    forward[0] = row / row.sum()
    for i in range(1, len(steps)):
        row = (forward[i - 1] @ steps[i]) * likelihood[i]
        forward[i] = row / row.sum()
    changed = np.zeros(len(steps))
    backward = np.ones(len(FORMS))
    for i in range(len(steps) - 1, 0, -1):
        ahead = likelihood[i] * backward
        before = forward[i - 1]
        forward[i] *= backward
        backward = steps[i] @ ahead
        changed[i] = 1.0 - (1.0 - changes[i]) * (before @ ahead) / (before @ backward)
        backward /= backward.sum()
    forward[0] *= backward
    forward /= forward.sum(axis=1, keepdims=True)
    return forward, np.maximum(changed, 0.0)
