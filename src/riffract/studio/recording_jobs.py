"""What the desks ask of a recording: its picture, and what it says of the passage."""

from pathlib import Path
from typing import Final

import msgspec
import numpy as np
import skia
from numpy.typing import NDArray

from riffract.essay.doubts import beat_in_settings, note_place
from riffract.essay.folder import open_essay
from riffract.essay.hearing import NOT_USED, Hearing, write_hearing
from riffract.essay.recording import anchors_of
from riffract.essay.sound_cache import SoundCache, prepare, zoom_for
from riffract.music import Passage
from riffract.picture.look import LOOKS
from riffract.picture.marks import Role
from riffract.publish.doubt_words import doubt_text
from riffract.publish.hearing_report import hearing_report
from riffract.publish.listening import Take, held_against
from riffract.sound.sound import SoundProblem
from riffract.sound.spectrum_tiles import ROWS
from riffract.sound.support import Support
from riffract.studio.problems import RefusedError
from riffract.studio.worker import Report

Pixels = NDArray[np.uint8]

WIDEST_PX: Final = 4000
TALLEST_PX: Final = 800

_SPAN_DB: Final = 60.0
_SOFTEST: Final = 0.02
"""Peak that an outline fills its strip from, of full scale: 34 dB below it is noise, not a take."""


class Strip(msgspec.Struct, frozen=True, kw_only=True):
    """A stretch of a recording to be drawn.

    Attributes:
        kind: `outline` or `spectrum`.
        start, end: in seconds.
        width, height: px.
        look: whose colours are used: `dark` or `paper`.
    """

    kind: str
    start: float
    end: float
    width: int
    height: int
    look: str


class AttackSeen(msgspec.Struct, frozen=True, kw_only=True):
    """When an attack sounds, and how sure that is; quarters as a number."""

    quarters: float
    seconds: float
    uncertainty: float
    is_heard: bool


class Doubt(msgspec.Struct, frozen=True, kw_only=True):
    """A note that the recording does not bear out.

    Attributes:
        note: its index in the passage.
        bar, beat: where it stands; `string` and `fret` as written.
        support: `unclear` or `contradicted`.
        sentence: what is heard instead.
        rival_string, rival_fret: the better place on the neck, if another pitch fits better.
        is_settled: whether the analyst has said that it is heard as written.
    """

    note: int
    bar: int
    beat: str
    string: int
    fret: int
    support: str
    sentence: str
    rival_string: int | None
    rival_fret: int | None
    is_settled: bool


class HeardSeen(msgspec.Struct, frozen=True, kw_only=True):
    """What listening to the recording gave.

    Attributes:
        attacks: in order of time.
        bars: number and second of each bar's start, where it is played first.
        doubts: notes that it does not bear out.
        report: the same in words, as the terminal shows it.
        stale: why it no longer holds; empty if it does.
    """

    attacks: tuple[AttackSeen, ...]
    bars: tuple[tuple[int, float], ...]
    doubts: tuple[Doubt, ...]
    report: str
    stale: str


def measure(report: Report, folder: str, file: str) -> float:
    """Measure a recording for its picture, unless that was done; give its length in seconds."""
    return _cache(folder, file, report).about.length_seconds


def strip_picture(_report: Report, folder: str, file: str, strip: Strip) -> bytes:
    """Draw a stretch of a recording; a PNG."""
    cache = _cache(folder, file, _report)
    width = min(max(strip.width, 16), WIDEST_PX)
    height = min(max(strip.height, 16), TALLEST_PX)
    draw = _spectrum if strip.kind == "spectrum" else _outline
    pixels = draw(cache, strip, width, height)
    image = skia.Image.fromarray(pixels, colorType=skia.kRGBA_8888_ColorType)
    return bytes(image.encodeToData(skia.kPNG, 60))


def hear_recording(report: Report, folder: str) -> tuple[str, ...]:
    """Hold the passage against its recording and keep what is found; give notes on the recording.

    Raises:
        RefusedError: if there is nothing to listen to, or the passage is not found in it.
    """
    opened = open_essay(Path(folder))
    essay = opened.essay
    if essay is None:
        problem = next(p.problem for p in opened.problems if p.is_error)
        raise RefusedError.of(problem)
    if essay.settings.recording is None:
        raise RefusedError("there is no recording to listen to", mend="bring one in first")
    take = Take(
        passage=essay.passage,
        recording=essay.folder / essay.settings.recording.file,
        anchors=anchors_of(essay.settings.recording, essay.passage),
        kept_in=essay.folder,
    )
    heard = held_against(take, report)
    if isinstance(heard, SoundProblem):
        raise RefusedError("; ".join([heard.what, *heard.notes]), mend=heard.mend)
    write_hearing(essay.folder, heard.hearing)
    return heard.notes


