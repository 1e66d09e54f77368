"""A playing through a general synthesiser and a bank of recorded guitars: nothing of it is ours.

One channel a string, so that a new note on a string cuts the old one. The recordings of a bank
start late, each by its own lag; it is measured once for each bank, sound and pitch, and taken out
by sending the note that much earlier. For measuring only: what needs the synthesiser skips
without it.
"""

import json
import shutil
import subprocess
import tempfile
import wave as wave_file
from collections.abc import Sequence
from pathlib import Path
from typing import Final

import mido  # type: ignore[import-untyped]
import numpy as np
from bench.heard_amp import Wave, driven
from bench.heard_playing import Playing, is_muted, struck
from bench.heard_strings import onset_of

RATE_HZ: Final = 44_100
BANKS: Final = {
    "fluid": Path("/usr/share/sounds/sf2/FluidR3_GM.sf2"),
    "timgm": Path("/usr/share/sounds/sf2/TimGM6mb.sf2"),
}
CLEAN, MUTED, OVERDRIVE, DISTORTION = 27, 28, 29, 30
"""Places in the General MIDI sound set (common practice), from 0."""

TICKS_A_SECOND: Final = 10_000
BEND_RANGE_CENTS: Final = 200.0
DRUM_CHANNEL: Final = 9
TRIAL_SECONDS: Final = 1.0
MUTED_SECONDS: Final = 0.16
"""A driven sound has no muted version in the set: a muted note is held no longer than this."""


def is_there(bank: str) -> bool:
    """Tell whether this machine has the synthesiser and the bank."""
    return shutil.which("fluidsynth") is not None and BANKS[bank].exists()


def banked(
    played: Playing,
    cache: Path,
    *,
    bank: str,
    program: int,
    amp_gain: float | None = None,
    reference_hz: float = 440.0,
    strum_seconds: float = 0.005,
    string_cents: Sequence[float] = (),
    seed: int = 1,
) -> Wave:
    """Play a passage with a bank's guitar.

    Args:
        played: what and when.
        cache: a folder for the measured lags.
        bank: one of `BANKS`.
        program: the sound; muted notes of the clean one use the muted one.
        amp_gain: drives the clean sum through one clipper; `None` leaves it as it is.
        reference_hz: of A4.
        strum_seconds: between the strings of a chord.
        string_cents: how far each string is off, string 1 first.
        seed: of the strengths.
    """
    rng = np.random.default_rng(seed)
    lags = {p: _lags(bank, p, cache) for p in {program, _muted_program(program)}}
    shift = 1200.0 * float(np.log2(reference_hz / 440.0))
    rows = []
    for note, strum in struck(played.performed, strum_seconds):
        if note.pitch is None:
            raise ValueError("a bank has no dead notes")
        sound = _muted_program(program) if is_muted(note) else program
        onset = played.time_map.seconds_at(note.onset_quarters) + strum
        stop = played.time_map.seconds_at(note.ring_end_quarters)
        if is_muted(note) and sound == program:
            stop = min(stop, onset + MUTED_SECONDS)
        cents = shift + (string_cents[note.string - 1] if string_cents else 0.0)
        sent = max(onset - lags[sound][note.pitch], 0.0)
        rows.append((note.string, sent, stop, note.pitch, sound, cents, int(rng.integers(85, 121))))
    messages = []
    for row in rows:
        string, sent, stop, pitch, sound, cents, strength = row
        following = [r[1] for r in rows if r[0] == string and r[1] > sent]
        off = max(min([stop, *(f - 0.002 for f in following)]), sent + 0.01)
        channel = string - 1 if string - 1 < DRUM_CHANNEL else string
        wheel = int(np.clip(round(cents / BEND_RANGE_CENTS * 8192), -8192, 8191))
        messages += [
            (sent, 1, mido.Message("program_change", channel=channel, program=sound)),
            (sent, 2, mido.Message("pitchwheel", channel=channel, pitch=wheel)),
            (sent, 3, mido.Message("note_on", channel=channel, note=pitch, velocity=strength)),
            (off, 0, mido.Message("note_off", channel=channel, note=pitch)),
        ]
    end = played.time_map.seconds_at(played.performed.length_quarters) + 0.8
    dry = _synthesised(messages, end, BANKS[bank])
    return dry if amp_gain is None else driven(dry, RATE_HZ, amp_gain)


def _muted_program(program: int) -> int:
    return MUTED if program == CLEAN else program


def _lags(bank: str, program: int, cache: Path) -> dict[int, float]:
    """Measure how late each pitch starts, in seconds."""
    path = cache / f"lags-{bank}-{program}.json"
    if path.exists():
        return {int(pitch): lag for pitch, lag in json.loads(path.read_text()).items()}
    pitches = range(21, 97)
    messages = [(0.0, 1, mido.Message("program_change", channel=0, program=program))]
    for k, pitch in enumerate(pitches):
        at = 0.1 + k * TRIAL_SECONDS
        messages += [
            (at, 3, mido.Message("note_on", channel=0, note=pitch, velocity=100)),
            (at + 0.4, 0, mido.Message("note_off", channel=0, note=pitch)),
        ]
    wave = _synthesised(messages, 0.1 + len(pitches) * TRIAL_SECONDS, BANKS[bank])
    lags = {
        pitch: onset_of(wave[round((0.1 + k * TRIAL_SECONDS) * RATE_HZ) :], RATE_HZ)
        for k, pitch in enumerate(pitches)
    }
    path.write_text(json.dumps(lags))
    return lags


def _synthesised(
    messages: Sequence[tuple[float, int, mido.Message]], end_seconds: float, bank: Path
) -> Wave:
    track = mido.MidiTrack([mido.MetaMessage("set_tempo", tempo=1_000_000)])
    now = 0
    for seconds, _, message in sorted(messages, key=lambda m: (m[0], m[1])):
        at = round(seconds * TICKS_A_SECOND)
        track.append(message.copy(time=max(at - now, 0)))
        now = max(at, now)
    with tempfile.TemporaryDirectory() as folder:
        score, sound = Path(folder) / "score.mid", Path(folder) / "sound.wav"
        mido.MidiFile(tracks=[track], ticks_per_beat=TICKS_A_SECOND).save(score)
        subprocess.run(
            ["fluidsynth", "-ni", "-q", "-R", "0", "-C", "0", "-g", "0.5", "-r", str(RATE_HZ),
             "-o", "synth.polyphony=256", "-F", str(sound), str(bank), str(score)],
            check=True, capture_output=True,
        )  # fmt: skip
        with wave_file.open(str(sound)) as opened:
            raw = np.frombuffer(opened.readframes(opened.getnframes()), dtype="<i2")
    mono = raw.reshape(-1, 2).mean(axis=1) / 32768.0
    out = np.zeros(round(end_seconds * RATE_HZ))
    kept = mono[: len(out)]
    out[: len(kept)] = kept
    return out
