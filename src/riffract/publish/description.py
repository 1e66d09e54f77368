"""The words under a film: what it is, its chapters, what it claims, who made it, whose it is.

Common practice of video sites, from memory: 5,000 signs at most, and no angle brackets.
"""

from collections.abc import Iterator, Sequence
from itertools import accumulate
from typing import Final

from riffract.analysis.saying import say
from riffract.essay.shot_list import SAFE_LISTENING
from riffract.essay.shots import SceneName, Shot
from riffract.formats.problem import Problem, Severity
from riffract.publish.about import About
from riffract.publish.chapters import chapters, chapters_text, site_time
from riffract.weighing.study import VERDICT_NAMES

MOST_SIGNS: Final = 5_000
"""Common practice, from memory."""


def description_text(shots: Sequence[Shot], about: About) -> str:
    """Write a film's description: title, chapters, a line a claim with its verdict, rights.

    Times stand first in a line only in the list of chapters, so that a site takes nothing else for
    chapters.
    """
    paragraphs = [
        _joined(about.title, about.subtitle),
        chapters_text(chapters(shots)).rstrip(),
        _joined(say("What it claims:"), *_claims(shots)),
        _joined(*about.credits),
        _joined(about.rights),
        _joined(say(SAFE_LISTENING)),
    ]
    return _allowed("\n\n".join(filter(None, paragraphs))) + "\n"


def description_problems(text: str) -> tuple[Problem, ...]:
    """Warn if a description is longer than video sites take."""
    if len(text) <= MOST_SIGNS:
        return ()
    problem = Problem(
        what=f"the description has {len(text)} signs; video sites take {MOST_SIGNS}",
        mend="shorten titles, credits or rights",
        severity=Severity.WARNING,
    )
    return (problem,)


def _claims(shots: Sequence[Shot]) -> Iterator[str]:
    """List what is claimed; the whole sums up, so it is one only where it stands alone."""
    framing = {SceneName.TITLE, SceneName.CREDITS, SceneName.WHOLE}
    if all(shot.scene in framing for shot in shots):
        framing -= {SceneName.WHOLE}
    starts = [0.0, *accumulate(shot.length_seconds for shot in shots)]
    for shot, start in zip(shots, starts, strict=False):
        if shot.scene in framing:
            continue
        verdict = (
            say(VERDICT_NAMES[shot.findings[0].verdict])
            if shot.findings
            else say("the analyst's own observation")
        )
        yield f"– {shot.title} ({site_time(int(start))}, {verdict})"


def _joined(*lines: str) -> str:
    return "\n".join(" ".join(line.split()) for line in lines if line.strip())


def _allowed(text: str) -> str:
    return text.replace("<", "‹").replace(">", "›")
