"""A passage as sound: the plucked strings, through an amplifier."""

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

import numpy as np

from riffract.music import Passage, Span, TimeMap
from riffract.sound.amp import Amp, Tone
from riffract.sound.mono import Mono
from riffract.sound.sound import RATE_HZ, Samples, Sound
from riffract.sound.stems import Stem, added, windows
from riffract.sound.strings import REFERENCE_HZ
from riffract.sound.strokes import Stroke, strokes_of
from riffract.sound.workshop import Workshop

LOWEST_RENDER_HZ, HIGHEST_RENDER_HZ = 44_100, 192_000
"""Below, the highest partials would fold; above, the room's echo outgrows a block."""

LOWEST_REFERENCE_HZ, HIGHEST_REFERENCE_HZ = 390.0, 490.0
"""Two semitones about 440: every concert pitch in use, and tape that ran too fast or slow."""

FADE_IN_SECONDS: Final = 0.002
FADE_OUT_SECONDS: Final = 0.02

Progress = Callable[[float], None]


def render(
    passage: Passage,
    time_map: TimeMap,
    *,
    span: Span | None = None,
    strings: frozenset[int] | None = None,
    tone: Tone = Tone.DRIVEN,
    speed: float = 1.0,
    seed: int = 1,
    rate_hz: int = RATE_HZ,
    reference_hz: float = REFERENCE_HZ,
    progress: Progress | None = None,
) -> Sound:
    """Play a passage, or a stretch of it.

    Some strings alone go through the same amplifier with the same gain, and nothing is made louder
    after it: what is heard of them is as strong as they are within the whole, so that stretches
    with and without them can be compared. A driven amplifier bends less for a single string, which
    is then a little louder than its share of the whole.

    Memory is the sound that is returned and a few seconds besides, however long it is.

    Args:
        passage: what is played.
        time_map: when.
        span: what to play; what rings into it from before is heard. `None` for the whole.
        strings: the strings that are heard, 1 the highest; `None` for all.
        tone: how much the amplifier is driven.
        speed: 0.5 plays half as fast at the same pitch, as a player would.
        seed: of the small differences between strokes; one seed always gives the same samples.
        rate_hz: samples a second, 44,100 to 192,000.
        reference_hz: the frequency of A4 that the strings are tuned by, 390 to 490.
        progress: told the share that is done, from 0 to 1; what it raises ends the work.

    Returns:
        Exactly as long as the span sounds, to the sample. A note whose onset lies t seconds into
        the span starts at sample round(t · rate); the further notes of a chord follow within
        5 ms, and notes that graces lead to at the very start of the passage after these. Not yet
        at any agreed loudness: see `normalised`.

    Raises:
        ValueError: if the speed lies outside 0.1 to 4, or the rate or the reference outside its
            range.
    """
    part = _Part.of(
        passage, time_map, span=span, strings=strings, speed=speed, seed=seed, rate_hz=rate_hz,
        reference_hz=reference_hz,
    )  # fmt: skip
    return _amplified(_summed(part), part.length, tone=tone, rate_hz=rate_hz, progress=progress)


def render_strings(
    passage: Passage,
    time_map: TimeMap,
    *,
    span: Span | None = None,
    speed: float = 1.0,
    seed: int = 1,
    rate_hz: int = RATE_HZ,
    reference_hz: float = REFERENCE_HZ,
) -> Mapping[int, Mono]:
    """Play each string by itself, before the amplifier, so that any choice of them can be heard.

    Added in the order of their numbers they are exactly what `render` sends to the amplifier.

    Args:
        passage: what is played.
        time_map: when.
        span: what to play; `None` for the whole.
        speed: of playing, 0.1 to 4.
        seed: of the small differences between strokes.
        rate_hz: samples a second, 44,100 to 192,000.
        reference_hz: the frequency of A4, 390 to 490.

    Returns:
        For each string, from 1, its sound; all of the same length. A string that never plays is
        silent. Full scale is a strong stroke on one string. Ten minutes of six strings take
        690 MB; `render` itself needs no such store.

    Raises:
        ValueError: as `render` does.
    """
    part = _Part.of(
        passage, time_map, span=span, strings=None, speed=speed, seed=seed, rate_hz=rate_hz,
        reference_hz=reference_hz,
    )  # fmt: skip
    return {
        string: Mono(samples=_whole(stem, part.length), rate_hz=rate_hz)
        for string, stem in part.stems()
    }


