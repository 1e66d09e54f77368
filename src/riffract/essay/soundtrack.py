"""The sound of the film: every excerpt in its place."""

from collections.abc import Sequence

from riffract.essay.shots import Play, Shot
from riffract.music import Passage
from riffract.sound.amp import Tone
from riffract.sound.encoded_peak import held_below
from riffract.sound.excerpt import excerpt
from riffract.sound.loudness import CEILING_DBTP, TARGET_LUFS, normalised
from riffract.sound.mix import Placed, mixed
from riffract.sound.render import render
from riffract.sound.sound import RATE_HZ, Sound


def soundtrack(
    shots: Sequence[Shot],
    passage: Passage,
    *,
    recording: Sound | None,
    tone: Tone,
    seed: int,
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
    loud = normalised(track, target_lufs=target_lufs, ceiling_dbtp=ceiling_dbtp)
    return held_below(loud, ceiling_dbtp=ceiling_dbtp)


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
