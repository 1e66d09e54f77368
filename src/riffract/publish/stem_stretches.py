"""Where in the film something sounds in each of its stems, in whole frames."""

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import accumulate, pairwise
from math import ceil, floor

from riffract.essay.shots import Shot
from riffract.essay.soundtrack import Layer, layer_of


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """A stretch of a stem: its shot, its first frame in the film, and how many it has."""

    shot: Shot
    first: int
    count: int


def stretches(
    shots: Sequence[Shot], layer: Layer, stems: Collection[Layer], *, frames: int, rate: int
) -> tuple[Stretch, ...]:
    """List the stretches of a stem in which something sounds.

    An excerpt has all that follows it until the next one of its shot, or the shot's end, so that
    strings may ring on; frames are rounded outwards, and no two stretches overlap.

    Args:
        shots: the film.
        layer: the stem.
        stems: all that there are.
        frames: of the whole film.
        rate: frames a second.

    Returns:
        Stretches by time; none is empty.
    """
    starts = [0.0, *accumulate(shot.length_seconds for shot in shots)]
    found = [
        _in_frames(shot, start + begins, start + ends, frames=frames, rate=rate)
        for shot, start in zip(shots, starts, strict=False)
        for begins, ends in _sounding(shot, layer, has_recording=Layer.RECORDING in stems)
    ]
    return tuple(stretch for stretch in _apart(found) if stretch.count > 0)


def _sounding(shot: Shot, layer: Layer, *, has_recording: bool) -> Iterator[tuple[float, float]]:
    if layer is Layer.NARRATION:
        if shot.voice is not None:
            yield shot.voice.at_seconds, shot.voice.at_seconds + shot.voice.length_seconds
        return
    ends = [*(play.at_seconds for play in shot.plays[1:]), shot.length_seconds]
    for play, end in zip(shot.plays, ends, strict=False):
        if layer_of(play, has_recording=has_recording) is layer:
            yield play.at_seconds, end


def _in_frames(shot: Shot, begins: float, ends: float, *, frames: int, rate: int) -> Stretch:
    # Seconds are sums of floats: what is a billionth beyond a frame is on it.
    first = floor(round(begins * rate, 6))
    last = min(ceil(round(ends * rate, 6)), frames)
    return Stretch(shot=shot, first=first, count=last - first)


def _apart(found: Sequence[Stretch]) -> Iterator[Stretch]:
    """Give a frame that two stretches share to the later one, which begins in it."""
    for one, following in pairwise(found):
        yield replace(one, count=min(one.count, following.first - one.first))
    yield from found[-1:]
