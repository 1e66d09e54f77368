"""The signs in the rows: fret numbers and what stands around them."""

import re
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Final

from riffract.formats.pasted.amounts import AMOUNT, WHOLE_STEP_CENTS, cents_of, release_cents
from riffract.formats.pasted.report import Report
from riffract.formats.pasted.rows import Row
from riffract.formats.tab.harmonics import HARMONIC_SEMITONES
from riffract.music import Technique
from riffract.music.notes import PLAIN

HIGHEST_FRET: Final = 24
LOWEST_OF_TWO_DIGITS: Final = 10
_NEAR: Final = 2
"""How many dashes a slide sign may stand away from a note that it belongs to."""

SLURS: Final = Technique.HAMMER_ON | Technique.PULL_OFF
_SLIDES: Final = Technique.SLIDE | Technique.SCOOP | Technique.PLOP
_MOST_LEADS: Final = 4
_MOST_POINTS: Final = 12

_SIGNS = re.compile(
    rf"""
    (?P<fill>[-=_.\s|]+)
    |(?P<back>(?P<from>\d{{1,2}})r\(?(?P<to>\d{{1,2}})\)?)
    |(?P<harmonic><\s?\d{{1,2}}(?:\.\d)?\s?>|\[\s?\d{{1,2}}\s?\]|(?<!\d)\d{{1,2}}\*)
    |(?P<ghost>\(\s?(?:\d{{1,2}}|x)\s?\))
    |(?P<digits>\d+)
    |(?P<dead>x)
    |(?P<trill>tr(?:\(\s?\d{{1,2}}\s?\)|\d{{1,2}})?)
    |(?P<wave>~+|v+|(?:/\\){{2,}}/?)
    |(?P<bend>p?b|\^)(?P<goal>\((?:{AMOUNT})\)|{AMOUNT})?
    |(?P<release>r)(?P<back_to>\(\d{{1,2}}\)|\d{{1,2}})?
    |(?P<lead>[hpts/\\])
    |(?P<odd>.)
    """,
    re.VERBOSE | re.IGNORECASE,
)


@dataclass(slots=True)
class Stroke:
    """One note as it stands in a row.

    Attributes:
        row: index of its row in the system.
        column: of the first digit of its fret, from 0.
        left, right: how many columns its signs take before that one and from it on.
        fret: 0 for a dead note.
        techniques, bend, other_fret: as in `Note`.
        is_ghost: whether it stands in brackets, so that it may be tied.
    """

    row: int
    column: int
    left: int
    right: int
    fret: int
    techniques: Technique = PLAIN
    bend: tuple[int, ...] = ()
    other_fret: int | None = None
    is_ghost: bool = False


@dataclass(slots=True)
class _Lead:
    """A sign that waits for the note it leads to."""

    sign: str
    start: int
    end: int
    gap_before: int | None


