"""Hearing: when each note of a passage is first heard in a shot, and what is heard now."""

from bisect import bisect_right
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from riffract.analysis.attacks import Attack
from riffract.essay.shots import Play, Shot
from riffract.music import Note, Span

TURN_AHEAD_SECONDS: Final = 0.3


def first_heard_seconds(shot: Shot, note: Note) -> float | None:
    """Tell when a note is first heard; `None` if it is not in this shot."""
    for play in shot.plays:
        if _sounds_in(play, note):
            return play.seconds_at(note.onset_quarters)
    return None


def moment_heard_seconds(shot: Shot, quarters: Fraction) -> float | None:
    """Tell when a moment of the score is first reached, the end of a play included."""
    for play in shot.plays:
        if play.span.start_quarters <= quarters <= play.span.end_quarters:
            return play.seconds_at(quarters)
    return None


@dataclass(frozen=True, slots=True, kw_only=True)
class Heard:
    """An attack as it is heard in a shot.

    Attributes:
        attack: which.
        audible: its notes on strings that are played.
        start_seconds: its onset.
        end_seconds: when its longest note ends; that may be after the next onset.
    """

    attack: Attack
    audible: tuple[int, ...]
    start_seconds: float
    end_seconds: float


def heard_attacks(
    shot: Shot, notes: Sequence[Note], attacks: Sequence[Attack]
) -> tuple[Heard, ...]:
    """List the attacks that are heard, by time; what is played twice is listed twice."""
    heard = []
    for play in shot.plays:
        for attack in attacks:
            audible = tuple(i for i in attack.notes if _sounds_in(play, notes[i]))
            if audible:
                end = max(notes[i].end_quarters for i in audible)
                heard.append(
                    Heard(
                        attack=attack,
                        audible=audible,
                        start_seconds=play.seconds_at(attack.onset_quarters),
                        end_seconds=play.seconds_at(min(end, play.span.end_quarters)),
                    )
                )
    return tuple(heard)


def now_heard(
    shot: Shot, notes: Sequence[Note], attacks: Sequence[Attack]
) -> Callable[[float], Attack | None]:
    """Make what tells, for a moment of the shot, the attack that is heard.

    An attack is heard from its onset until the next one, or until its longest note ends if that
    is sooner.
    """
    heard = heard_attacks(shot, notes, attacks)
    starts = [each.start_seconds for each in heard]

    def at(seconds: float) -> Attack | None:
        index = bisect_right(starts, seconds) - 1
        if index < 0 or seconds >= heard[index].end_seconds:
            return None
        return heard[index].attack

    return at


@dataclass(frozen=True, slots=True, kw_only=True)
class Visit:
    """A page of a scene, seen from a moment of the shot on until another one.

    Attributes:
        from_seconds, to_seconds: when; the first starts at 0, the last does not end.
        page: which page, from 0.
    """

    from_seconds: float
    to_seconds: float
    page: int


def visits(shot: Shot, pages: Sequence[Sequence[Span]]) -> tuple[Visit, ...]:
    """List which page is seen when: the one that sounds, turned to a little ahead.

    Where nothing sounds it is the one that shows most of what the shot looks at.

    Args:
        shot: what sounds when.
        pages: the stretches of the passage that each page shows.
    """
    turns = [(0.0, 0 if shot.plays else _page_of(shot.looks_at, pages))]
    for play in shot.plays:
        for index, spans in enumerate(pages):
            starts = [max(span.start_quarters, play.span.start_quarters) for span in spans]
            turns += [
                (max(play.seconds_at(start) - TURN_AHEAD_SECONDS, 0.0), index)
                for start, span in zip(starts, spans, strict=True)
                if play.span.holds(start) and span.holds(start)
            ]
    if len(turns) > 1:
        turns[0] = (0.0, min(turns[1:])[1])
    turns.sort()
    changes = [turn for i, turn in enumerate(turns) if i == 0 or turn[1] != turns[i - 1][1]]
    ends = [*(at for at, _ in changes[1:]), float("inf")]
    return tuple(
        Visit(from_seconds=at, to_seconds=end, page=page)
        for (at, page), end in zip(changes, ends, strict=True)
    )


def _page_of(looked_at: Span | None, pages: Sequence[Sequence[Span]]) -> int:
    """Tell which page shows most of a stretch, the first of several; the first page for `None`."""
    if looked_at is None or not pages:
        return 0
    shown = [sum(span.overlap_quarters(looked_at) for span in spans) for spans in pages]
    return shown.index(max(shown))


def _sounds_in(play: Play, note: Note) -> bool:
    is_played = play.strings is None or note.string in play.strings
    return is_played and play.span.holds(note.onset_quarters)
