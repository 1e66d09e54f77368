"""What bars say about the order of playing: repeats, endings, and jumps in signs or words."""

import re
from dataclasses import dataclass, fields
from typing import Final

from lxml.etree import _Element as Element

from riffract.formats.musicxml.numbers import whole_number
from riffract.formats.musicxml.report import Report, Spot

LARGEST_PASS: Final = 64

_NUMBER: Final = re.compile(r"[0-9]{1,3}")
_JUMPS: Final = {"dacapo", "fine", "forward-repeat", "segno", "coda", "dalsegno", "tocoda"}
_WORDS: Final = (
    (re.compile(r"(?i)(?:d\.?\s?c\.?|da\s+capo)(?:\s+al\s+.*)?"), "dacapo"),
    (re.compile(r"(?i)(?:d\.?\s?s\.?|dal\s+segno)(?:\s+al\s+.*)?"), "dalsegno"),
    (re.compile(r"(?i)(?:al|to)\s+coda"), "tocoda"),
    (re.compile(r"(?i)coda"), "coda"),
    (re.compile(r"(?i)fine"), "fine"),
)


@dataclass(slots=True)
class Flow:
    """What a bar says about the order of playing.

    Attributes:
        line: where in the file it says so first.
        is_repeat_start, is_repeat_end: repeat signs at its left and right.
        times: how often the repeat that ends here is played; 0 if not said.
        repeats_after_jump: whether that repeat is also played after a da capo or dal segno.
        ending: the passes for which the ending that starts here is played.
        ends_ending: whether an ending closes here.
        segno, coda: names of the signs at its start.
        dal_segno, to_coda: names of the signs that are jumped to after it.
        is_da_capo, is_fine: whether one stands at its end.
    """

    line: int = 0
    is_repeat_start: bool = False
    is_repeat_end: bool = False
    times: int = 0
    repeats_after_jump: bool = False
    ending: frozenset[int] = frozenset()
    ends_ending: bool = False
    segno: str = ""
    coda: str = ""
    dal_segno: str = ""
    to_coda: str = ""
    is_da_capo: bool = False
    is_fine: bool = False

    def or_else(self, other: "Flow") -> "Flow":
        """Fill what this one leaves open from another one."""
        values = {f.name: getattr(self, f.name) or getattr(other, f.name) for f in fields(self)}
        return Flow(**values)

    def read_barline(self, barline: Element, report: Report, spot: Spot) -> None:
        """Add what a bar line says."""
        for sign in barline:
            match sign.tag:
                case "repeat":
                    self._read_repeat(sign, barline, report, spot)
                case "ending":
                    self._read_ending(sign, report, spot)
                case "segno" | "coda":
                    self.read_sign(str(sign.tag), barline.get(str(sign.tag)))
                case "bar-style" | "footnote" | "level" | "fermata":
                    pass
                case other:
                    report.left_out(str(other), spot)

    def read_sign(self, sign: str, name: str | None = None) -> None:
        """Add a segno or coda sign; a name it already has is kept."""
        if sign == "segno":
            self.segno = name or self.segno or sign
        else:
            self.coda = name or self.coda or sign

    def read_sound(self, sound: Element) -> None:
        """Add what a `sound` says."""
        self.is_da_capo |= sound.get("dacapo") == "yes"
        self.is_fine |= sound.get("fine") is not None
        self.is_repeat_start |= sound.get("forward-repeat") == "yes"
        self.segno = sound.get("segno") or self.segno
        self.coda = sound.get("coda") or self.coda
        self.dal_segno = sound.get("dalsegno") or self.dal_segno
        self.to_coda = sound.get("tocoda") or self.to_coda

    def read_jump(self, jump: str) -> None:
        """Add a jump that is written in words (see `jump_in_words`)."""
        match jump:
            case "dacapo":
                self.is_da_capo = True
            case "dalsegno":
                self.dal_segno = self.dal_segno or "segno"
            case "tocoda":
                self.to_coda = self.to_coda or "coda"
            case "coda":
                self.read_sign(jump)
            case _:
                self.is_fine = True

    def _read_repeat(self, sign: Element, barline: Element, report: Report, spot: Spot) -> None:
        if barline.get("location") == "middle":
            mend = "split the bar at the repeat sign"
            report.left_out("repeat within a bar", spot, mend=mend)
        elif sign.get("direction") == "forward":
            self.is_repeat_start = True
        elif sign.get("direction") == "backward":
            self.is_repeat_end = True
            self.times = whole_number(sign.get("times"), 1, 10**9) or 0
            self.repeats_after_jump = sign.get("after-jump") == "yes"

    def _read_ending(self, sign: Element, report: Report, spot: Spot) -> None:
        if sign.get("type") != "start":
            self.ends_ending = True
            return
        numbers = map(int, _NUMBER.findall(sign.get("number", "")))
        self.ending = frozenset(n for n in numbers if 1 <= n <= LARGEST_PASS)
        if not self.ending:
            report.warn(
                "ending",
                f"the ending {sign.get('number', '')[:20]!r} is for no pass that can be counted",
                "number endings as 1 or 1, 2",
                spot,
            )


def says_jump(sound: Element) -> bool:
    """Whether a `sound` says anything about the order of playing."""
    return not _JUMPS.isdisjoint(sound.attrib)


def jump_in_words(text: str) -> str | None:
    """Tell which jump words stand for, named as the attribute of `sound`; `None` for none.

    Source: common practice.

    >>> jump_in_words("D.S. al Coda"), jump_in_words("Fine"), jump_in_words("a fine line")
    ('dalsegno', 'fine', None)
    """
    return next((name for words, name in _WORDS if words.fullmatch(text)), None)
