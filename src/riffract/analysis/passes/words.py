"""The passes of a riff in words."""

from collections.abc import Sequence
from fractions import Fraction
from math import lcm
from typing import Final

from riffract.analysis.finding import Pass, Reading
from riffract.analysis.interval_name import moved_in_words
from riffract.analysis.passes.beginnings import replaced_beginning
from riffract.analysis.passes.endings import replaced_ending
from riffract.analysis.passes.other_readings import framing as framing_text
from riffract.analysis.passes.other_readings import rival_texts
from riffract.analysis.saying import in_digits, say, say_count
from riffract.analysis.wording import (
    counted,
    in_words,
    length_text,
    listed,
    place_in_words,
    signed,
    times,
)
from riffract.music import Passage

_ORDINALS: Final = (
    *("first{nth}", "second{nth}", "third{nth}", "fourth{nth}", "fifth{nth}", "sixth{nth}"),
    *("seventh{nth}", "eighth{nth}", "ninth{nth}", "tenth{nth}", "eleventh{nth}", "twelfth{nth}"),
)
"""The empty place tells the fourth time from the interval of a fourth, which is another word."""
_MOVES_SAID: Final = 3
"""Moved passes that a sentence names one by one; more of them read as a list."""
_WHERE: Final = {"tag": "before", "link": "between", "coda": "after"}
_CUT: Final = {"left": "its beginning is missing", "right": "its end is missing"}


def sentence_of(
    passage: Passage,
    best: Reading,
    *,
    of: str,
    riffs: int,
    neck_places: int,
    attacks: tuple[int, int],
) -> str:
    """Say in one plain sentence what comes back, how often, and whether it is the same.

    Args:
        passage: where it comes back.
        best: the reading told.
        of: what comes back: notes, their rhythm, or their pitches.
        riffs: how many riffs are told.
        neck_places: in how many places on the neck it is played.
        attacks: how many it has, and how many the row that it turns through; that is 0 if it turns
            through none.
    """
    bar = passage.place(best.passes[0].span.start_quarters).bar
    count = len(best.passes)
    if of != "notes":
        return _turning_sentence(bar, count, attacks, of=of) or _part_sentence(bar, count, of=of)
    played = say("{riff} is played {times}", riff=riff_in_words(bar, riffs), times=times(count))
    moved = sum(one.transposition != 0 for one in best.passes)
    if moved:
        played += f", {_moved_said(best.passes)}"
    changed = sum(bool(one.edits) or one.truncated != "none" for one in best.passes)
    if not changed:
        if moved:
            return f"{played}."
        same = say("{played}, each time the same", played=played)
        other = _other_said(best) if riffs == 1 else ""
        return f"{same}{_on_the_neck(neck_places)}{other}."
    last = best.passes[-1]
    if count > 2 and changed == 1 and last.truncated == "right" and not last.edits:
        return say("{played}; the last time it breaks off.", played=played)
    if moved:
        return say_count(
            changed,
            "{played}; one of them departs.",
            "{played}; {number} of them depart.",
            played=played,
            number=in_words(changed),
        )
    if count == 2:
        return say("{played}, and not quite the same.", played=played)
    if changed >= count - 1:
        return say("{played}, and no repeat is quite the same.", played=played)
    return say_count(
        changed,
        "{played}; one of them departs from it.",
        "{played}; {number} of them depart from it.",
        played=played,
        number=in_words(changed),
    )


def riff_in_words(bar: int, riffs: int) -> str:
    """Name a riff as a sentence starts with it: by its bar where there are several."""
    return say("The riff") if riffs == 1 else say("The riff of bar {bar}", bar=bar)


def _on_the_neck(places: int) -> str:
    if places < 2:
        return ""
    return say(", in {number} places on the neck", number=in_words(places))


def _part_sentence(bar: int, count: int, *, of: str) -> str:
    again = times(count - 1)
    if of == "rhythm":
        return say(
            "The rhythm of bar {bar} comes back {again} with other notes.", bar=bar, again=again
        )
    return say("The notes of bar {bar} come back {again} in another rhythm.", bar=bar, again=again)


def _turning_sentence(bar: int, count: int, attacks: tuple[int, int], *, of: str) -> str:
    own, other = map(in_words, attacks)
    if not attacks[1]:
        return ""
    again = times(count - 1)
    if of == "rhythm":
        return say(
            "The rhythm of {own} strokes from bar {bar} comes back {again}, while a row of {other} "
            "pitches turns through it.",
            own=own,
            bar=bar,
            again=again,
            other=other,
        )
    return say(
        "The row of {own} pitches from bar {bar} comes back {again}, turning through a rhythm of "
        "{other} strokes.",
        own=own,
        bar=bar,
        again=again,
        other=other,
    )


def _moved_said(passes: Sequence[Pass]) -> str:
    """Say which passes stand higher or lower than the riff, and by how much.

    Of many it is said how many stand elsewhere: to name them all would be a list.
    """
    moves = [one.transposition for one in passes if one.transposition]
    levels = list(dict.fromkeys(moves))
    count = say("each time")
    if len(moves) < len(passes):
        count = say_count(
            len(moves), "one of them", "{number} of them", number=in_words(len(moves))
        )
    is_few = len(moves) <= min(_MOVES_SAID, len(passes) - 1) and len(passes) <= len(_ORDINALS)
    if len(levels) == 1 and not is_few:
        return f"{count} {moved_in_words(levels[0])}"
    if is_few:
        return listed([f"{_which(passes, level)} {moved_in_words(level)}" for level in levels])
    ways = {move > 0 for move in moves}
    if len(ways) > 1:
        return say("{count} higher or lower", count=count)
    if ways.pop():
        return say("{count} higher", count=count)
    return say("{count} lower", count=count)


