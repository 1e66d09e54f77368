"""What a single line of a tab is: a directive, a row above the strings, the row of a string."""

import re
from dataclasses import dataclass
from fractions import Fraction
from typing import Final, NamedTuple, TypeAlias

from riffract.formats.tab.faults import Fault, either, nearest, shortened
from riffract.formats.tab.labels import is_label
from riffract.formats.tab.marks import read_metre, read_tempo
from riffract.formats.tab.values import reads_as_value
from riffract.music import Metre

HEADER_KEYS: Final = ("title", "tuning", "capo", "frets", "scale", "pickup", "proposed")
PASSAGE_KEY: Final = "passage"
"""With a name, it begins the next one of several passages in a file."""
DIRECTIVE_KEYS: Final = ("metre", "length", "tempo", "section")
"""Keys that may stand anywhere between systems, and hold from there; rows may have them too."""
ROWS_FOR_STRINGS: Final = ("pm", "ring", "hold", "accent", "staccato", "pick", "trem")
"""Rows that may be meant for some strings only: `ring 3,4`."""
ROWS_FOR_MOMENTS: Final = ("fermata", "ending")
ROW_LABELS: Final = ("time", *DIRECTIVE_KEYS, *ROWS_FOR_STRINGS, *ROWS_FOR_MOMENTS)
LONGEST_LABEL: Final = 12

_WORD_ROW = re.compile(rf"\s*({'|'.join(ROW_LABELS)})(?![A-Za-z])", re.IGNORECASE)
_FOR_STRINGS = re.compile(r"\s+([0-9]{1,3}(?:\s?,\s?[0-9]{1,3}){0,40})(?![0-9])")
_DIRECTIVE = re.compile(r"\s*([A-Za-z][A-Za-z -]{0,29}):(?!\|)")
_ROW_WITHOUT_BAR_LINE = re.compile(r"([A-Ga-g]?[#b]?)[^A-Za-z]{0,30}--")
_KEY_WITHOUT_COLON = re.compile(
    rf"\s*(?:({'|'.join(HEADER_KEYS)})(?![A-Za-z])(?!\s*:)\s*=?|({'|'.join(DIRECTIVE_KEYS)})\s?=)",
    re.IGNORECASE,
)
_TAB_SIGNS = re.compile(r"[-0-9hpxbr/\\~()<>|:\s]*", re.IGNORECASE)
_OTHER_WORD = re.compile(r"\s*(let ring|palm mute|[A-Za-z][^\s|-]{0,15})(?=[\s-])", re.IGNORECASE)
_EXTENT = re.compile(r"[-=>.|\s]*")
_STROKES = re.compile(r"[dunv/~|\s]*", re.IGNORECASE)
_ENDINGS = re.compile(r"[-0-9.,|\s]*")
_SAID_OTHERWISE: Final = {
    "p.m": "pm",
    "palm mute": "pm",
    "mute": "pm",
    "let ring": "ring",
    "l.r": "ring",
    "rhythm": "time",
    "values": "time",
    "meter": "metre",
    "picking": "pick",
    "stroke": "pick",
    "strokes": "pick",
    "tremolo": "trem",
    "volta": "ending",
    "endings": "ending",
}
"""Words of the trade for rows that have another label here."""


@dataclass(frozen=True, slots=True)
class Directive:
    """A line `key: value` outside the systems; its value starts at a column from 0."""

    key: str
    value: str
    line: int
    column: int


class WordRow(NamedTuple):
    """A row above the strings.

    Attributes:
        label: one of `ROW_LABELS`.
        strings: the strings it is meant for as written; empty for all.
        text: the whole line with its label blanked, so that columns stay true.
        line: from 1.
    """

    label: str
    strings: tuple[int, ...]
    text: str
    line: int


class StringRow(NamedTuple):
    """The row of one string; the text is the whole line, its label as written."""

    label: str
    text: str
    line: int


Row: TypeAlias = WordRow | StringRow