def what_was_heard(_report: Report, folder: str) -> HeardSeen | None:
    """Say what listening gave the last time; `None` if nobody has listened yet."""
    opened = open_essay(Path(folder))
    essay = opened.essay
    if essay is None or essay.settings.recording is None:
        return None
    kept = Path(folder) / "alignment.json"
    if essay.hearing is None:
        why = next((p.problem.what for p in opened.problems if p.file == str(kept)), "")
        told = why.removeprefix(NOT_USED)
        nothing = HeardSeen(attacks=(), bars=(), doubts=(), report="", stale=told)
        return nothing if why else None
    hearing, passage = essay.hearing, essay.passage
    settled = set(essay.settings.recording.heard)
    seconds = _cache(folder, essay.settings.recording.file, _report).about.length_seconds
    return HeardSeen(
        attacks=tuple(
            AttackSeen(
                quarters=float(attack.quarters),
                seconds=attack.seconds,
                uncertainty=attack.uncertainty_seconds,
                is_heard=attack.is_heard,
            )
            for stretch in hearing.alignment.stretches
            for attack in stretch.attacks
        ),
        bars=tuple(
            (bar.number, hearing.alignment.time_map.seconds_at(bar.start_quarters))
            for bar in passage.bars
        ),
        doubts=tuple(_doubts(passage, hearing, settled)),
        report=hearing_report(passage, hearing, recording_seconds=seconds, width=88),
        stale="",
    )


def _doubts(passage: Passage, hearing: Hearing, settled: set[str]) -> list[Doubt]:
    doubtful = [one for one in hearing.support.notes if one.support is not Support.BORNE_OUT]
    found = []
    for one in doubtful:
        note = passage.notes[one.note]
        place = passage.place(note.onset_quarters)
        rival = one.rival
        if rival is not None and rival.pitch is not None and rival.pitch == note.pitch:
            continue  # it has been written since, as the recording has it
        found.append(
            Doubt(
                note=one.note,
                bar=place.bar,
                beat=beat_in_settings(place.beat),
                string=note.string,
                fret=note.fret,
                support=str(one.support),
                sentence=doubt_text(passage, one),
                rival_string=None if rival is None else rival.string,
                rival_fret=None if rival is None else rival.fret,
                is_settled=note_place(passage, one.note) in settled,
            )
        )
    return found


def _cache(folder: str, file: str, report: Report) -> SoundCache:
    cache = prepare(
        Path(folder), Path(folder) / file, progress=lambda share: report("measuring", share)
    )
    if isinstance(cache, SoundProblem):
        raise RefusedError(cache.what, mend=cache.mend)
    return cache


def _outline(cache: SoundCache, strip: Strip, width: int, height: int) -> Pixels:
    """Draw the outline: lowest to highest in a quiet colour, the typical value over it.

    The loudest moment of the whole recording fills the strip, so that a soft take is seen too.
    """
    about = cache.about
    coarsest = len(about.outline_seconds) - 1
    whole = cache.outline(coarsest, 0.0, about.length_seconds)
    loudest = max(-float(whole.low.min(initial=0.0)), float(whole.high.max(initial=0.0)))
    gain = 1.0 / max(loudest, _SOFTEST)
    zoom = zoom_for(about.outline_seconds, strip.end - strip.start, 2 * width)
    outline = cache.outline(zoom, strip.start, strip.end)
    pixels = np.zeros((height, width, 4), np.uint8)
    if not len(outline.low):
        return pixels
    edges = np.linspace(strip.start, strip.end, width + 1)[:-1]
    first = int(strip.start / outline.bin_seconds)
    index = np.clip((edges / outline.bin_seconds).astype(int) - first, 0, len(outline.low) - 1)
    is_there = edges < about.length_seconds
    middle = (height - 1) / 2
    rows = np.arange(height)[:, None]
    for low, high, role in (
        (outline.low, outline.high, Role.STRING),
        (-outline.rms, outline.rms, Role.FALL),
    ):
        top = middle - gain * high[index] * middle
        bottom = np.maximum(middle - gain * low[index] * middle, top + 1.0)
        inside = (rows >= top) & (rows <= bottom) & is_there
        pixels[inside] = _rgba(strip.look, role)
    return pixels


def _spectrum(cache: SoundCache, strip: Strip, width: int, height: int) -> Pixels:
    """Draw the spectrum, low pitches below: the louder, the nearer to the colour of the strings."""
    about = cache.about
    zoom = zoom_for(about.spectrum_seconds, strip.end - strip.start, 2 * width)
    spectrum = cache.spectrum(zoom, strip.start, strip.end)
    if not len(spectrum.levels):
        return np.zeros((height, width, 4), np.uint8)
    edges = np.linspace(strip.start, strip.end, width + 1)[:-1]
    first = int(strip.start / spectrum.column_seconds)
    columns = np.clip(
        (edges / spectrum.column_seconds).astype(int) - first, 0, len(spectrum.levels) - 1
    )
    rows = np.linspace(ROWS - 1, 0, height).astype(int)
    levels = spectrum.levels[columns][:, rows].T.astype(np.float32)
    loudest = float(levels.max()) or 1.0
    share = np.clip(1.0 - (loudest - levels) * 0.4 / _SPAN_DB, 0.0, 1.0) ** 1.6
    share[:, edges >= about.length_seconds] = 0.0
    ground, loud = _rgba(strip.look, Role.GROUND), _rgba(strip.look, Role.FALL)
    pixels = np.empty((height, width, 4), np.uint8)
    pixels[..., :3] = ground[:3] + share[..., None] * (loud[:3].astype(float) - ground[:3])
    pixels[..., 3] = 255
    return pixels


def _rgba(look: str, role: Role) -> Pixels:
    text = LOOKS.get(look, LOOKS["dark"]).hexes[role].lstrip("#")
    return np.array([*bytes.fromhex(text), 255], np.uint8)
