"""Where a held pitch lies among what else sounds."""

from collections.abc import Iterable, Mapping
from typing import Final

import numpy as np
from numpy.typing import NDArray

from riffract.analysis.finding import Position
from riffract.analysis.sounding import SILENT, Slices, pitches_in
from riffract.music import NoteTable
from riffract.music.notes import NO_PITCH, Ints

CROSSING_SHARE: Final = 0.15
"""How much of the time the moving voice must be on either side of a drone that it crosses."""

Bools = NDArray[np.bool_]


def place_shares(
    notes: NoteTable, slices: Slices, *, string: int, pitch: int, lead: Iterable[int]
) -> dict[str, float]:
    """Measure where a held pitch lies, as shares of time.

    Args:
        notes: the passage's notes.
        slices: those in which the pitch sounds.
        string: which string holds it.
        pitch: MIDI pitch.
        lead: the moving voice, as indices of notes.

    Returns:
        `between_share`, `lowest_share`, `highest_share` and `alone_share` go by all that sounds
        with it, as shares of its time; `voice_above_share`, `voice_below_share` and
        `voice_unison_share` by the moving voice, as shares of the time for which both sound.
    """
    length = slices.length_ticks.astype(float)
    pitches = pitches_in(slices, notes)
    others = np.delete(pitches, string - 1, axis=1)
    above = (others > pitch).any(axis=1)
    below = ((others < pitch) & (others != NO_PITCH)).any(axis=1)
    voice = voice_in(notes, slices.note, lead)
    total, with_voice = length.sum(), length[voice != NO_PITCH].sum()

    def share(which: Bools, of: float) -> float:
        return float(length[which].sum() / of) if of else 0.0

    return {
        "between_share": share(above & below, total),
        "lowest_share": share(above & ~below, total),
        "highest_share": share(below & ~above, total),
        "alone_share": share((others == NO_PITCH).all(axis=1), total),
        "voice_above_share": share(voice > pitch, with_voice),
        "voice_below_share": share((voice < pitch) & (voice != NO_PITCH), with_voice),
        "voice_unison_share": share(voice == pitch, with_voice),
    }


def position_of(shares: Mapping[str, float]) -> Position:
    """Name the place of a held pitch from its `place_shares`.

    Definition: `middle` if something sounds on either side of it for at least half of the time that
    anything else sounds; else `crossing` if the moving voice is above it and below it for 15 % of
    their time each; else the side where it lies for longer. A struck bass that rings makes a drone
    a middle voice, then; a bass of short strokes does not.
    """
    with_others = 1.0 - shares["alone_share"]
    if shares["between_share"] >= with_others / 2 > 0:
        return "middle"
    if min(shares["voice_above_share"], shares["voice_below_share"]) >= CROSSING_SHARE:
        return "crossing"
    return "below" if shares["lowest_share"] >= shares["highest_share"] else "above"


def voice_in(notes: NoteTable, sounding: Ints, lead: Iterable[int]) -> Ints:
    """Give the pitch of the moving voice in each slice: its latest note, if that still sounds.

    Args:
        notes: the passage's notes.
        sounding: the note on each string, or `SILENT`. Shape: (slices, strings).
        lead: the moving voice, as indices of notes.

    Returns:
        MIDI pitches, or `NO_PITCH`. Shape: (slices,).
    """
    is_lead = np.zeros(len(notes) + 1, dtype=np.bool_)  # one more, so that SILENT is no lead
    is_lead[list(lead)] = True
    latest = np.where(is_lead[sounding], sounding, SILENT).max(axis=1, initial=SILENT)
    voice: Ints = np.where(latest == SILENT, NO_PITCH, notes.pitch[latest])
    return voice
