"""Bends as they are written behind a fret: `7b9`, `7b9r7`, `7pb9`, `7b7.5`, `7b{50,-20}`."""

import re
from fractions import Fraction
from typing import Final

from riffract.formats.tab.faults import Fault, shortened

WHOLE_STEP_CENTS: Final = 200
LARGEST_BEND_CENTS: Final = 2400
MOST_POINTS: Final = 12
"""More turns than this no finger makes on one note."""

_BEND = re.compile(
    r"(p?)b(?:\(?([0-9]+(?:\.[0-9]+)?)\)?|\{([-0-9,]+)\})?"
    r"(r(?:\(?([0-9]+(?:\.[0-9]+)?)\)?|\{([-0-9]+)\})?)?"
)
_EXACT = re.compile(r"-?[0-9]{1,4}(?:,-?[0-9]{1,4})*")
_HIGHEST_GOAL: Final = 99
"""The highest number that is read as the goal of a bend."""


def read_bend(tail: str, fret: int) -> tuple[tuple[int, ...], Fault | None]:
    """Read the bend among the signs behind a fret.

    Returns:
        Its way in cents above the fret, empty if there is none, and what is wrong with it.

    >>> read_bend("b9r7", 7)[0], read_bend("pb9", 7)[0], read_bend("b7.5~", 7)[0]
    ((0, 200, 0), (200,), (0, 50))
    """
    bends = _BEND.findall(tail)
    if not bends:
        return (), None
    if len(bends) > 1:
        mend = "write one bend, to the fret whose pitch it reaches at its highest"
        return (), Fault(what="two bends stand behind one fret", mend=mend)
    before, goal, exact, release, release_goal, release_exact = bends[0]
    tops, fault = _tops(goal, exact, fret)
    if fault is not None:
        return (), fault
    way = tops if before else (0, *tops)
    if release:
        end, fault = _release(release_goal, release_exact, fret, tops[-1])
        way = (*way, end)
    return way, fault or _size_fault(way)


def write_bend(way: tuple[int, ...], fret: int) -> str:
    """Write a bend as simply as it can be read again.

    >>> write_bend((0, 200, 0), 7), write_bend((50,), 7), write_bend((0, 130, 20, 200), 7)
    ('b9r7', 'pb7.5', 'b{130,20,200}')
    """
    sign, tops = ("b", way[1:]) if way[0] == 0 and len(way) > 1 else ("pb", way)
    if len(tops) == 2 and 0 <= tops[1] < tops[0]:
        top, end = _goal(tops[0], fret), _goal(tops[1], fret)
        if top and end:
            return f"{sign}{top}r{end}"
    simple = _goal(tops[0], fret) if len(tops) == 1 and tops[0] > 0 else ""
    return sign + (simple or f"{{{','.join(map(str, tops))}}}")


def _goal(cents: int, fret: int) -> str:
    """Name the fret whose pitch is reached, in halves; empty if there is none."""
    if cents % 50 or fret + cents / 100 > _HIGHEST_GOAL:
        return ""
    return f"{fret + cents // 100}" + (".5" if cents % 100 else "")


def _tops(goal: str, exact: str, fret: int) -> tuple[tuple[int, ...], Fault | None]:
    """Tell where a bend goes before it is released."""
    if exact:
        if not _EXACT.fullmatch(exact) or exact.count(",") >= MOST_POINTS:
            what = f"`{{{shortened(exact)}}}` is no way of a bend"
            return (), Fault(what=what, mend="write cents, in order: 7b{50}, 7b{200,50}")
        return tuple(map(int, exact.split(","))), None
    if not goal:
        return (WHOLE_STEP_CENTS,), None
    cents = _cents_to(goal, fret)
    if cents is None or cents <= 0:
        what = f"a bend from fret {fret} cannot reach the pitch of fret {shortened(goal)}"
        mend = f"write the fret whose pitch it reaches: {fret}b{fret + 2} is a whole step"
        return (), Fault(what=what, mend=mend)
    return (cents,), None


def _release(goal: str, exact: str, fret: int, top: int) -> tuple[int, Fault | None]:
    """Tell where a bend is released to."""
    if exact:
        fits = _EXACT.fullmatch(exact) is not None
        mend = "write cents: 7b{150}r{50}"
        fault = Fault(what=f"`{{{shortened(exact)}}}` is no way of a bend", mend=mend)
        return (int(exact), None) if fits else (0, fault)
    if not goal:
        return 0, None
    cents = _cents_to(goal, fret)
    if cents is None or not 0 <= cents <= top:
        what = f"a bend from fret {fret} cannot be released to the pitch of fret {shortened(goal)}"
        mend = f"write the fret it goes back to, `r{fret}`, or leave the number out"
        return 0, Fault(what=what, mend=mend)
    return cents, None


def _cents_to(goal: str, fret: int) -> int | None:
    whole = goal.partition(".")[0]
    return int(100 * (Fraction(goal) - fret)) if len(whole) <= 2 else None


def _size_fault(way: tuple[int, ...]) -> Fault | None:
    widest = max(way, key=abs)
    if abs(widest) <= LARGEST_BEND_CENTS:
        return None
    mend = f"a bend reaches {LARGEST_BEND_CENTS // 100} frets at most"
    return Fault(what=f"a bend of {widest} cents is too wide", mend=mend)
