"""Some bars made audible for the desks: a job for the worker of sound."""

import tempfile
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Final

import msgspec

from riffract.essay.draft import read_draft
from riffract.essay.folder import SETTINGS_FILE, Essay, open_essay
from riffract.essay.listening import Source, Wanted, made
from riffract.essay.recording import time_map_of
from riffract.essay.settings import Settings, read_settings
from riffract.formats.problem import Problem, Severity
from riffract.formats.reading import read_passage
from riffract.music import Passage, Span, TimeMap
from riffract.sound.amp import Tone
from riffract.sound.click import count_in_seconds
from riffract.sound.files import write_wav
from riffract.sound.sound import Sound
from riffract.studio.exact import exact
from riffract.studio.held import recorded
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
    place = Path(folder)
    essay = open_essay(place).essay
    settings = _settings(place) if essay is None else essay.settings
    passage = _passage(place, settings, tab_text)
    time_map = _time_map(settings, essay, passage)
    source = Source(
        passage=passage,
        time_map=time_map,
        span=_span(passage, wanted),
        recording=None
        if wanted.sound == "rendering"
        else _recording(place, settings, passage, time_map),
        strings=frozenset(wanted.strings) or None,
        tone=Tone(settings.film.tone),
        seed=settings.seed,
        target_lufs=settings.film.loudness_lufs,
        ceiling_dbtp=settings.film.peak_dbtp,
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
    whole = passage.span
    try:
        start = exact(wanted.start) if wanted.start else whole.start_quarters
        end = exact(wanted.end) if wanted.end else whole.end_quarters
    except ValueError as error:
        raise RefusedError(str(error), mend="choose the stretch once more") from error
    start, end = max(start, passage.span.start_quarters), min(end, passage.span.end_quarters)
    if end <= start:
        raise RefusedError("there is nothing to hear here", mend="choose at least a beat")
    return Span(start, end)


def _settings(folder: Path) -> Settings:
    """Read the settings of an essay whose music is still being written."""
    settings, problems = read_settings((folder / SETTINGS_FILE).read_text(encoding="utf-8-sig"))
    if settings is None:
        raise _refusal(problems)
    return settings


def _passage(folder: Path, settings: Settings, tab_text: str | None) -> Passage:
    if tab_text is None:
        read = read_passage(folder / settings.passage)
        if read.passage is None:
            raise _refusal(read.problems)
        return read.passage
    draft = read_draft(tab_text)
    if draft.draft is None:
        raise _refusal(draft.problems)
    return draft.draft.passage


def _refusal(problems: Sequence[Problem]) -> RefusedError:
    problem = next(p for p in problems if p.severity is Severity.ERROR)
    return RefusedError.of(problem)


def _time_map(settings: Settings, essay: Essay | None, passage: Passage) -> TimeMap:
    """Take what was heard in the recording if the passage is still as long; else what is set."""
    is_as_long = essay is not None and passage.length_quarters == essay.passage.length_quarters
    if essay is not None and is_as_long and essay.settings.recording is not None:
        return essay.time_map
    return time_map_of(passage, settings.recording, None)


def _recording(folder: Path, settings: Settings, passage: Passage, time_map: TimeMap) -> Sound:
    sound = recorded(folder, settings, passage, time_map)
    if sound is None:
        raise RefusedError("this essay has no recording", mend="bring one in on the Notate desk")
    return sound
