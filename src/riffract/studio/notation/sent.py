"""What pages have of the passage already, so that a key sends them one bar of many."""

from collections import OrderedDict
from dataclasses import dataclass, field
from time import time_ns
from typing import Final

import msgspec

from riffract.essay.draft import Draft
from riffract.studio.notation.sheet import BarSeen, Frame, Remembered, Sheet, sheet

SHEETS_KEPT: Final = 32
"""Ours: a few pages, each some keys behind; who is further behind is sent all of it."""


class SheetSent(msgspec.Struct, frozen=True, kw_only=True):
    """A sheet as far as a page does not have it.

    Attributes:
        number: of the sheet, for what is asked next.
        since: the sheet that the page has and that the rest is left out from; 0 for none.
        frame: what the bars share.
        count: how many bars there are.
        bars: those that are others than in `since`, by index from 0.
        firsts: the row of the first note of each bar.
        pictures: SVG elements by key, of bars that `since` has no picture of.
    """

    number: int
    since: int
    frame: Frame
    count: int
    bars: dict[int, BarSeen]
    firsts: tuple[int, ...]
    pictures: dict[str, str]


@dataclass(slots=True)
class SentSheets:
    """The sheets that were sent lately, by number, each with its look and draft.

    Numbers begin at the time of day, so that a page which has outlived the app that it was loaded
    from has no number of this one's.
    """

    remembered: Remembered = field(default_factory=Remembered)
    _sent: OrderedDict[int, tuple[str, Draft, Sheet]] = field(default_factory=OrderedDict)
    _number: int = field(default_factory=lambda: time_ns() // 1_000_000)

    def forget(self) -> None:
        """Begin anew with another passage; numbers go on, so that none means two sheets."""
        self.remembered = Remembered()
        self._sent.clear()

    def to_send(self, draft: Draft, look: str, has: int) -> SheetSent:
        """Lay a draft out and give what a page needs of it.

        Args:
            draft: what is written.
            look: the colours, `dark` or `paper`.
            has: the number of the sheet that the page has; 0 for none.
        """
        number = self._number_of(draft, look)
        _, _, now = self._sent[number]
        before = self._sent[has][2] if has in self._sent else None
        known = () if before is None else before.bars
        drawn = {} if before is None else before.pictures
        bars = {i: bar for i, bar in enumerate(now.bars) if i >= len(known) or bar != known[i]}
        return SheetSent(
            number=number,
            since=0 if before is None else has,
            frame=now.frame,
            count=len(now.bars),
            bars=bars,
            firsts=now.firsts,
            pictures={
                bar.key: now.pictures[bar.key] for bar in bars.values() if bar.key not in drawn
            },
        )

    def _number_of(self, draft: Draft, look: str) -> int:
        """Give the number of a draft's sheet; it is laid out unless it is among the last."""
        for number, (shown_in, of, _) in reversed(self._sent.items()):
            if of is draft and shown_in == look:
                return number
        self._number += 1
        self._sent[self._number] = (look, draft, sheet(draft, look, self.remembered))
        while len(self._sent) > SHEETS_KEPT:
            self._sent.popitem(last=False)
        return self._number
