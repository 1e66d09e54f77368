"""The passage that is being written: the draft in memory, ahead of its text by a moment.

A key press is answered as soon as it stands in the journal as it was asked for; its text is written
down right after that, before anything else is asked of the essay's files.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from riffract.essay.draft import Clip, Draft, read_draft, write_draft
from riffract.formats.problem import Problem
from riffract.studio.notation.sent import SentSheets


@dataclass(frozen=True, slots=True, kw_only=True)
class Taken:
    """A draft that is not written down yet.

    Attributes:
        draft: as an edit left it.
        label: what was done, in words.
        joins: as in a step of the history.
    """

    draft: Draft
    label: str
    joins: str


@dataclass(slots=True)
class Writing:
    """What is known of the passage that is being written.

    Attributes:
        folder: of the essay.
        text: of the file, as the draft was read from it or is written to it.
        draft: the last one that could be read; `None` if there was none yet.
        problems: of the text as it stands; with an error the draft is an older one.
        ahead: what was done and is not written down yet, each one step.
        clip: what was copied last.
        sheets: how it was laid out lately, and what pages have of that.
        is_broken: whether the text as it stands cannot be read, so that the draft is an older one.
    """

    folder: Path | None = None
    text: str = ""
    draft: Draft | None = None
    problems: Sequence[Problem] = ()
    ahead: list[Taken] = field(default_factory=list)
    clip: Clip | None = None
    sheets: SentSheets = field(default_factory=SentSheets)
    is_broken: bool = False

    @property
    def is_behind(self) -> bool:
        """Whether the text is behind the draft."""
        return bool(self.ahead)

    def belong_to(self, folder: Path) -> None:
        """Begin anew if another essay has been opened; what was copied stays."""
        if folder != self.folder:
            self.folder, self.text, self.draft = folder, "", None
            self.problems, self.is_broken = (), False
            self.ahead.clear()
            self.sheets.forget()

    def follow(self, text: str) -> None:
        """Read the text anew if it is another one; what could not be read leaves the old draft."""
        if self.is_behind or (text == self.text and self.draft is not None):
            return
        read = read_draft(text)
        self.text = text
        self.problems = read.problems
        self.is_broken = read.draft is None
        if read.draft is not None:
            self.draft = read.draft

    def take(self, draft: Draft, label: str, joins: str) -> None:
        """Go on with another draft, to be written down presently."""
        self.draft = draft
        self.ahead.append(Taken(draft=draft, label=label, joins=joins))

    def written(self) -> Iterator[tuple[Taken, str]]:
        """Write down what is ahead, one after the other; give each with its text."""
        if not self.ahead:
            return
        while self.ahead:
            taken = self.ahead.pop(0)
            self.text = write_draft(taken.draft)
            yield taken, self.text
        self.problems = read_draft(self.text).problems
        self.is_broken = False
