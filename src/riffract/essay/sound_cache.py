"""A recording's outline and spectrum, kept beside the essay so that they are measured once.

`FOLDER/.riffract/sound-<digest>.zip` holds, for one recording, `about.json`, then for every zoom
from the finest `outline-<zoom>` (three rows of float32: lowest, highest, rms) and
`spectrum-<zoom>-<tile>` (one byte a level, column by column), all with the lowest byte first.
The folder may be deleted at any time: what is missing, broken, or of another version is made again.
"""

import zipfile
import zlib
from collections.abc import Callable, Iterator, Sequence
from contextlib import suppress
from hashlib import file_digest
from pathlib import Path
from typing import Final, Literal

import msgspec
import numpy as np

from riffract.essay.beside import beside
from riffract.sound.mono import Mono
from riffract.sound.reading.kind import form_of
from riffract.sound.reading.one_channel import read_mono
from riffract.sound.sound import Samples, SoundProblem
from riffract.sound.spectrum_tiles import ROWS, TILE_COLUMNS, Levels, Spectrum, spectra
from riffract.sound.waveform import Outline, outlines

CACHE_FOLDER: Final = ".riffract"

MOST_KEPT: Final = 4
"""Recordings that are kept: the essay's, and a few that it was compared with."""

LONGEST_SECONDS: Final = 14_400.0
"""Four hours; what is measured of them takes 400 MB before it is packed."""

LARGEST_BYTES: Final = 512 * 2**20
"""Unpacked; no file that was written here is larger."""

BLOCK_SECONDS: Final = 10.0
"""Progress is told this often."""

_BIN_BYTES: Final = 12
_ABOUT: Final = "about.json"
_DATED: Final = (1980, 1, 1, 0, 0, 0)
_PACKING: Final = 1
"""Of zlib's nine grades: the others take three times as long for a tenth less."""

Progress = Callable[[float], None]
"""Told the share that is done, 0..1; what it raises ends the work, and nothing is left behind."""


class About(msgspec.Struct, frozen=True, kw_only=True):
    """What a file of the cache holds.

    Attributes:
        sha256: of the recording.
        length_seconds: of the recording.
        outline_seconds: how long a bin lasts at every zoom.
        outline_bins: how many there are.
        spectrum_seconds: how long a column lasts at every zoom.
        spectrum_columns: how many there are.
        version: of this layout and of what is measured.
    """

    sha256: str
    length_seconds: float
    outline_seconds: tuple[float, ...]
    outline_bins: tuple[int, ...]
    spectrum_seconds: tuple[float, ...]
    spectrum_columns: tuple[int, ...]
    version: Literal[1] = 1

    @property
    def is_possible(self) -> bool:
        """Whether it may be about a file that was written here."""
        outline, spectrum = self.outline_bins, self.spectrum_columns
        return (
            len(outline) == len(self.outline_seconds)
            and len(spectrum) == len(self.spectrum_seconds)
            and min(*outline, *spectrum, *self.outline_seconds, *self.spectrum_seconds) > 0
            and sum(outline) * _BIN_BYTES + sum(spectrum) * ROWS <= LARGEST_BYTES
        )

    @property
    def sizes(self) -> dict[str, int]:
        """How many bytes each member holds, unpacked."""
        sizes = {
            f"outline-{zoom}": _BIN_BYTES * bins for zoom, bins in enumerate(self.outline_bins)
        }
        for zoom, columns in enumerate(self.spectrum_columns):
            for tile, first in enumerate(range(0, columns, TILE_COLUMNS)):
                held = min(TILE_COLUMNS, columns - first)
                sizes[f"spectrum-{zoom}-{tile}"] = held * ROWS
        return sizes


