"""Mistakes put into a text on purpose, as people make them when they write down what they hear.

The recording keeps playing the right text, so each mistake is known: what is written, what sounds.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from enum import StrEnum
from fractions import Fraction
from typing import Final

import numpy as np

from riffract.music import Note, NoteTableBuilder, Passage, TimeMap

AUDIBLE_SECONDS: Final = 0.25
"""A length that is wrong by less is a matter of touch, not of text."""

ONSET_STEP: Final = Fraction(1, 2)
HIGHEST_FRET: Final = 17


class Mistake(StrEnum):
    """What is wrong in the text."""

    FRET = "fret"
    STRING = "string"
    OCTAVE = "octave"
    MISSING = "missing"
    EXTRA = "extra"
    LONGER = "longer"
    SHORTER = "shorter"
    ONSET = "onset"


@dataclass(frozen=True, slots=True, kw_only=True)
class TextError:
    """One mistake.

    Attributes:
        mistake: what kind.
        note: index in the wrong text; `None` for a note that is missing there.
        quarters: where the wrong text has the note, or lacks it.
        true_quarters: where it sounds; as `quarters` but for a wrong onset.
        written_pitch, true_pitch: `None` where there is no such note.
        true_length_quarters: how long the string really sounds.
    """

    mistake: Mistake
    note: int | None
    quarters: Fraction
    true_quarters: Fraction
    written_pitch: int | None
    true_pitch: int | None
    true_length_quarters: Fraction


@dataclass(frozen=True, slots=True, kw_only=True)
class WrongText:
    """A text with mistakes, and what they are.

    Attributes:
        text: with the mistakes.
        errors: by place.
        origins: for each note of the text the note of the right one; `None` for an extra one.
    """

    text: Passage
    errors: tuple[TextError, ...]
    origins: tuple[int | None, ...]


def with_mistakes(right: Passage, mistakes: Mapping[Mistake, int], seed: int) -> WrongText:
    """Put so many mistakes of each kind into a text, never two at one attack.

    Fewer are put where the text has no room for them.
    """
    rng = np.random.default_rng(seed)
    rows: list[tuple[Note, int | None]] = [(n, n.index) for n in right.notes]
    taken: set[Fraction] = set()
    made: list[tuple[Mistake, Note | None, Note | None]] = []
    for mistake, count in mistakes.items():
        wanted = count
        for index in rng.permutation(len(right.notes)).tolist():
            if not wanted:
                break
            note = right.notes[int(index)]
            if note.pitch is None or note.onset_quarters in taken:
                continue
            wrong = _CHANGES[mistake](right, note, rng)
            if mistake is not Mistake.MISSING and (wrong is None or _meets(wrong, rows)):
                continue
            taken |= {note.onset_quarters} | ({wrong.onset_quarters} if wrong else set())
            if mistake is Mistake.EXTRA:
                assert wrong is not None
                rows.append((wrong, None))
                made.append((mistake, wrong, None))
            else:
                rows = [(n, origin) for n, origin in rows if origin != note.index]
                if wrong is not None:
                    rows.append((wrong, note.index))
                made.append((mistake, wrong, note))
            wanted -= 1
    return _written(right, rows, made)


def _meets(wrong: Note, rows: list[tuple[Note, int | None]]) -> bool:
    """Tell whether its string is taken by what stands there by now, earlier mistakes included."""
    return any(
        n.string == wrong.string
        and n.index != wrong.index
        and n.onset_quarters < wrong.ring_end_quarters
        and wrong.onset_quarters < n.ring_end_quarters
        for n, _ in rows
    )


def _written(
    right: Passage,
    rows: list[tuple[Note, int | None]],
    made: list[tuple[Mistake, Note | None, Note | None]],
) -> WrongText:
    rows = sorted(rows, key=lambda row: (row[0].onset_quarters, -row[0].string))
    builder = NoteTableBuilder()
    for note, _ in rows:
        builder.add(
            onset_quarters=note.onset_quarters,
            duration_quarters=note.duration_quarters,
            string=note.string,
            fret=note.fret,
            pitch=note.pitch,
            ring_end_quarters=note.ring_end_quarters,
            techniques=note.techniques,
            bend=note.bend,
            other_fret=note.other_fret,
            tremolo_marks=note.tremolo_marks,
        )
    place = {(n.onset_quarters, n.string): k for k, (n, _) in enumerate(rows)}
    errors = []
    for mistake, wrong, true in made:
        shown = wrong or true
        assert shown is not None
        known = true or shown
        errors.append(
            TextError(
                mistake=mistake,
                note=None if wrong is None else place[wrong.onset_quarters, wrong.string],
                quarters=shown.onset_quarters,
                true_quarters=known.onset_quarters,
                written_pitch=None if wrong is None else wrong.pitch,
                true_pitch=None if true is None else true.pitch,
                true_length_quarters=known.ring_end_quarters - known.onset_quarters,
            )
        )
    return WrongText(
        text=replace(right, notes=builder.build()),
        errors=tuple(sorted(errors, key=lambda e: e.quarters)),
        origins=tuple(origin for _, origin in rows),
    )


# ---- one mistake each: the right note in, the wrong one out; `None` where there is no room

_Change = Callable[[Passage, Note, np.random.Generator], Note | None]


def _fret(right: Passage, note: Note, rng: np.random.Generator) -> Note | None:
    step = -1 if note.fret > 0 and rng.random() < 0.5 else 1
    return _moved(right, note, note.string, note.fret + step)


def _string(right: Passage, note: Note, rng: np.random.Generator) -> Note | None:
    for step in rng.permutation([-1, 1]).tolist():
        string = note.string + int(step)
        if 1 <= string <= right.tuning.string_count and _is_free(
            right, string, note.onset_quarters, note.ring_end_quarters
        ):
            return _moved(right, note, string, note.fret)
    return None


def _octave(right: Passage, note: Note, _: np.random.Generator) -> Note | None:
    return _moved(right, note, note.string, note.fret + (-12 if note.fret >= 12 else 12))


def _missing(_right: Passage, _note: Note, _rng: np.random.Generator) -> Note | None:
    return None


def _extra(right: Passage, note: Note, rng: np.random.Generator) -> Note | None:
    """Add a note to an attack: near the hand, and not an octave of what sounds there."""
    sounding = {
        n.pitch % 12
        for n in right.notes
        if n.pitch is not None and n.onset_quarters <= note.onset_quarters < n.ring_end_quarters
    }
    for string in rng.permutation(right.tuning.string_count).tolist():
        fret = max(0, note.fret + int(rng.integers(-2, 3)))
        pitch = right.tuning.pitch_at(int(string) + 1, fret)
        free = _is_free(right, int(string) + 1, note.onset_quarters, note.end_quarters)
        if free and pitch % 12 not in sounding:
            return replace(
                note,
                string=int(string) + 1,
                index=-1,
                fret=fret,
                pitch=pitch,
                ring_end_quarters=note.end_quarters,
            )
    return None


def _longer(right: Passage, note: Note, _: np.random.Generator) -> Note | None:
    end = note.ring_end_quarters + max(note.ring_end_quarters - note.onset_quarters, Fraction(1))
    following = [
        n.onset_quarters
        for n in right.notes
        if n.string == note.string and n.onset_quarters > note.onset_quarters
    ]
    end = min([end, right.length_quarters, *following])
    if not _differs(right, note.ring_end_quarters, end):
        return None
    return replace(note, ring_end_quarters=end, duration_quarters=end - note.onset_quarters)


def _shorter(right: Passage, note: Note, _: np.random.Generator) -> Note | None:
    end = note.onset_quarters + (note.ring_end_quarters - note.onset_quarters) / 2
    if not _differs(right, end, note.ring_end_quarters):
        return None
    return replace(note, ring_end_quarters=end, duration_quarters=end - note.onset_quarters)


def _onset(right: Passage, note: Note, _: np.random.Generator) -> Note | None:
    """Write a note an eighth late, where its string is free and it still has some length."""
    at = note.onset_quarters + ONSET_STEP
    end = max(note.ring_end_quarters, at + ONSET_STEP)
    others = [n for n in right.notes if n.index != note.index and n.string == note.string]
    meets = any(n.onset_quarters < end and at < n.ring_end_quarters for n in others)
    if meets or end > right.length_quarters:
        return None
    return replace(note, onset_quarters=at, duration_quarters=end - at, ring_end_quarters=end)


def _moved(right: Passage, note: Note, string: int, fret: int) -> Note | None:
    if not 0 <= fret <= min(HIGHEST_FRET, right.tuning.frets):
        return None
    return replace(note, string=string, fret=fret, pitch=right.tuning.pitch_at(string, fret))


def _is_free(right: Passage, string: int, start: Fraction, end: Fraction) -> bool:
    return not any(
        n.string == string and n.onset_quarters < end and start < n.ring_end_quarters
        for n in right.notes
    )


def _differs(right: Passage, early: Fraction, late: Fraction) -> bool:
    tempo = TimeMap.from_tempos(right.tempos, right.length_quarters)
    return tempo.seconds_at(late) - tempo.seconds_at(early) >= AUDIBLE_SECONDS


_CHANGES: Final[Mapping[Mistake, _Change]] = {
    Mistake.FRET: _fret,
    Mistake.STRING: _string,
    Mistake.OCTAVE: _octave,
    Mistake.MISSING: _missing,
    Mistake.EXTRA: _extra,
    Mistake.LONGER: _longer,
    Mistake.SHORTER: _shorter,
    Mistake.ONSET: _onset,
}
