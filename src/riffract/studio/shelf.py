"""Sounds made lately, so that playing something again does not make it again."""

from collections import OrderedDict
from dataclasses import dataclass, field
from typing import Final

from riffract.studio.listening import Heard

MOST_KEPT: Final = 12
"""A minute of sound takes 11 MB."""


@dataclass(slots=True)
class Shelf:
    """Sounds made lately, by a name that tells one essay, text and wish from another."""

    kept: OrderedDict[str, Heard] = field(default_factory=OrderedDict)

    def put(self, name: str, heard: Heard) -> None:
        """Keep a sound; the one that was not asked for longest goes."""
        self.kept[name] = heard
        while len(self.kept) > MOST_KEPT:
            self.kept.popitem(last=False)

    def get(self, name: str) -> Heard | None:
        """Give a sound."""
        if name in self.kept:
            self.kept.move_to_end(name)
        return self.kept.get(name)
