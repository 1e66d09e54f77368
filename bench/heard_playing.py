"""How a passage is played: which stretches of it, in which time; and the truth that follows.

Everything that a listening part is measured by begins here. A playing knows for each attack when
its first string sounds, so whatever makes the sound (`heard_bank`, `heard_strings`, our own
render) places its notes there, and the truth is the same for all.
"""

import json
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path
from typing import Final

import numpy as np

from riffract.music import (
    Note,
    NoteTableBuilder,
    Passage,
    Span,
    Technique,
    TempoMark,
    TimeMap,
    bars_in_row,
)

Pace = Callable[[float], float]
"""How fast, against the written tempo, at a share (0 to 1) of what is played."""

STEP_QUARTERS: Final = Fraction(1, 8)
"""Pace is summed in steps of this size; a curve of some bars is straight within one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Played:
    """A stretch of the text as it is played once.

    Attributes:
        span: of the text.
        at_quarters: where it begins in what is played.
        is_again: whether some of it was played before.
    """

    span: Span
    at_quarters: Fraction
    is_again: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Playing:
    """A performance without sound.

    Attributes:
        written: the text.
        performed: what is played, repeats written out and left-out parts gone.
        origins: for each note of `performed` its index in `written`.
        stretches: in order.
        time_map: quarters of `performed` to seconds; its knots are the attacks.
    """

    written: Passage
    performed: Passage
    origins: tuple[int, ...]
    stretches: tuple[Played, ...]
    time_map: TimeMap

    def written_quarters(self, performed_quarters: Fraction) -> tuple[int, Fraction]:
        """Give the stretch and the moment of the text that are played at a moment."""
        for index in reversed(range(len(self.stretches))):
            stretch = self.stretches[index]
            if performed_quarters >= stretch.at_quarters:
                return index, performed_quarters - stretch.at_quarters + stretch.span.start_quarters
        raise ValueError(f"nothing is played at {performed_quarters}")


@dataclass(frozen=True, slots=True, kw_only=True)
class TrueAttack:
    """An attack of the text, where it is written and when its first string sounds."""

    quarters: Fraction
    seconds: float
    stretch: int


@dataclass(frozen=True, slots=True, kw_only=True)
class TrueNote:
    """A note of the text as it sounds; `end_seconds` is when its string is damped."""

    note: int
    string: int
    pitch: int | None
    onset_seconds: float
    end_seconds: float
    stretch: int


@dataclass(frozen=True, slots=True, kw_only=True)
class TrueStretch:
    """A stretch of the text and when it sounds."""

    span: Span
    start_seconds: float
    end_seconds: float
    is_again: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Truth:
    """What a recording holds.

    Attributes:
        attacks, notes: in order of time.
        stretches: in order of time; empty if the recording does not play the text at all.
        reference_hz: of A4.
    """

    attacks: tuple[TrueAttack, ...]
    notes: tuple[TrueNote, ...]
    stretches: tuple[TrueStretch, ...]
    reference_hz: float

    def later(self, seconds: float) -> "Truth":
        """Put something of this length before it."""
        return Truth(
            attacks=tuple(replace(a, seconds=a.seconds + seconds) for a in self.attacks),
            notes=tuple(
                replace(
                    n,
                    onset_seconds=n.onset_seconds + seconds,
                    end_seconds=n.end_seconds + seconds,
                )
                for n in self.notes
            ),
            stretches=tuple(
                replace(
                    s,
                    start_seconds=s.start_seconds + seconds,
                    end_seconds=s.end_seconds + seconds,
                )
                for s in self.stretches
            ),
            reference_hz=self.reference_hz,
        )


def playing(
    written: Passage,
    *,
    spans: Sequence[Span] | None = None,
    pace: Pace = lambda _: 1.0,
    jitter_seconds: float = 0.0,
    start_seconds: float = 0.5,
    seed: int = 1,
) -> Playing:
    """Play a passage: these spans of it, at this pace, each attack a little off.

    Args:
        written: the text.
        spans: what is played, in order, at bar lines; `None` for the whole, once.
        pace: against the written tempo.
        jitter_seconds: standard deviation of each attack from its even place.
        start_seconds: when the first span begins.
        seed: of the jitter.
    """
    parts = (written.span,) if spans is None else tuple(spans)
    performed, origins, stretches = _performed(written, parts)
    knots = _knots(written, performed, stretches, pace, start_seconds)
    rng = np.random.default_rng(seed)
    attacks = sorted({n.onset_quarters for n in performed.notes})
    gaps = [Fraction(0), *attacks, performed.length_quarters]
    even = [knots.seconds_at(q) for q in gaps]
    # Never more than a quarter of the way to a neighbour, so that attacks keep their order.
    off = rng.normal(0.0, jitter_seconds, len(gaps)) if jitter_seconds else np.zeros(len(gaps))
    off[0] = off[-1] = 0.0
    moved: dict[Fraction, float] = {}
    for k, q in enumerate(gaps):
        near = min(
            (abs(even[k] - even[j]) for j in (k - 1, k + 1) if 0 <= j < len(gaps)), default=0.0
        )
        moved[q] = even[k] + float(np.clip(off[k], -near / 4, near / 4))
    if attacks and attacks[0] == 0:
        moved[Fraction(0)] = even[0]
    quarters = sorted(moved)
    return Playing(
        written=written,
        performed=performed,
        origins=origins,
        stretches=stretches,
        time_map=TimeMap(quarters=tuple(quarters), seconds=tuple(moved[q] for q in quarters)),
    )


def truth_of(played: Playing, *, reference_hz: float = 440.0, strum_seconds: float = 0.0) -> Truth:
    """Tell what a playing holds; each further string of a chord sounds `strum_seconds` later."""
    moments: dict[Fraction, TrueAttack] = {}
    notes = []
    for note, strum in struck(played.performed, strum_seconds):
        stretch, quarters = played.written_quarters(note.onset_quarters)
        onset = played.time_map.seconds_at(note.onset_quarters)
        moments.setdefault(
            note.onset_quarters, TrueAttack(quarters=quarters, seconds=onset, stretch=stretch)
        )
        notes.append(
            TrueNote(
                note=played.origins[note.index],
                string=note.string,
                pitch=note.pitch,
                onset_seconds=onset + strum,
                end_seconds=played.time_map.seconds_at(note.ring_end_quarters),
                stretch=stretch,
            )
        )
    return Truth(
        attacks=tuple(moments[q] for q in sorted(moments)),
        notes=tuple(notes),
        stretches=tuple(
            TrueStretch(
                span=s.span,
                start_seconds=played.time_map.seconds_at(s.at_quarters),
                end_seconds=played.time_map.seconds_at(
                    s.at_quarters + s.span.end_quarters - s.span.start_quarters
                ),
                is_again=s.is_again,
            )
            for s in played.stretches
        ),
        reference_hz=reference_hz,
    )


def struck(passage: Passage, strum_seconds: float) -> list[tuple[Note, float]]:
    """List the notes, each with how long after its attack its string is struck.

    The lowest-lying string comes first.
    """
    rows: list[tuple[Note, float]] = []
    at, rank = Fraction(-1), 0
    for note in passage.notes:  # in order of time, then from the lowest string up
        rank = rank + 1 if note.onset_quarters == at else 0
        at = note.onset_quarters
        rows.append((note, rank * strum_seconds))
    return rows


def write_truth(path: Path, truth: Truth, **about: object) -> None:
    """Write a truth as JSON, with what else is worth knowing of the scene."""
    body = {
        **about,
        "reference_hz": truth.reference_hz,
        "attacks": [
            {"quarters": str(a.quarters), "seconds": round(a.seconds, 5), "stretch": a.stretch}
            for a in truth.attacks
        ],
        "notes": [
            {
                "note": n.note,
                "string": n.string,
                "pitch": n.pitch,
                "onset_seconds": round(n.onset_seconds, 5),
                "end_seconds": round(n.end_seconds, 5),
                "stretch": n.stretch,
            }
            for n in truth.notes
        ],
        "stretches": [
            {
                "start_quarters": str(s.span.start_quarters),
                "end_quarters": str(s.span.end_quarters),
                "start_seconds": round(s.start_seconds, 5),
                "end_seconds": round(s.end_seconds, 5),
                "is_again": s.is_again,
            }
            for s in truth.stretches
        ],
    }
    path.write_text(json.dumps(body, indent=1))


def read_truth(path: Path) -> Truth:
    """Read what `write_truth` wrote."""
    body = json.loads(path.read_text())
    return Truth(
        attacks=tuple(
            TrueAttack(quarters=Fraction(a["quarters"]), seconds=a["seconds"], stretch=a["stretch"])
            for a in body["attacks"]
        ),
        notes=tuple(TrueNote(**n) for n in body["notes"]),
        stretches=tuple(
            TrueStretch(
                span=Span(Fraction(s["start_quarters"]), Fraction(s["end_quarters"])),
                start_seconds=s["start_seconds"],
                end_seconds=s["end_seconds"],
                is_again=s["is_again"],
            )
            for s in body["stretches"]
        ),
        reference_hz=body["reference_hz"],
    )


def _performed(
    written: Passage, parts: Sequence[Span]
) -> tuple[Passage, tuple[int, ...], tuple[Played, ...]]:
    rows: list[tuple[Note, Fraction]] = []
    bars = []
    stretches: list[Played] = []
    now = Fraction(0)
    for part in parts:
        again = any(
            part.start_quarters < s.span.end_quarters and s.span.start_quarters < part.end_quarters
            for s in stretches
        )
        stretches.append(Played(span=part, at_quarters=now, is_again=again))
        shift = now - part.start_quarters
        inside = [
            n for n in written.notes if part.start_quarters <= n.onset_quarters < part.end_quarters
        ]
        rows += [(n, shift) for n in inside]
        bars += [
            (b.metre, b.length_quarters, b.written_number)
            for b in written.bars
            if part.start_quarters <= b.start_quarters < part.end_quarters
        ]
        now += part.end_quarters - part.start_quarters
    builder = NoteTableBuilder()
    strikes = {(n.onset_quarters + shift, n.string) for n, shift in rows}
    for note, shift in rows:
        onset = note.onset_quarters + shift
        cut = min((q for q, s in strikes if s == note.string and q > onset), default=now)
        builder.add(
            onset_quarters=onset,
            duration_quarters=note.duration_quarters,
            string=note.string,
            fret=note.fret,
            pitch=note.pitch,
            ring_end_quarters=min(note.ring_end_quarters + shift, cut, now),
            techniques=note.techniques,
            bend=note.bend,
            other_fret=note.other_fret,
            tremolo_marks=note.tremolo_marks,
        )
    order = sorted(rows, key=lambda row: (row[0].onset_quarters + row[1], -row[0].string))
    performed = Passage(
        title=written.title,
        tuning=written.tuning,
        bars=bars_in_row(bars),
        tempos=(TempoMark(at_quarters=Fraction(0), quarters_per_minute=120.0),),
        notes=builder.build(),
    )
    return performed, tuple(n.index for n, _ in order), tuple(stretches)


def _knots(
    written: Passage,
    performed: Passage,
    stretches: Sequence[Played],
    pace: Pace,
    start_seconds: float,
) -> TimeMap:
    """Follow the written tempo through what is played, bent by the pace."""
    tempo = TimeMap.from_tempos(written.tempos, written.length_quarters)
    length = performed.length_quarters
    quarters, seconds = [Fraction(0)], [start_seconds]
    for stretch in stretches:
        at = stretch.span.start_quarters
        while at < stretch.span.end_quarters:
            to = min(at + STEP_QUARTERS, stretch.span.end_quarters)
            there = at - stretch.span.start_quarters + stretch.at_quarters
            took = (tempo.seconds_at(to) - tempo.seconds_at(at)) / pace(float(there / length))
            quarters.append(there + (to - at))
            seconds.append(seconds[-1] + took)
            at = to
    return TimeMap(quarters=tuple(quarters), seconds=tuple(seconds))


# ---- paces -------------------------------------------------------------------------------------


def steady(factor: float = 1.0) -> Pace:
    """Play at one tempo, which may not be the written one."""
    return lambda _: factor


def drift(start: float, end: float) -> Pace:
    """Go evenly from one tempo to another."""
    return lambda share: start + (end - start) * share


def wander(depth: float, seed: int, *, turns: int = 9) -> Pace:
    """Wander between 1 − depth and 1 + depth: a bounded random walk, made smooth."""
    steps = np.cumsum(np.random.default_rng(seed).normal(0.0, 1.0, turns))
    steps -= steps.mean()
    steps *= depth / max(float(np.abs(steps).max()), 1e-9)
    places = np.linspace(0.0, 1.0, turns)
    return lambda share: 1.0 + float(np.interp(share, places, steps))


def rubato(depth: float, waves: float) -> Pace:
    """Press on and hold back in turn."""
    return lambda share: 1.0 + depth * float(np.sin(2.0 * np.pi * waves * share))


def ritardando(last_share: float, end: float) -> Pace:
    """Hold the tempo, then slow down towards the end."""
    return lambda share: (
        1.0
        if share < 1.0 - last_share
        else 1.0 + (end - 1.0) * (share - 1.0 + last_share) / last_share
    )


def is_muted(note: Note) -> bool:
    """Tell whether the palm lies on the strings."""
    return Technique.PALM_MUTE in note.techniques
