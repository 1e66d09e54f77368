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
from riffract.analysis.saying import in_digits, say
from riffract.analysis.set_class import class_with_number
from riffract.analysis.spelling import pitch_spelled
from riffract.analysis.what.drone import OtherString
from riffract.analysis.wording import (
    ALL_BARS,
    bars_text,
    counted,
    in_bars_text,
    length_text,
    listed,
    percent,
    place_in_words,
    signed,
    times,
)
from riffract.music import Passage, Span

_WHERE: Final[Mapping[Position, str]] = MappingProxyType(
    {
        "below": "{who} {where}, below all that moves{heard}.",
        "middle": "{who} {where}, in the middle of the texture{heard}.",
        "above": "{who} {where}, above all that moves{heard}.",
        "crossing": (
            "{who} {where}, while the moving voice crosses it, now above, now below{heard}."
        ),
    }
)

_SHARES: Final[Mapping[str, str]] = MappingProxyType(
    {
        "between": "{share} between other notes",
        "lowest": "{share} lowest",
        "highest": "{share} highest",
        "alone": "{share} alone",
    }
)

_TURNS_SHOWN: Final = 3
"""Turns of one set class into another that are named, the longest-sounding first."""

_CROSSINGS_SHOWN: Final = 4
"""Places named where the voice changes sides; the others are counted, since a longer list of places
is not read."""

_LEAST_P: Final = 0.0001
"""The smallest chance that is told by its number."""

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
    # Of equally frequent colours the one heard first is named first.
    first = {c.semitones: k for k, c in reversed(list(enumerate(what.colours)))}
    most = sorted(what.totals, key=lambda t: (-t.count, first[t.semitones]))[:2]
    colours = listed([f"{colour_in_sentence(t.semitones)} ({times(t.count)})" for t in most], "or")
    heard = say("; the voice is most often {colours}", colours=colours) if most else ""
    return say(
        _WHERE[what.position],
        who=_who(what, name, measures),
        where=_where(passage, spans, measures),
        heard=heard,
    )


def _who(what: Drone, name: str, measures: Mapping[str, float]) -> str:
    if what.is_open:
        return say("The open {note} string", note=name)
    if is_pedal(measures):
        return say("A {note} on string {string}", note=name, string=what.string)
    return say("A {note} held on string {string}", note=name, string=what.string)


def _where(passage: Passage, spans: Sequence[Span], measures: Mapping[str, float]) -> str:
    bars = bars_text(passage, spans)
    if bars != say(ALL_BARS):
        where = in_bars_text(passage, spans)
        if is_pedal(measures):
            return say("is struck again and again {where}", where=where)
        return say("sounds on {where}", where=where)
    if is_pedal(measures):
        return say("is struck again and again through the whole passage")
    return say("sounds on through the whole passage")


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
        say(
            "The longest-held pitch of as many would be held as long with {chance}.",
            chance=_p_text(chance),
        ),
    ]
    return " ".join(part for part in parts if part)


def _p_text(p: float) -> str:
    """Write a chance without powers of ten, which its smallest values would need."""
    return f"p = {in_digits(f'{p:.2g}')}" if p >= _LEAST_P else f"p < {in_digits(str(_LEAST_P))}"


def _place(what: Drone, measures: Mapping[str, float], names: Mapping[int, str]) -> str:
    shares = ", ".join(
        say(_SHARES[where], share=percent(measures[f"{where}_share"])) for where in _SHARES
    )
    return say(
        "{pitch}, string {string}, {how}, struck {often}, at {share} of the attacks{pedal}; of its "
        "time {shares}; the moving voice is above it for {above} and below it for {below} of their "
        "time.",
        pitch=pitch_spelled(what.pitch, names),
        string=what.string,
        how=say("open") if what.is_open else say("stopped"),
        often=times(int(measures["strikes"])),
        share=percent(measures["struck_share"]),
        pedal=say(" (a pedal)") if is_pedal(measures) else "",
        shares=shares,
        above=percent(measures["voice_above_share"]),
        below=percent(measures["voice_below_share"]),
    )


def _crossings(passage: Passage, what: Drone) -> str:
    if not what.crossings:
        return ""
    shown = [place_in_words(passage.place(at)) for at in what.crossings[:_CROSSINGS_SHOWN]]
    more = len(what.crossings) - len(shown)
    return say(
        "The voice changes sides {often}, at {places}.",
        often=times(len(what.crossings)),
        places=listed([*shown, say("{count} more", count=more)] if more else shown),
    )


def _colours(what: Drone) -> str:
    series = ", ".join(
        f"{signed(t.semitones)} {colour_name(t.semitones)} {t.count}" for t in what.totals
    )
    return say("Colours, drone to voice: {series}.", series=series or say("none"))


def _additions(passage: Passage, what: Drone, measures: Mapping[str, float]) -> str:
    metre = passage.bars[0].metre
    only = counted(len(what.only_with_it), "interval class", "interval classes")
    named = [interval_name(n) for n in what.only_with_it]
    listing = f" ({', '.join(named)})" if named else ""
    turns = [
        say(
            "{without} into {together} for {length}",
            without=class_with_number(turn.without),
            together=class_with_number(turn.together),
            length=length_text(turn.quarters, metre),
        )
        for turn in what.turns[:_TURNS_SHOWN]
    ]
    parts = [
        say("Only with it sound {classes}.", classes=f"{only}{listing}"),
        say("It turns {turns}.", turns=listed(turns)) if turns else "",
        say(
            "Of the roughness {share} is its own (clean partials after Sethares; with the depth of "
            "the beats, after Vassilakis, {by_depth}).",
            share=percent(measures["rougher_share"]),
            by_depth=percent(measures["rougher_share_by_depth"]),
        ),
    ]
    return " ".join(part for part in parts if part)


def _strings(what: Drone, names: Mapping[int, str]) -> str:
    """Say why that string: where else the pitch lies, and which strings were free to ring."""
    own = say("It needs no finger") if what.is_open else say("A finger holds it all the while")
    elsewhere = [_elsewhere(other) for other in what.other_strings if other.fret is not None]
    also = say("no other string gives it")
    if elsewhere:
        also = say("it also lies at {places}", places=listed(elsewhere))
    free = [
        f"{other.string} ({names[(what.pitch + other.semitones) % 12]}, "
        f"{_above_or_below(other.semitones)})"
        for other in what.other_strings
        if not other.busy_share and other.semitones
    ]
    if not free:
        return f"{own}; {also}."
    open_too = say("Free to ring open as well: string {strings}.", strings=listed(free, "or"))
    return f"{own}; {also}. {open_too}"


def _above_or_below(semitones: int) -> str:
    name = with_article(semitones)
    if semitones > 0:
        return say("{interval} above", interval=name)
    return say("{interval} below", interval=name)


def _elsewhere(other: OtherString) -> str:
    place = {"fret": other.fret, "string": other.string}
    if other.busy_share < BUSY_SHARE:
        return say("fret {fret} of string {string}, which would take a finger", **place)
    return say(
        "fret {fret} of string {string}, which sounds something else for {share} of the time",
        **place,
        share=percent(other.busy_share),
    )
