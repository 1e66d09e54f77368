"""Which questions are asked of every passage, so that all of them are paid for.

A question that finds nothing was asked all the same. If only those that found something counted,
a random passage would pay for ten questions where it was asked twenty.
"""

from collections.abc import Sequence
from typing import Final, get_args

from riffract.analysis.finding import Finding, How, Kind, Mirror, MirrorOf, Sonority

QUESTIONS: Final = tuple(
    sorted(
        {
            *(kind.value for kind in Kind if kind not in {Kind.MIRROR, Kind.SONORITY}),
            *(f"{Kind.MIRROR.value} of {of}" for of in get_args(MirrorOf)),
            *(f"{Kind.SONORITY.value} {how}" for how in get_args(How)),
        }
    )
)
"""Every question by its name: a kind of finding, a mirror by what is mirrored, a set class by how
it sounds."""


def question_of(finding: Finding) -> str:
    """Name the question that a finding answers; one of `QUESTIONS`."""
    match finding.what:
        case Mirror(of=of):
            return f"{finding.kind.value} of {of}"
        case Sonority(how=how):
            return f"{finding.kind.value} {how}"
        case _:
            return finding.kind.value


def unanswered(findings: Sequence[Finding]) -> tuple[str, ...]:
    """List the questions that found nothing to be tested, in the order of `QUESTIONS`.

    >>> len(unanswered([])) == len(QUESTIONS)
    True
    """
    answered = {question_of(finding) for finding in findings}
    return tuple(question for question in QUESTIONS if question not in answered)
