"""Plain words for numbers, lists and places."""

from collections.abc import Iterable, Sequence
from fractions import Fraction
from itertools import pairwise
from typing import Final

from riffract.music import Passage, Span

_ALL_BARS = "the whole passage"
_NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")


NEARLY_ALL_SHARE: Final = Fraction(19, 20)
"""What fills so much of a passage is heard throughout."""


def in_words(number: int) -> str:
    """Write small numbers out.

    >>> in_words(3), in_words(12)
    ('three', '12')
    """
    return _NUMBERS[number] if 0 <= number < len(_NUMBERS) else str(number)


def counted(number: int, one: str, many: str = "") -> str:
    """Write a number with its noun.

    >>> counted(1, "bar"), counted(4, "bar"), counted(2, "form of it", "forms of it")
    ('one bar', 'four bars', 'two forms of it')
    """
    return f"{in_words(number)} {one if number == 1 else many or one + 's'}"


def times(number: int) -> str:
    """Write how often.

    >>> times(1), times(2), times(11)
    ('once', 'twice', '11 times')
    """
    return {1: "once", 2: "twice"}.get(number, f"{in_words(number)} times")


def listed(items: Sequence[str], last: str = "and") -> str:
    """Join items as a sentence does.

    >>> listed(["A"]), listed(["A", "B", "C"])
    ('A', 'A, B and C')
    """
    if len(items) < 2:
        return "".join(items)
    return f"{', '.join(items[:-1])} {last} {items[-1]}"


def percent(share: float) -> str:
    """Write a share, rounded to whole per cent; the extremes are kept for all and none.

    >>> percent(0.314), percent(0.999), percent(1.0)
    ('31 %', '99 %', '100 %')
    """
    whole = round(100 * share)
    if 0 < share < 1:
        whole = min(max(whole, 1), 99)
    return f"{whole} %"


def signed(semitones: int) -> str:
    """Write a number with its sign, the minus as printed in books.

    >>> signed(-7), signed(0), signed(2)
    ('−7', '0', '+2')
    """
    return f"{semitones:+d}".replace("-", "−") if semitones else "0"


def odds_text(log10_odds: float) -> str:
    """Write a Bayes factor as odds, two digits of it.

    >>> odds_text(2.744), odds_text(-0.48), odds_text(9.2)
    ('550 to 1', '1 to 3', '10^9.2 to 1')
    """
    if abs(log10_odds) >= 6:
        larger = f"10^{abs(log10_odds):.1f}"
    else:
        larger = f"{float(f'{10 ** abs(log10_odds):.2g}'):g}"
    return f"{larger} to 1" if log10_odds >= 0 else f"1 to {larger}"


def quarters_text(quarters: Fraction) -> str:
    """Write a length in quarter notes.

    >>> quarters_text(Fraction(1)), quarters_text(Fraction(5, 2)), quarters_text(Fraction(8, 3))
    ('1 quarter', '2.5 quarters', '2.67 quarters')
    """
    return f"{round(float(quarters), 2):g} quarter{'' if quarters == 1 else 's'}"


def bars_text(passage: Passage, spans: Iterable[Span], *, most: int = 4) -> str:
    """Name the bars that some spans touch, as a sentence has them.

    Args:
        passage: whose bars.
        spans: in order of time.
        most: how many separate stretches of bars are named before the rest is summed up.

    Returns:
        For instance `bar 3`, `bars 1–4`, `bars 1, 3 and 5–6`; `the whole passage` where the spans
        fill nearly all of several bars.
    """
    spans = list(spans)
    touched = sorted({n for span in spans for n in _bar_numbers(passage, span)})
    if len(touched) == len(passage.bars) > 1 and _fill(passage, spans):
        return _ALL_BARS
    breaks = [i + 1 for i, (a, b) in enumerate(pairwise(touched)) if b > a + 1]
    runs = [touched[a:b] for a, b in pairwise([0, *breaks, len(touched)])]
    named = [str(r[0]) if len(r) == 1 else f"{r[0]}–{r[-1]}" for r in runs[:most]]
    if len(runs) > most:
        named.append(f"{len(runs) - most} more places")
    return f"{'bar' if len(touched) == 1 else 'bars'} {listed(named)}"


def where_text(passage: Passage, spans: Sequence[Span]) -> str:
    """Say where something is found, as a sentence starts with it.

    Returns:
        For instance `In bars 1–4`, `Throughout,` where one span fills nearly all, or
        `Four times, first in bar 1,` for several.
    """
    bars = bars_text(passage, spans)
    if len(spans) == 1:
        return "Throughout," if bars == _ALL_BARS else f"In {bars}"
    often = times(len(spans))
    first = passage.bar_at(spans[0].start_quarters).number
    return f"{often[0].upper()}{often[1:]}, first in bar {first},"


def _fill(passage: Passage, spans: Iterable[Span]) -> bool:
    """Whether spans fill a passage but for a moment at its start and its end."""
    filled = sum((span.length_quarters for span in spans), Fraction(0))
    return bool(filled >= NEARLY_ALL_SHARE * passage.length_quarters)


def _bar_numbers(passage: Passage, span: Span) -> range:
    first = passage.bar_at(span.start_quarters).number
    last = passage.bar_at(span.end_quarters)
    ends_before = span.end_quarters <= last.start_quarters and last.number > first
    return range(first, last.number if ends_before else last.number + 1)
