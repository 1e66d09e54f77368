"""What was changed, step by step: undo and redo over all files of an essay at once."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field, replace
from types import MappingProxyType
from typing import Final

import msgspec

from riffract.studio.text_edit import TextEdit, edit_between

Texts = Mapping[str, str]
"""The text of each file by its name; a file that is not there has none."""

NOTHING: Final[Texts] = MappingProxyType({})


class Step(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True):
    """One change that undo takes back.

    Attributes:
        label: what was done, in words: `fret 5 on string 3, bar 2, beat 1`.
        edits: what became of the text of each file.
        made: files that the step made; they are gone when it is taken back.
        gone: files that the step took away; they are back when it is taken back.
        joins: steps in a row with the same word here, made within a moment, are undone together.
        at: when, in seconds since the epoch.
        desk: where it was done, so that undo can show it.
    """

    label: str
    edits: dict[str, TextEdit]
    made: tuple[str, ...] = ()
    gone: tuple[str, ...] = ()
    joins: str = ""
    at: float = 0.0
    desk: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class History:
    """The files as they are, and the steps that led there.

    Attributes:
        texts: the files now.
        steps: what was done, the oldest first; those from `done` on were undone.
        done: how many steps hold.
    """

    texts: Texts = field(default_factory=lambda: NOTHING)
    steps: tuple[Step, ...] = ()
    done: int = 0

    @property
    def can_undo(self) -> bool:
        """Whether a step can be taken back."""
        return self.done > 0

    @property
    def can_redo(self) -> bool:
        """Whether a step that was taken back can be done again."""
        return self.done < len(self.steps)

    def changed(self, step: Step) -> "History":
        """Do a step; those that were undone before it are forgotten."""
        return History(
            texts=_applied(self.texts, step),
            steps=(*self.steps[: self.done], step),
            done=self.done + 1,
        )

    def undone(self) -> "History":
        """Take back the last step that holds, and those that it joins; itself if there is none."""
        goal = max(self.done - 1, 0)
        while goal > 0 and _belong(self.steps[goal - 1], self.steps[goal]):
            goal -= 1
        return self.holding(goal)

    def redone(self) -> "History":
        """Do the next step again, and those that join it; itself if there is none."""
        goal = min(self.done + 1, len(self.steps))
        while 0 < goal < len(self.steps) and _belong(self.steps[goal - 1], self.steps[goal]):
            goal += 1
        return self.holding(goal)

    def holding(self, done: int) -> "History":
        """Take back or do again until so many steps hold.

        Raises:
            ValueError: if there are not so many steps.
        """
        if not 0 <= done <= len(self.steps):
            raise ValueError(f"the history has {len(self.steps)} steps, not {done}")
        texts = self.texts
        for step in reversed(self.steps[done : self.done]):
            texts = _taken_back(texts, step)
        for step in self.steps[self.done : done]:
            texts = _applied(texts, step)
        return replace(self, texts=texts, done=done)

    def shortened(self, most: int) -> "History":
        """Forget the oldest steps, so that no more than `most` can be taken back."""
        drop = max(self.done - most, 0)
        return replace(self, steps=self.steps[drop:], done=self.done - drop)

    def base(self) -> Texts:
        """Give the files as they were before the oldest step."""
        return self.holding(0).texts


JOINED_WITHIN_SECONDS: Final = 1.5
"""Ours: digits of one fret, letters of one word; a pause is where a person would undo to."""


def step_between(
    before: Texts,
    after: Texts,
    *,
    label: str,
    at: float,
    gone: Collection[str] = (),
    joins: str = "",
    desk: str = "",
) -> Step | None:
    """Describe what turns some files into others; `None` if nothing does.

    Args:
        before: all files.
        after: those that change, whole.
        label: as in `Step`.
        at: as in `Step`.
        gone: names of files that are there before and not after.
        joins: as in `Step`.
        desk: as in `Step`.
    """
    edits = {
        name: edit_between(before.get(name, ""), text)
        for name, text in after.items()
        if before.get(name) != text
    }
    lost = tuple(sorted(name for name in gone if name in before))
    edits |= {name: edit_between(before[name], "") for name in lost}
    if not edits:
        return None
    made = tuple(name for name in edits if name not in before)
    return Step(label=label, edits=edits, made=made, gone=lost, joins=joins, at=at, desk=desk)


def _belong(earlier: Step, later: Step) -> bool:
    """Whether two steps in a row are one to whoever made them."""
    return (
        bool(later.joins)
        and earlier.joins == later.joins
        and later.at - earlier.at <= JOINED_WITHIN_SECONDS
    )


def _applied(texts: Texts, step: Step) -> Texts:
    new = {name: edit.apply(texts.get(name, "")) for name, edit in step.edits.items()}
    return _without({**texts, **new}, step.gone)


def _taken_back(texts: Texts, step: Step) -> Texts:
    old = {name: e.taken_back().apply(texts.get(name, "")) for name, e in step.edits.items()}
    return _without({**texts, **old}, step.made)


def _without(texts: Texts, names: Collection[str]) -> Texts:
    return MappingProxyType({name: text for name, text in texts.items() if name not in names})
