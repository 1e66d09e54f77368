"""A recording in short frames: which pitches sound in each, and how much begins in it."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from riffract.sound.mono import Mono, cut_out, rms_of
from riffract.sound.sound import Samples

HOP: Final = 512
"""Samples between frames at 22,050 Hz: 23 ms, a fifth of a fast sixteenth."""

PITCH_WINDOW: Final = 4096
"""186 ms: long enough to tell semitones from E3 up; lower notes are told by their partials."""

ONSET_WINDOW: Final = 1024
"""46 ms: two hops, so that no attack falls between windows."""

LOWEST_PITCH, HIGHEST_PITCH = 23, 107
"""From the open lowest string of nine to the highest partials that a cabinet lets through."""

BANDS: Final = HIGHEST_PITCH - LOWEST_PITCH + 1
PARTIALS: Final = 14
"""More than a chord's loud ones. A choice; its sensitivity is not measured yet."""

QUIET_SHARE: Final = 1e-3
"""60 dB under the loud frames: below that, a spectrum tells of hiss."""

_ROWS_AT_ONCE: Final = 256
_LONGEST_LOCAL_FRAMES: Final = 129
"""Three seconds: strength is relative to what was struck nearby."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Frames:
    """What is heard, frame by frame.

    Attributes:
        harmony: shape (frames, bands), rows of length 1, or 0 where nothing sounds.
        onset: shape (frames,), how much begins, 0 to 1.
        hop_seconds: from one frame to the next; the middle of frame 0 lies at 0.
    """

    harmony: Samples
    onset: Samples
    hop_seconds: float

    def __len__(self) -> int:
        return len(self.onset)

    def part(self, first: int, past: int) -> "Frames":
        """Take some frames."""
        return Frames(
            harmony=self.harmony[first:past],
            onset=self.onset[first:past],
            hop_seconds=self.hop_seconds,
        )

    def thinned(self, factor: int) -> "Frames":
        """Join every `factor` frames to one."""
        if factor == 1:
            return self
        count = -(-len(self) // factor)
        pad = count * factor - len(self)
        harmony = np.pad(self.harmony, ((0, pad), (0, 0))).reshape(count, factor, -1).sum(axis=1)
        onset = np.pad(self.onset, (0, pad)).reshape(count, factor).max(axis=1)
        return Frames(
            harmony=unit_rows(harmony), onset=onset, hop_seconds=self.hop_seconds * factor
        )


def frames_of(recording: Mono, reference_hz: float) -> Frames:
    """Cut a recording into frames.

    Args:
        recording: at 22,050 Hz.
        reference_hz: what A4 sounds at; the bands are semitones about it.
    """
    bank = _band_filters(reference_hz, recording.rate_hz)
    bands = np.empty((_count_of(recording.samples), BANDS), dtype=np.float32)
    filled = 0
    for block in _spectra(recording.samples, PITCH_WINDOW):
        bands[filled : filled + len(block)] = np.abs(block) @ bank
        filled += len(block)
    return Frames(
        harmony=harmony_of(bands),
        onset=_relative_strength(_flux(recording.samples)),
        hop_seconds=HOP / recording.rate_hz,
    )


def harmony_of(bands: Samples) -> Samples:
    """Compress band strengths, in place, even out their colour, and leave each row's direction.

    A square root stands between loudness and level; half of each band's mean is divided out, so
    that the colour of an amplifier counts less than what changes. Three hours take 160 MB, which
    are held once and not four times.
    """
    loud = np.sqrt(bands, out=bands)
    level = np.sqrt(np.einsum("ij,ij->i", loud, loud))
    means = loud.mean(axis=0)
    loud /= np.sqrt(means + 0.05 * means.max(initial=1e-9))
    loud -= loud.mean(axis=1, keepdims=True)
    loud[level < np.sqrt(QUIET_SHARE) * np.quantile(level, 0.95)] = 0.0
    return unit_rows(loud)


def unit_rows(rows: Samples) -> Samples:
    """Scale rows to length 1, in place; rows of nothing stay."""
    lengths = np.sqrt(np.einsum("ij,ij->i", rows, rows))[:, None]
    rows /= np.where(lengths > 1e-9, lengths, 1.0)
    return rows


def pitch_templates(rate_hz: int) -> Samples:
    """Give what one note of each MIDI pitch puts into the bands. Shape: (128, bands).

    Partial k has the strength 1/√k, between a string and the same through a driven amplifier.
    """
    bank = _band_filters(440.0, rate_hz)
    bins_hz = np.fft.rfftfreq(PITCH_WINDOW, 1.0 / rate_hz)
    width_hz = rate_hz / PITCH_WINDOW
    out = np.zeros((128, BANDS), dtype=np.float32)
    for pitch in range(12, 108):
        first_hz = 440.0 * 2.0 ** ((pitch - 69) / 12)
        spectrum = np.zeros_like(bins_hz)
        for k in range(1, PARTIALS + 1):
            away = (bins_hz - k * first_hz) / width_hz
            lobe = np.where(np.abs(away) < 2.0, np.cos(np.pi * away / 4.0) ** 2, 0.0)
            spectrum += lobe / np.sqrt(k)
        out[pitch] = spectrum @ bank
    return out


def _band_filters(reference_hz: float, rate_hz: int) -> Samples:
    """Give triangles of a semitone to each side, at least one bin wide. Shape: (bins, bands)."""
    bins_hz = np.fft.rfftfreq(PITCH_WINDOW, 1.0 / rate_hz)
    pitches = np.arange(LOWEST_PITCH, HIGHEST_PITCH + 1)
    centres_hz = reference_hz * 2.0 ** ((pitches - 69) / 12)
    half_hz = np.maximum(centres_hz * (2.0 ** (1 / 12) - 1.0), rate_hz / PITCH_WINDOW)
    triangles = 1.0 - np.abs(bins_hz[:, None] - centres_hz) / half_hz
    filters = np.maximum(triangles, 0.0)
    return np.asarray(filters / np.maximum(filters.sum(axis=0), 1e-9), dtype=np.float32)


def _count_of(samples: Samples) -> int:
    return len(samples) // HOP + 1


def _spectra(samples: Samples, window: int) -> Iterator[NDArray[np.complex64]]:
    """Give spectra of windows about every hop, some rows at a time; silence lies before and after.

    Only what some rows need is copied: all of three hours takes a gigabyte.
    """
    count = _count_of(samples)
    hann = np.hanning(window + 1)[:-1].astype(np.float32)
    for first in range(0, count, _ROWS_AT_ONCE):
        rows = min(_ROWS_AT_ONCE, count - first)
        piece = cut_out(samples, first * HOP - window // 2, (rows - 1) * HOP + window)
        views = np.lib.stride_tricks.sliding_window_view(piece, window)[::HOP]
        yield np.fft.rfft(views * hann, axis=1).astype(np.complex64)


def _flux(samples: Samples) -> Samples:
    """Give how much the spectrum grows from frame to frame, in logarithms. Shape: (frames,)."""
    floor = 1e-3 * ONSET_WINDOW * max(rms_of(samples), 1e-9)
    parts = []
    before: Samples | None = None
    for block in _spectra(samples, ONSET_WINDOW):
        logs = np.log1p(np.abs(block) / floor).astype(np.float32)
        first = logs[:1] if before is None else before
        steps = np.diff(np.concatenate([first, logs]), axis=0)
        parts.append(np.maximum(steps, 0.0).sum(axis=1))
        before = logs[-1:]
    return np.concatenate(parts)


def _relative_strength(flux: Samples) -> Samples:
    """Set what begins against the strongest nearby, less what always flickers."""
    half = _LONGEST_LOCAL_FRAMES // 2
    padded = np.pad(flux, half, mode="edge")
    near = np.lib.stride_tricks.sliding_window_view(padded, _LONGEST_LOCAL_FRAMES)
    top = np.concatenate([near[i : i + 4096].max(axis=1) for i in range(0, len(near), 4096)])
    top = np.maximum(top, 0.2 * float(flux.max(initial=1e-9)))
    usual = float(np.median(flux))
    share = (flux - usual) / np.maximum(top - usual, 1e-9)
    return np.asarray(np.clip(share, 0.0, 1.0), dtype=np.float32)
