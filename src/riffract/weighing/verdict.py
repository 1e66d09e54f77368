"""How solid a finding is, in words of fixed meaning."""

from collections.abc import Sequence
from typing import Final

from riffract.analysis.finding import Kind
from riffract.weighing.chance import adjusted_for_many
from riffract.weighing.questions import unanswered
from riffract.weighing.study import Verdict, WeighedFinding
from riffract.weighing.weighed import Weighed

FIRM_Q: Final = 0.01
"""Of a hundred findings called firm, one is expected to be false."""

LIKELY_Q: Final = 0.05
"""Of twenty findings called likely, one is expected to be false."""

RIVAL_BITS: Final = 3.0
"""A rival that explains the notes in so few bits more is eight times less likely, not more."""


def all_asked(weighed: Sequence[Weighed]) -> list[float]:
    """List the p values of everything that was asked of chance.

    What is not told because chance does as well counts, and so does each question that found
    nothing, as one with p = 1; those come last.
    """
    tested = [w for w in weighed if w.chance is not None]
    silent = unanswered([w.finding for w in tested])
    return [*(w.chance.p for w in tested if w.chance is not None), *(1.0 for _ in silent)]


def adjusted(weighed: Sequence[Weighed]) -> list[float | None]:
    """Give each finding its q, paying for all that was asked; `None` without a chance."""
    q_values = iter(adjusted_for_many(all_asked(weighed)))
    return [None if w.chance is None else next(q_values) for w in weighed]


def judged(weighed: Weighed, q: float | None) -> WeighedFinding:
    """Give the finding its verdict."""
    return WeighedFinding(
        finding=weighed.finding,
        verdict=_verdict(weighed, q),
        chance=weighed.chance,
        q=q,
        log10_bayes=weighed.log10_bayes,
        rivals=weighed.rivals,
        survives=weighed.survives if q is not None and q <= LIKELY_Q else None,
        carried_by=weighed.carried_by,
    )


def _verdict(weighed: Weighed, q: float | None) -> Verdict:
    if weighed.is_trivial or q is None or weighed.chance is None:
        return Verdict.TRIVIAL
    contested = _has_close_rival(weighed)
    if q <= FIRM_Q and weighed.survives and not contested:
        return Verdict.FIRM
    if q <= LIKELY_Q:
        return Verdict.LIKELY
    return Verdict.SUGGESTIVE if weighed.chance.p <= LIKELY_Q else Verdict.NOT_BEYOND_CHANCE


def _has_close_rival(weighed: Weighed) -> bool:
    """Whether another explanation of the same kind comes close.

    Mirrors of two kinds over one stretch do not contradict one another, so they only inform.
    """
    if weighed.finding.kind is Kind.MIRROR:
        return False
    return any(rival.bits < RIVAL_BITS for rival in weighed.rivals)
