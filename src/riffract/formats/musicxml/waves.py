"""Wavy lines: vibrato as far as they go, or the length of a trill."""

from collections.abc import Iterable
from dataclasses import dataclass, field

from riffract.formats.musicxml.report import Report
from riffract.formats.musicxml.signs import WaveEnd
from riffract.formats.musicxml.written import Extent, WrittenNote
from riffract.music import Technique


@dataclass(slots=True)
class Waves:
    """Pairs the ends of wavy lines, voice by voice.

    Attributes:
        report: where trills over several notes are told.
        extents: stretches of vibrato found so far.
    """

    report: Report
    extents: list[Extent] = field(default_factory=list)
    _open: dict[str, tuple[WrittenNote, bool]] = field(default_factory=dict)

    def read(self, note: WrittenNote, ends: Iterable[WaveEnd]) -> None:
        """Read the ends that stand on a note."""
        for end in ends:
            if note.voice in self._open:
                started, is_trill = self._open.pop(note.voice)
                self._close(started, note, is_trill=is_trill)
            if end.end == "start":
                self._open[note.voice] = (note, end.is_trill)

    def close(self) -> None:
        """End all lines that nothing ends: they hold for the note that they start on."""
        for note, is_trill in self._open.values():
            self._close(note, note, is_trill=is_trill)

    def _close(self, started: WrittenNote, ended: WrittenNote, *, is_trill: bool) -> None:
        if is_trill:
            if ended is not started and not ended.is_tie_stop:
                self.report.warn(
                    "long trill",
                    "a trill line over several notes is read as a trill on the first of them",
                    "write a `trill-mark` on each note that is trilled",
                    started.spot,
                )
        elif started is ended:
            started.techniques |= Technique.VIBRATO
        else:
            stretch = Extent(Technique.VIBRATO, started.start, ended.start, started.voice)
            self.extents.append(stretch)
