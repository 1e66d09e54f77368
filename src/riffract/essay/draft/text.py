"""A draft from the text of a tab, and back, with nothing lost on the way."""

from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from riffract.essay.draft.draft import Draft, KeptLine, Misfill
from riffract.formats.pasted import Grid, read_pasted_tab
from riffract.formats.problem import Problem
from riffract.formats.tab import Beside, lines_beside, read_tab_leniently, write_tab
from riffract.formats.tab.written import PlacedBar


@dataclass(frozen=True, slots=True, kw_only=True)
class DraftRead:
    """What was made of a text.

    Attributes:
        draft: `None` if anything but the length of bars is wrong.
        problems: by line and column; those of misfilled bars are among them.
    """

    draft: Draft | None
    problems: tuple[Problem, ...]


def read_draft(text: str, *, source: str = "") -> DraftRead:
    r"""Read the text of a tab that is being worked on.

    Bars that do not fill are told, but kept as long as their values; remarks and keys that no tab
    has are kept as they stand. No text makes this function raise.

    >>> text = "\n".join(["# by ear", "tuning: E1 A1 D2 G2", "metre: 3/4", "tempo: q = 96", "",
    ...     "time  q  e  ", "G   |------|", "D   |------|", "A   |----0-|", "E   |-3----|"])
    >>> read = read_draft(text)
    >>> read.draft.kept_lines[0].text, read.draft.misfills[0].written_number
    ('# by ear', 1)
    >>> read_draft(write_draft(read.draft)).draft == read.draft
    True
    """
    read = read_tab_leniently(text, source=source)
    if read.passage is None:
        return DraftRead(draft=None, problems=read.problems)
    draft = Draft(
        passage=read.passage,
        misfills=tuple(_misfill(p) for p in read.bars if _is_misfilled(p)),
        kept_lines=_kept_lines(text, read.bars, read.passage.tuning.string_count),
    )
    return DraftRead(draft=draft, problems=read.problems)


def draft_of_pasted(text: str, *, grid: Grid = Fraction(1, 2), source: str = "") -> DraftRead:
    """Read a tab without time, as mails have it, in a time that is proposed.

    Args:
        text: the mail.
        grid: how long its smallest step lasts, in quarters, or `"bars"`.
        source: where it came from, for people to read.
    """
    read = read_pasted_tab(text, source=source, grid=grid)
    if read.passage is None:
        return DraftRead(draft=None, problems=read.problems)
    # Written and read once, so that its bars are numbered as those of a file are.
    again = read_draft(write_tab(read.passage), source=source)
    return DraftRead(draft=again.draft, problems=(*read.problems, *again.problems))


def write_draft(draft: Draft) -> str:
    """Write a draft as the text of a tab; reading it gives the same draft.

    Bars that do not fill get no `length`, so that they are told until they are mended. A line that
    is kept stands before the line of music that begins with its bar.

    Every edit has checked that a tab can say what came of it; that is not checked again.
    """
    lines: dict[int, list[str]] = {}
    for line in draft.kept_lines:
        lines.setdefault(line.before_bar, []).append(line.text)
    lengths = {m.written_number: m.declared_quarters for m in draft.misfills}
    return write_tab(draft.passage, beside=Beside(lengths=lengths, lines=lines), is_checked=True)


def _is_misfilled(placed: PlacedBar) -> bool:
    bar = placed.bar
    return bar.wanted_ticks not in {0, bar.length_ticks}


def _misfill(placed: PlacedBar) -> Misfill:
    bar = placed.bar
    is_declared = bar.length_said_in != "metre"
    declared = Fraction(bar.wanted_ticks, bar.ticks_per_quarter) if is_declared else None
    return Misfill(written_number=placed.number, declared_quarters=declared)


def _kept_lines(text: str, bars: Sequence[PlacedBar], strings: int) -> tuple[KeptLine, ...]:
    """Put each line before the first bar whose rows end below it."""
    bottoms = [p.bar.line + p.lines_below + strings - 1 for p in bars]
    kept: list[KeptLine] = []
    first_key = _first_key_line(text)
    for number, line in lines_beside(text):
        before = 0 if number < first_key else bisect_left(bottoms, number) + 1
        kept.append(KeptLine(text=line, before_bar=before))
    return tuple(kept)


def _first_key_line(text: str) -> int:
    """Give the line of the first key, where the header begins."""
    beside = {number for number, _ in lines_beside(text)}
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    for number, line in enumerate(lines, start=1):
        if line.strip("\ufeff \t") and number not in beside:
            return number
    return len(lines) + 1