def _which(passes: Sequence[Pass], level: int) -> str:
    """Say which passes stand at a level: `the second and fourth`."""
    numbers = [k for k, one in enumerate(passes, start=1) if one.transposition == level]
    return say("the {ordinals}", ordinals=listed([say(_ORDINALS[n - 1], nth="") for n in numbers]))


def _other_said(best: Reading) -> str:
    """Say that there is more than the passes, and where."""
    roles = {other.role for other in best.other}
    where = [say(_WHERE[role]) for role in _WHERE if role in roles]
    return say(", with other music {where}", where=listed(where)) if where else ""


def detail_of(
    passage: Passage,
    readings: Sequence[Reading],
    *,
    of: str,
    plain_bits: float,
    full_bits: float,
    framing: int,
    riffs: int,
    attacks: tuple[int, int],
) -> str:
    """Say the same in numbers: the template, each departure, the metre, and the rivals."""
    best = readings[0]
    # Of several riffs, what comes before one may well be another.
    frames = framing_text(passage, best) if riffs == 1 else ()
    template = _template(
        passage,
        best,
        frame="".join(f", {part}" for part in frames if part),
        bits=f"{full_bits:.0f}",
        plain=f"{plain_bits:.0f}",
        turns=bool(attacks[1]),
    )
    parts = [template, *_meeting(attacks)]
    parts += [
        say(
            "Pass {number} at {place}: {departures}.",
            number=number,
            place=place_in_words(passage.place(one.span.start_quarters)),
            departures=_departures(one),
        )
        for number, one in enumerate(best.passes, start=1)
        if one.edits or one.truncated != "none" or one.transposition
    ]
    parts += _lengths(passage, best)
    # Pitches that come back in another rhythm last as long as that does.
    parts += _drift(passage, best) if of != "pitches" else []
    if framing:
        parts.append(
            say_count(
                framing,
                "It begins and ends with the same one attack.",
                "It begins and ends with the same {number} attacks.",
                number=in_words(framing),
            )
        )
    parts += [
        _rival(rival.bits - best.bits, text)
        for rival, text in zip(readings[1:], rival_texts(passage, readings), strict=True)
    ]
    return " ".join(parts)


def _rival(behind: float, text: str) -> str:
    bits = in_digits(f"{abs(behind):.1f}")
    if behind >= 0:
        return say("Rival, {bits} bits behind: {rival}.", bits=bits, rival=text)
    return say("Rival, {bits} bits ahead: {rival}.", bits=bits, rival=text)


def _template(passage: Passage, best: Reading, *, turns: bool, **told: str) -> str:
    """Say where the template stands, and what it saves; one of two rows is told by the riff."""
    told["start"] = place_in_words(passage.place(best.template.start_quarters))
    metre = passage.bar_at(best.template.start_quarters).metre
    told["length"] = length_text(best.template.length_quarters, metre)
    if turns:
        return say(
            "Template from {start}, {length} long{frame}; {bits} bits against {plain} by the whole "
            "riff.",
            **told,
        )
    return say(
        "Template from {start}, {length} long{frame}; {bits} bits against {plain} without it.",
        **told,
    )


def _meeting(attacks: tuple[int, int]) -> list[str]:
    """Say when a rhythm and a row of pitches that turn through one another meet again."""
    if not attacks[1]:
        return []
    own, other = attacks
    return [
        say(
            "{own} attacks turn through {other}: they meet again after {both}.",
            own=own,
            other=other,
            both=lcm(own, other),
        )
    ]


def _lengths(passage: Passage, best: Reading) -> list[str]:
    """Say how long each pass is, where whole ones differ in length."""
    metre = passage.bar_at(best.template.start_quarters).metre
    whole = [one.span.length_quarters for one in best.passes if one.truncated == "none"]
    if len(set(whole)) < 2:
        return []
    shortest, longest = (length_text(edge, metre) for edge in (min(whole), max(whole)))
    return [
        say("Whole passes last from {shortest} to {longest}.", shortest=shortest, longest=longest)
    ]


def drift_of(passage: Passage, best: Reading) -> tuple[int, Fraction] | None:
    """Tell when a riff meets the bar lines again.

    Returns:
        After how many passes, and after how many bars; `None` where the metre changes.
    """
    metres = {bar.metre for bar in passage.bars}
    if len(metres) != 1:
        return None
    in_bars = best.template.length_quarters / metres.pop().length_quarters
    return in_bars.denominator, Fraction(in_bars.numerator)


def _drift(passage: Passage, best: Reading) -> list[str]:
    """Say when a riff that does not fill whole bars meets the bar lines again."""
    drift = drift_of(passage, best)
    if drift is None or drift[0] == 1:
        return []
    metre = passage.bars[0].metre
    return [
        say(
            "Against {metre} it meets the bar lines again after {passes}, {bars}.",
            metre=metre.label(),
            passes=counted(drift[0], "pass", "passes"),
            bars=counted(int(drift[1]), "bar"),
        )
    ]


def _departures(one: Pass) -> str:
    moved = say("transposed by {semitones}", semitones=signed(one.transposition))
    beginning, ending = replaced_beginning(one), replaced_ending(one)
    count = len(one.edits) - len(ending) - len(beginning)
    parts = (
        moved if one.transposition else "",
        say_count(count, "{count} departure", "{count} departures") if count else "",
        say("its beginning is another one") if beginning else "",
        say("its ending is another one") if ending else "",
        say(_CUT[one.truncated]) if one.truncated in _CUT else "",
    )
    return ", ".join(part for part in parts if part)
