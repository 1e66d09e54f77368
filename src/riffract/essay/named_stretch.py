"""Stretches of a passage as people name them: bars, `3-6`, or from beat to beat, `3:2-5:1`."""

import re
from fractions import Fraction
from typing import Final

from riffract.analysis.saying import say
from riffract.analysis.wording import place_in_words
from riffract.music import Passage, Span
from riffract.music.passage import Bar

_BEAT: Final = r"(?::(\d{1,5}(?:\.\d{1,6}|/[1-9]\d{0,3})?))?"
_STRETCH: Final = re.compile(rf"(\d{{1,5}}){_BEAT}(?:\s*[-–]\s*(\d{{1,5}}){_BEAT})?")


def stretch_named(text: str, passage: Passage) -> Span | None:
    """Read the name of a stretch.

    Definition: `3` is bar 3 as played, `3-6` bars 3 to 6 with all that they hold. A beat behind a
    colon is counted as `Passage.place` counts it: the stretch starts there, or ends where that beat
    starts; a last bar without a beat is taken to its end. Beats between beats are written `2.5` or
    `7/3`.

    Returns:
        The stretch; `None` if the passage has none of that name.

    >>> from tests.making import passage
    >>> four = passage([(45, 4), (47, 4), (48, 4)])
    >>> str(stretch_named("2:3-3:2", four))
    'Span(start_quarters=Fraction(6, 1), end_quarters=Fraction(9, 1))'
    >>> stretch_named("2-9", four) is None
    True
    """
    match = _STRETCH.fullmatch(text.strip())
    if match is None:
        return None
    first, first_beat, last, last_beat = match.groups()
    bars = [_bar(number, passage) for number in (first, last or first)]
    if bars[0] is None or bars[1] is None:
        return None
    start = _moment(bars[0], first_beat)
    end = _moment(bars[1], last_beat, is_end=True)
    return Span(start, end) if start is not None and end is not None and start < end else None


def stretch_name(span: Span, passage: Passage) -> str:
    """Name a stretch, so that `stretch_named` gives it again: by bars if it fills them.

    Raises:
        ValueError: if it goes beyond the passage.

    >>> from tests.making import passage
    >>> four = passage([(45, 4), (47, 4), (48, 4)])
    >>> [stretch_name(Span(Fraction(a), Fraction(b)), four) for a, b in ((4, 12), (4, 8), (5, 10))]
    ['2-3', '2', '2:2-3:3']
    """
    if not passage.span.start_quarters <= span.start_quarters < span.end_quarters:
        raise ValueError(f"a stretch lies in its passage, got {span}")
    first = passage.bar_at(span.start_quarters)
    last = next(bar for bar in reversed(passage.bars) if bar.start_quarters < span.end_quarters)
    starts = _beat(first, span.start_quarters)
    ends = "" if span.end_quarters >= last.span.end_quarters else _beat(last, span.end_quarters)
    if span.start_quarters == first.start_quarters:
        if first.number == last.number and not ends:
            return str(first.number)
        starts = ""
    return f"{first.number}{starts}-{last.number}{ends}"


def stretch_words(span: Span, passage: Passage) -> str:
    """Name a stretch in words.

    >>> from tests.making import passage
    >>> four = passage([(45, 4), (47, 4), (48, 4)])
    >>> [stretch_words(Span(Fraction(a), Fraction(b)), four) for a, b in ((4, 12), (4, 8), (5, 10))]
    ['bars 2 to 3', 'bar 2', 'bar 2, beat 2, up to bar 3, beat 3']
    """
    name = stretch_name(span, passage)
    first, _, last = name.partition("-")
    if ":" not in name:
        if not last:
            return say("bar {bar}", bar=first)
        return say("bars {first} to {last}", first=first, last=last)
    start = place_in_words(passage.place(span.start_quarters))
    if last.isdigit():
        return say("{start} to the end of bar {bar}", start=start, bar=last)
    end = place_in_words(passage.place(span.end_quarters))
    return say("{start}, up to {end}", start=start, end=end)


def _bar(number: str, passage: Passage) -> Bar | None:
    index = int(number) - 1
    return passage.bars[index] if 0 <= index < len(passage.bars) else None


def _missing_quarters(bar: Bar) -> Fraction:
    """What a pick-up bar lacks: its beats count as the end of a full bar."""
    if bar.number != 1:
        return Fraction(0)
    return max(bar.metre.length_quarters - bar.length_quarters, Fraction(0))


def _moment(bar: Bar, beat: str | None, *, is_end: bool = False) -> Fraction | None:
    if beat is None:
        return bar.span.end_quarters if is_end else bar.start_quarters
    unit = bar.metre.unit_quarters
    at = bar.start_quarters + (Fraction(beat) - 1) * unit - _missing_quarters(bar)
    # A stretch may end where its bar does: beat 5 of a bar in 4/4.
    is_inside = bar.span.holds(at) or (is_end and at == bar.span.end_quarters)
    return at if is_inside else None


def _beat(bar: Bar, at: Fraction) -> str:
    missing = _missing_quarters(bar)
    beat = (at - bar.start_quarters + missing) / bar.metre.unit_quarters + 1
    is_decimal = 100 % beat.denominator == 0
    return f":{float(beat):g}" if is_decimal else f":{beat}"