@dataclass(slots=True)
class StringReader:
    """Reads the rows of one string, one after the other.

    Attributes:
        report: where unknown and doubtful signs are told.
        last: the note before; `None` before the first.
    """

    report: Report
    last: Stroke | None = None
    _row: Row = field(init=False)
    _index: int = 0
    _strokes: list[Stroke] = field(default_factory=list)
    _leads: list[_Lead] = field(default_factory=list)
    _end_of_last: int | None = None

    def read(self, row: Row, index: int, text: str, most: int) -> list[Stroke]:
        """Find the notes of a row.

        Args:
            row: the row, for places of problems.
            index: which row of its system it is.
            text: its text with plain bar lines.
            most: with more notes than that, reading ends.
        """
        self._row, self._index = row, index
        self._strokes, self._leads, self._end_of_last = [], [], None
        for match in _SIGNS.finditer(text, row.start):
            if not match["fill"]:
                self._take(match)
            if len(self._strokes) > most:
                break
        self._end_leads()
        return self._strokes

    def _take(self, match: re.Match[str]) -> None:
        kind = next(kind for kind in _TAKERS if match[kind])
        _TAKERS[kind](self, match)

    def _take_dead(self, match: re.Match[str]) -> None:
        self._add(match, match.start(), 0, Technique.DEAD)

    def _take_odd(self, match: re.Match[str]) -> None:
        self._report_odd(match[0], match.start())

    def _take_lead(self, match: re.Match[str]) -> None:
        gap = None if self._end_of_last is None else match.start() - self._end_of_last
        lead = _Lead(match[0].lower(), match.start(), match.end(), gap)
        if len(self._leads) < _MOST_LEADS:
            self._leads.append(lead)
        else:
            self._report_lonely(lead)

    def _take_digits(self, match: re.Match[str]) -> None:
        frets, is_doubtful = frets_in(match[0])
        if is_doubtful:
            said = " ".join(str(fret) for _, fret in frets[:8])
            self.report.warn(
                "digits",
                f"`{match[0][:16]}` is more than one fret; it is read as {said}",
                "put a dash between two notes",
                self._row.place(match.start()),
            )
        for i, (offset, fret) in enumerate(frets):
            start = match.start() + offset
            end = match.start() + frets[i + 1][0] if i + 1 < len(frets) else match.end()
            self._add_at(start, start, end, fret, PLAIN)

    def _take_return(self, match: re.Match[str]) -> None:
        """Read `9r7`: the string is bent already, to the pitch of fret 9, and goes back to 7."""
        top, fret = int(match["from"]), int(match["to"])
        last = self.last
        cents = 100 * (top - fret)
        if cents <= 0 or fret > HIGHEST_FRET:
            self._add(match, match.start(), min(fret, HIGHEST_FRET), PLAIN)
            self._report_odd("r", match.start("back"))
        elif last is not None and last.bend and 100 * last.fret + last.bend[-1] == 100 * top:
            last.bend = (*last.bend, 100 * (fret - last.fret))
            self._end_of_last = match.end()
        else:
            self._add(match, match.start(), fret, Technique.BEND)
            self._strokes[-1].bend = (cents, 0)

    def _take_harmonic(self, match: re.Match[str]) -> None:
        digits = re.search(r"\d{1,2}", match[0])
        fret = int(digits[0]) if digits else 0
        column = match.start() + (digits.start() if digits else 0)
        is_node = fret in HARMONIC_SEMITONES
        if not is_node:
            self.report.warn(
                "harmonics",
                f"no usual harmonic lies over fret {fret}; `{match[0]}` is read as a stopped note",
                "write a node: 3 4 5 7 9 12 16 19 24",
                self._row.place(column),
            )
            fret = min(fret, HIGHEST_FRET)
        self._add(match, column, fret, Technique.NATURAL_HARMONIC if is_node else PLAIN)

    def _take_ghost(self, match: re.Match[str]) -> None:
        inner = match[0].strip("() ")
        column = match.start() + match[0].index(inner)
        if inner.lower() == "x":
            self._add(match, column, 0, Technique.DEAD)
        elif int(inner) > HIGHEST_FRET:
            self._report_odd(match[0], match.start())
        else:
            self._add(match, column, int(inner), PLAIN)
            self._strokes[-1].is_ghost = True

    def _add(self, match: re.Match[str], column: int, fret: int, techniques: Technique) -> None:
        self._add_at(match.start(), column, match.end(), fret, techniques)

    def _add_at(self, start: int, column: int, end: int, fret: int, techniques: Technique) -> None:
        stroke = Stroke(
            row=self._index,
            column=column,
            left=column - start,
            right=end - column,
            fret=fret,
            techniques=techniques,
        )
        for lead in self._leads:
            self._lead_to(stroke, lead, start - lead.end)
        self._leads.clear()
        self._strokes.append(stroke)
        self.last, self._end_of_last = stroke, end

    def _lead_to(self, stroke: Stroke, lead: _Lead, gap_behind: int) -> None:
        """Settle what a sign between two notes, or in front of one, means; one of a sort counts."""
        sort = SLURS if lead.sign in "hp" else PLAIN if lead.sign == "t" else _SLIDES
        if stroke.techniques & sort:
            self._report_lonely(lead)
        elif lead.sign in "hp":
            stroke.techniques |= self._legato(stroke, lead)
        elif lead.sign == "t":
            if gap_behind:
                self._report_lonely(lead)
            else:
                stroke.techniques |= Technique.TAP
        elif lead.gap_before is not None and (lead.gap_before <= _NEAR or gap_behind):
            is_far = lead.gap_before == 0 and gap_behind > _NEAR
            if is_far and lead.sign != "s" and not self._is_bar_line_between(lead, stroke):
                self._slide_off(lead)
            else:
                stroke.techniques |= Technique.SLIDE
        elif gap_behind <= _NEAR:
            stroke.techniques |= Technique.PLOP if lead.sign == "\\" else Technique.SCOOP
        else:
            self._report_lonely(lead)

    def _is_bar_line_between(self, lead: _Lead, stroke: Stroke) -> bool:
        between = self._row.text[lead.end : stroke.column]
        return "|" in between and len(between) <= 2 * _NEAR + 1

    def _legato(self, stroke: Stroke, lead: _Lead) -> Technique:
        last = self.last
        written = Technique.HAMMER_ON if lead.sign == "h" else Technique.PULL_OFF
        if last is None or Technique.DEAD in last.techniques or Technique.DEAD in stroke.techniques:
            return written
        if stroke.fret == last.fret:
            self._report_legato(lead, stroke, last, "it is read as struck")
            return PLAIN
        right = Technique.HAMMER_ON if stroke.fret > last.fret else Technique.PULL_OFF
        if right != written:
            name = "hammer-on" if right is Technique.HAMMER_ON else "pull-off"
            self._report_legato(lead, stroke, last, f"it is read as a {name}")
        return right

    def _report_legato(self, lead: _Lead, stroke: Stroke, last: Stroke, how: str) -> None:
        self.report.warn(
            "legato",
            f"`{lead.sign}` leads from fret {last.fret} to fret {stroke.fret}; {how}",
            "a hammer-on `h` goes up, a pull-off `p` goes down",
            self._row.place(lead.start),
        )

    def _slide_off(self, lead: _Lead) -> None:
        if self.last is not None:
            falls = lead.sign == "\\"
            self.last.techniques |= Technique.FALLOFF if falls else Technique.DOIT

    def _end_leads(self) -> None:
        """Settle the signs behind the last note of a row."""
        for lead in self._leads:
            if lead.sign in "/\\" and lead.gap_before == 0:
                self._slide_off(lead)
            else:
                self._report_lonely(lead)
        self._leads.clear()

    def _take_bend(self, match: re.Match[str]) -> None:
        stroke = self._touched(match)
        if stroke is None or Technique.DEAD in stroke.techniques:
            self._report_odd(match["bend"], match.start())
            return
        goal = match["goal"] or ""
        cents = cents_of(goal, stroke.fret)
        if cents is None or (goal.isdigit() and int(goal) <= stroke.fret):
            cents = WHOLE_STEP_CENTS if cents is None else cents
            self.report.warn(
                "bend",
                f"`{stroke.fret}{match[0]}` is no clear bend; it is read as {cents} cents",
                f"write the fret whose pitch is reached: {stroke.fret}b{stroke.fret + 2}",
                self._row.place(match.start()),
            )
        start = (0,) if match["bend"].lower() != "pb" else ()
        way = (*(stroke.bend or start), cents)
        if stroke.bend and (len(way) > _MOST_POINTS or stroke.bend[-1] >= cents):
            self._report_odd(match["bend"], match.start())
            return
        stroke.bend = way
        stroke.techniques |= Technique.BEND
        self._reach_to(stroke, match.end())

    def _take_release(self, match: re.Match[str]) -> None:
        stroke = self.last
        is_bent = stroke is not None and bool(stroke.bend) and stroke.bend[-1] > 0
        if stroke is None or not is_bent or self._end_of_last is None:
            self._report_odd(match[0][0], match.start())
            return
        back = release_cents(match["back_to"] or "", stroke.fret, stroke.bend[-1])
        stroke.bend = (*stroke.bend, back)
        if match.start() == self._end_of_last:
            self._reach_to(stroke, match.end())

    def _take_trill(self, match: re.Match[str]) -> None:
        stroke = self._touched(match)
        digits = match[0][2:].strip("() ")
        other = int(digits) if digits else -1
        if stroke is None or not 0 <= other <= HIGHEST_FRET or other == stroke.fret:
            self._report_odd("tr", match.start())
            return
        stroke.techniques |= Technique.TRILL
        stroke.other_fret = other
        self._reach_to(stroke, match.end())

    def _take_wave(self, match: re.Match[str]) -> None:
        """Read vibrato; a `~` may follow its note after some dashes, a letter must touch it."""
        is_letter = match[0][0] in "vV"
        stroke = self._touched(match) if is_letter else self.last
        if stroke is None or self._end_of_last is None:
            self._report_odd(match[0][0], match.start())
            return
        stroke.techniques |= Technique.VIBRATO
        if match.start() == self._end_of_last:
            self._end_of_last = match.end()

    def _touched(self, match: re.Match[str]) -> Stroke | None:
        """Give the note that a sign stands directly behind."""
        return self.last if self._end_of_last == match.start() and not self._leads else None

    def _reach_to(self, stroke: Stroke, end: int) -> None:
        stroke.right = end - stroke.column
        self._end_of_last = end

    def _report_odd(self, sign: str, column: int) -> None:
        self.report.warn(
            f"sign {sign[:1]}",
            f"`{sign}` is not understood here; it is left out",
            "nothing, if it does not change which notes sound",
            self._row.place(column),
        )

    def _report_lonely(self, lead: _Lead) -> None:
        self.report.warn(
            f"lonely {lead.sign}",
            f"`{lead.sign}` leads to no note; it is left out",
            "write it directly in front of the note that it leads to",
            self._row.place(lead.start),
        )


