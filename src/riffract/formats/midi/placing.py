"""Strings and frets for the notes of a part."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from riffract.formats.fingering import (
    WIDEST_SPAN_FRETS,
    Fingering,
    places_of,
    proposed_fingering,
)
from riffract.formats.midi.parts import Part
from riffract.formats.midi.report import Report, counted
from riffract.formats.midi.strings import (
    StringChannels,
    fitting_tuning,
    string_channels,
    with_frets,
)
from riffract.formats.midi.timing import Timing
from riffract.music import Tuning, pitch_name

Place = tuple[int, int]
"""String and fret."""

Attack = Mapping[int, int]
"""Keys that start together: their indices, by pitch."""

MOST_NAMED: Final = 12

HELD_SHARE: Final = Fraction(1, 4)
"""Notes of a run overlap by less, if a finger is late; notes of a broken chord by more."""

MOST_WORK: Final = 5_000_000
"""Notes times strings of each different chord, squared: more than 3,800 chords of six notes on six
strings, which take a few seconds."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Placing:
    """Where a part is played.

    Attributes:
        tuning: its strings.
        places: string and fret of each key; `None` after an error.
        is_proposed: whether the fingering is ours.
    """

    tuning: Tuning
    places: list[Place | None]
    is_proposed: bool


def placing_of(part: Part, timing: Timing, tuning: Tuning | None, report: Report) -> Placing:
    """Take the strings from the channels if they tell them, else propose a fingering.

    Args:
        part: what is played.
        timing: when.
        tuning: the strings if the caller knows them; they go before what the file says.
        report: told which tuning was taken, and that the fingering is proposed.
    """
    known = tuning or part.sayings.tuning
    by_channel = string_channels(
        part.keys,
        known,
        is_bass=part.is_bass,
        are_said=part.sayings.has_string_channels,
    )
    if by_channel is not None:
        return _by_channel(part, by_channel, report, is_known=known is not None)
    pitches = [key.pitch for key in part.keys]
    taken = known or fitting_tuning(min(pitches), max(pitches), is_bass=part.is_bass)
    if known is None:
        _tell_tuning(taken, report)
    return _proposed(part, timing, taken, report)


def _by_channel(part: Part, found: StringChannels, report: Report, *, is_known: bool) -> Placing:
    written = []
    for key in part.keys:
        string = found.string_of[key.channel]
        written.append((string, key.pitch - found.tuning.open_pitch(string)))
    tuning = with_frets(found.tuning, max(fret for _, fret in written))
    if not part.sayings.has_string_channels:
        report.warn(
            f"each channel is read as a string: {found.rule}",
            "give the part one channel if that is wrong; a fingering is proposed then",
        )
    if not is_known:
        _tell_tuning(tuning, report)
    frets = range(tuning.frets - tuning.capo + 1)
    places = [place if place[1] in frets else None for place in written]
    if None not in places:
        return Placing(tuning=tuning, places=list(places), is_proposed=False)
    return Placing(
        tuning=tuning, places=_placed_elsewhere(part, places, tuning, report), is_proposed=True
    )


def _placed_elsewhere(
    part: Part, places: Sequence[Place | None], tuning: Tuning, report: Report
) -> list[Place | None]:
    """Put notes that their strings cannot give, as a high harmonic, where the fret is lowest."""
    strays = [key.pitch for key, place in zip(part.keys, places, strict=True) if place is None]
    lowest = {
        pitch: min(places_of(pitch, tuning), key=lambda place: place[1], default=None)
        for pitch in set(strays)
    }
    beyond = sorted(pitch for pitch, place in lowest.items() if place is None)
    if beyond:
        _tell_unplayable(f"{_names(beyond)} cannot be played", tuning, report)
    else:
        report.warn(
            f"{counted(len(strays), 'note')} beyond the frets of the string that the channel says; "
            "another string is proposed",
            "harmonics come as plain notes: mark them by hand",
        )
    return [
        lowest[key.pitch] if place is None else place
        for key, place in zip(part.keys, places, strict=True)
    ]


def _tell_tuning(tuning: Tuning, report: Report) -> None:
    report.warn(
        f"the file does not say how the strings are tuned; {tuning.label()} is taken",
        "say the tuning if it is another one",
    )