def amplified(
    stems: Mapping[int, Mono], *, strings: frozenset[int] | None = None, tone: Tone = Tone.DRIVEN
) -> Sound:
    """Send some strings, or all, through the amplifier: what `render` gives for them.

    Args:
        stems: what `render_strings` made.
        strings: those that are heard; `None` for all.
        tone: how much the amplifier is driven.

    Raises:
        ValueError: if there are no stems.
    """
    if not stems:
        raise ValueError("an amplifier needs the stems of at least one string, got none")
    first = next(iter(stems.values()))
    heard = [
        stems[string].samples for string in sorted(stems) if strings is None or string in strings
    ]
    length = len(first.samples)
    chunks = (added((stem[a:b] for stem in heard), b - a) for a, b in windows(length))
    return _amplified(chunks, length, tone=tone, rate_hz=first.rate_hz, progress=None)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Part:
    """What is played of a passage.

    Attributes:
        strokes: of each string, from 1.
        length: in samples.
        seed, rate_hz: as in `render`.
    """

    strokes: Mapping[int, tuple[Stroke, ...]]
    length: int
    seed: int
    rate_hz: int

    @classmethod
    def of(
        cls,
        passage: Passage,
        time_map: TimeMap,
        *,
        span: Span | None,
        strings: frozenset[int] | None,
        speed: float,
        seed: int,
        rate_hz: int,
        reference_hz: float,
    ) -> "_Part":
        """Find the strokes that are heard."""
        _check(speed=speed, rate_hz=rate_hz, reference_hz=reference_hz)
        played = passage.span if span is None else span
        start = time_map.seconds_at(played.start_quarters)

        def seconds_at(quarters: Fraction) -> float:
            return (time_map.seconds_at(quarters) - start) / speed

        length = round(seconds_at(played.end_quarters) * rate_hz)
        chosen = range(1, passage.tuning.string_count + 1)
        rows: dict[int, list[Stroke]] = {s: [] for s in chosen if strings is None or s in strings}
        for stroke in strokes_of(
            passage, seconds_at, strings=strings, seed=seed, reference_hz=reference_hz
        ):
            if stroke.end_seconds > 0.0 and stroke.onset_seconds < length / rate_hz:
                rows[stroke.number].append(stroke)
        strokes = {string: tuple(row) for string, row in rows.items()}
        return cls(strokes=strokes, length=length, seed=seed, rate_hz=rate_hz)

    def stems(self) -> Iterator[tuple[int, Stem]]:
        """Make the strings ready to be played, from string 1."""
        workshop = Workshop(rate_hz=self.rate_hz, seed=self.seed)
        for string, strokes in self.strokes.items():
            yield string, Stem(strokes, workshop=workshop, rate_hz=self.rate_hz)


def _check(*, speed: float, rate_hz: int, reference_hz: float) -> None:
    if not LOWEST_RENDER_HZ <= rate_hz <= HIGHEST_RENDER_HZ:
        raise ValueError(
            f"sound is rendered at {LOWEST_RENDER_HZ} to {HIGHEST_RENDER_HZ} Hz, got {rate_hz}"
        )
    if not 0.1 <= speed <= 4.0:
        raise ValueError(f"a speed lies between 0.1 and 4, got {speed}")
    if not LOWEST_REFERENCE_HZ <= reference_hz <= HIGHEST_REFERENCE_HZ:
        raise ValueError(
            f"A4 lies between {LOWEST_REFERENCE_HZ:g} and {HIGHEST_REFERENCE_HZ:g} Hz, "
            f"got {reference_hz:g}"
        )


def _summed(part: _Part) -> Iterator[Samples]:
    """Play all strings together, window by window."""
    stems = [stem for _, stem in part.stems()]
    for start, stop in windows(part.length):
        yield added((stem.window(start, stop) for stem in stems), stop - start)


def _whole(stem: Stem, length: int) -> Samples:
    samples = np.empty(length, dtype=np.float32)
    for start, stop in windows(length):
        samples[start:stop] = stem.window(start, stop)
    return samples


def _amplified(
    chunks: Iterable[Samples],
    length: int,
    *,
    tone: Tone,
    rate_hz: int,
    progress: Progress | None,
) -> Sound:
    samples = np.empty((2, length), dtype=np.float32)
    tell = progress or _nobody_is_told
    tell(0.0)
    done = 0
    for chunk in Amp.of(tone, rate_hz).stream(chunks, length):
        samples[:, done : done + chunk.shape[1]] = chunk
        done += chunk.shape[1]
        if done < length:
            tell(done / length)
    tell(1.0)
    _fade(samples, rate_hz)
    return Sound(samples=samples, rate_hz=rate_hz)


def _nobody_is_told(_: float) -> None:
    pass


def _fade(samples: Samples, rate_hz: int) -> None:
    """Let it begin and end in silence, in place: an hour of sound is not held twice."""
    for side, seconds in ((samples, FADE_IN_SECONDS), (samples[:, ::-1], FADE_OUT_SECONDS)):
        size = min(int(seconds * rate_hz), side.shape[1] // 2)
        share = np.arange(size) / max(size, 1)
        side[:, :size] *= (0.5 - 0.5 * np.cos(np.pi * share)).astype(np.float32)
