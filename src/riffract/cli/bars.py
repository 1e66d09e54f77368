"""The option `--span`: which bars, or beats, of a passage are meant."""

import re
import sys
from typing import Final

from riffract.essay.named_stretch import stretch_named
from riffract.music import Passage, Span

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


def span_of(text: str, passage: Passage) -> Span | None:
    """Read bars as `bars_of` does, or a stretch from beat to beat as `3:2-5:1`.

    The stretch ends where the last beat that is named begins; a last bar without a beat is played
    to its end. Where this is not the passage's, say so and give `None`.
    """
    if ":" not in text:
        bars = bars_of(text, passage)
        return None if bars is None else stretch_named(f"{bars[0]}-{bars[1]}", passage)
    named = stretch_named(text, passage)
    if named is not None:
        return named
    most = passage.bars[-1].number
    print(
        f"--span: {text!r} does not name a stretch of this passage\n"
        f"  mend: write bar and beat of its start, a dash, and where it ends, in bars 1 to {most}, "
        "as --span 1:2-2:1",
        file=sys.stderr,
    )
    return None
