"""Chapters: the moments of a film that a viewer may jump to, as video sites read them.

Common practice of video sites: a list of times in a film's description makes chapters if the first
is 0:00, there are three or more, they rise, and each lasts ten seconds or more.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import accumulate
from typing import Final

from riffract.essay.shots import Shot
from riffract.formats.problem import Problem, Severity

SHORTEST_CHAPTER_SECONDS: Final = 10
"""Common practice: sites drop the whole list if one chapter is shorter."""

FEWEST_CHAPTERS: Final = 3
"""Common practice: a shorter list is taken for words."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Chapter:
    """One stretch of the film.

    Attributes:
        at_seconds: its start, whole; never later than its first picture.
        title: the claim that fills most of it.
    """

    at_seconds: int
    title: str


def chapters(shots: Sequence[Shot]) -> tuple[Chapter, ...]:
    """Divide a film into chapters, a shot each where shots are long enough.

    A shot that is too short opens the chapter of the next; what is left at the end belongs to the
    last. A chapter is called after its longest shot, the earliest of several.

    Returns:
        Chapters by time; empty if the film is too short for three of them.
    """
    starts = [0.0, *accumulate(shot.length_seconds for shot in shots)]
    groups: list[list[int]] = []
    own: list[int] = []
    for number in range(len(shots)):
        own.append(number)
        if int(starts[number + 1]) - int(starts[own[0]]) >= SHORTEST_CHAPTER_SECONDS:
            groups.append(own)
            own = []
    if groups:
        groups[-1] += own
    if len(groups) < FEWEST_CHAPTERS:
        return ()
    return tuple(
        Chapter(
            at_seconds=int(starts[group[0]]),
            title=" ".join(
                max((shots[n] for n in group), key=lambda s: s.length_seconds).title.split()
            ),
        )
        for group in groups
    )


def chapters_text(listed: Sequence[Chapter]) -> str:
    """Write chapters a line each, as they are pasted under a film."""
    return "".join(f"{site_time(chapter.at_seconds)} {chapter.title}\n" for chapter in listed)


def chapters_problems(listed: Sequence[Chapter]) -> tuple[Problem, ...]:
    """Say so if there are none."""
    if listed:
        return ()
    problem = Problem(
        what=f"the film is too short for {FEWEST_CHAPTERS} chapters of "
        f"{SHORTEST_CHAPTER_SECONDS} seconds, which video sites ask for",
        mend="leave chapters out, or give the film more claims",
        severity=Severity.WARNING,
    )
    return (problem,)


def site_time(seconds: int) -> str:
    """Write a moment as video sites do, in whole seconds.

    >>> site_time(0), site_time(74), site_time(3723)
    ('0:00', '1:14', '1:02:03')
    """
    minutes, rest = divmod(seconds, 60)
    if minutes < 60:
        return f"{minutes}:{rest:02d}"
    return f"{minutes // 60}:{minutes % 60:02d}:{rest:02d}"
