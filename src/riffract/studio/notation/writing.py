"""The passage that is being written: the draft in memory, ahead of its text by one moment.

A key press is answered as soon as the draft has changed; its text is written down right after that,
before anything else is asked of the essay's files.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

from riffract.essay.draft import Clip, Draft, read_draft, write_draft
from riffract.formats.problem import Problem
from riffract.studio.notation.sheet import Remembered
from riffract.studio.problems import RefusedError


@dataclass(slots=True)
class Writing:
    """What is known of the passage that is being written.

    Attributes:
        folder: of the essay.
        text: of the file, as the draft was read from it or is written to it.
        draft: the last one that could be read; `None` if there was none yet.
        problems: of the text as it stands; with an error the draft is an older one.
        is_behind: whether the draft is not written down yet.
        label: what was done to it since, in words.
        joins: as in a step of the history.
        clip: what was copied last.
        laid_out: its bars as they were laid out last.
        is_broken: whether the text as it stands cannot be read, so that the draft is an older one.
    """

    folder: Path | None = None
    text: str = ""
    draft: Draft | None = None
    problems: Sequence[Problem] = ()
    is_behind: bool = False
    label: str = ""
    joins: str = ""
    clip: Clip | None = None
    laid_out: Remembered = field(default_factory=dict)
    is_broken: bool = False

    def belong_to(self, folder: Path) -> None:
        """Begin anew if another essay has been opened; what was copied stays."""
        if folder != self.folder:
            self.folder, self.text, self.draft = folder, "", None
            self.problems, self.is_broken = (), False
            self.laid_out = {}

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
        self.is_behind = True
        self.label = label
        self.joins = joins

    def written(self) -> str:
        """Write the draft down and give its text."""
        if self.draft is None:
            raise RefusedError("there is nothing to write down", mend="write a passage first")
        self.text = write_draft(self.draft)
        read = read_draft(self.text)
        self.problems = read.problems
        self.is_behind = False
        self.is_broken = False
        return self.text
