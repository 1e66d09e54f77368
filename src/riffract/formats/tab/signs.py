"""The signs in a string's row: fret numbers and what stands around them."""

import re
from dataclasses import dataclass, field, replace
from typing import Final, NamedTuple, TypeAlias

from riffract.formats.tab.bends import read_bend
from riffract.formats.tab.faults import Fault, shortened
from riffract.formats.tab.graces import GraceSign, read_grace_sign
from riffract.formats.tab.harmonics import harmonic_fault, read_node, sounding_pitch
from riffract.music import Technique, Tuning
from riffract.music.pitch import HIGHEST_PITCH

TECHNIQUE_OF_SIGN: Final = {
    "h": Technique.HAMMER_ON,
    "p": Technique.PULL_OFF,
    "t": Technique.TAP,
    "/": Technique.SLIDE,
    "\\": Technique.SLIDE,
}

# The bounds on signs and brackets keep the search linear in a row of nothing but them.
_SIGNS = re.compile(
    r"""
    (?P<lead>(?:[hpt/\\]|g(?:\{[^{}|\s]{0,60}\})?){0,8})
    (?P<open>[(<\[]{0,2})
    (?P<core>[0-9]+|x(?:\{[0-9]{1,2}\})?)
    (?P<sound>=[a-g][\#b]?-?[0-9])?
    (?P<close>[)>\]]{0,2})
    (?P<tail>(?:
        ~
        |p?b(?:[0-9]+(?:\.[0-9]{1,2})?|\([0-9]{1,3}(?:\.[0-9]{1,2})?\)|\{[-0-9,]{1,100}\})?
            (?:r(?:[0-9]+(?:\.[0-9]{1,2})?|\([0-9]{1,3}\)|\{[-0-9]{1,5}\})?)?
        |tr(?:[0-9]+|\([0-9]{1,3}\))?
        |<[0-9]{0,3}(?:=[a-g][\#b]?-?[0-9])?>
        |(?://|\\\\)(?![0-9x(<\[])
    )*)
    |(?P<lone>[hpt/\\]|g(?:\{[^{}|\s]{0,60}\})?)
    |(?P<odd>[^-\s0-9hpxtg/\\(<\[]+|[(<\[])
    """,
    re.VERBOSE | re.IGNORECASE,
)
MOST_IN_CELL: Final = 5_000
"""More notes than the longest bar holds on one string; what is longer is no bar."""

_PLAIN_HEAP = re.compile(r"[^-\s]+")
_HEAP = re.compile(r"(?:\{[^{}\s]*\}|=[A-Ga-g][#b]?-[0-9]|[^-\s])+")
_IN_BRACKETS = re.compile("<[^>]*>")
_TRILL = re.compile(r"tr\(?([0-9]*)\)?")
_BRACKETS: Final = {
    ("", ""): (False, ""),
    ("(", ")"): (True, ""),
    ("<", ">"): (False, "<"),
    ("[", "]"): (False, "["),
    ("(<", ">)"): (True, "<"),
    ("([", "])"): (True, "["),
}
"""Opening and closing brackets: whether they tell of a tie, and of which harmonic."""