def _proposed(part: Part, timing: Timing, tuning: Tuning, report: Report) -> Placing:
    """Propose a fingering; of keys of one pitch that start together one has a place."""
    attacks: dict[Fraction, dict[int, int]] = {}
    for index, (key, start) in enumerate(zip(part.keys, timing.starts, strict=True)):
        attacks.setdefault(start, {}).setdefault(key.pitch, index)
    attacks_by_time = [attacks[start] for start in sorted(attacks)]
    held = held_together(attacks_by_time, timing, most=tuning.string_count)
    if _is_too_much([*attacks_by_time, *map(_joined, held)], tuning, report):
        return Placing(tuning=tuning, places=[None] * len(part.keys), is_proposed=True)
    rows = _graspable(held, tuning)
    fingering = proposed_fingering([list(row) for row in rows], tuning)
    _check_playable(rows, fingering, timing, tuning, report)
    places: list[Place | None] = [None] * len(part.keys)
    for row, shape in zip(rows, fingering.shapes, strict=True):
        for index, place in zip(row.values(), shape or (), strict=False):
            places[index] = place
    report.warn(
        f"the file does not say on which strings its {counted(len(part.keys), 'note')} lie; a "
        "fingering is proposed",
        "record each string on a channel of its own, or set strings and frets by hand",
    )
    return Placing(tuning=tuning, places=places, is_proposed=True)


def held_together(rows: Sequence[Attack], timing: Timing, *, most: int) -> list[list[Attack]]:
    """Gather attacks that ring into each other, as a broken chord that is held.

    An attack belongs to the ones before it as long as it sounds together with all of their notes,
    for a quarter of the shorter one or more, repeats none of their pitches, and there are strings.
    """
    groups: list[list[Attack]] = []
    first_end, shortest = Fraction(0), Fraction(0)
    for row in rows:
        start = timing.starts[next(iter(row.values()))]
        ends = [timing.ends[index] for index in row.values()]
        least = min(ends) - start
        group = _joined(groups[-1]) if groups else {}
        if (
            group
            and first_end - start >= HELD_SHARE * min(shortest, least)
            and group.keys().isdisjoint(row)
            and len(group) + len(row) <= most
        ):
            groups[-1].append(row)
            first_end, shortest = min(first_end, *ends), min(shortest, least)
        else:
            groups.append([row])
            first_end, shortest = min(ends), least
    return groups


def _joined(group: Sequence[Attack]) -> Attack:
    return {pitch: index for row in group for pitch, index in row.items()}


def _graspable(held: Sequence[Sequence[Attack]], tuning: Tuning) -> list[Attack]:
    """Take what is held together as one chord, if a hand can reach it; else attack by attack."""
    chords = {index: _joined(group) for index, group in enumerate(held) if len(group) > 1}
    shapes = proposed_fingering([list(chord) for chord in chords.values()], tuning).shapes
    reached = {
        index
        for index, shape in zip(chords, shapes, strict=True)
        if shape and _span(shape) <= WIDEST_SPAN_FRETS
    }
    return [
        row
        for index, group in enumerate(held)
        for row in ([chords[index]] if index in reached else group)
    ]


def _span(shape: Sequence[Place]) -> int:
    fretted = [fret for _, fret in shape if fret]
    return max(fretted) - min(fretted) if fretted else 0


def _is_too_much(rows: Sequence[Attack], tuning: Tuning, report: Report) -> bool:
    """Refuse what would take too long: the ways to finger a chord grow with notes and strings."""
    chords = {tuple(row) for row in rows}
    work = sum((len(chord) * tuning.string_count) ** 2 for chord in chords)
    if work <= MOST_WORK:
        return False
    report.error(
        f"its {len(chords):,} different chords are too many to propose a fingering for",
        "export a shorter passage, or record each string on a channel of its own",
    )
    return True


def _check_playable(
    rows: Sequence[Attack],
    fingering: Fingering,
    timing: Timing,
    tuning: Tuning,
    report: Report,
) -> None:
    beyond = sorted({pitch for _, pitch in fingering.beyond})
    crowded = [row for row, shape in zip(rows, fingering.shapes, strict=True) if shape is None]
    if beyond:
        _tell_unplayable(f"{_names(beyond)} cannot be played", tuning, report)
    elif crowded:
        start = timing.starts[min(crowded[0].values())]
        together = f"{_names(sorted(crowded[0]))} cannot be played together"
        _tell_unplayable(f"{together} (after {start} quarters)", tuning, report)


def _tell_unplayable(what: str, tuning: Tuning, report: Report) -> None:
    report.error(
        f"{what} in the tuning {tuning.label()}",
        "say the tuning that the music is for, or choose another part",
    )


def _names(pitches: Sequence[int]) -> str:
    rest = len(pitches) - MOST_NAMED
    more = f" and {rest} more" if rest > 0 else ""
    return ", ".join(pitch_name(pitch) for pitch in pitches[:MOST_NAMED]) + more
