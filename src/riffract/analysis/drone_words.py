"""A drone in words: one sentence for a listener, and the terms of the field."""

from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import Final

from riffract.analysis.finding import Drone, Position
from riffract.analysis.interval_name import (
    colour_in_sentence,
    colour_name,
    interval_name,
    with_article,
)
from riffract.analysis.set_class import class_with_number
from riffract.analysis.spelling import pitch_spelled
from riffract.analysis.what.drone import OtherString
from riffract.analysis.wording import (
    bars_text,
    counted,
    length_text,
    listed,
    percent,
    signed,
    times,
)
from riffract.music import Passage, Span

_WHERE: Final[Mapping[Position, str]] = MappingProxyType(
    {
        "below": "below all that moves",
        "middle": "in the middle of the texture",
        "above": "above all that moves",
        "crossing": "while the moving voice crosses it, now above, now below",
    }
)

_TURNS_SHOWN: Final = 3
"""Turns of one set class into another that are named, the longest-sounding first."""

_CROSSINGS_SHOWN: Final = 4
"""Places named where the voice changes sides; the others are counted, since a longer list of places
is not read."""

BUSY_SHARE: Final = 0.25
"""A string that sounds something else for a quarter of the time was needed for that."""

PEDAL_SHARE: Final = 0.5
"""A string that every second attack strikes anew is heard by its strokes: a pedal. One that rings
is struck a few times a bar at most, a pedal with nearly every note."""


def drone_sentence(
    passage: Passage,
    what: Drone,
    spans: Sequence[Span],
    measures: Mapping[str, float],
    names: Mapping[int, str],
) -> str:
    """Say which string rings, or is struck again and again, where, and how it colours the voice.

    Args:
        passage: what is studied.
        what: the finding's answer.
        spans: where it rings.
        measures: the finding's numbers.
        names: the passage's spelling.
    """
    name = names[what.pitch % 12]
    held = "" if what.is_open or is_pedal(measures) else " held"
    who = f"The open {name} string" if what.is_open else f"A {name}{held} on string {what.string}"
    sounds = "is struck again and again" if is_pedal(measures) else "sounds on"
    where = bars_text(passage, spans)
    through = "through" if where == "the whole passage" else "in"
    # Of equally frequent colours the one heard first is named first.
    first = {c.semitones: k for k, c in reversed(list(enumerate(what.colours)))}
    most = sorted(what.totals, key=lambda t: (-t.count, first[t.semitones]))[:2]
    colours = listed([f"{colour_in_sentence(t.semitones)} ({times(t.count)})" for t in most], "or")
    heard = f"; the voice is most often {colours}" if most else ""
    return f"{who} {sounds} {through} {where}, {_WHERE[what.position]}{heard}."


def is_pedal(measures: Mapping[str, float]) -> bool:
    """Tell whether a held pitch is heard by its strokes, and not as one long sound."""
    return measures.get("struck_share", 0.0) >= PEDAL_SHARE


def drone_detail(
    passage: Passage, what: Drone, measures: Mapping[str, float], names: Mapping[int, str]
) -> str:
    """Give place, colours, what it adds, roughness, why that string, and its chance.

    Args:
        passage: what is studied.
        what: the finding's answer.
        measures: the finding's numbers.
        names: the passage's spelling.
    """
    chance = measures["chance_p"]
    parts = [
        _place(what, measures, names),
        _crossings(passage, what),
        _colours(what),
        _additions(passage, what, measures),
        _strings(what, names),
        f"The longest-held pitch of as many would be held as long with p = {chance:.2g}.",
    ]
    return " ".join(part for part in parts if part)


def _place(what: Drone, measures: Mapping[str, float], names: Mapping[int, str]) -> str:
    shares = ", ".join(
        f"{percent(measures[f'{where}_share'])} {words}"
        for where, words in (
            ("between", "between other notes"),
            ("lowest", "lowest"),
            ("highest", "highest"),
            ("alone", "alone"),
        )
    )
    return (
        f"{pitch_spelled(what.pitch, names)}, string {what.string}, "
        f"{'open' if what.is_open else 'stopped'}, struck {times(int(measures['strikes']))}, at "
        f"{percent(measures['struck_share'])} of the attacks"
        f"{' (a pedal)' if is_pedal(measures) else ''}; of "
        f"its time {shares}; the moving voice is above it for "
        f"{percent(measures['voice_above_share'])} and below it for "
        f"{percent(measures['voice_below_share'])} of their time."
    )


def _crossings(passage: Passage, what: Drone) -> str:
    if not what.crossings:
        return ""
    shown = [str(passage.place(at)) for at in what.crossings[:_CROSSINGS_SHOWN]]
    more = len(what.crossings) - len(shown)
    places = listed([*shown, f"{more} more"] if more else shown)
    return f"The voice changes sides {times(len(what.crossings))}, at {places}."


def _colours(what: Drone) -> str:
    series = ", ".join(
        f"{signed(t.semitones)} {colour_name(t.semitones)} {t.count}" for t in what.totals
    )
    return f"Colours, drone to voice: {series or 'none'}."


def _additions(passage: Passage, what: Drone, measures: Mapping[str, float]) -> str:
    metre = passage.bars[0].metre
    only = counted(len(what.only_with_it), "interval class", "interval classes")
    named = [interval_name(n) for n in what.only_with_it]
    listing = f" ({', '.join(named)})" if named else ""
    turns = [
        f"{class_with_number(turn.without)} into {class_with_number(turn.together)} for "
        f"{length_text(turn.quarters, metre)}"
        for turn in what.turns[:_TURNS_SHOWN]
    ]
    turned = f"It turns {listed(turns)}. " if turns else ""
    return (
        f"Only with it sound {only}{listing}. {turned}Of the roughness "
        f"{percent(measures['rougher_share'])} is its own (clean partials after Sethares; with "
        f"the depth of the beats, after Vassilakis, "
        f"{percent(measures['rougher_share_by_depth'])})."
    )


def _strings(what: Drone, names: Mapping[int, str]) -> str:
    """Say why that string: where else the pitch lies, and which strings were free to ring."""
    own = "It needs no finger" if what.is_open else "A finger holds it all the while"
    elsewhere = [
        f"fret {other.fret} of string {other.string}, which {_use(other)}"
        for other in what.other_strings
        if other.fret is not None
    ]
    also = f"it also lies at {listed(elsewhere)}" if elsewhere else "no other string gives it"
    free = [
        f"{other.string} ({names[(what.pitch + other.semitones) % 12]}, "
        f"{with_article(other.semitones)} {'above' if other.semitones > 0 else 'below'})"
        for other in what.other_strings
        if not other.busy_share and other.semitones
    ]
    open_too = f" Free to ring open as well: string {listed(free, 'or')}." if free else ""
    return f"{own}; {also}.{open_too}"


def _use(other: OtherString) -> str:
    if other.busy_share < BUSY_SHARE:
        return "would take a finger"
    return f"sounds something else for {percent(other.busy_share)} of the time"
