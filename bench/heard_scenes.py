"""Recordings with truth: a passage, how it is played, what plays it, what happens to the sound.

`python -m bench.heard_scenes [FOLDER]` writes them all, as WAV, tab and truth.
"""

import sys
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from enum import StrEnum
from fractions import Fraction
from pathlib import Path
from typing import Any, Final

import numpy as np
from bench import heard_bank as bank
from bench import heard_room as at
from bench.heard_amp import Wave, driven
from bench.heard_passages import PASSAGES
from bench.heard_playing import (
    Pace,
    Playing,
    Truth,
    drift,
    playing,
    read_truth,
    ritardando,
    rubato,
    steady,
    truth_of,
    wander,
    write_truth,
)
from bench.heard_strings import plucked_passage
from scipy import signal

from riffract.formats.tab import write_tab
from riffract.music import Passage, Span
from riffract.sound import Sound, Tone, render
from riffract.sound.files import write_wav
from riffract.sound.mono import Mono

FOLDER: Final = Path("/tmp/hear")
RATE_HZ: Final = 44_100
OUR_STRUM_SECONDS: Final = 0.0015


class Voice(StrEnum):
    """What makes the sound; the text after the dash is how."""

    FLUID_CLEAN = "fluid-clean"
    FLUID_OVERDRIVE = "fluid-overdrive"
    FLUID_DISTORTION = "fluid-distortion"
    FLUID_AMP = "fluid-amp"
    TIMGM_CLEAN = "timgm-clean"
    TIMGM_OVERDRIVE = "timgm-overdrive"
    TIMGM_DISTORTION = "timgm-distortion"
    TIMGM_AMP = "timgm-amp"
    LOOP_CLEAN = "loop-clean"
    LOOP_AMP = "loop-amp"
    LOOP_HIGH = "loop-high"
    OURS_CLEAN = "ours-clean"
    OURS_EDGE = "ours-edge"
    OURS_DRIVEN = "ours-driven"
    OURS_HIGH = "ours-high"

    @property
    def is_held_out(self) -> bool:
        """Tell whether nothing may be tuned on it: the second bank, and the loop of delay lines."""
        return self.value.startswith(("timgm", "loop"))

    @property
    def is_driven(self) -> bool:
        """Tell whether an amplifier bends it."""
        return not self.value.endswith("clean")


@dataclass(frozen=True, slots=True, kw_only=True)
class Scene:
    """How to make a recording.

    Attributes:
        passage: a name in `PASSAGES`.
        voice: what plays.
        family: what is tried.
        parts: bars that are played, as (first, one past the last) from 1; `None` for all once.
        pace: against the written tempo.
        jitter_seconds: of each attack.
        reference_hz: of A4.
        string_cents: the largest error of a string.
        change: what happens to the sound.
        before, after: what else is on the recording.
        seed: of everything.
    """

    passage: str
    voice: Voice
    family: str
    parts: tuple[tuple[int, int], ...] | None = None
    pace: Pace = field(default=steady(), repr=False)
    jitter_seconds: float = 0.003
    reference_hz: float = 440.0
    string_cents: float = 0.0
    change: at.Change | None = None
    before: Callable[[np.random.Generator], Wave] | None = None
    after: Callable[[np.random.Generator], Wave] | None = None
    seed: int = 1

    @property
    def name(self) -> str:
        """What its files are called."""
        return f"{self.family}.{self.passage}.{self.voice}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Heard:
    """A recording and what it holds."""

    scene: Scene
    text: Passage
    recording: Mono
    truth: Truth


def heard(scene: Scene, folder: Path = FOLDER, *, text: Passage | None = None) -> Heard:
    """Make a recording, or take it from the folder if it was made before.

    Args:
        scene: what to make.
        folder: where recordings are kept.
        text: what is played, if `scene.passage` is not one of `PASSAGES`.
    """
    folder.mkdir(parents=True, exist_ok=True)
    text = PASSAGES[scene.passage]() if text is None else text
    sound, told = folder / f"{scene.name}.npy", folder / f"{scene.name}.json"
    if sound.exists() and told.exists():
        wave, truth = np.load(sound), read_truth(told)
    else:
        wave, truth = _made(scene, text, folder)
        np.save(sound, wave)
        about = {"scene": scene.name, "family": scene.family, "voice": scene.voice.value,
                 "held_out": scene.voice.is_held_out, "tab": f"{scene.passage}.tab"}  # fmt: skip
        write_truth(told, truth, **about)
    return Heard(scene=scene, text=text, recording=Mono(samples=wave, rate_hz=22_050), truth=truth)


