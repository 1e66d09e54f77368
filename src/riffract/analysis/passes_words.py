"""The passes of a riff in words."""

from collections.abc import Sequence
from fractions import Fraction
from math import lcm
from typing import Final

from riffract.analysis.beginnings import replaced_beginning
from riffract.analysis.endings import replaced_ending
from riffract.analysis.finding import Pass, Reading
from riffract.analysis.interval_name import with_article
from riffract.analysis.other_readings import framing as framing_text
from riffract.analysis.other_readings import rival_texts
from riffract.analysis.wording import counted, in_words, length_text, listed, signed, times
from riffract.music import Passage

_ORDINALS: Final = (
    *("first", "second", "third", "fourth", "fifth", "sixth"),
    *("seventh", "eighth", "ninth", "tenth", "eleventh", "twelfth"),
)
_MOVES_SAID: Final = 3
"""Moved passes that a sentence names one by one; more of them read as a list."""
_WHERE: Final = {"tag": "before", "link": "between", "coda": "after"}


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
    riff = "The riff" if riffs == 1 else f"The riff of bar {bar}"
    played = f"{riff} is played {times(count)}"
    moved = sum(one.transposition != 0 for one in best.passes)
    if moved:
        played += f", {_moved_said(best.passes)}"
    changed = sum(bool(one.edits) or one.truncated != "none" for one in best.passes)
    if not changed:
        if moved:
            return f"{played}."
        where = f", in {in_words(neck_places)} places on the neck" if neck_places > 1 else ""
        return f"{played}, each time the same{where}{_other_said(best) if riffs == 1 else ''}."
    last = best.passes[-1]
    if count > 2 and changed == 1 and last.truncated == "right" and not last.edits:
        return f"{played}; the last time it breaks off."
    if moved:
        return f"{played}; {_departing(changed)}."
    if count == 2:
        return f"{played}, and not quite the same."
    if changed >= count - 1:
        return f"{played}, and no repeat is quite the same."
    return f"{played}; {_departing(changed)} from it."


def _departing(changed: int) -> str:
    return f"{in_words(changed)} of them {'departs' if changed == 1 else 'depart'}"


def _part_sentence(bar: int, count: int, *, of: str) -> str:
    again = times(count - 1)
    if of == "rhythm":
        return f"The rhythm of bar {bar} comes back {again} with other notes."
    return f"The notes of bar {bar} come back {again} in another rhythm."


def _turning_sentence(bar: int, count: int, attacks: tuple[int, int], *, of: str) -> str:
    own, other = map(in_words, attacks)
    if not attacks[1]:
        return ""
    again = times(count - 1)
    if of == "rhythm":
        return (
            f"The rhythm of {own} strokes from bar {bar} comes back {again}, while a row of "
            f"{other} pitches turns through it."
        )
    return (
        f"The row of {own} pitches from bar {bar} comes back {again}, turning through a rhythm of "
        f"{other} strokes."
    )


def _moved_said(passes: Sequence[Pass]) -> str:
    """Say which passes stand higher or lower than the riff, and by how much.

    Of many it is said how many stand elsewhere: to name them all would be a list.
    """
    moves = [one.transposition for one in passes if one.transposition]
    levels = list(dict.fromkeys(moves))
    count = f"{in_words(len(moves))} of them" if len(moves) < len(passes) else "each time"
    is_few = len(moves) <= min(_MOVES_SAID, len(passes) - 1) and len(passes) <= len(_ORDINALS)
    if len(levels) == 1 and not is_few:
        return f"{count} {_level(levels[0])}"
    if is_few:
        return listed([f"{_which(passes, level)} {_level(level)}" for level in levels])
    ways = {_way(move) for move in moves}
    return f"{count} {ways.pop() if len(ways) == 1 else 'higher or lower'}"


def _which(passes: Sequence[Pass], level: int) -> str:
    """Say which passes stand at a level: `the second and fourth`."""
    numbers = [k for k, one in enumerate(passes, start=1) if one.transposition == level]
    return f"the {listed([_ORDINALS[number - 1] for number in numbers])}"


def _level(semitones: int) -> str:
    return f"{with_article(abs(semitones))} {_way(semitones)}"


def _way(semitones: int) -> str:
    return "higher" if semitones > 0 else "lower"


def _other_said(best: Reading) -> str:
    """Say that there is more than the passes, and where."""
    roles = {other.role for other in best.other}
    where = [word for role, word in _WHERE.items() if role in roles]
    return f", with other music {listed(where)}" if where else ""


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
    start = passage.place(best.template.start_quarters)
    metre = passage.bar_at(best.template.start_quarters).metre
    length = length_text(best.template.length_quarters, metre)
    other = "by the whole riff" if attacks[1] else "without it"
    bits = f"{full_bits:.0f} bits against {plain_bits:.0f} {other}"
    # Of several riffs, what comes before one may well be another.
    frames = framing_text(passage, best) if riffs == 1 else ()
    frame = "".join(f", {part}" for part in frames if part)
    parts = [f"Template from {start}, {length} long{frame}; {bits}.", *_meeting(attacks)]
    parts += [
        f"Pass {number} at {passage.place(one.span.start_quarters)}: {_departures(one)}."
        for number, one in enumerate(best.passes, start=1)
        if one.edits or one.truncated != "none" or one.transposition
    ]
    parts += _lengths(passage, best)
    # Pitches that come back in another rhythm last as long as that does.
    parts += _drift(passage, best) if of != "pitches" else []
    if framing:
        parts.append(f"It begins and ends with the same {counted(framing, 'attack')}.")
    parts += [
        f"Rival, {abs(rival.bits - best.bits):.1f} bits "
        f"{'behind' if rival.bits >= best.bits else 'ahead'}: {text}."
        for rival, text in zip(readings[1:], rival_texts(passage, readings), strict=True)
    ]
    return " ".join(parts)


def _meeting(attacks: tuple[int, int]) -> list[str]:
    """Say when a rhythm and a row of pitches that turn through one another meet again."""
    if not attacks[1]:
        return []
    own, other = attacks
    return [f"{own} attacks turn through {other}: they meet again after {lcm(own, other)}."]


def _lengths(passage: Passage, best: Reading) -> list[str]:
    """Say how long each pass is, where whole ones differ in length."""
    metre = passage.bar_at(best.template.start_quarters).metre
    whole = [one.span.length_quarters for one in best.passes if one.truncated == "none"]
    if len(set(whole)) < 2:
        return []
    shortest, longest = (length_text(edge, metre) for edge in (min(whole), max(whole)))
    return [f"Whole passes last from {shortest} to {longest}."]


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
    passes = counted(drift[0], "pass", "passes")
    bars = counted(int(drift[1]), "bar")
    return [f"Against {metre.label()} it meets the bar lines again after {passes}, {bars}."]


def _departures(one: Pass) -> str:
    missing = {"left": "its beginning is missing", "right": "its end is missing", "none": ""}
    moved = f"transposed by {signed(one.transposition)}" if one.transposition else ""
    beginning, ending = replaced_beginning(one), replaced_ending(one)
    count = len(one.edits) - len(ending) - len(beginning)
    edits = f"{count} departure{'s' if count != 1 else ''}" if count else ""
    other_beginning = "its beginning is another one" if beginning else ""
    other_ending = "its ending is another one" if ending else ""
    parts = (moved, edits, other_beginning, other_ending, missing[one.truncated])
    return ", ".join(part for part in parts if part)
