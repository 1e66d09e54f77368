"""Where a passage lies in a recording."""

from riffract.sound.alignment.align import align
from riffract.sound.alignment.alignment import Alignment, Anchor, Checks, HeardAttack, Stretch

__all__ = ["Alignment", "Anchor", "Checks", "HeardAttack", "Stretch", "align"]