_BRACKETS_HOW: Final = "write (5) for a tied note, <12> for a natural harmonic"
_KNOWN: Final = (
    "frets are numbers, x is a dead note; around them stand h p t g / \\ b tr ~ ( ) < > [ ]"
)
_HINTS: Final = {
    "^": "a bend is written `b`: 7b9",
    "v": "vibrato is written `~`: 7~",
    "s": "a slide is written `/` upward, `\\` downward: 5/7",
    "o": "an open string is 0; the dots of a repeat are a colon: |: and :|",
    "*": "the dots of a repeat are a colon: |: and :|",
    ":": "the dots of a repeat touch a bar line: |: and :|",
    "=": "fill rows with `-`",
    "_": "fill rows with `-`",
    ".": "fill rows with `-`",
    "]": "a pinch harmonic is written [7], a natural harmonic <12>",
    "½": "write the fret whose pitch the bend reaches: 7b8",
    "¼": "a bend of a quarter tone from fret 7 is written 7b7.5",
    "f": "`7b` alone is a bend of a whole step",
    "l": "write the digit 1",
    "m": "palm muting has a row of its own above the strings: `pm`",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Strike:
    """One note as it stands in a row, before its time is known.

    Attributes:
        string, fret, pitch, bend, other_fret: as in `Note`.
        techniques: bits of `Technique`.
        is_tie: it goes on from the note before it and is not struck.
        grace: how it is written as a grace note, if it is one.
        lead: the signs in front of it that lead from another note, for checking their way.
        text: the fret number or x, for messages.
        is_faulty: something about it has been reported.
    """

    string: int
    fret: int
    pitch: int | None
    techniques: int
    bend: tuple[int, ...] = ()
    other_fret: int | None = None
    is_tie: bool = False
    grace: GraceSign | None = None
    lead: str = ""
    text: str
    is_faulty: bool = False


StruckAt: TypeAlias = tuple[int, Strike]
"""A strike, behind the number of columns from the bar line to the start of its fret number."""


class CellRead(NamedTuple):
    """The notes of one string in one bar, and what is wrong at which column behind the bar line.

    Attributes:
        strikes: notes that take time, and ties.
        graces: notes that take none.
    """

    strikes: tuple[StruckAt, ...]
    graces: tuple[StruckAt, ...]
    faults: tuple[tuple[int, Fault], ...]


class _HeapRead(NamedTuple):
    """Signs that touch each other, read; columns from the first of them.

    Attributes:
        strikes, faults: what stands there.
        waiting: signs at the end that lead to a note further on.
        waiting_at: where the last of them stands; -1 if none of them stands here.
    """

    strikes: tuple[StruckAt, ...]
    faults: tuple[tuple[int, Fault], ...]
    waiting: str
    waiting_at: int


@dataclass(slots=True)
class CellReader:
    """Reads cells; what has come before is known, since riffs repeat and most cells are empty.

    Attributes:
        tuning: gives pitch and the number of frets.
        effort: how many notes have been read anew so far, for those who must stop in time.
    """

    tuning: Tuning
    effort: int = 0
    _cells: dict[tuple[int, str], CellRead] = field(default_factory=dict)
    _heaps: dict[tuple[int, str, str], _HeapRead] = field(default_factory=dict)

    def read(self, text: str, string: int) -> CellRead:
        """Find the notes in what stands in one string's row between two bar lines.

        Args:
            text: the signs.
            string: 1 is the highest.
        """
        found = self._cells.get((string, text))
        if found is None:
            found = self._cells[string, text] = self._read(text, string)
        return found

    def _read(self, text: str, string: int) -> CellRead:
        strikes: list[StruckAt] = []
        faults: list[tuple[int, Fault]] = []
        waiting, waiting_at = "", 0
        has_dashes_inside = "{" in text or "=" in text
        for match in (_HEAP if has_dashes_inside else _PLAIN_HEAP).finditer(text):
            key = string, waiting, match[0]
            heap = self._heaps.get(key)
            if heap is None:
                heap = self._heaps[key] = _read_heap(match[0], waiting, string, self.tuning)
                self.effort += len(heap.strikes)
            start = match.start()
            strikes += [(start + at, strike) for at, strike in heap.strikes]
            faults += [(start + at, fault) for at, fault in heap.faults]
            waiting = heap.waiting
            if heap.waiting_at >= 0:
                waiting_at = start + heap.waiting_at
            if len(strikes) > MOST_IN_CELL:
                faults.append((start, _too_many()))
                break
        if waiting:
            faults.append((waiting_at, _leads_nowhere(waiting)))
        struck = {at for at, _ in strikes} if faults else ()
        told: dict[tuple[str, int], tuple[int, Fault]] = {}
        for at, fault in faults:  # what is no sign at all is told once
            told.setdefault((fault.mend, at if at in struck else -1), (at, fault))
        return CellRead(
            strikes=tuple([placed for placed in strikes if placed[1].grace is None]),
            graces=tuple([placed for placed in strikes if placed[1].grace is not None]),
            faults=tuple(told.values()),
        )


def _read_heap(text: str, waiting: str, string: int, tuning: Tuning) -> _HeapRead:
    """Read signs that touch each other, behind signs that wait for a note."""
    strikes: list[StruckAt] = []
    faults: list[tuple[int, Fault]] = []
    waiting_at = -1
    for match in _SIGNS.finditer(text):
        if match.lastgroup == "lone":
            waiting, waiting_at = waiting + match[0].lower(), match.start()
        elif match.lastgroup == "odd":
            faults.append((match.start(), _unknown(match[0])))
        else:
            strike, wrong = _strike(match, waiting, string, tuning)
            at = match.start("core")
            waiting = ""
            if wrong is not None:
                faults.append((at, wrong))
                strike = replace(strike, is_faulty=True)
            strikes.append((at, strike))
            if len(strikes) > MOST_IN_CELL:
                break
    return _HeapRead(tuple(strikes), tuple(faults), waiting, waiting_at)


def _strike(
    match: re.Match[str], waiting: str, string: int, tuning: Tuning
) -> tuple[Strike, Fault | None]:
    """Read a note; with a fault it still tells where something is struck."""
    core, tail = match["core"].lower(), match["tail"]
    is_dead = core.startswith("x")
    is_tie, harmonic = _BRACKETS.get((match["open"], match["close"]), (False, ""))
    digits = core.strip("x{}") or "0"
    fret = int(digits) if len(digits) <= 2 else 99
    strike = Strike(
        string=string,
        fret=fret,
        pitch=None,
        techniques=int(Technique.DEAD) if is_dead else 0,
        is_tie=is_tie,
        text=f"<{shortened(core)}>" if harmonic == "<" else shortened(core),
    )
    lead = waiting + match["lead"].lower()
    is_plain = not (lead or tail or harmonic or match["sound"] or is_dead or is_tie)
    if is_plain:  # by far the most
        fault = _fret_fault(digits, tuning) or _bracket_fault(match)
        if fault is None:
            strike = replace(strike, pitch=tuning.pitch_at(string, fret))
        return strike, fault or _height_fault(strike)
    strike, lead_fault = _with_lead(strike, lead)
    strike, tail_fault = _with_tail(strike, tail.lower(), tuning)
    strike, pitch_fault = _with_pitch(strike, match, harmonic, tuning)
    fault = _bracket_fault(match) or lead_fault or tail_fault
    if not is_tie:  # a tie must have the fret of its partner, which has been checked
        is_node = harmonic == "<"
        fault = fault or (pitch_fault if is_node else _fret_fault(digits, tuning) or pitch_fault)
    return strike, fault or _sense_fault(strike)


def _with_lead(strike: Strike, signs: str) -> tuple[Strike, Fault | None]:
    """Read the signs in front; doubled slashes come out of nowhere."""
    grace, fault = None, None
    if "g" in signs:
        at = signs.index("g")  # the words in its braces come behind it
        end = signs.find("}", at) + 1 if signs.startswith("{", at + 1) else at + 1
        grace, fault = read_grace_sign(signs[at + 1 : end].strip("{}"))
        signs = re.sub(r"g(?:\{[^}]*\})?", "", signs)
    techniques = strike.techniques | (grace.techniques if grace is not None else 0)
    ups, downs = signs.count("/"), signs.count("\\")
    if ups >= 2:
        techniques |= Technique.SCOOP
    if downs >= 2:
        techniques |= Technique.PLOP
    lead = "".join(sign for sign in "hp" if sign in signs)
    lead += "/" * (ups % 2) + "\\" * (downs % 2)
    if "t" in signs:
        techniques |= Technique.TAP
    for sign in lead:
        techniques |= TECHNIQUE_OF_SIGN[sign]
    lead_fault = _lead_fault(signs, is_tie=strike.is_tie, is_grace=grace is not None)
    own_grace = None if strike.is_tie else grace
    led = replace(strike, techniques=int(techniques), lead=lead, grace=own_grace)
    return led, fault or lead_fault


def _with_tail(strike: Strike, tail: str, tuning: Tuning) -> tuple[Strike, Fault | None]:
    """Read the signs behind the number that do not tell its pitch."""
    if not tail:
        return strike, None
    techniques, other_fret, fault = strike.techniques, None, None
    tail = _IN_BRACKETS.sub("", tail)  # a pitch with a `b` is no bend
    if "~" in tail:
        techniques |= Technique.VIBRATO
    if "//" in tail:
        techniques |= Technique.DOIT
    if "\\\\" in tail:
        techniques |= Technique.FALLOFF
    trill = _TRILL.search(tail)
    if trill is not None:
        techniques |= Technique.TRILL
        tail = tail.replace(trill[0], "")  # its r is no release
        other_fret = int(trill[1][:3]) if trill[1] else None
        fault = _fret_fault(trill[1], tuning) if trill[1] else None
        if other_fret == strike.fret:
            what = f"a trill from fret {strike.fret} cannot go to the same fret"
            fault = Fault(what=what, mend=f"write the other fret: {strike.fret}tr{other_fret + 2}")
    bend, bend_fault = read_bend(tail, strike.fret)
    if bend or bend_fault is not None:
        techniques |= Technique.BEND
    found = replace(strike, techniques=int(techniques), bend=bend, other_fret=other_fret)
    return found, fault or bend_fault


def _with_pitch(
    strike: Strike, match: re.Match[str], harmonic: str, tuning: Tuning
) -> tuple[Strike, Fault | None]:
    """Tell what sounds, and which harmonic it is."""
    node, node_fault = read_node(match["tail"], match["sound"] or "")
    if strike.techniques & Technique.DEAD:
        what = "a dead note is no harmonic"
        is_one = bool(harmonic) or node.is_said
        mend = "write a fret instead of x, or take the brackets away"
        return strike, Fault(what=what, mend=mend) if is_one else None
    technique = 0
    if harmonic == "<":
        technique = Technique.NATURAL_HARMONIC
    elif harmonic == "[":
        technique = Technique.PINCH_HARMONIC
    elif node.is_said:
        technique = Technique.ARTIFICIAL_HARMONIC
    other_fret = node.fret if technique != Technique.NATURAL_HARMONIC else None
    pitch = sounding_pitch(strike.string, strike.fret, technique, node, tuning)
    digits = match["core"]
    pitch_fault = harmonic_fault(digits, technique, node) if pitch is None else None
    found = replace(
        strike,
        pitch=0 if pitch is None else pitch,
        techniques=int(strike.techniques | technique),
        other_fret=strike.other_fret if other_fret is None else other_fret,
    )
    if match["sound"] and harmonic != "<":
        what = f"`{match['sound']}` tells the pitch of a harmonic, but stands in no brackets"
        return found, Fault(what=what, mend="write it in the brackets: <12=E5>, 5<17=A4>")
    if harmonic == "<" and "<" in match["tail"]:
        what = "two harmonics stand at one fret"
        return found, Fault(what=what, mend="write <12> natural, 5<17> artificial, [5]<17> pinch")
    if node.fret is not None and strike.techniques & Technique.TRILL:
        what = "a trill cannot be an artificial or pinch harmonic"
        return found, Fault(what=what, mend="take one of the two away")
    return found, node_fault or pitch_fault


def _bracket_fault(match: re.Match[str]) -> Fault | None:
    opened, closed = match["open"], match["close"]
    if (opened, closed) in _BRACKETS:
        return None
    what = f"the brackets of `{shortened(opened + match['core'] + closed)}` do not match"
    return Fault(what=what, mend=_BRACKETS_HOW)


def _fret_fault(digits: str, tuning: Tuning) -> Fault | None:
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


def _lead_fault(signs: str, *, is_tie: bool, is_grace: bool) -> Fault | None:
    if is_tie and (signs or is_grace):
        sign = signs[-1] if signs else "g"
        what = f"a tied note is not struck, so `{sign}` cannot lead to it"
        return Fault(what=what, mend="take the brackets away, or the sign in front of them")
    if "h" in signs and "p" in signs:
        what = "a note cannot be hammered on and pulled off at once"
        return Fault(what=what, mend="write `h` to a higher fret, `p` to a lower one")
    return None


def _sense_fault(strike: Strike) -> Fault | None:
    if strike.pitch is None and strike.techniques & Technique.BEND:
        what = "a dead note has no pitch to bend"
        return Fault(what=what, mend="write the fret instead of x, or leave the bend out")
    return _height_fault(strike)


def _height_fault(strike: Strike) -> Fault | None:
    if strike.pitch is not None and strike.pitch > HIGHEST_PITCH and not strike.is_tie:
        what = "this note lies above G9, the highest pitch there is"
        return Fault(what=what, mend="check the fret, and the octaves in `tuning`")
    return None


def _too_many() -> Fault:
    what = f"more than {MOST_IN_CELL} notes stand on this string in one bar"
    return Fault(what=what, mend="draw bar lines through all rows")


def _unknown(text: str) -> Fault:
    sign = text.lower()
    if sign[0] in "br~":
        what = f"`{shortened(text)}` follows no fret"
        return Fault(what=what, mend="write it right behind the fret number: 7b9, 7~")
    if sign[0] in "()<>[":
        what = f"the bracket `{text[0]}` stands alone"
        return Fault(what=what, mend=_BRACKETS_HOW)
    mend = _HINTS.get(sign) or _HINTS.get(sign[0], _KNOWN)
    return Fault(what=f"`{shortened(text)}` is no sign of a string row", mend=mend)


def _leads_nowhere(signs: str) -> Fault:
    what = f"`{'g' if signs.endswith('}') else signs[-1]}` leads to no note in this bar"
    mend = "write it in front of the fret that it leads to, on the same side of the bar line"
    if signs[-1] in "/\\":
        twice = signs[-1] * 2
        mend += f"; a slide off to nowhere is doubled and touches its fret, 7{twice}"
    return Fault(what=what, mend=mend)