class SoundCache:
    """What was measured of one recording, read piece by piece.

    Every method raises `OSError` or `zipfile.BadZipFile` where the file was taken away or damaged
    since it was prepared: prepare it again.
    """

    def __init__(self, path: Path, about: About) -> None:
        self._path = path
        self.about = about

    def outline(
        self, zoom: int, start_seconds: float = 0.0, end_seconds: float = np.inf
    ) -> Outline:
        """Give the bins that touch a stretch of time, at a zoom, 0 the finest."""
        bin_seconds = self.about.outline_seconds[zoom]
        count = self.about.outline_bins[zoom]
        low, high, rms = np.frombuffer(self._read(f"outline-{zoom}"), "<f4").reshape(3, count)
        part = _touched(count, bin_seconds, start_seconds, end_seconds)
        return Outline(bin_seconds=bin_seconds, low=low[part], high=high[part], rms=rms[part])

    def tile(self, zoom: int, number: int) -> Levels:
        """Give a tile of the spectrum by its number: shape (columns, rows)."""
        return np.frombuffer(self._read(f"spectrum-{zoom}-{number}"), np.uint8).reshape(-1, ROWS)

    def spectrum(
        self, zoom: int, start_seconds: float = 0.0, end_seconds: float = np.inf
    ) -> Spectrum:
        """Give the columns that touch a stretch of time, at a zoom, 0 the finest."""
        seconds = self.about.spectrum_seconds[zoom]
        part = _touched(self.about.spectrum_columns[zoom], seconds, start_seconds, end_seconds)
        tiles = range(part.start // TILE_COLUMNS, -(-part.stop // TILE_COLUMNS))
        parts = [self.tile(zoom, number) for number in tiles]
        joined = np.concatenate(parts) if parts else np.empty((0, ROWS), np.uint8)
        skipped = tiles.start * TILE_COLUMNS
        levels = joined[part.start - skipped : part.stop - skipped].copy()
        return Spectrum(column_seconds=seconds, levels=levels)

    def _read(self, name: str) -> bytes:
        with zipfile.ZipFile(self._path) as archive:
            try:
                return archive.read(name)
            except KeyError:
                raise ValueError(f"there is no {name} in this recording's cache") from None


def zoom_for(seconds_of: Sequence[float], span_seconds: float, most: int) -> int:
    """Choose the finest zoom at which a span has at most so many bins or columns.

    Args:
        seconds_of: how long a bin lasts at every zoom, the finest first.
        span_seconds: what is to be shown.
        most: for example the pixels of a picture's width.

    Returns:
        The zoom; the coarsest where even that has more.

    >>> zoom_for([0.01, 0.04, 0.16], 10.0, 400)
    1
    """
    fitting = [zoom for zoom, one in enumerate(seconds_of) if span_seconds <= most * one]
    return fitting[0] if fitting else len(seconds_of) - 1


def prepare(
    folder: Path,
    recording: Path,
    *,
    sound: Mono | None = None,
    progress: Progress | None = None,
) -> SoundCache | SoundProblem:
    """Give what was measured of a recording; measure it if it is not kept yet.

    Args:
        folder: the essay's.
        recording: the file; its content is what counts, not its name or place.
        sound: the recording as it was read, if it was read already.
        progress: told the share that is done.

    Returns:
        The cache; or why the recording cannot be read, or the cache not be written.
    """
    form = form_of(recording)
    if isinstance(form, SoundProblem):
        return form
    with recording.open("rb") as file:
        digest = file_digest(file, "sha256").hexdigest()
    path = folder / CACHE_FOLDER / f"sound-{digest[:16]}.zip"
    kept = _kept(path, digest)
    if kept is not None:
        return kept
    mono = sound or read_mono(recording)
    if isinstance(mono, SoundProblem):
        return mono
    if mono.length_seconds > LONGEST_SECONDS:
        return SoundProblem(
            what=f"{recording.name} lasts longer than {LONGEST_SECONDS / 3600:.0f} hours",
            mend="cut out the part that holds the riff",
        )
    try:
        return _made(path, digest, mono, progress or _silent)
    except OSError as error:
        return SoundProblem(
            what=f"what was measured of {recording.name} cannot be kept: {error.strerror or error}",
            mend=f"check whether you may write to {path.parent}, and whether the disk is full",
        )


def _touched(count: int, one_seconds: float, start_seconds: float, end_seconds: float) -> slice:
    first = min(count, max(0, int(start_seconds / one_seconds)))
    last = min(float(count), np.ceil(end_seconds / one_seconds))
    return slice(first, max(first, int(last)))


def _kept(path: Path, digest: str) -> SoundCache | None:
    """Open a file of the cache, unless anything about it is not as it was written."""
    try:
        with zipfile.ZipFile(path) as archive:
            sizes = {member.filename: member.file_size for member in archive.infolist()}
            if sum(sizes.values()) > LARGEST_BYTES:
                return None
            about = msgspec.json.decode(archive.read(_ABOUT), type=About)
            sizes.pop(_ABOUT)
            whole = (
                about.sha256 == digest
                and about.is_possible
                and sizes == about.sizes
                and archive.testzip() is None
            )
    # A damaged archive can fail in any of these ways, by the packing that it claims to have.
    except (OSError, ValueError, KeyError, EOFError, RuntimeError, zipfile.BadZipFile, zlib.error):
        return None
    return SoundCache(path, about) if whole else None


def _made(path: Path, digest: str, sound: Mono, progress: Progress) -> SoundCache:
    # Block by block, so that no copy of the whole is made on the way.
    drawn = outlines(_rows(sound), rate_hz=sound.rate_hz)
    heard = spectra(_told(_rows(sound), sound, progress), rate_hz=sound.rate_hz)
    about = About(
        sha256=digest,
        length_seconds=sound.length_seconds,
        outline_seconds=tuple(one.bin_seconds for one in drawn),
        outline_bins=tuple(len(one.low) for one in drawn),
        spectrum_seconds=tuple(one.column_seconds for one in heard),
        spectrum_columns=tuple(len(one.levels) for one in heard),
    )
    path.parent.mkdir(exist_ok=True)
    with beside(path) as draft, zipfile.ZipFile(draft, "w") as archive:
        for name, content in _members(about, drawn, heard):
            entry = zipfile.ZipInfo(name, _DATED)
            entry.compress_type = zipfile.ZIP_DEFLATED
            archive.writestr(entry, content, compresslevel=_PACKING)
    _forget(path)
    return SoundCache(path, about)


def _members(
    about: About, drawn: Sequence[Outline], heard: Sequence[Spectrum]
) -> Iterator[tuple[str, bytes]]:
    yield _ABOUT, msgspec.json.encode(about)
    for zoom, outline in enumerate(drawn):
        columns = np.stack([outline.low, outline.high, outline.rms])
        yield f"outline-{zoom}", columns.astype("<f4").tobytes()
    for zoom, spectrum in enumerate(heard):
        for number in range(spectrum.tile_count):
            yield f"spectrum-{zoom}-{number}", spectrum.tile(number).tobytes()


def _rows(sound: Mono) -> Iterator[Samples]:
    size = round(BLOCK_SECONDS * sound.rate_hz)
    for start in range(0, len(sound.samples), size):
        yield sound.samples[start : start + size]


def _told(rows: Iterator[Samples], sound: Mono, progress: Progress) -> Iterator[Samples]:
    done = 0
    for row in rows:
        progress(done / len(sound.samples))
        yield row
        done += len(row)
    progress(1.0)


def _forget(newest: Path) -> None:
    """Take the oldest files of the cache away, so that it does not grow without bound."""
    others = [path for path in newest.parent.glob("sound-*.zip") if path != newest]
    with suppress(OSError):
        others.sort(key=lambda path: path.stat().st_mtime, reverse=True)
        for path in others[MOST_KEPT - 1 :]:
            path.unlink()


def _silent(_share: float) -> None:
    """Tell nobody."""
