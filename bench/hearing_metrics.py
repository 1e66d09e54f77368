"""How well attacks were placed, and how well wrong notes were found.

Median, 95th percentile and maximum of the absolute error, and shares within limits: means hide the
single leap by a whole pass, which is the typical failure on a riff.
"""

from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from math import log2, sqrt
from typing import Final

import mir_eval
import numpy as np
from bench.heard_errors import Mistake, TextError
from bench.heard_playing import Truth

from riffract.music import Passage
from riffract.sound.alignment.alignment import Alignment, Checks, HeardAttack, Stretch
from riffract.sound.support.support import RivalKind, Support, SupportReport

WINDOW_SECONDS: Final = 0.05
"""Onset hit window, one to one: the default of mir_eval.onset (from memory: MIREX)."""

NEAR_QUARTERS: Final = Fraction(1, 4)
"""An unwritten note that is told this near to its place is found."""

NO_CHECKS: Final = Checks(
    agreement_share=1.0,
    stability_seconds=0.0,
    residual_share=0.0,
    chance_share=1.0,
    heard_share=1.0,
)
"""Of an alignment that was made from the truth, and not found."""


def alignment_of(
    truth: Truth,
    length_quarters: Fraction,
    *,
    off_seconds: Callable[[], float] = float,
    half_seconds: float = 0.01,
) -> Alignment:
    """Make an alignment from the truth.

    Args:
        truth: when everything sounds.
        length_quarters: of the text.
        off_seconds: asked for each attack how far it is put off; not at all if nothing is given.
        half_seconds: the uncertainty that it tells.
    """
    stretches = tuple(
        Stretch(
            span=s.span,
            attacks=tuple(
                HeardAttack(
                    quarters=a.quarters,
                    seconds=a.seconds + off_seconds(),
                    uncertainty_seconds=half_seconds,
                    is_heard=True,
                )
                for a in truth.attacks
                if a.stretch == k
            ),
            start_seconds=s.start_seconds,
            end_seconds=s.end_seconds,
            is_again=s.is_again,
        )
        for k, s in enumerate(truth.stretches)
    )
    return Alignment(
        stretches=stretches,
        reference_hz=truth.reference_hz,
        anchors=(),
        checks=NO_CHECKS,
        length_quarters=length_quarters,
    )


def struck_in(text: Passage, alignment: Alignment) -> Alignment:
    """Give the same times at the attacks of another text.

    A text that lacks a stroke does not know when it sounds, and must not be told; one that has a
    stroke too many must have a moment for it.
    """
    known = {a.quarters: a for stretch in alignment.stretches for a in stretch.attacks}
    onsets = sorted({n.onset_quarters for n in text.notes})

    def attack(quarters: Fraction) -> HeardAttack:
        return known.get(quarters) or HeardAttack(
            quarters=quarters,
            seconds=alignment.time_map.seconds_at(quarters),
            uncertainty_seconds=max(a.uncertainty_seconds for a in known.values()),
            is_heard=False,
        )

    stretches = tuple(
        replace(
            stretch,
            attacks=tuple(
                attack(q)
                for q in onsets
                if stretch.span.start_quarters <= q < stretch.span.end_quarters
            ),
        )
        for stretch in alignment.stretches
    )
    return replace(alignment, stretches=stretches)


@dataclass(frozen=True, slots=True, kw_only=True)
class Placing:
    """An alignment against the truth.

    Attributes:
        errors_seconds: of each attack that is played and was found: found − true. In order.
        covered: for each of them whether the interval that was told holds the truth.
        missed: attacks that are played and were not found.
        invented: attacks that were found and are not played.
        reference_cents: found A4 against the true one.
        stretches_right: whether the same parts of the text were found, in the same order.
        onset_f: share of onsets within 50 ms, harmonic mean of precision and recall.
    """

    errors_seconds: tuple[float, ...]
    covered: tuple[bool, ...]
    missed: int
    invented: int
    reference_cents: float
    stretches_right: bool
    onset_f: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Summary:
    """Errors of many attacks, in milliseconds and shares; a missed attack is within no limit."""

    attacks: int
    median_ms: float
    p95_ms: float
    max_ms: float
    within_20: float
    within_50: float
    within_100: float
    coverage: float


