"""Strings by themselves: exactly what the amplifier gets, alike however they are cut."""

import subprocess
import sys
from fractions import Fraction
from hashlib import sha256
from os import environ

import numpy as np
import pytest
from tests.playing import Played, dense_riff, performed

from riffract.music import Span, Technique
from riffract.sound import Tone, amplified, render, render_strings
from riffract.sound import stems as stems_module
from riffract.sound.stems import JOIN_SECONDS, Stem, added, windows
from riffract.sound.strokes import strokes_of
from riffract.sound.workshop import Workshop

RATE = 48_000
CHOICES = pytest.mark.parametrize(
    "strings", [None, frozenset({8}), frozenset({1, 2, 3, 4, 5, 6, 7}), frozenset({2, 8})]
)


@CHOICES
@pytest.mark.parametrize("tone", [Tone.CLEAN, Tone.DRIVEN])
def test_stems_through_the_amplifier_are_the_rendering_to_the_byte(strings, tone):
    passage, time_map = dense_riff(2)
    stems = render_strings(passage, time_map)
    chosen = amplified(stems, strings=strings, tone=tone)
    whole = render(passage, time_map, strings=strings, tone=tone)
    assert chosen.samples.tobytes() == whole.samples.tobytes()


def test_stems_add_up_to_what_all_strings_sound_exactly():
    passage, time_map = dense_riff(2)
    stems = render_strings(passage, time_map)
    length = round(time_map.seconds_at(passage.length_quarters) * RATE)
    workshop = Workshop(rate_hz=RATE, seed=1)
    total = np.zeros(length, dtype=np.float32)
    strokes = strokes_of(passage, time_map.seconds_at, strings=None, seed=1)
    for string in range(1, 9):
        own = [stroke for stroke in strokes if stroke.number == string]
        total += Stem(own, workshop=workshop, rate_hz=RATE).window(0, length)
    assert np.array_equal(added((s.samples for s in stems.values()), length), total)
    assert list(stems) == list(range(1, 9))


def test_a_string_that_never_plays_is_silent():
    passage, time_map = performed([Played(at=0, string=6)])
    stems = render_strings(passage, time_map)
    assert not any(np.any(stems[string].samples) for string in range(1, 6))
    assert np.any(stems[6].samples)


def test_where_windows_are_cut_does_not_matter(monkeypatch):
    passage, time_map = dense_riff(1)
    expected = render(passage, time_map).samples
    monkeypatch.setattr(stems_module, "WINDOW_SAMPLES", 7_777)
    assert len(list(windows(80_000))) == 11
    assert render(passage, time_map).samples.tobytes() == expected.tobytes()


# At 120 each quarter starts on a sample, so that no onset is rounded another way.
@pytest.mark.parametrize(("start", "end"), [(2, 4), (3, 6), (5, 8)])
def test_stems_of_an_excerpt_are_cut_out_of_the_whole(start, end):
    passage, time_map = dense_riff(2, quarters_per_minute=120.0)
    whole = render_strings(passage, time_map)
    part = render_strings(passage, time_map, span=Span(Fraction(start), Fraction(end)))
    first, joined = start * RATE // 2, int(JOIN_SECONDS * RATE)
    for string, stem in part.items():
        cut = whole[string].samples[first : first + len(stem.samples)]
        # Seconds since another start round otherwise, in their sixteenth digit.
        assert np.abs(stem.samples[joined:] - cut[joined:]).max() < 1e-6


def test_some_strings_are_as_loud_as_they_are_within_the_whole():
    # The clean amplifier hardly bends, so what it makes of two parts adds up to the whole.
    passage, time_map = dense_riff(2)
    stems = render_strings(passage, time_map)
    low, high = frozenset({6, 7, 8}), frozenset({1, 2, 3, 4, 5})
    parts = [amplified(stems, strings=s, tone=Tone.CLEAN).samples for s in (low, high)]
    whole = amplified(stems, tone=Tone.CLEAN).samples
    assert np.std(parts[0] + parts[1] - whole) < 0.12 * np.std(whole)


def test_no_stems_are_refused():
    with pytest.raises(ValueError, match="stems of at least one string, got none"):
        amplified({})


def test_what_progress_raises_ends_the_work():
    class StoppedError(Exception):
        pass

    def stop(share: float) -> None:
        if share > 0.3:
            raise StoppedError

    with pytest.raises(StoppedError):
        render(*dense_riff(4), progress=stop)


def test_tremolo_goes_down_and_up():
    note = Played(at=0, length=1, string=3, fret=5, tremolo_marks=2)
    passage, time_map = performed([note])
    strokes = strokes_of(passage, time_map.seconds_at, strings=None, seed=1)
    assert [stroke.is_up for stroke in strokes] == [False, True, False, True]


@pytest.mark.parametrize(
    ("how", "is_up"),
    [
        (Technique(0), False),
        (Technique.DOWN_STROKE, False),
        (Technique.UP_STROKE, True),
        (Technique.UP_STROKE | Technique.HAMMER_ON, False),
    ],
)
def test_a_stroke_goes_the_way_that_is_marked(how, is_up):
    passage, time_map = performed([Played(at=0, string=3, fret=5, how=how)])
    (stroke,) = strokes_of(passage, time_map.seconds_at, strings=None, seed=1)
    assert stroke.is_up is is_up


HASHED = """
from hashlib import sha256
from tests.playing import dense_riff
from riffract.sound import render
print(sha256(render(*dense_riff(1)).samples.tobytes()).hexdigest())
"""


@pytest.mark.parametrize("threads", ["1", "2"])
def test_the_number_of_threads_changes_no_byte(threads):
    told = {"OPENBLAS_NUM_THREADS": threads, "OMP_NUM_THREADS": threads}
    other = subprocess.run(
        [sys.executable, "-c", HASHED],
        env={**environ, **told},
        capture_output=True,
        text=True,
        check=True,
    ).stdout.strip()
    assert other == sha256(render(*dense_riff(1)).samples.tobytes()).hexdigest()
