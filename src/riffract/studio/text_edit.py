"""The difference of two texts as one replaced stretch, which can be taken back."""

from collections.abc import Sequence
from typing import TypeVar

import msgspec

Member = TypeVar("Member")


class TextEdit(msgspec.Struct, frozen=True, array_like=True):
    """One stretch of a text that becomes another.

    Attributes:
        at: where it starts, in characters.
        removed, inserted: what stood there, and what stands there now.
    """

    at: int
    removed: str
    inserted: str

    def apply(self, text: str) -> str:
        """Change a text.

        Raises:
            ValueError: if the stretch is not what the text has there.

        >>> TextEdit(4, "5", "7").apply("E |-5-|")
        'E |-7-|'
        """
        end = self.at + len(self.removed)
        if text[self.at : end] != self.removed:
            raise ValueError(f"the text has {text[self.at : end]!r} where {self.removed!r} was")
        return text[: self.at] + self.inserted + text[end:]

    def taken_back(self) -> "TextEdit":
        """Give the edit that undoes this one."""
        return TextEdit(self.at, self.inserted, self.removed)


def edit_between(before: str, after: str) -> TextEdit:
    """Find the shortest single stretch whose replacement turns one text into another.

    >>> edit_between("E |-5-|", "E |-57-|")
    TextEdit(at=5, removed='', inserted='7')
    """
    start = common_start(before, after)
    longest_tail = min(len(before), len(after)) - start
    tail = min(common_start(before[::-1], after[::-1]), longest_tail)
    return TextEdit(start, before[start : len(before) - tail], after[start : len(after) - tail])


def common_start(one: Sequence[object], other: Sequence[object]) -> int:
    """Tell how many members two sequences have in common from their start on."""
    for index, (a, b) in enumerate(zip(one, other, strict=False)):
        if a != b:
            return index
    return min(len(one), len(other))


def brought_together(
    base: Sequence[Member], here: Sequence[Member], there: Sequence[Member]
) -> list[Member] | None:
    """Bring together what two made of one row of things; `None` if they changed the same ones.

    >>> brought_together(["a", "b", "c"], ["A", "b", "c"], ["a", "b", "C", "d"])
    ['A', 'b', 'C', 'd']
    >>> brought_together(["a"], ["b"], ["c"]) is None
    True
    """
    old, ours, theirs = list(base), list(here), list(there)
    if ours in (old, theirs):
        return theirs
    if theirs == old:
        return ours
    (a, b), (c, d) = _changed(old, ours), _changed(old, theirs)
    if b < c:
        return [*ours[: len(ours) - (len(old) - b)], *old[b:c], *theirs[c:]]
    if d < a:
        return [*theirs[: len(theirs) - (len(old) - d)], *old[d:a], *ours[a:]]
    return None


def _changed(old: list[Member], new: list[Member]) -> tuple[int, int]:
    """Give the stretch of old members outside of which two rows agree."""
    start = common_start(old, new)
    tail = min(common_start(old[::-1], new[::-1]), len(old) - start, len(new) - start)
    return start, len(old) - tail
