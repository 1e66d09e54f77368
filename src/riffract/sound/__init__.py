"""Recordings in and out, plucked-string rendering, loudness."""

from riffract.sound.amp import Tone
from riffract.sound.click import click_track, count_in_seconds
from riffract.sound.excerpt import excerpt
from riffract.sound.files import read_sound, write_wav
from riffract.sound.loop import looped, pass_of
from riffract.sound.loudness import Loudness, loudness_of, normalised
from riffract.sound.mix import Placed, mixed
from riffract.sound.playing_over import render_loop
from riffract.sound.render import amplified, render, render_strings
from riffract.sound.slow import slowed
from riffract.sound.sound import RATE_HZ, Sound, SoundProblem

__all__ = [
    "RATE_HZ",
    "Loudness",
    "Placed",
    "Sound",
    "SoundProblem",
    "Tone",
    "amplified",
    "click_track",
    "count_in_seconds",
    "excerpt",
    "looped",
    "loudness_of",
    "mixed",
    "normalised",
    "pass_of",
    "read_sound",
    "render",
    "render_loop",
    "render_strings",
    "slowed",
    "write_wav",
]
