"""Propose string and fret for notes that come without: the cheapest path of the hand."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Final

from riffract.formats.musicxml.report import Report
from riffract.formats.musicxml.strings import Strings
from riffract.formats.musicxml.written import WrittenNote
from riffract.music import Technique, pitch_name
from riffract.music.tuning import MOST_FRETS

WIDEST_SPAN_FRETS: Final = 4
"""How far index and little finger reach, with a stretch (common practice)."""

FINGERS: Final = 4

_MOST_SHAPES: Final = 12
_MOST_PARTIAL_SHAPES: Final = ((WIDEST_SPAN_FRETS, 24), (MOST_FRETS, 400))
"""Widest span, and how many beginnings of a shape are kept; the second row if the first fails."""

_COST_OF_A_FRET_UP_THE_NECK: Final = 0.1
_COST_OF_A_FRET_OF_SPAN: Final = 0.5

Places = tuple[tuple[int, int], ...]
"""String and fret of each note of an attack."""


@dataclass(frozen=True, slots=True)
class _State:
    cost: float
    position: int
    places: Places
    before: "_State | None"


def place_notes(notes: Sequence[WrittenNote], strings: Strings, report: Report) -> None:
    """Give each note without a place one string and fret; a note that has them keeps them.

    Attack by attack, the few cheapest hand shapes are kept; the path through them with the least
    way along the neck is taken, by dynamic programming. A shape costs its span and, a little, its
    height on the neck; open strings are free. Notes that ties lead to stay where they are.

    Args:
        notes: sorted by start; changed in place.
        strings: the tuning.
        report: told that the fingering is proposed, and which notes cannot be played.
    """
    followers = _tied_to(notes)
    free = [n for n in notes if not n.is_placed and id(n) not in followers]
    if free:
        report.warn(
            "proposed",
            f"{_counted_notes(len(free))} no string and fret; a fingering is proposed",
            "write `string` and `fret` if the fingering matters",
            free[0].spot,
        )
        attacks = [
            [note for note in together if id(note) not in followers]
            for _, together in groupby(notes, key=lambda n: n.start)
        ]
        _follow_path([attack for attack in attacks if attack], strings, report)
    for note in notes:
        start = followers.get(id(note))
        if start is not None:
            note.string, note.fret = start.string, start.fret


def _counted_notes(count: int) -> str:
    return "1 note has" if count == 1 else f"{count} notes have"


def _tied_to(notes: Sequence[WrittenNote]) -> dict[int, WrittenNote]:
    """Map unplaced notes that a tie leads to, by identity, to the note where the tie starts."""
    waiting: dict[int | None, WrittenNote] = {}
    followers: dict[int, WrittenNote] = {}
    for note in notes:
        start = waiting.pop(note.pitch, None) if note.is_tie_stop else None
        if start is not None and not note.is_placed and start.start < note.start:
            followers[id(note)] = start
        if note.is_tie_start:
            waiting[note.pitch] = note
    return followers


def _follow_path(
    attacks: Sequence[Sequence[WrittenNote]], strings: Strings, report: Report
) -> None:
    states = [_State(0.0, 0, (), None)]
    path: list[Sequence[WrittenNote]] = []
    for attack in attacks:
        shapes = _shapes(attack, strings, report)
        if shapes:
            states = [_cheapest(states, shape, cost) for cost, shape in shapes]
            path.append(attack)
    best: _State | None = min(states, key=lambda s: s.cost)
    for attack in reversed(path):
        assert best is not None
        for note, (string, fret) in zip(attack, best.places, strict=True):
            note.string, note.fret = string, fret
        best = best.before


def _cheapest(states: Sequence[_State], places: Places, shape_cost: float) -> _State:
    def way(state: _State) -> float:
        goal = _position(state.position, places)
        return state.cost + (abs(goal - state.position) if state.position else 0)

    before = min(states, key=way)
    position = _position(before.position, places)
    return _State(way(before) + shape_cost, position, places, before)


def _position(position: int, places: Places) -> int:
    """Move the hand no further than it must, so that four fingers reach the frets.

    A position is the fret under the index finger; 0 means that the hand has not been placed yet.
    """
    fretted = [fret for _, fret in places if fret > 0]
    if not fretted:
        return position
    highest = min(fretted)
    lowest = min(max(max(fretted) - (FINGERS - 1), 1), highest)
    return min(max(position, lowest), highest) if position else highest


def _shapes(
    attack: Sequence[WrittenNote], strings: Strings, report: Report
) -> list[tuple[float, Places]]:
    """List the cheapest ways to play an attack; none, after an error, if there is no way."""
    choices = [_choices(note, strings) for note in attack]
    for note, places in zip(attack, choices, strict=True):
        if not places:
            _report_unplayable(note, strings, report)
            return []
    for span, most in _MOST_PARTIAL_SHAPES:
        partial: list[Places] = [()]
        for places in choices:
            longer = [
                (*shape, place)
                for shape in partial
                for place in places
                if place[0] not in {string for string, _ in shape}
            ]
            within = [shape for shape in longer if _span(shape) <= span]
            partial = sorted(within, key=_shape_cost)[:most]
        if partial:
            return [(_shape_cost(shape), shape) for shape in partial[:_MOST_SHAPES]]
    if not all(note.is_placed for note in attack):
        report.error(
            "these notes cannot be played together on this tuning",
            "write `string` and `fret`, or the tuning that the music is for",
            attack[0].spot,
        )
        return []
    return [(0.0, tuple((n.string or 0, n.fret or 0) for n in attack))]


def _span(shape: Places) -> int:
    fretted = [fret for _, fret in shape if fret > 0]
    return max(fretted) - min(fretted) if fretted else 0


def _shape_cost(shape: Places) -> float:
    highest = max(fret for _, fret in shape)
    return _COST_OF_A_FRET_OF_SPAN * _span(shape) + _COST_OF_A_FRET_UP_THE_NECK * highest


def _choices(note: WrittenNote, strings: Strings) -> list[tuple[int, int]]:
    """List the places that give a note's pitch; a string or fret that is written must agree."""
    tuning = strings.tuning
    if note.string is not None and note.fret is not None:
        return [(note.string, note.fret)]
    numbers = range(1, tuning.string_count + 1) if note.string is None else (note.string,)
    if note.pitch is None or Technique.DEAD in note.techniques:
        return [(string, note.fret or 0) for string in reversed(list(numbers))]
    pitch = note.pitch - strings.octave_semitones
    places = [(string, pitch - tuning.open_pitch(string)) for string in numbers]
    return [
        (string, fret)
        for string, fret in places
        if 0 <= fret <= tuning.frets - tuning.capo and note.fret in {None, fret}
    ]


def _report_unplayable(note: WrittenNote, strings: Strings, report: Report) -> None:
    tuning = strings.tuning
    pitch = 0 if note.pitch is None else note.pitch - strings.octave_semitones
    name = pitch_name(pitch) if 0 <= pitch <= 127 else f"MIDI pitch {pitch}"
    said = [
        f"{what} {n}" for what, n in (("string", note.string), ("fret", note.fret)) if n is not None
    ]
    on = f" on {' and '.join(said)}" if said else ""
    report.error(
        f"{name} cannot be played{on} in the tuning {tuning.label()}",
        "write `staff-tuning` for the strings that the music is for, or `string` and `fret`; if "
        "all notes are an octave off, write `transpose`",
        note.spot,
    )
