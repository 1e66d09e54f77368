"""Places, times, excerpts and numbers in words, the same in captions, script and handout."""

from collections.abc import Sequence
from fractions import Fraction
from typing import Final

from riffract.analysis.finding import Pass
from riffract.analysis.saying import in_digits, language, say, say_count
from riffract.analysis.wording import listed
from riffract.essay.shots import Play
from riffract.music import Bar, Passage, Span
from riffract.music.passage import beat_text

SMALLEST_TOLD: Final = 1e-4
"""Of probabilities: a thousandth of what would be firm tells a reader nothing more."""

Fact = tuple[str, str]
"""A name and what is so named, both in words."""


def clock_text(seconds: float) -> str:
    """Write a moment of the film as minutes, seconds and tenths.

    >>> clock_text(74.26), clock_text(59.97)
    ('1:14.3', '1:00.0')
    """
    minutes, tenths = divmod(round(seconds * 10), 600)
    return f"{minutes}:{tenths // 10:02d}.{tenths % 10}"


def duration_text(seconds: float) -> str:
    """Write how long something lasts, to the second.

    >>> duration_text(9.4), duration_text(60.0), duration_text(74.6)
    ('9 s', '1 min', '1 min 15 s')
    """
    minutes, rest = divmod(round(seconds), 60)
    parts = [f"{minutes} min"] * bool(minutes) + [f"{rest} s"] * bool(rest or not minutes)
    return " ".join(parts)


def place_text(passage: Passage, quarters: Fraction) -> str:
    """Name a moment by bar and beat, in the essay's language."""
    place = passage.place(quarters)
    return say("bar {bar}, beat {beat}", bar=place.bar, beat=in_digits(beat_text(place.beat)))


def span_text(passage: Passage, span: Span) -> str:
    """Say where a span stands: whole bars by number, anything else by bar and beat.

    The end is the moment at which it stops, so `up to beat 3` leaves the third beat out.
    """
    first = passage.bar_at(span.start_quarters)
    last = _last_bar(passage, span)
    starts_bar = span.start_quarters == first.start_quarters
    ends_bar = span.end_quarters == last.span.end_quarters
    if starts_bar and ends_bar:
        if first is last:
            return say("bar {bar}", bar=first.number)
        return say("bars {first} to {last}", first=first.number, last=last.number)
    start = place_text(passage, span.start_quarters)
    if span.length_quarters == 0:
        return start
    if ends_bar:
        if first is last:
            return say("{start} to its end", start=start)
        return say("{start} to the end of bar {bar}", start=start, bar=last.number)
    end_beat = in_digits(beat_text(_beat(passage, last, span.end_quarters)))
    if first is last:
        return say("{start}, up to beat {beat}", start=start, beat=end_beat)
    return say("{start}, up to bar {bar}, beat {beat}", start=start, bar=last.number, beat=end_beat)


def spans_text(passage: Passage, spans: Sequence[Span], *, most: int = 3) -> str:
    """Say where several spans stand; the ones beyond `most` are only counted.

    Returns:
        The places by semicolons; `nowhere in particular` without spans.
    """
    if not spans:
        return say("nowhere in particular")
    places = [span_text(passage, span) for span in spans[:most]]
    more = len(spans) - most
    if more > 0:
        places.append(say_count(more, "and {count} more place", "and {count} more places"))
    return "; ".join(places)


def play_text(passage: Passage, play: Play) -> str:
    """Say what an excerpt plays: its place, its speed if changed, its strings if not all."""
    parts = [span_text(passage, play.span)]
    if play.speed != 1.0:
        share = f"{play.speed * 100:.0f}"
        half = play.speed == 0.5
        parts.append(say("half speed") if half else say("{percent} % speed", percent=share))
    if play.strings is not None:
        parts.append(say("{strings} alone", strings=strings_text(play.strings)))
    return ", ".join(parts)


def strings_text(strings: Sequence[int]) -> str:
    """Name strings by number.

    >>> strings_text((4,)), strings_text((5, 4)), strings_text((3, 4, 7))
    ('string 4', 'strings 4 and 5', 'strings 3, 4 and 7')
    """
    numbers = [str(string) for string in sorted(strings)]
    return say_count(len(numbers), "string {numbers}", "strings {numbers}", numbers=listed(numbers))


def number_text(value: float) -> str:
    """Write a number to three significant digits, whole numbers whole.

    >>> number_text(0.019801), number_text(6.0), number_text(-23 / 3.5), number_text(31125.4)
    ('0.0198', '6', '−6.57', '31125')
    """
    text = f"{value:.0f}" if abs(value) >= 1000 or value == int(value) else f"{value:.3g}"
    return text.replace("-", "−").replace(".", language().decimal_sign)


def probability_text(probability: float) -> str:
    """Write a probability; what is tiny is not told to the digit.

    >>> probability_text(0.019801), probability_text(1e-12)
    ('0.0198', 'less than 0.0001')
    """
    if probability >= SMALLEST_TOLD:
        return number_text(probability)
    return say("less than {limit}", limit=number_text(SMALLEST_TOLD))


def semitones_text(value: int) -> str:
    """Write a distance.

    >>> semitones_text(1), semitones_text(-3)
    ('1 semitone', '−3 semitones')
    """
    return say_count(
        abs(value), "{signed} semitone", "{signed} semitones", signed=number_text(value)
    )


def heard_places(places: Sequence[Fraction], heard: Sequence[Span]) -> Sequence[Fraction]:
    """Keep the places that are heard; all if none is."""
    return [at for at in places if any(span.holds(at) for span in heard)] or places


def _last_bar(passage: Passage, span: Span) -> Bar:
    """Give the bar in which a span stops: the one before a bar line that it stops at."""
    bar = passage.bar_at(span.end_quarters)
    first = passage.bars[0].number
    if span.end_quarters == bar.start_quarters and bar.number > first and span.length_quarters > 0:
        return passage.bars[bar.number - first - 1]
    return bar


def _beat(passage: Passage, bar: Bar, quarters: Fraction) -> Fraction:
    return passage.place(quarters).beat if passage.bar_at(quarters) is bar else Fraction(1)


def missing_part(one: Pass) -> str:
    """Say which part of the riff a pass lacks; nothing if it is whole."""
    match one.truncated:
        case "left":
            return say("its beginning is missing")
        case "right":
            return say("its end is missing")
        case "none":
            return ""