def placing(truth: Truth, alignment: Alignment) -> Placing:
    """Hold an alignment against the truth.

    Definition: of the attacks at one place in the text, played and found ones are paired one to
    one, nearest first.
    """
    found: dict[Fraction, list[tuple[float, float]]] = defaultdict(list)
    for stretch in alignment.stretches:
        for attack in stretch.attacks:
            found[attack.quarters].append((attack.seconds, attack.uncertainty_seconds))
    played: dict[Fraction, list[float]] = defaultdict(list)
    for true in truth.attacks:
        played[true.quarters].append(true.seconds)
    pairs = sorted(
        pair for q, moments in played.items() for pair in _nearest_pairs(moments, found[q])
    )
    count = sum(map(len, found.values()))
    return Placing(
        errors_seconds=tuple(heard - true for true, heard, _ in pairs),
        covered=tuple(abs(heard - true) <= half for true, heard, half in pairs),
        missed=len(truth.attacks) - len(pairs),
        invented=count - len(pairs),
        reference_cents=1200.0 * log2(alignment.reference_hz / truth.reference_hz),
        stretches_right=[s.span for s in truth.stretches] == [s.span for s in alignment.stretches],
        onset_f=onset_f(
            [a.seconds for a in truth.attacks],
            [seconds for moments in found.values() for seconds, _ in moments],
        ),
    )


def onset_f(true_seconds: Iterable[float], found_seconds: Iterable[float]) -> float:
    """Give the onset F measure at ±50 ms, as mir_eval counts it."""
    f, _, _ = mir_eval.onset.f_measure(
        np.sort(np.array(list(true_seconds))),
        np.sort(np.array(list(found_seconds))),
        window=WINDOW_SECONDS,
    )
    return float(f)


