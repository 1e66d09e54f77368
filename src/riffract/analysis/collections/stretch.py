"""Stretches of a passage that draw on one collection, and what is heard in them."""

from bisect import bisect_left, bisect_right
from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import groupby, pairwise
from math import ceil
from typing import Final

import numpy as np
from numpy.typing import NDArray

from riffract.analysis.attacks import IN_TUNE_CENTS, Attack, anchor_notes
from riffract.analysis.collections.evidence import prominence, ranked_forms
from riffract.analysis.collections.form import FORMS, Form, form_with
from riffract.analysis.collections.path import most_likely_path, with_clear_borders
from riffract.analysis.pitch_class_set import mask_of, transposed
from riffract.analysis.sounding import stop_ticks
from riffract.music import NoteTable, Passage, Span
from riffract.music.notes import NO_PITCH
from riffract.music.tuning import MOST_STRINGS


@dataclass(frozen=True, slots=True, kw_only=True)
class Tone:
    """A pitch class that a note sounds: one for most notes, two for a bend that reaches a semitone.

    Attributes:
        note: index of the note.
        pc: the pitch class.
        at_ticks: when it starts; where the stretch does, for a string that rang on into it.
        length_ticks: how long it sounds.
    """

    note: int
    pc: int
    at_ticks: int
    length_ticks: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """Neighbouring attacks that draw on one form.

    Attributes:
        form: which.
        span: from its first attack to that of the next stretch.
        tones: what the moving notes sound, by time.
        change_posterior: how likely the form changes where it starts.
        form_posterior: how likely the form is at its attacks, on average.
    """

    form: Form
    span: Span
    tones: tuple[Tone, ...]
    change_posterior: float
    form_posterior: float


def stretches_of(
    passage: Passage,
    attacks: Sequence[Attack],
    *,
    lead: Collection[int],
    drone: Collection[int],
    boundaries: Iterable[Fraction],
) -> tuple[Stretch, ...]:
    """Split a passage by the collections it draws on.

    All moving notes count: the moving voice and what is struck with it, but neither ringing strings
    nor the lowest open string. The most likely path of forms is found first, and its borders are
    moved to where fewest notes are foreign; then all stretches of one form are looked at together,
    and if another form explains what occurs in them better, they take that one's name.

    Args:
        passage: what is studied.
        attacks: its attacks.
        lead: the moving voice, as indices of notes.
        drone: notes that are ringing strings.
        boundaries: where limbs, passes and sections start, in quarters.

    Returns:
        Stretches by time, neighbours of different forms; none where nothing moves.
    """
    still = (frozenset(drone) | anchor_notes(passage)) - frozenset(lead)
    of_note = _tones_of_notes(passage.notes)
    tones_of_attacks = (
        tuple(tone for i in attack.notes if i not in still for tone in of_note[i])
        for attack in attacks
    )
    events = [tones for tones in tones_of_attacks if tones]
    if not events:
        return ()
    starts = [tones[0].at_ticks for tones in events]
    # Seen from the first note, so that a transposed passage takes the transposed path.
    origin = events[0][0].pc
    masks = [mask_of(tone.pc for tone in tones) for tones in events]
    is_boundary = _are_boundaries(
        starts, [ceil(b * passage.notes.ticks_per_quarter) for b in boundaries]
    )
    path = most_likely_path([transposed(mask, -origin) for mask in masks], is_boundary)
    forms = [form_with(transposed(FORMS[place].mask, origin)) for place in path.forms]
    forms = _settled(with_clear_borders(forms, masks, is_boundary), events, origin)
    forms = with_clear_borders(forms, masks, is_boundary)
    turns = [i for i, (a, b) in enumerate(pairwise(path.forms), start=1) if a != b]
    runs = [list(run) for _, run in groupby(range(len(events)), key=lambda i: forms[i].name)]
    ends = [starts[run[0]] for run in runs[1:]] + [_end(passage.notes, events[-1])]
    place_of = {transposed(form.mask, origin): place for place, form in enumerate(FORMS)}
    return tuple(
        Stretch(
            form=forms[run[0]],
            span=Span(passage.notes.quarters(starts[run[0]]), passage.notes.quarters(end)),
            tones=tuple(tone for i in run for tone in events[i]),
            change_posterior=_near(path.change_posterior, run[0], turns),
            form_posterior=float(path.posterior[run, place_of[forms[run[0]].mask]].mean()),
        )
        for run, end in zip(runs, ends, strict=True)
    )


