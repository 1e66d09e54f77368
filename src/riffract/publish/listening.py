"""A passage held against a recording: read, measured, aligned, weighed note by note."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

from riffract.essay.hearing import Hearing, made_from
from riffract.essay.sound_cache import prepare
from riffract.music import Passage
from riffract.publish.hearing_report import doubts
from riffract.sound.alignment import Anchor, align
from riffract.sound.mono import Mono
from riffract.sound.reading.one_channel import read_mono
from riffract.sound.sound import SoundProblem
from riffract.sound.support import support

READING_SHARE: Final = 0.1
ALIGNING_SHARE: Final = 0.6
"""About what share of the work is done when the recording is read, and when it is aligned."""

Report = Callable[[str, float], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Take:
    """What is listened to.

    Attributes:
        passage: what is written.
        recording: the file.
        anchors: what is fixed by ear.
        kept_in: the essay's folder, if the recording is its own.
    """

    passage: Passage
    recording: Path
    anchors: tuple[Anchor, ...]
    kept_in: Path | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Heard:
    """What listening gave.

    Attributes:
        hearing: what is kept of it.
        recording_seconds: how long the recording is.
        notes: what was mended or is unusual in the recording, a sentence each.
    """

    hearing: Hearing
    recording_seconds: float
    notes: tuple[str, ...]


def held_against(take: Take, report: Report) -> Heard | SoundProblem:
    """Listen to a recording for a passage; what was measured of it is kept beside the essay."""
    sound = read_mono(take.recording, progress=lambda _seconds: report("reading", 0.0))
    if isinstance(sound, SoundProblem):
        return sound
    notes = [*sound.notes]
    sha256 = None
    if take.kept_in is not None:
        measured = prepare(
            take.kept_in,
            take.recording,
            sound=sound,
            progress=_part(report, "measuring", 0.0, READING_SHARE),
        )
        # Its outline and spectrum are to be looked at; nothing that follows hangs on them.
        if isinstance(measured, SoundProblem):
            notes.append(f"{measured.what}; {measured.mend}")
        else:
            sha256 = measured.about.sha256
    hearing = _heard(take, sound, sha256, report)
    if isinstance(hearing, SoundProblem):
        return replace(hearing, notes=tuple(notes))
    return Heard(hearing=hearing, recording_seconds=sound.length_seconds, notes=tuple(notes))


def _heard(
    take: Take, sound: Mono, recording_sha256: str | None, report: Report
) -> Hearing | SoundProblem:
    alignment = align(
        take.passage,
        sound,
        anchors=take.anchors,
        progress=_part(report, "aligning", READING_SHARE, ALIGNING_SHARE),
    )
    if isinstance(alignment, SoundProblem):
        return alignment
    found = support(
        take.passage, alignment, sound, progress=_part(report, "listening", ALIGNING_SHARE, 1.0)
    )
    return Hearing(
        made_from=made_from(take.passage, take.recording, recording_sha256=recording_sha256),
        alignment=alignment,
        support=found,
        doubts=doubts(take.passage, found),
    )


def _part(report: Report, what: str, start: float, end: float) -> Callable[[float], None]:
    return lambda share: report(what, start + share * (end - start))
