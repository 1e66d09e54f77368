"""Attacks: notes that start together; and the moving voice that runs through them."""

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import groupby
from typing import Final

import numpy as np
from numpy.typing import NDArray

from riffract.analysis.finding import AttackContent, Ignored
from riffract.analysis.saying import say
from riffract.analysis.wording import place_in_words
from riffract.music import NoteTable, Passage, Technique
from riffract.music.notes import NO_PITCH, Ints

FEWEST_STROKES: Final = 3
"""A low string struck less often is an event, not an anchor."""

WIDEST_STEP_SEMITONES: Final = 5
"""A line steps to the lowest string by at most a fourth; wider leaps set it apart."""

IN_TUNE_CENTS: Final = 25
"""A bend whose goal lies no farther than this from a semitone is heard as reaching it."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Attack:
    """Notes that start at one moment.

    Attributes:
        index: its place among the passage's attacks, from 0.
        onset_quarters: when.
        value_quarters: time to the next attack; for the last one, to the end of the passage.
        notes: indices of its notes, from the lowest-lying string up.
        pitches: their MIDI pitches, rising; dead notes have none.
    """

    index: int
    onset_quarters: Fraction
    value_quarters: Fraction
    notes: tuple[int, ...]
    pitches: tuple[int, ...]

    @property
    def content(self) -> AttackContent:
        """What a comparison with another attack looks at."""
        return AttackContent(pitches=self.pitches, value_quarters=self.value_quarters)


def attacks_of(passage: Passage) -> tuple[Attack, ...]:
    """Group the notes of a passage by onset, in order of time; empty for a passage of rests."""
    notes = passage.notes
    pitch = notes.pitch.tolist()
    groups = [
        (onset, tuple(i for i, _ in rows))
        for onset, rows in groupby(enumerate(notes.onset_ticks.tolist()), key=lambda row: row[1])
    ]
    onsets = [notes.quarters(onset) for onset, _ in groups]
    ends = [*onsets[1:], passage.length_quarters] if onsets else []
    return tuple(
        Attack(
            index=index,
            onset_quarters=start,
            value_quarters=end - start,
            notes=rows,
            pitches=tuple(sorted(pitch[i] for i in rows if pitch[i] != NO_PITCH)),
        )
        for index, ((_, rows), start, end) in enumerate(zip(groups, onsets, ends, strict=True))
    )


def with_start_pitches(passage: Passage) -> Passage:
    """Give each note that is bent before it sounds the pitch that it starts with.

    Its bend goes on from there, so that a release leads down to its fret. A bend that starts
    between two semitones has no such pitch, and keeps its fret's.
    """
    notes = passage.notes
    starts = np.array([path[0] if path else 0 for path in notes.bend_paths])
    shifts = np.where(_is_between(starts), 0, np.round(starts / 100).astype(np.int64))
    if not shifts.any():
        return passage
    paths = tuple(
        tuple(cents - 100 * shift for cents in path)
        for path, shift in zip(notes.bend_paths, shifts.tolist(), strict=True)
    )
    pitch = np.where(notes.is_pitched, notes.pitch + shifts[notes.bend_path], notes.pitch)
    return replace(passage, notes=replace(notes, pitch=pitch, bend_paths=paths))


def held_until(passage: Passage, attack: Attack) -> Fraction:
    """Tell when an attack's written value ends: with its longest note, or with the next attack."""
    notes = passage.notes
    held = max(notes.quarters(notes.duration_ticks[i]) for i in attack.notes)
    return attack.onset_quarters + min(held, attack.value_quarters)


def anchor_notes(passage: Passage) -> frozenset[int]:
    """List the notes that are the lowest open string struck open, dead notes apart."""
    notes = passage.notes
    is_anchor = (
        (notes.string == passage.tuning.lowest_string) & (notes.fret == 0) & notes.is_pitched
    )
    return frozenset(np.flatnonzero(is_anchor).tolist())