def classify(line: str, number: int) -> tuple[Directive | Row | None, Fault | None]:
    """Tell what a line is, and what is wrong with it.

    A slip in a label is told, and the row taken for what is meant, so that it costs one message.

    Args:
        line: without its line break; no comment.
        number: from 1.

    Returns:
        Neither for an empty line; a fault alone if the line is nothing that a tab knows.
    """
    stripped = line.strip()
    if not stripped:
        return None, None
    head, bar_line, tail = line.partition("|")
    label = head.strip().rstrip(":- ")
    if bar_line and label and is_label(label):
        return StringRow(label=label, text=line, line=number), None
    if _is_values(stripped):
        fault = Fault(what="a row of values needs its label", mend="start the line with `time`")
        return _word_row("time", line, 0, number), fault
    without_colon = _KEY_WITHOUT_COLON.match(line)
    if without_colon is not None:
        key = (without_colon[1] or without_colon[2]).lower()
        directive = _directive(line, without_colon, key, number)
        mend = f"write `{key}: {shortened(directive.value)}`"
        return directive, Fault(what=f"`{key}` needs a colon", mend=mend)
    words = _WORD_ROW.match(line)
    keyed = _DIRECTIVE.match(line)
    if words is not None and not _is_directive(words, keyed):
        return _word_row(words[1].lower(), line, words.end(), number), None
    if keyed is not None:
        return _directive(line, keyed, keyed[1].strip().lower(), number), None
    if bar_line and (not label or (len(label) <= LONGEST_LABEL and "-" in tail)):
        return StringRow(label=label, text=line, line=number), None
    row = _ROW_WITHOUT_BAR_LINE.match(stripped)
    if row is not None and (bar_line or _TAB_SIGNS.fullmatch(stripped, row.end())):
        return StringRow(label=row[1], text=line, line=number), None
    return (
        _meant_row(line, number)
        or _meant_directive(stripped, line, number)
        or (None, _unknown_line(stripped))
    )


def _is_values(text: str) -> bool:
    words = text.replace("|", " ").split()
    return bool(words) and all(reads_as_value(word) for word in words)


def _is_directive(words: re.Match[str], directive: re.Match[str] | None) -> bool:
    """Tell `tempo: q = 90` and `time signature: 4/4` from rows.

    A `:` far behind the label belongs to what the row says, as in `section      : again`.
    """
    if directive is None or directive[1].endswith("  "):
        return False
    key = directive[1].strip().lower()
    return key in DIRECTIVE_KEYS or (words[1].lower() == "time" and key != "time")


def _word_row(label: str, line: str, end: int, number: int) -> WordRow:
    """Read the rest of a row behind its label; a colon there is as good as a space."""
    strings: tuple[int, ...] = ()
    chosen = _FOR_STRINGS.match(line, end) if label in ROWS_FOR_STRINGS else None
    if chosen is not None:
        strings = tuple(int(s) for s in chosen[1].split(","))
        end = chosen.end()
    if line.startswith(":", end):
        end += 1
    text = " " * end + line[end:].replace("|", " ")
    return WordRow(label=label, strings=strings, text=text, line=number)


def _directive(line: str, match: re.Match[str], key: str, number: int) -> Directive:
    rest = line[match.end() :]
    column = match.end() + len(rest) - len(rest.lstrip())
    return Directive(key=key, value=" ".join(rest.split()), line=number, column=column)


def _meant_row(line: str, number: int) -> tuple[WordRow, Fault] | None:
    """Take a line with an unknown label for the row that its signs and its label speak for."""
    match = _OTHER_WORD.match(line)
    if match is None:
        return None
    rest = line[match.end() :]
    word = match[1].lower().rstrip(".")
    label = _SAID_OTHERWISE.get(word) or next(iter(nearest(word, ROW_LABELS)), "")
    if _is_values(rest):
        label = "time"
    elif label in ROWS_FOR_STRINGS:
        signs = _STROKES if label in {"pick", "trem"} else _EXTENT
        label = label if signs.fullmatch(rest) else ""
    elif label == "ending":
        label = label if _ENDINGS.fullmatch(rest) else ""
    elif not (label in {"metre", "tempo"} and ("/" in rest or "=" in rest)):
        label = ""
    if not label:
        return None
    what = f"`{match[1]}` is not the label of a row"
    return _word_row(label, line, match.end(), number), Fault(what=what, mend=f"write `{label}`")


def _meant_directive(stripped: str, line: str, number: int) -> tuple[Directive, Fault] | None:
    """Take a metre or a tempo that stands alone on a line for what it is."""
    key = ""
    if isinstance(read_metre(stripped), Metre):
        key = "metre"
    elif isinstance(read_tempo(stripped), Fraction):
        key = "tempo"
    if not key:
        return None
    fault = Fault(what=f"this {key} needs its name", mend=f"write `{key}: {stripped}`")
    return Directive(key, stripped, number, len(line) - len(line.lstrip())), fault


def _unknown_line(stripped: str) -> Fault:
    first = stripped.split(maxsplit=1)[0]
    close = nearest(first.rstrip("|:"), dict.fromkeys((*ROW_LABELS, *HEADER_KEYS)))
    mend = "start a remark with `#`, a row above the strings with its label"
    if stripped[0] == "[" and stripped[-1] == "]":
        mend = f"for a section write `section: {shortened(stripped[1:-1].strip())}`"
    elif close:
        mend = f"the nearest known words are {either(close)}; start a remark with `#`"
    return Fault(what=f"`{shortened(stripped)}` is no line of a tab", mend=mend)