_TAKERS: Final[dict[str, Callable[[StringReader, re.Match[str]], None]]] = {
    "digits": StringReader._take_digits,
    "dead": StringReader._take_dead,
    "lead": StringReader._take_lead,
    "ghost": StringReader._take_ghost,
    "harmonic": StringReader._take_harmonic,
    "bend": StringReader._take_bend,
    "back": StringReader._take_return,
    "release": StringReader._take_release,
    "trill": StringReader._take_trill,
    "wave": StringReader._take_wave,
    "odd": StringReader._take_odd,
}


def frets_in(digits: str) -> tuple[list[tuple[int, int]], bool]:
    """Divide a run of digits into frets.

    Two digits from 10 to 24 are one fret, any other two are two notes. Longer runs are pairs if
    all their pairs are such frets, else single digits: that way no fret is read that does not
    stand there.

    Returns:
        Offset and fret of each, and whether a dash too few may be to blame.

    >>> frets_in("12"), frets_in("00"), frets_in("1012")
    (([(0, 12)], False), ([(0, 0), (1, 0)], False), ([(0, 10), (2, 12)], True))
    >>> frets_in("357")
    ([(0, 3), (1, 5), (2, 7)], True)
    """
    pairs = [(i, int(digits[i : i + 2])) for i in range(0, len(digits), 2)]
    are_frets = all(LOWEST_OF_TWO_DIGITS <= fret <= HIGHEST_FRET for _, fret in pairs)
    if len(digits) % 2 == 0 and are_frets:
        return pairs, len(pairs) > 1
    single = [(i, int(digit)) for i, digit in enumerate(digits)]
    return single, len(digits) > 1 and digits != "00"
