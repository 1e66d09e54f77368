"""The signs in a string's row: fret numbers and what stands around them."""

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import Final

from riffract.formats.tab.faults import Fault, Report, Spot, shortened
from riffract.music import Technique, Tuning
from riffract.music.notes import PLAIN
from riffract.music.pitch import HIGHEST_PITCH

HARMONIC_SEMITONES: Final = {12: 12, 7: 19, 19: 19, 5: 24, 24: 24, 4: 28, 9: 28, 16: 28, 3: 31}
"""Sounding interval over the open string of the usual nodes.

Touching where the string divides into k parts sounds its k-th partial, 12 log2(k) semitones up;
the node nearest the nut lies over fret 12 log2(k / (k - 1)) (common practice).
"""
WHOLE_STEP_CENTS: Final = 200
LARGEST_BEND_CENTS: Final = 2400
TECHNIQUE_OF_SIGN: Final = {
    "h": Technique.HAMMER_ON,
    "p": Technique.PULL_OFF,
    "/": Technique.SLIDE,
    "\\": Technique.SLIDE,
}

# The bounds on signs and brackets keep the search linear in a row of nothing but them.
_SIGNS = re.compile(
    r"""
    (?P<lead>[hp/\\]{0,3})
    (?P<open>[(<]{0,2})
    (?P<core>[0-9]+|x(?:\{[0-9]{1,2}\})?)
    (?P<close>[)>]{0,2})
    (?P<tail>(?:~|b(?:[0-9]+|\([0-9]{1,3}\)|\{-?[0-9]{1,4}\})?(?:r[0-9]*)?)*)
    |(?P<lone>[hp/\\])
    |(?P<odd>[^-\s0-9hpx/\\(<]+|[(<])
    """,
    re.VERBOSE | re.IGNORECASE,
)
_BEND = re.compile(r"b(?:\(?([0-9]+)\)?|\{(-?[0-9]+)\})?", re.IGNORECASE)
_BRACKETS: Final = {
    ("", ""): (False, False),
    ("(", ")"): (True, False),
    ("<", ">"): (False, True),
    ("(<", ">)"): (True, True),
}
"""Opening and closing brackets, and whether they tell of a tie and of a harmonic."""

