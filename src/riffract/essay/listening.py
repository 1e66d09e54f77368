"""Some bars made to be listened to: rendered, cut from the recording, or both beside each other."""

from collections.abc import Callable
from dataclasses import dataclass

from riffract.music import Passage, Span, TimeMap
from riffract.sound.amp import Tone
from riffract.sound.click import click_track, count_in_seconds
from riffract.sound.excerpt import excerpt
from riffract.sound.loudness import normalised
from riffract.sound.mix import Placed, mixed
from riffract.sound.playing_over import render_loop
from riffract.sound.side_by_side import Beside, level_matched, side_by_side
from riffract.sound.sound import Sound


@dataclass(frozen=True, slots=True, kw_only=True)
class Wanted:
    """What an excerpt is to be.

    Attributes:
        span: bars, as `3-6`, or from beat to beat, as `3:2-5:1`; `None` for all.
        speed: 0.25 to 1.
        loops: how often it is played.
        strings: those that are heard, 1 the highest; `None` for all.
        without: those that are not heard.
        sound: `recording`, `rendering`, `both` or `sides`; `None` for what there is.
        tone: of the rendering; `None` for the essay's.
        click: whether the metre is clicked.
        count_in: bars that are counted in.
    """

    span: str | None = None
    speed: float = 1.0
    loops: int = 1
    strings: frozenset[int] | None = None
    without: frozenset[int] = frozenset()
    sound: str | None = None
    tone: str | None = None
    click: bool = False
    count_in: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """What an excerpt is made of.

    Attributes:
        passage: what is played.
        time_map: when, in the recording if there is one.
        span: the stretch that is heard.
        recording: `None` if it is not wanted or not there.
        strings: those that are rendered; `None` for all.
        tone: of the rendering.
        seed: of the rendering's small differences between strokes.
        target_lufs: what all of it is brought to.
        ceiling_dbtp: what its true peaks stay below, be it softer for that.
    """

    passage: Passage
    time_map: TimeMap
    span: Span
    recording: Sound | None
    strings: frozenset[int] | None
    tone: Tone
    seed: int
    target_lufs: float
    ceiling_dbtp: float

    @property
    def length_seconds(self) -> float:
        """How long the span sounds at full speed."""
        start, end = self.span.start_quarters, self.span.end_quarters
        return self.time_map.seconds_at(end) - self.time_map.seconds_at(start)


def made(source: Source, wanted: Wanted, report: Callable[[float], None]) -> Sound:
    """Make what is wanted, clicks and count-in with it, at the loudness asked for."""
    played = normalised(_played(source, wanted, report))
    counted = _counted(played, source, wanted)
    return normalised(counted, target_lufs=source.target_lufs, ceiling_dbtp=source.ceiling_dbtp)


def _played(source: Source, wanted: Wanted, report: Callable[[float], None]) -> Sound:
    times = wanted.loops
    if source.recording is None:
        return _rendered(source, wanted, report, times=times)
    if wanted.sound not in {"both", "sides"}:
        return _recorded(source, source.recording, wanted, times=times)
    if wanted.sound == "both":
        # In turn each is played once before the other comes again.
        pair_times, how = 1, Beside.IN_TURN
    else:
        pair_times, times, how = times, 1, Beside.SIDES
    recorded = _recorded(source, source.recording, wanted, times=pair_times)
    rendered = _rendered(source, wanted, report, times=pair_times)
    return side_by_side(*level_matched(recorded, rendered, how), how, times=times)


def _rendered(
    source: Source, wanted: Wanted, report: Callable[[float], None], *, times: int
) -> Sound:
    return render_loop(
        source.passage,
        source.time_map,
        span=source.span,
        times=times,
        strings=source.strings,
        tone=source.tone,
        speed=wanted.speed,
        seed=source.seed,
        progress=report,
    )


def _recorded(source: Source, recording: Sound, wanted: Wanted, *, times: int) -> Sound:
    notes = source.passage.notes
    return excerpt(
        recording,
        source.time_map,
        source.span,
        speed=wanted.speed,
        attack_quarters=[notes.quarters(ticks) for ticks in sorted(set(notes.onset_ticks))],
        times=times,
    )


def _counted(played: Sound, source: Source, wanted: Wanted) -> Sound:
    """Lay clicks under each pass and a count-in before the first."""
    if not wanted.click and not wanted.count_in:
        return played
    lead = count_in_seconds(
        source.passage, source.time_map, bars=wanted.count_in, span=source.span, speed=wanted.speed
    )
    counted = click_track(
        source.passage,
        source.time_map,
        span=source.span,
        speed=wanted.speed,
        count_in_bars=wanted.count_in,
        goes_on=wanted.click,
    )
    rate = played.rate_hz
    placed = [
        Placed(sound=played, start_seconds=round(lead * rate) / rate),
        Placed(sound=counted, start_seconds=0.0),
    ]
    if wanted.click:
        once = click_track(source.passage, source.time_map, span=source.span, speed=wanted.speed)
        passes = played.sample_count // once.sample_count
        placed += [
            Placed(sound=once, start_seconds=(round(lead * rate) + k * once.sample_count) / rate)
            for k in range(1, passes)
        ]
    return mixed(placed, length_seconds=(round(lead * rate) + played.sample_count) / rate)