def can_play(scene: Scene) -> bool:
    """Tell whether this machine has what the scene needs."""
    bank_name = scene.voice.value.split("-")[0]
    return bank_name not in bank.BANKS or bank.is_there(bank_name)


def _made(scene: Scene, text: Passage, folder: Path) -> tuple[np.ndarray, Truth]:
    rng = np.random.default_rng(scene.seed)
    spans = None if scene.parts is None else [_bars(text, *part) for part in scene.parts]
    played = playing(
        text, spans=spans, pace=scene.pace, jitter_seconds=scene.jitter_seconds, seed=scene.seed
    )
    wave, truth = _voiced(scene, played, folder)
    wave = wave * 0.7 / max(float(np.abs(wave).max()), 1e-9)
    if scene.before is not None:
        head = scene.before(rng)
        wave, truth = np.concatenate([head, wave]), truth.later(len(head) / RATE_HZ)
    if scene.after is not None:
        wave = np.concatenate([wave, scene.after(rng)])
    if scene.change is not None:
        wave = scene.change(wave, rng)
    heard_at = signal.resample_poly(wave, 1, 2)
    heard_at /= max(float(np.abs(heard_at).max()) / 0.9, 1.0)
    return heard_at.astype(np.float32), truth


def _bars(text: Passage, first: int, past: int) -> Span:
    return Span(text.bars[first - 1].start_quarters, text.bars[past - 2].span.end_quarters)


def _voiced(scene: Scene, played: Playing, folder: Path) -> tuple[Wave, Truth]:
    source, how = scene.voice.value.split("-")
    if source == "ours":
        return _ours(scene, played, Tone(how))
    rng = np.random.default_rng(scene.seed + 100)
    off = rng.uniform(-scene.string_cents, scene.string_cents, played.performed.tuning.string_count)
    strum = float(rng.uniform(0.004, 0.009))
    truth = truth_of(played, reference_hz=scene.reference_hz, strum_seconds=strum)
    if source == "loop":
        dry = plucked_passage(
            played, reference_hz=scene.reference_hz, strum_seconds=strum,
            string_cents=off.tolist(), seed=scene.seed,
        )  # fmt: skip
        gain = {"clean": 0.0, "amp": 6.0, "high": 30.0}[how]
        return (driven(dry, RATE_HZ, gain) if gain else dry), truth
    program = {"overdrive": bank.OVERDRIVE, "distortion": bank.DISTORTION}.get(how, bank.CLEAN)
    wave = bank.banked(
        played, folder, bank=source, program=program, amp_gain=8.0 if how == "amp" else None,
        reference_hz=scene.reference_hz, strum_seconds=strum, string_cents=off.tolist(),
        seed=scene.seed,
    )  # fmt: skip
    return wave, truth