_KNOWN: Final = "frets are numbers, x is a dead note; around them stand h p / \\ b ~ ( ) < >"
_HINTS: Final = {
    "^": "a bend is written `b`: 7b9",
    "v": "vibrato is written `~`: 7~",
    "s": "a slide is written `/` upward, `\\` downward: 5/7",
    "t": "write a tapped note like a hammer-on: `h12`",
    "o": "an open string is 0; the dots of a repeat are a colon: |: and :|",
    "*": "the dots of a repeat are a colon: |: and :|",
    ":": "the dots of a repeat touch a bar line: |: and :|",
    "=": "fill rows with `-`",
    "_": "fill rows with `-`",
    ".": "fill rows with `-`",
    "[": "a natural harmonic is written <12>",
    "]": "a natural harmonic is written <12>",
    "½": "write the fret whose pitch the bend reaches: 7b8",
    "f": "`7b` alone is a bend of a whole step",
    "l": "write the digit 1",
    "m": "palm muting has a row of its own above the strings: `pm`",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    """What stands in one string's row between two bar lines.

    Attributes:
        string: 1 is the highest.
        text: the signs.
        line: from 1.
        column: of its first sign in the row, from 0.
    """

    string: int
    text: str
    line: int
    column: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Strike:
    """One note as it stands in a row, before its time is known.

    Attributes:
        at: how many columns after the bar line its fret number starts.
        string, fret, pitch, techniques, bend: as in `Note`.
        is_tie: it goes on from the note before it and is not struck.
        lead: the signs in front of it, for checking which way they lead.
        text: the fret number or x, for messages.
        is_faulty: something about it has been reported.
        line, column: from 1.
    """

    at: int
    string: int
    fret: int
    pitch: int | None
    techniques: Technique
    bend: tuple[int, ...]
    is_tie: bool
    lead: str
    text: str
    is_faulty: bool
    line: int
    column: int


def read_cell(
    cell: Cell, tuning: Tuning, report: Report, spot_at: Callable[[int], Spot]
) -> Iterator[Strike]:
    """Find the notes in a cell, from left to right; report what cannot be read.

    Args:
        cell: one string's part of one bar.
        tuning: gives pitch and the number of frets.
        report: takes the faults.
        spot_at: tells where a column of the cell, counted from 0, stands in the file.
    """
    waiting = ""
    waiting_at = 0
    complained: set[str] = set()
    for match in _SIGNS.finditer(cell.text):
        if match["lone"]:
            waiting, waiting_at = waiting + match["lone"].lower(), match.start()
        elif match["odd"]:
            fault = _unknown(match["odd"])
            if fault.mend not in complained:
                complained.add(fault.mend)
                report.error(fault, spot_at(match.start()))
        else:
            strike, wrong = _strike(match, waiting, cell, tuning)
            waiting = ""
            if wrong is not None:
                report.error(wrong, spot_at(match.start("core")))
                strike = replace(strike, is_faulty=True)
            yield strike
    if waiting:
        report.error(_leads_nowhere(waiting), spot_at(waiting_at))


def _strike(
    match: re.Match[str], waiting: str, cell: Cell, tuning: Tuning
) -> tuple[Strike, Fault | None]:
    """Read a note; with a fault it still tells where something is struck."""
    lead = waiting + match["lead"].lower()
    core, tail = match["core"].lower(), match["tail"].lower()
    is_dead = core.startswith("x")
    is_tie, is_harmonic = _BRACKETS.get((match["open"], match["close"]), (False, False))
    digits = core.strip("x{}") or "0"
    fret = int(digits) if len(digits) <= 2 else 99
    techniques = _techniques(lead, tail, is_dead=is_dead, is_harmonic=is_harmonic)
    cents, bend_fault = _bend(tail, fret)
    pitch = None if is_dead else _pitch(tuning, cell.string, fret, is_harmonic=is_harmonic)
    strike = Strike(
        at=match.start("core"),
        string=cell.string,
        fret=fret,
        pitch=pitch,
        techniques=techniques,
        bend=() if cents is None else (0, cents),
        is_tie=is_tie,
        lead=lead,
        text=f"<{shortened(core)}>" if is_harmonic else shortened(core),
        is_faulty=False,
        line=cell.line,
        column=cell.column + match.start("core") + 1,
    )
    fault = _bracket_fault(match) or _lead_fault(lead, is_tie=is_tie) or bend_fault
    if not is_tie:  # a tie must have the fret of its partner, which has been checked
        fault = fault or _fret_fault(digits, tuning, is_harmonic=is_harmonic)
    return strike, fault or _sense_fault(strike)


def _techniques(lead: str, tail: str, *, is_dead: bool, is_harmonic: bool) -> Technique:
    techniques = PLAIN
    for sign in lead:
        techniques |= TECHNIQUE_OF_SIGN[sign]
    if "b" in tail:
        techniques |= Technique.BEND
    if "~" in tail:
        techniques |= Technique.VIBRATO
    if is_dead:
        techniques |= Technique.DEAD
    if is_harmonic:
        techniques |= Technique.NATURAL_HARMONIC
    return techniques


def _pitch(tuning: Tuning, string: int, fret: int, *, is_harmonic: bool) -> int:
    if is_harmonic:
        return tuning.open_pitch(string) + HARMONIC_SEMITONES.get(fret, 0)
    return tuning.pitch_at(string, fret)


def _bend(tail: str, fret: int) -> tuple[int | None, Fault | None]:
    bends = _BEND.findall(tail)
    if not bends:
        return None, None
    goal, exact = bends[0]
    if len(bends) > 1:
        mend = "write one bend, to the fret whose pitch it reaches at its highest"
        return 0, Fault(what="two bends stand behind one fret", mend=mend)
    if exact:
        return int(exact), _size_fault(int(exact))
    if not goal:
        return WHOLE_STEP_CENTS, None
    if len(goal) > 2 or int(goal) <= fret:
        what = f"a bend from fret {fret} cannot reach the pitch of fret {shortened(goal)}"
        mend = f"write the fret whose pitch it reaches: {fret}b{fret + 2} is a whole step"
        return 0, Fault(what=what, mend=mend)
    return 100 * (int(goal) - fret), _size_fault(100 * (int(goal) - fret))


def _size_fault(cents: int) -> Fault | None:
    if abs(cents) <= LARGEST_BEND_CENTS:
        return None
    mend = f"a bend reaches {LARGEST_BEND_CENTS // 100} frets at most"
    return Fault(what=f"a bend of {cents} cents is too wide", mend=mend)


def _bracket_fault(match: re.Match[str]) -> Fault | None:
    opened, closed = match["open"], match["close"]
    if (opened, closed) in _BRACKETS:
        return None
    what = f"the brackets of `{shortened(opened + match['core'] + closed)}` do not match"
    return Fault(what=what, mend="write (5) for a tied note, <12> for a natural harmonic")


def _fret_fault(digits: str, tuning: Tuning, *, is_harmonic: bool) -> Fault | None:
    if is_harmonic:
        if len(digits) <= 2 and int(digits) in HARMONIC_SEMITONES:
            return None
        nodes = " ".join(str(fret) for fret in sorted(HARMONIC_SEMITONES))
        what = f"no usual harmonic lies over fret {shortened(digits)}"
        return Fault(what=what, mend=f"write a node: {nodes}")
    most = tuning.frets - tuning.capo
    if len(digits) <= 2 and int(digits) <= most:
        return None
    above_capo = " above the capo" if tuning.capo else ""
    what = f"fret {shortened(digits)} lies beyond the {most} frets{above_capo} of this instrument"
    if len(digits) == 1 or int(digits[:4]) <= 36:
        return Fault(what=what, mend=f"write 0 to {most}, or raise `frets` in the header")
    half = len(digits) // 2
    apart = f"{digits[:half]}-{digits[half:]}"
    return Fault(what=what, mend=f"write 0 to {most}; two notes have a dash between, {apart}")


def _lead_fault(lead: str, *, is_tie: bool) -> Fault | None:
    if is_tie and lead:
        what = f"a tied note is not struck, so `{lead[-1]}` cannot lead to it"
        return Fault(what=what, mend="take the brackets away, or the sign in front of them")
    if "h" in lead and "p" in lead:
        what = "a note cannot be hammered on and pulled off at once"
        return Fault(what=what, mend="write `h` to a higher fret, `p` to a lower one")
    return None


def _sense_fault(strike: Strike) -> Fault | None:
    if strike.pitch is None and Technique.BEND in strike.techniques:
        what = "a dead note has no pitch to bend"
        return Fault(what=what, mend="write the fret instead of x, or leave the bend out")
    if strike.pitch is not None and strike.pitch > HIGHEST_PITCH and not strike.is_tie:
        what = "this note lies above G9, the highest pitch there is"
        return Fault(what=what, mend="check the fret, and the octaves in `tuning`")
    return None


def _unknown(text: str) -> Fault:
    sign = text.lower()
    if sign[0] in "br~":
        what = f"`{shortened(text)}` follows no fret"
        return Fault(what=what, mend="write it right behind the fret number: 7b9, 7~")
    if sign[0] in "()<>":
        what = f"the bracket `{text[0]}` stands alone"
        return Fault(what=what, mend="write (5) for a tied note, <12> for a natural harmonic")
    mend = _HINTS.get(sign) or _HINTS.get(sign[0], _KNOWN)
    return Fault(what=f"`{shortened(text)}` is no sign of a string row", mend=mend)


def _leads_nowhere(signs: str) -> Fault:
    what = f"`{signs[-1]}` leads to no note in this bar"
    mend = "write it in front of the fret that it leads to, on the same side of the bar line"
    return Fault(what=what, mend=mend)
