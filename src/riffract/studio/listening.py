"""Some bars made audible for the desks: a job for the worker of sound."""

import tempfile
from collections.abc import Callable
from fractions import Fraction
from functools import lru_cache
from pathlib import Path
from typing import Final

import msgspec

from riffract.essay.folder import Essay, open_essay
from riffract.essay.listening import Source, Wanted, made
from riffract.formats.tab import read_tab
from riffract.music import Passage, Span, TimeMap
from riffract.sound.amp import Tone
from riffract.sound.click import count_in_seconds
from riffract.sound.files import read_sound, write_wav
from riffract.sound.sound import Sound, SoundProblem
from riffract.studio.problems import RefusedError

LONGEST_SECONDS: Final = 600.0
"""Ours: 115 MB of samples; longer stretches are played from the recording's own file."""


class Listen(msgspec.Struct, frozen=True, kw_only=True):
    """What a page wants to hear.

    Attributes:
        start, end: in quarters, exact strings; the whole passage without them.
        speed: 0.25 to 1.
        is_looped: whether it goes round until it is stopped.
        strings: those that are heard; all without them.
        sound: `recording`, `rendering`, `both` in turn, or `sides` left and right.
        click: whether the metre is clicked.
        count_in: bars that are counted in.
    """

    start: str = ""
    end: str = ""
    speed: float = 1.0
    is_looped: bool = False
    strings: tuple[int, ...] = ()
    sound: str = "rendering"
    click: bool = False
    count_in: int = 0


class Heard(msgspec.Struct, frozen=True, kw_only=True):
    """A sound, and which moment of the score is heard when.

    Attributes:
        wav: the file's bytes.
        seconds: how long it is.
        loop_from, loop_to: what is repeated when it is looped, in seconds.
        moments: pairs of seconds and quarters, rising in seconds; straight between them.
    """

    wav: bytes
    seconds: float
    loop_from: float
    loop_to: float
    moments: tuple[tuple[float, float], ...]


def listen(
    report: Callable[[str, float], None], folder: str, tab_text: str | None, wanted: Listen
) -> Heard:
    """Make what a page wants to hear.

    Args:
        report: is told how far it is.
        folder: of the essay.
        tab_text: the passage as it is being written; without it as it lies in the folder.
        wanted: what is to be heard.

    Raises:
        RefusedError: if it cannot be heard.
    """
    essay = _essay(Path(folder))
    passage = _passage(tab_text) if tab_text is not None else essay.passage
    span = _span(passage, wanted)
    recording = None if wanted.sound == "rendering" else _recording(essay)
    source = Source(
        passage=passage,
        time_map=essay.time_map if tab_text is None else _time_map(essay, passage),
        span=span,
        recording=recording,
        strings=frozenset(wanted.strings) or None,
        tone=Tone(essay.settings.film.tone),
        seed=essay.settings.seed,
        target_lufs=essay.settings.film.loudness_lufs,
        ceiling_dbtp=essay.settings.film.peak_dbtp,
    )
    times = 2 if wanted.is_looped else 1
    if source.length_seconds / wanted.speed * times > LONGEST_SECONDS:
        raise RefusedError("this is longer than ten minutes", mend="choose fewer bars")
    asked = Wanted(
        speed=wanted.speed,
        loops=times,
        sound=wanted.sound,
        click=wanted.click,
        count_in=wanted.count_in,
    )
    sound = made(source, asked, lambda share: report("making the sound", share))
    return _heard(sound, source, wanted)


def _heard(sound: Sound, source: Source, wanted: Listen) -> Heard:
    lead = 0.0
    if wanted.count_in:
        lead = count_in_seconds(
            source.passage,
            source.time_map,
            bars=wanted.count_in,
            span=source.span,
            speed=wanted.speed,
        )
    once = source.length_seconds / wanted.speed
    passes = max(round((sound.length_seconds - lead) / once), 1)
    moments = tuple(
        (lead + number * once + seconds, quarters)
        for number in range(passes)
        for seconds, quarters in _moments(source, wanted.speed)
    )
    with tempfile.TemporaryDirectory() as place:
        path = Path(place) / "heard.wav"
        write_wav(path, sound, bits=16)
        wav = path.read_bytes()
    # The first pass begins from rest; what is repeated has the ringing of the pass before in it.
    loop_passes = passes // 2 if wanted.is_looped and passes > 1 else passes
    return Heard(
        wav=wav,
        seconds=sound.length_seconds,
        loop_from=lead + (passes - loop_passes) * once,
        loop_to=lead + passes * once,
        moments=moments,
    )


def _moments(source: Source, speed: float) -> list[tuple[float, float]]:
    notes, span = source.passage.notes, source.span
    start = source.time_map.seconds_at(span.start_quarters)
    attacks = {notes.quarters(ticks) for ticks in set(notes.onset_ticks)}
    bars = {bar.start_quarters for bar in source.passage.bars}
    inside = sorted(q for q in attacks | bars if span.holds(q))
    ends = [span.start_quarters, *inside, span.end_quarters]
    return [
        ((source.time_map.seconds_at(q) - start) / speed, float(q)) for q in dict.fromkeys(ends)
    ]


def _span(passage: Passage, wanted: Listen) -> Span:
    start = Fraction(wanted.start) if wanted.start else passage.span.start_quarters
    end = Fraction(wanted.end) if wanted.end else passage.span.end_quarters
    start, end = max(start, passage.span.start_quarters), min(end, passage.span.end_quarters)
    if end <= start:
        raise RefusedError("there is nothing to hear here", mend="choose at least a beat")
    return Span(start, end)


def _passage(text: str) -> Passage:
    read = read_tab(text)
    if read.passage is None:
        problem = read.problems[0]
        raise RefusedError(problem.what, mend=problem.mend, place=problem.place)
    return read.passage


def _time_map(essay: Essay, passage: Passage) -> TimeMap:
    """Take the times of the recording if the passage is still as long; else those of its tempo."""
    is_recorded = essay.settings.recording is not None
    if is_recorded and passage.length_quarters == essay.passage.length_quarters:
        return essay.time_map
    return TimeMap.from_tempos(passage.tempos, passage.length_quarters)


def _essay(folder: Path) -> Essay:
    opened = open_essay(folder)
    if opened.essay is None:
        problem = next(p.problem for p in opened.problems if p.is_error)
        raise RefusedError(problem.what, mend=problem.mend, place=problem.place)
    return opened.essay


def _recording(essay: Essay) -> Sound:
    if essay.settings.recording is None:
        raise RefusedError("this essay has no recording", mend="bring one in on the Notate desk")
    path = essay.folder / essay.settings.recording.file
    return _read(str(path), path.stat().st_mtime_ns)


@lru_cache(maxsize=1)
def _read(path: str, _changed: int) -> Sound:
    """Read a recording once, as long as its file stays the same."""
    sound = read_sound(Path(path))
    if isinstance(sound, SoundProblem):
        raise RefusedError(sound.what, mend=sound.mend)
    return sound
