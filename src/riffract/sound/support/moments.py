"""Where a recording is listened to: a slice after every attack, and one before it."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

import numpy as np

from riffract.music import Passage
from riffract.sound.alignment import Alignment
from riffract.sound.mono import Mono
from riffract.sound.sound import Reals
from riffract.sound.support.between import Place, places_along, restless
from riffract.sound.support.explaining import explained, slice_spectra
from riffract.sound.support.pitch_shapes import pitch_shapes

SLICE_SECONDS: Final = (0.070, 0.100, 0.150, 0.280)
"""Lengths of slices: the longest that fits before the next attack is taken. The shortest just holds
sixteenths at 200 quarters a minute; the longest tells semitones apart from the third
partial of the lowest strings on. Without it, or with one of 400 ms, at most two of 349 verdicts
change."""

ATTACK_SECONDS: Final = 0.004
"""A slice begins this long after its attack, past the first noise of the pick."""

CLEAR_STROKE: Final = 0.4
"""Against the upper quartile of strokes: what begins so strongly between the attacks, and stands
out from what begins at rest, ends the slice of the attack before it, as if it were written."""

STANDS_OUT: Final = 3.0
"""How many times as strong as what begins at rest (`restless`)."""

SLACK: Final = 0.9
"""A slice fits if this much of it does: a window's last tenth weighs next to nothing."""

BATCH: Final = 256
"""Slices explained at a time, so that memory does not grow with the recording."""

Progress = Callable[[float], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Moment:
    """An attack of the text, once for each time that the recording plays it.

    Attributes:
        quarters: where it is written.
        seconds: when it sounds.
        gap_before, gap_after: seconds to the neighbouring attacks.
        stroke: how strongly something begins there (`Place`).
        is_struck: whether the text strikes something here.
    """

    quarters: Fraction
    seconds: float
    gap_before: float
    gap_after: float
    stroke: float
    is_struck: bool


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Hearing:
    """How strongly each pitch sounds around each moment.

    Attributes:
        moments: in order of time.
        lowest_pitch: the pitch of column 0.
        after, before: amounts, shape (moments, pitches).
        strength: amount of all sound after each moment, shape (moments,).
    """

    moments: tuple[Moment, ...]
    lowest_pitch: int
    after: Reals
    before: Reals
    strength: Reals


def moments_of(passage: Passage, alignment: Alignment, recording: Mono) -> tuple[Moment, ...]:
    """List the attacks in order of time, and the places between them (`places_along`)."""
    moments: list[Moment] = []
    for stretch in alignment.stretches:
        moments.extend(_spaced(places_along(passage, stretch, recording)))
    return tuple(sorted(moments, key=lambda m: m.seconds))


def _spaced(places: Sequence[Place]) -> list[Moment]:
    """Give every moment its gaps: to the next attack, or stroke that the text lacks.

    Other places between attacks do not shorten those of an attack.
    """
    rests = np.array([p.stroke for p in places if not p.is_written])
    clear = max(CLEAR_STROKE, STANDS_OUT * restless(rests))
    struck = np.sort([p.seconds for p in places if p.is_written or p.stroke >= clear])
    moments = []
    for place in places:
        k = int(np.searchsorted(struck, place.seconds, side="left"))
        before = place.seconds - struck[k - 1] if k > 0 else SLICE_SECONDS[-1]
        later = int(np.searchsorted(struck, place.seconds, side="right"))
        after = struck[later] - place.seconds if later < len(struck) else SLICE_SECONDS[-1]
        if not place.is_written and after < SLICE_SECONDS[0]:
            continue  # its slice would hear the attack after it
        moments.append(
            Moment(
                quarters=place.quarters, seconds=place.seconds, gap_before=float(before),
                gap_after=float(after), stroke=place.stroke, is_struck=place.is_written,
            )
        )  # fmt: skip
    return moments


def listen(
    passage: Passage,
    alignment: Alignment,
    recording: Mono,
    *,
    progress: Progress | None = None,
) -> Hearing:
    """Explain the slices around every moment.

    Args:
        passage: the text.
        alignment: when its attacks sound.
        recording: the sound.
        progress: told the share that is done.
    """
    moments = moments_of(passage, alignment, recording)
    shapes = [
        pitch_shapes(
            passage, round(s * recording.rate_hz), recording.rate_hz,
            reference_hz=alignment.reference_hz,
        )
        for s in SLICE_SECONDS
    ]  # fmt: skip
    lowest, width = shapes[0].lowest, len(shapes[0].pitches)
    shape = (len(moments), width)
    after, before = np.zeros(shape), np.zeros(shape)
    strength = np.zeros(len(moments))
    for size, k in _batches([m.gap_before for m in moments]):
        length = round(SLICE_SECONDS[size] * recording.rate_hz)
        starts = [
            round((moments[i].seconds - ATTACK_SECONDS) * recording.rate_hz) - length for i in k
        ]
        spectra = slice_spectra(recording.samples, starts, length, recording.rate_hz)
        before[k] = shapes[size].by_pitch(explained(spectra, shapes[size]))
    done = 0
    for size, k in _batches([m.gap_after for m in moments]):
        length = round(SLICE_SECONDS[size] * recording.rate_hz)
        starts = [round((moments[i].seconds + ATTACK_SECONDS) * recording.rate_hz) for i in k]
        spectra = slice_spectra(recording.samples, starts, length, recording.rate_hz)
        after[k] = shapes[size].by_pitch(explained(spectra, shapes[size]))
        strength[k] = spectra.sum(axis=1)
        done += len(k)
        if progress is not None:
            progress(0.5 + 0.5 * done / len(moments))
    return Hearing(
        moments=moments, lowest_pitch=lowest, after=after, before=before,
        strength=strength,
    )  # fmt: skip


def _batches(gaps: list[float]) -> list[tuple[int, list[int]]]:
    """Sort moments by the longest slice that fits their gap, in batches."""
    sizes = [
        max((n for n, s in enumerate(SLICE_SECONDS) if s * SLACK <= gap), default=0) for gap in gaps
    ]
    batches = []
    for size in range(len(SLICE_SECONDS)):
        of_size = [i for i, s in enumerate(sizes) if s == size]
        batches += [(size, of_size[k : k + BATCH]) for k in range(0, len(of_size), BATCH)]
    return batches
