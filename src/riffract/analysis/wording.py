"""Plain words for numbers, lists and places."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from typing import Final

from riffract.analysis.saying import in_digits, language, say, say_count
from riffract.music import Metre, Passage, Span
from riffract.music.passage import Place, beat_text

ALL_BARS = "the whole passage"
NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")


NEARLY_ALL_SHARE: Final = Fraction(19, 20)
"""What fills so much of a passage is heard throughout."""


def in_words(number: int) -> str:
    """Write small numbers out.

    >>> in_words(3), in_words(12)
    ('three', '12')
    """
    return say(NUMBERS[number]) if 0 <= number < len(NUMBERS) else str(number)


def counted(number: int, one: str, many: str = "") -> str:
    """Write a number with its noun.

    >>> counted(1, "bar"), counted(4, "bar"), counted(2, "form of it", "forms of it")
    ('one bar', 'four bars', 'two forms of it')
    """
    several = many or one + "s"
    if f"{{number}} {several}" not in language().counted:
        return f"{_in_english(number)} {one if number == 1 else several}"
    return say_count(number, one, f"{{number}} {several}", number=in_words(number))


def _in_english(number: int) -> str:
    return NUMBERS[number] if 0 <= number < len(NUMBERS) else str(number)


def times(number: int) -> str:
    """Write how often.

    >>> times(1), times(2), times(11)
    ('once', 'twice', '11 times')
    """
    if number in {1, 2}:
        return say("once") if number == 1 else say("twice")
    if 0 <= number < len(NUMBERS):
        return say(f"{NUMBERS[number]} times")
    return say("{number} times", number=number)


def listed(items: Sequence[str], last: str = "and") -> str:
    """Join items as a sentence does.

    >>> listed(["A"]), listed(["A", "B", "C"])
    ('A', 'A, B and C')
    """
    if len(items) < 2:
        return "".join(items)
    return f"{', '.join(items[:-1])} {say(last)} {items[-1]}"


def percent(share: float) -> str:
    """Write a share, rounded to whole per cent; the extremes are kept for all and none.

    >>> percent(0.314), percent(0.999), percent(1.0)
    ('31 %', '99 %', '100 %')
    """
    whole = round(100 * share)
    if 0 < share < 1:
        whole = min(max(whole, 1), 99)
    return say("{number} %", number=whole)


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
        larger = in_digits(f"10^{abs(log10_odds):.1f}")
    else:
        larger = in_digits(f"{float(f'{10 ** abs(log10_odds):.2g}'):g}")
    if log10_odds >= 0:
        return say("{larger} to 1", larger=larger)
    return say("1 to {larger}", larger=larger)


def quarters_text(quarters: Fraction) -> str:
    """Write a length in quarter notes.

    >>> quarters_text(Fraction(1)), quarters_text(Fraction(5, 2)), quarters_text(Fraction(8, 3))
    ('1 quarter', '2.5 quarters', '2.67 quarters')
    """
    number = in_digits(f"{round(float(quarters), 2):g}")
    return (
        say("{number} quarter", number=number)
        if quarters == 1
        else say("{number} quarters", number=number)
    )


def length_text(quarters: Fraction, metre: Metre) -> str:
    """Write a length in the unit of its metre, or in the largest shorter note value that fits.

    >>> six, four = Metre(groups=(6,), unit=8), Metre(groups=(4,), unit=4)
    >>> length_text(Fraction(3), six), length_text(Fraction(3), four)
    ('6 eighths', '3 quarters')
    >>> length_text(Fraction(1, 4), six), length_text(Fraction(2, 5), four)
    ('1 sixteenth', '0.4 quarters')
    """
    value = note_value_for((quarters,), metre)
    return quarters_text(quarters) if value is None else value.counted_in(quarters)


MOST_COUNTED: Final = 16
"""Parts of a unit that a length is counted in, a bar of sixteenths: nobody hears 73 of anything."""


def heard_length_text(quarters: Fraction, metre: Metre) -> str:
    """Write how long something is to the ear: where it takes many small values, in whole units.

    >>> six, four = Metre(groups=(6,), unit=8), Metre(groups=(4,), unit=4)
    >>> heard_length_text(Fraction(73, 8), four), heard_length_text(Fraction(51, 4), six)
    ('about 9 quarters', 'about 26 eighths')
    >>> heard_length_text(Fraction(15, 4), four)
    '15 sixteenths'
    """
    value = note_value_for((quarters,), metre)
    unit = note_value_for((metre.unit_quarters,), metre)
    if value is None or unit is None or value.quarters >= unit.quarters:
        return length_text(quarters, metre)
    if quarters <= MOST_COUNTED * value.quarters:
        return value.counted_in(quarters)
    return say("about {length}", length=unit.counted_in(quarters))


@dataclass(frozen=True, slots=True)
class NoteValue:
    """A note value that lengths are counted in."""

    quarters: Fraction
    name: str

    def counted_in(self, quarters: Fraction) -> str:
        """Write a length that it measures, to the nearest one."""
        count = round(quarters / self.quarters)
        return say_count(count, f"{{count}} {self.name}", f"{{count}} {self.name}s")


NOTE_VALUES: Final = (
    NoteValue(Fraction(1), "quarter"),
    NoteValue(Fraction(1, 2), "eighth"),
    NoteValue(Fraction(1, 4), "sixteenth"),
    NoteValue(Fraction(1, 3), "triplet eighth"),
    NoteValue(Fraction(1, 6), "triplet sixteenth"),
    NoteValue(Fraction(1, 8), "thirty-second"),
)
"""Note values, those that are thought of first in front."""


def note_value_for(lengths: Iterable[Fraction], metre: Metre) -> NoteValue | None:
    """Choose the note value that measures some lengths: the metre's unit, else a shorter one.

    Returns:
        `None` if none measures them all.
    """
    lengths = tuple(lengths)
    fine = [value for value in NOTE_VALUES if value.quarters <= metre.unit_quarters]
    for value in fine:
        if all((length / value.quarters).denominator == 1 for length in lengths):
            return value
    return None


def place_in_words(place: Place) -> str:
    """Name a moment by bar and beat, as one names it in the language.

    >>> place_in_words(Place(bar=2, beat=Fraction(5, 2)))
    'bar 2, beat 2.5'
    """
    return say("bar {bar}, beat {beat}", bar=place.bar, beat=in_digits(beat_text(place.beat)))


FINEST_PART: Final = 4
"""Halves, thirds and quarters of a beat have a name when one counts along; finer parts have not."""


def heard_place_text(passage: Passage, quarters: Fraction) -> str:
    """Say where a moment lies, as one hears it: at a part of a beat, or just beside one.

    Definition: of a beat's parts down to a quarter each is named; what lies between is just before
    or just after the nearest beat or half beat.

    Returns:
        For instance `bar 2, beat 3.25`, or `bar 4, just after beat 1` for an eighth of a beat more.
    """
    place = passage.place(quarters)
    if place.beat.denominator <= FINEST_PART:
        return place_in_words(place)
    near = Fraction(round(2 * place.beat), 2)
    bar = passage.bar_at(quarters)
    if bar.start_quarters + (near - 1) * bar.metre.unit_quarters >= bar.span.end_quarters:
        return say("bar {bar}, just before its end", bar=place.bar)
    beat = in_digits(beat_text(near))
    if place.beat > near:
        return say("bar {bar}, just after beat {beat}", bar=place.bar, beat=beat)
    return say("bar {bar}, just before beat {beat}", bar=place.bar, beat=beat)


def axis_text(passage: Passage, quarters: Fraction) -> str:
    """Say where an axis stands; one that no beat meets stands halfway between two.

    Returns:
        For instance `bar 2, beat 3`, or `bar 4, halfway between beats 5 and 6`.
    """
    place = passage.place(quarters)
    if place.beat.denominator > FINEST_PART:
        return heard_place_text(passage, quarters)
    if place.beat.denominator != 2:
        return place_in_words(place)
    before = int(place.beat)
    bar = passage.bar_at(quarters)
    is_last = quarters + bar.metre.unit_quarters / 2 >= bar.span.end_quarters
    if is_last:
        return say(
            "bar {bar}, halfway between beat {beat} and the bar line", bar=place.bar, beat=before
        )
    return say(
        "bar {bar}, halfway between beats {beat} and {following}",
        bar=place.bar,
        beat=before,
        following=before + 1,
    )


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
    touched = _touched(passage, list(spans), most)
    if touched is None:
        return say(ALL_BARS)
    return say_count(touched[0], "bar {bars}", "bars {bars}", bars=touched[1])


def in_bars_text(passage: Passage, spans: Iterable[Span]) -> str:
    """Say in which bars something is found, as it stands within a sentence.

    Returns:
        For instance `in bar 3`, `in bars 1, 3 and 5–6`, `in the whole passage`.
    """
    touched = _touched(passage, list(spans), 4)
    if touched is None:
        return say("in the whole passage")
    return say_count(touched[0], "in bar {bars}", "in bars {bars}", bars=touched[1])


def where_text(passage: Passage, spans: Sequence[Span]) -> str:
    """Say where something is found, as a sentence starts with it.

    Returns:
        For instance `In bars 1–4`, `Throughout,` where one span fills nearly all, or
        `Four times, first in bar 1,` for several.
    """
    if len(spans) == 1:
        fills = _touched(passage, spans, 1) is None
        return say("Throughout,") if fills else capital(in_bars_text(passage, spans))
    first = passage.bar_at(spans[0].start_quarters).number
    return say("{often}, first in bar {bar},", often=capital(times(len(spans))), bar=first)


def capital(words: str) -> str:
    """Let words start a sentence.

    >>> capital("four times"), capital("")
    ('Four times', '')
    """
    return words[:1].upper() + words[1:]


def in_sentences(lines: Iterable[str]) -> str:
    """Join lines that stand under one another, for whoever hears them: each ends in a full stop.

    >>> in_sentences(["Music: A.", "Film: B", "Why?"])
    'Music: A. Film: B. Why?'
    """
    return " ".join(f"{one}." if one[-1:].isalnum() else one for one in lines if one)


def _touched(passage: Passage, spans: Sequence[Span], most: int) -> tuple[int, str] | None:
    """Count the bars that spans touch, and list their numbers; `None` if they fill nearly all."""
    touched = sorted({n for span in spans for n in _bar_numbers(passage, span)})
    if len(touched) == len(passage.bars) > 1 and _fill(passage, spans):
        return None
    breaks = [i + 1 for i, (a, b) in enumerate(pairwise(touched)) if b > a + 1]
    runs = [touched[a:b] for a, b in pairwise([0, *breaks, len(touched)])]
    named = [str(r[0]) if len(r) == 1 else f"{r[0]}–{r[-1]}" for r in runs[:most]]
    if len(runs) > most:
        named.append(say("{count} more places", count=len(runs) - most))
    return len(touched), listed(named)


def _fill(passage: Passage, spans: Iterable[Span]) -> bool:
    """Whether spans fill a passage but for a moment at its start and its end."""
    filled = sum((span.length_quarters for span in spans), Fraction(0))
    return bool(filled >= NEARLY_ALL_SHARE * passage.length_quarters)


def _bar_numbers(passage: Passage, span: Span) -> range:
    first = passage.bar_at(span.start_quarters).number
    last = passage.bar_at(span.end_quarters)
    ends_before = span.end_quarters <= last.start_quarters and last.number > first
    return range(first, last.number if ends_before else last.number + 1)
