"""The sound of the film: every excerpt in its place."""

from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import Final

import numpy as np

from riffract.essay.shots import Play, Shot
from riffract.music import Passage
from riffract.sound.amp import Tone
from riffract.sound.ducking import DEPTH_DB, ducking_gain
from riffract.sound.encoded_peak import held_below
from riffract.sound.excerpt import excerpt
from riffract.sound.loudness import CEILING_DBTP, TARGET_LUFS, normalised
from riffract.sound.mix import Placed, mixed
from riffract.sound.render import render
from riffract.sound.sound import RATE_HZ, Sound

TAKE_FADE_SECONDS: Final = 0.02


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
) -> Sound:
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
    plays = [(start, play) for start, shot in _started(shots) for play in shot.plays]
    played: dict[tuple[object, ...], Sound] = {}
    placed = []
    for start, play in plays:
        key = (play.span, play.speed, play.strings)
        if key not in played:
            played[key] = _sound_of(play, passage, recording=recording, tone=tone, seed=seed)
        placed.append(Placed(sound=played[key], start_seconds=start + play.at_seconds))
    length = sum(shot.length_seconds for shot in shots)
    track = mixed(placed, length_seconds=length)
    voices = [
        Placed(sound=_levelled(takes[shot.voice.take]), start_seconds=start + shot.voice.at_seconds)
        for start, shot in _started(shots)
        if shot.voice is not None and shot.voice.take in takes
    ]
    if voices:
        track = _spoken_over(normalised(track), voices, length_seconds=length, duck_db=duck_db)
    loud = normalised(track, target_lufs=target_lufs, ceiling_dbtp=ceiling_dbtp)
    return held_below(loud, ceiling_dbtp=ceiling_dbtp)


def _levelled(take: Sound) -> Sound:
    """Bring what is spoken to the loudness of the music alone, with soft ends."""
    return normalised(take).faded(in_seconds=TAKE_FADE_SECONDS, out_seconds=TAKE_FADE_SECONDS)


def _spoken_over(
    music: Sound, voices: Sequence[Placed], *, length_seconds: float, duck_db: float
) -> Sound:
    """Lay voices over music that gives way to them."""
    gain = np.ones(music.sample_count, dtype=np.float32)
    for voice in voices:
        own = ducking_gain(
            voice.sound,
            start_seconds=voice.start_seconds,
            length_seconds=music.length_seconds,
            depth_db=duck_db,
        )
        gain = np.minimum(gain, own[: len(gain)])
    ducked = Sound(samples=music.samples * gain, rate_hz=music.rate_hz)
    under = Placed(sound=ducked, start_seconds=0.0)
    return mixed([under, *voices], length_seconds=length_seconds)


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