def _ours(scene: Scene, played: Playing, tone: Tone) -> tuple[Wave, Truth]:
    sound: Sound = render(
        played.performed, played.time_map, tone=tone, rate_hz=RATE_HZ, seed=scene.seed,
        reference_hz=scene.reference_hz,
    )  # fmt: skip
    lead = np.zeros(round(played.time_map.seconds_at(Fraction(0)) * RATE_HZ))
    mono = sound.samples.mean(axis=0, dtype=np.float64)
    truth = truth_of(played, reference_hz=scene.reference_hz, strum_seconds=OUR_STRUM_SECONDS)
    return np.concatenate([lead, mono, np.zeros(RATE_HZ // 2)]), truth


# ---- the scenes ----------------------------------------------------------------------------------


def plain_scenes() -> Iterator[Scene]:
    """Every passage, by voices in turn, played as a careful player does."""
    voices = list(Voice)
    for k, name in enumerate(PASSAGES):
        for j in (0, 4, 9):
            yield Scene(
                passage=name, voice=voices[(k + j) % len(voices)], family="plain", seed=k + 1
            )


def other_music(seed: int, length_seconds: float) -> Callable[[np.random.Generator], Wave]:
    """Another line on the same instrument, then a breath."""

    def make(_: np.random.Generator) -> Wave:
        line = PASSAGES["plain-line"]()
        wave = plucked_passage(playing(line, seed=seed), seed=seed)[
            : round(length_seconds * RATE_HZ)
        ]
        fade = np.minimum(1.0, np.arange(len(wave))[::-1] / (0.05 * RATE_HZ))
        return np.concatenate([0.7 * wave * fade / np.abs(wave).max(), np.zeros(RATE_HZ // 2)])

    return make


def varied_scenes() -> Iterator[Scene]:
    """One difficulty at a time, each on a few passages and voices."""
    for family, changes in VARIATIONS.items():
        for k, (name, voice) in enumerate(ALL_DIFFERENT if "parts" in changes else MANY_SORTS):
            yield replace(Scene(passage=name, voice=voice, family=family, seed=20 + k), **changes)


MANY_SORTS: Final = (
    ("low-chug", Voice.FLUID_DISTORTION),
    ("ringing-eleven", Voice.TIMGM_CLEAN),
    ("eight-strings", Voice.LOOP_AMP),
    ("edited-passes", Voice.OURS_DRIVEN),
    ("syncopated", Voice.TIMGM_AMP),
)
ALL_DIFFERENT: Final = (
    ("chugging", Voice.FLUID_DISTORTION),
    ("plain-line", Voice.TIMGM_CLEAN),
    ("odd-values", Voice.LOOP_AMP),
    ("edited-passes", Voice.OURS_DRIVEN),
    ("mixed-chords", Voice.TIMGM_AMP),
)
"""Where no two bars are alike: only there can anyone say which of them was left out."""

VARIATIONS: Final[Mapping[str, Mapping[str, Any]]] = {
    "drift-up": {"pace": drift(0.9, 1.1)},
    "wander-5": {"pace": wander(0.05, 3)},
    "wander-10": {"pace": wander(0.10, 4)},
    "rubato-15": {"pace": rubato(0.15, 5.0)},
    "ritardando": {"pace": ritardando(0.3, 0.6)},
    "half-tempo": {"pace": steady(0.55)},
    "tempo-170": {"pace": steady(1.7)},
    "a415": {"reference_hz": 415.3},
    "a432": {"reference_hz": 432.0},
    "a466": {"reference_hz": 466.0},
    "strings-off-8": {"string_cents": 8.0},
    "white-20": {"change": at.white(20.0)},
    "white-10": {"change": at.white(10.0)},
    "pink-10": {"change": at.pink(10.0)},
    "hum-20": {"change": at.hum(20.0)},
    "room-05": {"change": at.room(0.5, 0.3)},
    "room-18": {"change": at.room(1.8, 0.5)},
    "band": {"change": at.in_turn(at.bass(-3.0), at.drums(-3.0, 132.0))},
    "clipped": {"change": at.clipped(4.0)},
    "mp3-96": {"change": at.mp3()},
    "count-in": {"before": lambda _: at.clicks(4, 120.0)},
    "talk-before": {"before": lambda rng: at.speech(5.0, rng)},
    "music-around": {"before": other_music(3, 6.0), "after": other_music(5, 5.0)},
    "once-more": {"parts": ((1, 5), (3, 5))},
    "first-half": {"parts": ((1, 3),)},
    "left-out": {"parts": ((1, 2), (3, 5))},
    "twice": {"parts": ((1, 5), (1, 5))},
}
"""Families by what is tried. `once-more` plays the last two bars of four again, `left-out` skips
the second; only the first four bars of a passage are played in these."""


def write_files(scene: Scene, folder: Path) -> None:
    """Write a scene as WAV, tab and truth, for those who want to hear it."""
    made = heard(scene, folder)
    stereo = np.stack([made.recording.samples] * 2)
    write_wav(folder / f"{scene.name}.wav", Sound(samples=stereo, rate_hz=22_050), bits=16)
    (folder / f"{scene.passage}.tab").write_text(write_tab(made.text))


def main(folder: Path) -> None:
    for scene in (*plain_scenes(), *varied_scenes()):
        if can_play(scene):
            write_files(scene, folder)
            print(scene.name, flush=True)


if __name__ == "__main__":
    main(Path(sys.argv[1]) if len(sys.argv) > 1 else FOLDER)
