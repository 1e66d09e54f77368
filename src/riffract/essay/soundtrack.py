"""The sound of the film: every excerpt in its place."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from types import MappingProxyType
from typing import Final

import numpy as np

from riffract.essay.shots import Play, Shot
from riffract.music import Passage
from riffract.sound.amp import Tone
from riffract.sound.ducking import DEPTH_DB, ducking_gain
from riffract.sound.encoded_peak import gain_below
from riffract.sound.excerpt import excerpt
from riffract.sound.loudness import CEILING_DBTP, TARGET_LUFS, gain_to, normalised
from riffract.sound.mix import Placed, added
from riffract.sound.render import render
from riffract.sound.sound import RATE_HZ, Samples, Sound

TAKE_FADE_SECONDS: Final = 0.02


class Layer(StrEnum):
    """What the sound of a film is made of."""

    RENDERING = "rendering"
    RECORDING = "recording"
    NARRATION = "narration"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Soundtrack:
    """The sound of a film, with what it is the sum of.

    Definition: film = g (m d (rendering + recording) + narration): all that is done to a layer is
    one gain, and to music the ducking d over time.

    Attributes:
        sound: of the film, at the loudness that was asked for.
        placed: what each layer holds, each in its place.
        gains: of each layer; g m for music, g for what is spoken.
        ducking: the gain of music over time, under voices; shape (samples,).
    """

    sound: Sound
    placed: Mapping[Layer, Sequence[Placed]]
    gains: Mapping[Layer, float]
    ducking: Samples

    def layer(self, layer: Layer) -> Sound:
        """Give a layer as long and as loud as it is in the film; silence if nothing is in it.

        It is laid out anew, so that no more than one has to be held beside the film.
        """
        alone = added(self.placed.get(layer, ()), length_seconds=self.sound.length_seconds)
        gain = np.float32(self.gains.get(layer, 1.0))
        over_time = gain if layer is Layer.NARRATION else gain * self.ducking
        return Sound(samples=alone.samples * over_time, rate_hz=RATE_HZ)


def soundtrack(
    shots: Sequence[Shot],
    passage: Passage,
    *,
    recording: Sound | None,
    tone: Tone,
    seed: int,
    takes: Mapping[str, Sound] = MappingProxyType({}),
    duck_db: float = DEPTH_DB,
    target_lufs: float = TARGET_LUFS,
    ceiling_dbtp: float = CEILING_DBTP,
) -> Soundtrack:
    """Make the sound of the whole film, at the usual loudness of the web.

    Args:
        shots: the film.
        passage: what is played.
        recording: what excerpts are cut from; without one they are rendered. Single strings can
            only be rendered, so those are in any case.
        tone: of the rendering.
        seed: of the rendering's small differences between strokes.
        takes: what is spoken, by its name.
        duck_db: how much softer music is made under speech.
        target_lufs: what it is brought to.
        ceiling_dbtp: what true peaks stay below in the film's file, be it softer for that.
    """
    placed = _played(shots, passage, recording=recording, tone=tone, seed=seed)
    placed[Layer.NARRATION] = voices = _spoken(shots, takes)
    length_seconds = sum(shot.length_seconds for shot in shots)
    whole = added(
        [*placed[Layer.RENDERING], *placed[Layer.RECORDING]], length_seconds=length_seconds
    )
    ducking = _ducking(voices, whole, duck_db=duck_db)
    music_gain = 1.0
    if voices:
        music_gain = gain_to(whole)
        under = Sound(samples=whole.samples * (music_gain * ducking), rate_hz=RATE_HZ)
        music = Placed(sound=under, start_seconds=0.0)
        whole = added([music, *voices], length_seconds=length_seconds)
    gain = gain_to(whole, target_lufs=target_lufs, ceiling_dbtp=ceiling_dbtp)
    gain *= gain_below(whole.scaled(gain), ceiling_dbtp=ceiling_dbtp)
    return Soundtrack(
        sound=whole.scaled(gain),
        placed=placed,
        gains=dict.fromkeys(placed, gain * music_gain) | {Layer.NARRATION: gain},
        ducking=ducking,
    )


def layer_of(play: Play, *, has_recording: bool) -> Layer:
    """Tell what an excerpt is taken from: single strings can only be rendered."""
    return Layer.RECORDING if has_recording and play.strings is None else Layer.RENDERING


def _played(
    shots: Sequence[Shot], passage: Passage, *, recording: Sound | None, tone: Tone, seed: int
) -> dict[Layer, list[Placed]]:
    """Put every excerpt in its place; one that is heard again is made once."""
    made: dict[tuple[object, ...], Sound] = {}
    placed: dict[Layer, list[Placed]] = {Layer.RENDERING: [], Layer.RECORDING: []}
    for start, shot in _started(shots):
        for play in shot.plays:
            key = (play.span, play.speed, play.strings)
            if key not in made:
                made[key] = _sound_of(play, passage, recording=recording, tone=tone, seed=seed)
            layer = layer_of(play, has_recording=recording is not None)
            placed[layer].append(Placed(sound=made[key], start_seconds=start + play.at_seconds))
    return placed


def _spoken(shots: Sequence[Shot], takes: Mapping[str, Sound]) -> list[Placed]:
    return [
        Placed(sound=_levelled(takes[shot.voice.take]), start_seconds=start + shot.voice.at_seconds)
        for start, shot in _started(shots)
        if shot.voice is not None and shot.voice.take in takes
    ]


def _ducking(voices: Sequence[Placed], like: Sound, *, duck_db: float) -> Samples:
    """Give the gain of the music over time, under voices."""
    gain = np.ones(like.sample_count, dtype=np.float32)
    for voice in voices:
        own = ducking_gain(
            voice.sound,
            start_seconds=voice.start_seconds,
            length_seconds=like.length_seconds,
            depth_db=duck_db,
        )
        np.minimum(gain, own[: len(gain)], out=gain)
    return gain


def _levelled(take: Sound) -> Sound:
    """Bring what is spoken to the loudness of the music alone, with soft ends."""
    return normalised(take).faded(in_seconds=TAKE_FADE_SECONDS, out_seconds=TAKE_FADE_SECONDS)


def _started(shots: Sequence[Shot]) -> list[tuple[float, Shot]]:
    starts, now = [], 0.0
    for shot in shots:
        starts.append((now, shot))
        now += shot.length_seconds
    return starts


def _sound_of(
    play: Play, passage: Passage, *, recording: Sound | None, tone: Tone, seed: int
) -> Sound:
    if recording is not None and play.strings is None:
        onsets = [passage.notes.quarters(t) for t in sorted(set(passage.notes.onset_ticks))]
        return excerpt(
            recording, play.time_map, play.span, speed=play.speed, attack_quarters=onsets
        )
    strings = None if play.strings is None else frozenset(play.strings)
    return render(
        passage,
        play.time_map,
        span=play.span,
        strings=strings,
        tone=tone,
        speed=play.speed,
        seed=seed,
        rate_hz=RATE_HZ,
    )
