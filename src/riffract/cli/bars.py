"""The option `--span`: which bars, or beats, of a passage are meant."""

import re
import sys
from fractions import Fraction
from typing import Final

from riffract.music import Passage, Span
from riffract.music.passage import Bar

_BARS: Final = re.compile(r"(\d+)(?:\s*-\s*(\d+))?")
_BEATS: Final = re.compile(r"(\d+)(?::(\d+(?:\.\d+)?))?\s*-\s*(\d+)(?::(\d+(?:\.\d+)?))?")


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
    match = _BEATS.fullmatch(text.strip())
    if match is None or match[2] is match[4] is None:
        bars = bars_of(text, passage)
        return None if bars is None else _whole(passage, *bars)
    most = passage.bars[-1].number
    if max(int(match[1]), int(match[3])) <= most and min(int(match[1]), int(match[3])) >= 1:
        start = _moment(passage.bars[int(match[1]) - 1], match[2])
        end = _moment(passage.bars[int(match[3]) - 1], match[4], is_end=True)
        if start is not None and end is not None and start < end:
            return Span(start, end)
    print(
        f"--span: {text!r} does not name a stretch of this passage\n"
        f"  mend: write bar and beat of its start, a dash, and where it ends, in bars 1 to {most}, "
        "as --span 1:2-2:1",
        file=sys.stderr,
    )
    return None


def _whole(passage: Passage, first: int, last: int) -> Span:
    return Span(passage.bars[first - 1].start_quarters, passage.bars[last - 1].span.end_quarters)


def _moment(bar: Bar, beat: str | None, *, is_end: bool = False) -> Fraction | None:
    """Give the moment of a beat as `Passage.place` counts it; `None` outside its bar."""
    if beat is None:
        return bar.span.end_quarters if is_end else bar.start_quarters
    missing = Fraction(0)
    if bar.number == 1:
        missing = max(bar.metre.length_quarters - bar.length_quarters, Fraction(0))
    at = bar.start_quarters + (Fraction(beat) - 1) * bar.metre.unit_quarters - missing
    # A stretch may end where its bar does: beat 5 of a bar in 4/4.
    is_inside = bar.span.holds(at) or (is_end and at == bar.span.end_quarters)
    return at if is_inside else None