def summary(placings: Sequence[Placing]) -> Summary:
    """Pool the attacks of some recordings."""
    errors = np.abs([e for p in placings for e in p.errors_seconds]) * 1000.0
    covered = [c for p in placings for c in p.covered]
    attacks = len(errors) + sum(p.missed for p in placings)

    def within(limit_ms: float) -> float:
        return float(np.sum(errors <= limit_ms)) / max(attacks, 1)

    if not len(errors):
        nan = float("nan")
        return Summary(
            attacks=attacks, median_ms=nan, p95_ms=nan, max_ms=nan,
            within_20=0.0, within_50=0.0, within_100=0.0, coverage=nan,
        )  # fmt: skip
    return Summary(
        attacks=attacks,
        median_ms=float(np.median(errors)),
        p95_ms=float(np.percentile(errors, 95)),
        max_ms=float(errors.max()),
        within_20=within(20.0),
        within_50=within(50.0),
        within_100=within(100.0),
        coverage=float(np.mean(covered)),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """How many mistakes were put, found, and alleged.

    Attributes:
        planted: mistakes of the kind.
        found: those that were told.
        named: those that were told with the right remedy.
    """

    planted: int = 0
    found: int = 0
    named: int = 0

    def __add__(self, other: "Found") -> "Found":
        return Found(
            planted=self.planted + other.planted,
            found=self.found + other.found,
            named=self.named + other.named,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Doubting:
    """A report on a wrong text against what was put there.

    Attributes:
        by_mistake: for each kind of mistake.
        false_alarms: right notes that were contradicted, and unwritten notes that do not sound.
        right_notes: notes of the text that are right.
    """

    by_mistake: dict[Mistake, Found]
    false_alarms: int
    right_notes: int

    @property
    def found(self) -> int:
        """Mistakes that were told, of all kinds."""
        return sum(f.found for f in self.by_mistake.values())

    @property
    def recall(self) -> float:
        """Mistakes told, of those put there; 1 if there are none."""
        planted = sum(f.planted for f in self.by_mistake.values())
        return self.found / planted if planted else 1.0

    @property
    def precision(self) -> float:
        """Mistakes told, of all that was told; 1 if nothing was."""
        told = self.found + self.false_alarms
        return self.found / told if told else 1.0

    @property
    def f(self) -> float:
        """Harmonic mean of both."""
        both = self.precision + self.recall
        return 2.0 * self.precision * self.recall / both if both else 0.0


def doubting(errors: Sequence[TextError], report: SupportReport) -> Doubting:
    """Hold a report against the mistakes that were put into its text."""
    told = {n.note: n for n in report.notes if n.support is Support.CONTRADICTED}
    by_mistake: dict[Mistake, Found] = defaultdict(Found)
    explained: set[int] = set()
    for error in errors:
        near = _unwritten_near(error, report)
        explained |= near
        contradicted = told.get(error.note) if error.note is not None else None
        rival = contradicted.rival if contradicted else None
        if error.mistake is Mistake.MISSING:
            found = named = bool(near)
        else:
            found = contradicted is not None or (error.mistake is Mistake.ONSET and bool(near))
            named = rival is not None and (
                rival.kind is _REMEDY[error.mistake]
                and (rival.kind is not RivalKind.PITCH or rival.pitch == error.true_pitch)
            )
        by_mistake[error.mistake] += Found(planted=1, found=int(found), named=int(named))
    wrong = {e.note for e in errors if e.note is not None}
    return Doubting(
        by_mistake=dict(by_mistake),
        false_alarms=len(told.keys() - wrong) + len(report.unwritten) - len(explained),
        right_notes=len(report.notes) - len(wrong),
    )


def pooled(doubtings: Sequence[Doubting]) -> Doubting:
    """Add up reports on several texts."""
    by_mistake: dict[Mistake, Found] = defaultdict(Found)
    for one in doubtings:
        for mistake, found in one.by_mistake.items():
            by_mistake[mistake] += found
    return Doubting(
        by_mistake=dict(by_mistake),
        false_alarms=sum(d.false_alarms for d in doubtings),
        right_notes=sum(d.right_notes for d in doubtings),
    )


def wilson(successes: int, trials: int, *, z: float = 1.959964) -> tuple[float, float]:
    """Give the score interval of a share.

    Source: Wilson, J. Amer. Statist. Assoc. 22 (1927) 209-212; 95 % by default.

    >>> low, high = wilson(10, 10)
    >>> round(low, 4), round(high, 4)
    (0.7225, 1.0)
    """
    if not trials:
        return 0.0, 1.0
    share = successes / trials
    middle = (share + z * z / (2 * trials)) / (1 + z * z / trials)
    half = (
        z
        / (1 + z * z / trials)
        * sqrt(share * (1 - share) / trials + z * z / (4 * trials * trials))
    )
    return max(middle - half, 0.0), min(middle + half, 1.0)


_REMEDY: Final = {
    Mistake.FRET: RivalKind.PITCH,
    Mistake.STRING: RivalKind.PITCH,
    Mistake.OCTAVE: RivalKind.PITCH,
    Mistake.EXTRA: RivalKind.ABSENT,
    Mistake.LONGER: RivalKind.SHORTER,
    Mistake.SHORTER: RivalKind.LONGER,
    Mistake.ONSET: RivalKind.ABSENT,
}


def _nearest_pairs(
    moments: Sequence[float], found: Sequence[tuple[float, float]]
) -> list[tuple[float, float, float]]:
    distances = sorted(
        (abs(true - heard), i, j)
        for i, true in enumerate(moments)
        for j, (heard, _) in enumerate(found)
    )
    pairs, left, right = [], set(range(len(moments))), set(range(len(found)))
    for _, i, j in distances:
        if i in left and j in right:
            left.remove(i)
            right.remove(j)
            pairs.append((moments[i], *found[j]))
    return pairs


def _unwritten_near(error: TextError, report: SupportReport) -> set[int]:
    """List the unwritten notes that are what should stand in the place of a mistake."""
    return {
        k
        for k, note in enumerate(report.unwritten)
        if error.true_pitch == note.pitch
        and abs(note.quarters - error.true_quarters) <= NEAR_QUARTERS
    }
