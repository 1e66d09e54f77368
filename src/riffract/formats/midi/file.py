"""A whole file: its tracks, with times in ticks of a quarter."""

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Final

from riffract.formats.midi.chunks import MOST_BYTES, Header, chunks_of
from riffract.formats.midi.events import TEMPO, Message, Meta, Track, track_of
from riffract.formats.midi.numbers import BrokenFileError
from riffract.formats.midi.report import Report

USUAL_MICROSECONDS: Final = 500_000
"""A quarter without a tempo. Source: Standard MIDI Files 1.0."""

MOST_EVENTS: Final = 600_000

TIMED_TICKS_PER_QUARTER: Final = 20_160
"""For files timed in seconds: it holds every common tuplet, and a tick is far below a frame."""

_FRAMES_A_SECOND: Final = {24: Fraction(24), 25: Fraction(25), 29: Fraction(30000, 1001)} | {
    30: Fraction(30)
}
_TIMED: Final = 0x8000


@dataclass(frozen=True, slots=True, kw_only=True)
class MidiFile:
    """What a file holds, read but not yet understood.

    Attributes:
        format: 0 or 1.
        ticks_per_quarter: the unit of all times.
        tracks: in order.
        tempos: tick and microseconds a quarter from there, by tick; the first at 0.
        has_tempo: whether the file says any tempo.
        source_ticks: how many of the ticks make one of the file's own, at most.
    """

    format: int
    ticks_per_quarter: int
    tracks: tuple[Track, ...]
    tempos: tuple[tuple[int, int], ...]
    has_tempo: bool
    source_ticks: float = 1.0

    def seconds_a_tick(self, tick: int) -> float:
        """Tell how long a tick lasts at some moment."""
        at = bisect_right(self.tempos, tick, key=lambda tempo: tempo[0]) - 1
        return self.tempos[at][1] / 1e6 / self.ticks_per_quarter


def file_of(data: bytes, report: Report) -> MidiFile | None:
    """Read a file of format 0 or 1; `None` after an error."""
    if len(data) > MOST_BYTES:
        report.error(
            f"the file holds {len(data) / 1e6:.1f} MB, more than any passage needs",
            f"bring a file of at most {MOST_BYTES // 1024 // 1024} MB",
        )
        return None
    try:
        chunks = chunks_of(data)
        if not _is_readable(chunks.header, report):
            return None
        tracks = _tracks(data, chunks.tracks)
    except BrokenFileError as error:
        report.error(
            f"{error.what} (byte {error.byte:,} of the file)",
            "export the file again, as a Standard MIDI File of format 0 or 1",
        )
        return None
    _warn_of_oddities(chunks.header, tracks, chunks.left_over, report)
    return _timed(chunks.header, tracks)


def _is_readable(header: Header, report: Report) -> bool:
    if header.format == 2:
        report.error(
            "this is a file of format 2: patterns that have no time in common",
            "export it as a file of format 0 or 1",
        )
    elif not header.division & _TIMED and not header.division:
        report.error(
            "the header says that a quarter has 0 ticks", "export the file again with 480 or 960"
        )
    elif header.division & _TIMED and not _ticks_a_second(header.division):
        report.error(
            f"the header counts time in {256 - (header.division >> 8)} frames a second with "
            f"{header.division & 0xFF} ticks each, which the standard does not know",
            "export the file again with ticks a quarter, e.g. 480 or 960",
        )
    return not report.has_errors


def _ticks_a_second(division: int) -> Fraction | None:
    """Read a division in frames; 29 stands for 30 drop-frame, 30000/1001 a second."""
    frames = _FRAMES_A_SECOND.get(256 - (division >> 8))
    return None if frames is None or not division & 0xFF else frames * (division & 0xFF)


def _tracks(data: bytes, places: Sequence[tuple[int, int]]) -> tuple[Track, ...]:
    tracks: list[Track] = []
    left = MOST_EVENTS
    for start, end in places:
        tracks.append(track_of(data, start, end, most_events=left))
        left -= tracks[-1].event_count
    return tuple(tracks)


def _warn_of_oddities(
    header: Header, tracks: Sequence[Track], left_over: int, report: Report
) -> None:
    if len(tracks) > header.track_count:
        report.warn(
            f"the header announces {header.track_count} tracks, the file holds {len(tracks)}; all "
            "are read",
            "export the file again if something is there twice",
        )
    if left_over:
        report.warn(
            f"{left_over:,} bytes behind the last track are not read",
            "export the file again if something is missing",
        )
    endless = sum(not track.has_end for track in tracks)
    if endless:
        report.warn(
            f"{endless} of {len(tracks)} tracks have no end; they are read as far as they go",
            "export the file again if something is missing",
        )


def _timed(header: Header, tracks: Sequence[Track]) -> MidiFile:
    """Count all times in ticks of a quarter, also where the file counts them in seconds."""
    said = sorted(
        (meta.tick, int.from_bytes(meta.data, "big"))
        for track in tracks
        for meta in track.metas
        if meta.kind == TEMPO and len(meta.data) == 3 and any(meta.data)
    )
    # dict: of several tempos at one moment the last counts.
    tempos = tuple(({0: USUAL_MICROSECONDS} | dict(said)).items())
    ticks_a_second = _ticks_a_second(header.division) if header.division & _TIMED else None
    if ticks_a_second is None:
        return MidiFile(
            format=header.format,
            ticks_per_quarter=header.division,
            tracks=tuple(tracks),
            tempos=tempos,
            has_tempo=bool(said),
        )
    clock = _Clock(tempos, float(ticks_a_second))
    return MidiFile(
        format=header.format,
        ticks_per_quarter=TIMED_TICKS_PER_QUARTER,
        tracks=tuple(clock.moved_track(track) for track in tracks),
        tempos=tuple((clock.moved(tick), microseconds) for tick, microseconds in tempos),
        has_tempo=bool(said),
        source_ticks=max(clock.scales),
    )


class _Clock:
    """Turns ticks of seconds into ticks of a quarter."""

    def __init__(self, tempos: Sequence[tuple[int, int]], ticks_a_second: float) -> None:
        self.starts = [tick for tick, _ in tempos]
        self.scales = [
            TIMED_TICKS_PER_QUARTER * 1e6 / ticks_a_second / microseconds
            for _, microseconds in tempos
        ]
        self.goals = [0.0]
        for index in range(1, len(tempos)):
            length = self.starts[index] - self.starts[index - 1]
            self.goals.append(self.goals[-1] + length * self.scales[index - 1])

    def moved(self, tick: int) -> int:
        """Move a moment."""
        at = bisect_right(self.starts, tick) - 1
        return round(self.goals[at] + (tick - self.starts[at]) * self.scales[at])

    def moved_track(self, track: Track) -> Track:
        """Move all events of a track."""
        messages = [Message(self.moved(message.tick), *message[1:]) for message in track.messages]
        metas = [Meta(self.moved(meta.tick), *meta[1:]) for meta in track.metas]
        return replace(track, messages=messages, metas=metas, end_tick=self.moved(track.end_tick))