def punctuating_anchors(passage: Passage, attacks: Sequence[Attack]) -> frozenset[int]:
    """List the strokes of the lowest open string that punctuate, and are not part of a line.

    A stroke belongs to the moving voice if it is struck alone and not damped, and the line runs
    down to it over two notes or up from it over two, by at most a fourth from the nearer one. So
    the last note of a scale counts, while a pedal that the line keeps leaving, a chug, and the
    bass of a chord do not. Fewer than three strokes are events of the line as well.
    """
    strokes = anchor_notes(passage)
    if len(strokes) < FEWEST_STROKES:
        return frozenset()
    damped = passage.notes.has(Technique.PALM_MUTE)
    tops = [None if strokes & set(a.notes) else max(a.pitches, default=None) for a in attacks]
    padded = [None, None, *tops, None, None]
    melodic = {
        i
        for k, attack in enumerate(attacks)
        for i in strokes & set(attack.notes)
        if len(attack.notes) == 1
        and not damped[i]
        and (
            _runs_to(int(passage.notes.pitch[i]), padded[k + 1], padded[k])
            or _runs_to(int(passage.notes.pitch[i]), padded[k + 3], padded[k + 4])
        )
    }
    return strokes - melodic


def _runs_to(anchor: int, near: int | None, far: int | None) -> bool:
    if near is None or far is None:
        return False
    return anchor < near < far and near - anchor <= WIDEST_STEP_SEMITONES


def lead_notes(
    notes: NoteTable, attacks: Sequence[Attack], *, without: Collection[int]
) -> tuple[int, ...]:
    """Choose the moving voice: of each attack, the highest pitched note that is not left out.

    The rule is a convention, and the analyst may set another voice by hand: ringing strings and
    the lowest open string are usually left out, since they hold still while the voice moves.

    Args:
        notes: the passage's notes.
        attacks: its attacks.
        without: indices of notes that are not of the moving voice.

    Returns:
        Indices of notes by time; attacks with nothing left give none.
    """
    pitch, string = notes.pitch.tolist(), notes.string.tolist()
    chosen = []
    for attack in attacks:
        rest = [i for i in attack.notes if i not in without and pitch[i] != NO_PITCH]
        if rest:
            chosen.append(max(rest, key=lambda i: (pitch[i], -string[i])))
    return tuple(chosen)


def ignored(passage: Passage) -> tuple[Ignored, ...]:
    """List what the analyses leave out, one entry a kind; empty if nothing is.

    What is listed is in the text, the sound and the picture all the same.
    """
    notes = passage.notes
    widest = notes.bend_cents
    starts = np.array([path[0] if path else 0 for path in notes.bend_paths])[notes.bend_path]
    between, starts_between = _is_between(widest), _is_between(starts)
    slides = Technique.SCOOP | Technique.PLOP | Technique.DOIT | Technique.FALLOFF
    kinds = (
        (say("dead note"), say("a dead note has rhythm but no pitch"), ~notes.is_pitched),
        (
            say("bend to between two semitones"),
            say("it counts by the pitch it starts from, since its goal is none of the twelve"),
            notes.is_pitched & between & ~starts_between,
        ),
        (
            say("pre-bend to between two semitones"),
            say("it counts by its fret, since what it starts from is none of the twelve"),
            notes.is_pitched & starts_between,
        ),
        (
            say("path of a bend"),
            say("it counts by its start, and in collections by its goal, not by what lies between"),
            notes.is_pitched & (widest != 0) & ~between & ~starts_between,
        ),
        (
            say("trill"),
            say("it counts as one note; the other one is written and heard, not analysed"),
            notes.has(Technique.TRILL),
        ),
        (
            say("tremolo picking"),
            say("it counts as one attack; its further strokes are written and heard, not analysed"),
            notes.has(Technique.TREMOLO),
        ),
        (
            say("slide from or to nowhere"),
            say("it counts at its written pitch; the way there is written and heard, not analysed"),
            notes.is_pitched & notes.has(slides),
        ),
    )
    moments = (
        (
            say("grace note"),
            say("it has no time of its own; it is written and heard, not analysed"),
            [grace.at_quarters for grace in passage.graces],
        ),
        (
            say("fermata"),
            say("it takes no time in the score; it is written and drawn, not analysed"),
            passage.fermatas,
        ),
    )
    found = [
        (what, why, [notes.quarters(at) for at in notes.onset_ticks[is_such]])
        for what, why, is_such in kinds
    ]
    return tuple(
        Ignored(what=what, why=why, where=_where(passage, at))
        for what, why, at in (*found, *moments)
        if at
    )


def _is_between(cents: Ints) -> NDArray[np.bool_]:
    return np.abs(cents - 100 * np.round(cents / 100)) > IN_TUNE_CENTS


def _where(passage: Passage, moments: Sequence[Fraction]) -> str:
    first = place_in_words(passage.place(moments[0]))
    if len(moments) == 1:
        return first
    return say("{place}, and {count} more", place=first, count=len(moments) - 1)
