"""The option `--span`: which bars of a passage are meant."""

import re
import sys
from typing import Final

from riffract.music import Passage

_BARS: Final = re.compile(r"(\d+)(?:\s*-\s*(\d+))?")


def bars_of(text: str, passage: Passage) -> tuple[int, int] | None:
    """Read bars as `3` or `3-6`; where they are not the passage's, say so and give `None`."""
    match = _BARS.fullmatch(text.strip())
    first, last = (int(match[1]), int(match[2] or match[1])) if match else (0, 0)
    most = passage.bars[-1].number
    if 1 <= first <= last <= most:
        return first, last
    print(
        f"--span: {text!r} does not name bars of this passage\n"
        f"  mend: write one bar or two with a dash, between 1 and {most}, as --span 1-{most}",
        file=sys.stderr,
    )
    return None