def drone_tones(
    notes: NoteTable, drone: Collection[int], spans: Sequence[Span]
) -> tuple[Tone, ...]:
    """Give what some ringing notes sound within spans, one tone a note and span."""
    stops, onsets = stop_ticks(notes).tolist(), notes.onset_ticks.tolist()
    rows = sorted(drone)
    row_onsets = [onsets[i] for i in rows]
    tones = []
    for span in spans:
        first, last = (
            int(t * notes.ticks_per_quarter) for t in (span.start_quarters, span.end_quarters)
        )
        # Of each string one note at most rings into the span from before.
        earliest = max(bisect_left(row_onsets, first) - MOST_STRINGS, 0)
        for i in rows[earliest : bisect_left(row_onsets, last)]:
            start, stop = max(onsets[i], first), min(stops[i], last)
            if stop > start:
                pc = int(notes.pitch[i]) % 12
                tones.append(Tone(note=i, pc=pc, at_ticks=start, length_ticks=stop - start))
    return tuple(tones)


def prominences_of(tones: Sequence[Tone]) -> tuple[float, ...]:
    """Tell how prominent each pitch class is among some tones; see `prominence`."""
    attacks, time = shares_of(tones)
    return prominence(attacks, time)


def shares_of(tones: Sequence[Tone]) -> tuple[list[float], list[float]]:
    """Give each pitch class's share of the attacks, and its share of the time; from C up."""
    pcs = np.array([tone.pc for tone in tones])
    attacks = np.bincount(pcs, minlength=12)
    time = np.bincount(pcs, weights=[tone.length_ticks for tone in tones], minlength=12)
    return (attacks / attacks.sum()).tolist(), (time / time.sum()).tolist()


def times_by_attack(stretch: Stretch) -> NDArray[np.float64]:
    """Give how long each attack of a stretch sounds each pitch class. Shape: (attacks, 12)."""
    row = np.unique([tone.at_ticks for tone in stretch.tones], return_inverse=True)[1]
    pcs = np.array([tone.pc for tone in stretch.tones])
    lengths = [tone.length_ticks for tone in stretch.tones]
    attacks = int(row.max()) + 1
    times = np.zeros(12 * attacks)
    np.add.at(times, 12 * row + pcs, lengths)
    return times.reshape(-1, 12)


def _tones_of_notes(notes: NoteTable) -> list[tuple[Tone, ...]]:
    lengths = np.maximum(stop_ticks(notes) - notes.onset_ticks, 1).tolist()
    columns = zip(
        notes.onset_ticks.tolist(), notes.pitch.tolist(), notes.bend_cents.tolist(), strict=True
    )
    return [
        tuple(
            Tone(note=i, pc=pc, at_ticks=onset, length_ticks=lengths[i])
            for pc in _pcs_of_note(pitch, cents)
        )
        for i, (onset, pitch, cents) in enumerate(columns)
    ]


def _pcs_of_note(pitch: int, bend_cents: int) -> list[int]:
    """Give the pitch class of a note; of a bend that of its start and, if it has one, its goal."""
    if pitch == NO_PITCH:
        return []
    semitones = round(bend_cents / 100)
    reaches = semitones and abs(bend_cents - 100 * semitones) <= IN_TUNE_CENTS
    return [pitch % 12, (pitch + semitones) % 12] if reaches else [pitch % 12]


def _are_boundaries(starts: Sequence[int], boundaries: Iterable[int]) -> list[bool]:
    """Say of each attack whether a boundary lies on it, or between it and the one before."""
    ordered = sorted(boundaries)
    counts = [bisect_right(ordered, start) for start in starts]
    return [count > before for before, count in pairwise([0, *counts])]


def _settled(forms: Sequence[Form], events: Sequence[Sequence[Tone]], origin: int) -> list[Form]:
    """Name all stretches of one form by the form that explains them best together.

    Where two forms come to bear one name, they are looked at together again; so their number falls
    with each round, and the rounds end.
    """
    settled = list(forms)
    while True:
        tones: dict[str, list[Tone]] = {}
        for form, event in zip(settled, events, strict=True):
            tones.setdefault(form.name, []).extend(event)
        best = {
            name: ranked_forms(prominences_of(heard), origin=origin)[0].form
            for name, heard in tones.items()
        }
        renamed = [best[form.name] for form in settled]
        if len({form.name for form in best.values()}) == len(best):
            return renamed
        settled = renamed


def _end(notes: NoteTable, tones: Sequence[Tone]) -> int:
    return max(int(notes.onset_ticks[t.note] + notes.duration_ticks[t.note]) for t in tones)


_NEAR_ATTACKS: Final = 2
"""Attacks on either side that count as the border: pitch classes that both forms hold leave it open
by one or two, and further off is another place."""


def _near(change_posterior: Sequence[float], place: int, turns: Sequence[int]) -> float:
    """Give the probability that the form changes at a border, or between it and the path's own.

    Attacks at most two away count as well: pitch classes that both forms hold leave open at which
    attack exactly it does.
    """
    own = min(turns, key=lambda turn: abs(turn - place), default=place) if place else place
    first, last = min(own, place) - _NEAR_ATTACKS, max(own, place) + _NEAR_ATTACKS
    return min(sum(change_posterior[max(first, 0) : last + 1]), 1.0)
