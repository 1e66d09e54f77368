"""Rendering: on time, in tune, dying away as strings do, and the same each time."""

from collections.abc import Iterable
from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.playing import EIGHT, SIX, Played, dense_riff, level_db, performed, strongest_hz

from riffract.music import Span, Technique, TempoMark, TimeMap, Tuning
from riffract.music.notes import Grace
from riffract.sound import Tone, render
from riffract.sound.sound import Samples
from riffract.sound.strings import hz_of, string_for

RATE = 48_000


def sound_of(
    *notes: Played,
    tuning: Tuning = SIX,
    quarters_per_minute: float = 120.0,
    bars: int = 0,
    graces: Iterable[Grace] = (),
    tone: Tone = Tone.DRIVEN,
    speed: float = 1.0,
) -> Samples:
    passage, time_map = performed(
        notes, tuning=tuning, quarters_per_minute=quarters_per_minute, bars=bars, graces=graces
    )
    return render(passage, time_map, tone=tone, speed=speed).samples


def cents_off(samples: Samples, hz: float) -> float:
    return float(1200 * np.log2(strongest_hz(samples, RATE, near_hz=hz) / hz))


def centroid_hz(samples: Samples) -> float:
    power = np.abs(np.fft.rfft(samples * np.hanning(len(samples)))) ** 2
    return float(np.sum(power * np.fft.rfftfreq(len(samples), 1 / RATE)) / np.sum(power))


@pytest.mark.parametrize("tone", Tone)
@pytest.mark.parametrize("string", range(1, 9))
@pytest.mark.parametrize("fret", [0, 7, 24])
def test_notes_are_in_tune_within_a_cent(tone, string, fret):
    samples = sound_of(Played(at=0, length=4, string=string, fret=fret), tuning=EIGHT, tone=tone)
    hz = hz_of(EIGHT.pitch_at(string, fret))
    # Driven, the stretched partials of a low string make difference tones close to its lowest.
    allowed = {Tone.DRIVEN: 2.0, Tone.HIGH: 4.0}.get(tone, 1.0) if hz < 160.0 else 1.0
    assert abs(cents_off(samples[0, 4_800:], hz)) < allowed


# Fletcher's partials, apart from the project: n f₁ √((1 + B n²) / (1 + B)).
@pytest.mark.parametrize("number", [2, 5, 11, 17])
def test_upper_partials_are_stretched(number):
    samples = sound_of(Played(at=0, length=4, string=6), tone=Tone.CLEAN)
    stiffness = string_for(40, 648.0).stiffness(648.0)
    hz = number * 82.4069 * np.sqrt((1 + stiffness * number**2) / (1 + stiffness))
    assert abs(cents_off(samples[0, 4_800:], hz)) < 1.0


ATTACKS = st.sampled_from(
    [
        Technique(0),
        Technique.PALM_MUTE,
        Technique.DEAD,
        Technique.HAMMER_ON,
        Technique.ACCENT,
        Technique.VIBRATO,
        Technique.SLIDE,
    ]
)


@settings(max_examples=40, deadline=None)
@given(
    st.builds(
        Played,
        at=st.fractions(0, 4, max_denominator=24),
        string=st.integers(1, 8),
        fret=st.integers(0, 20),
        how=ATTACKS,
    ),
    st.floats(60.0, 240.0),
    st.sampled_from(list(Tone)),
)
def test_an_attack_is_heard_at_its_onset(note, tempo, tone):
    samples = sound_of(note, tuning=EIGHT, quarters_per_minute=tempo, tone=tone)
    onset = round(float(note.at) * 60.0 / tempo * RATE)
    level = np.abs(samples).max(axis=0)
    # The onset of the test recordings' ground truth: a tenth of the peak within the first 80 ms.
    loud = level > 0.1 * level[onset : onset + RATE * 80 // 1000].max()
    assert 0 <= np.argmax(loud) - onset <= 0.005 * RATE
    assert np.max(level[: max(onset - 8, 0)], initial=0.0) < 1e-4 * level.max()


@settings(max_examples=25, deadline=None)
@given(
    st.fractions(0, 7, max_denominator=12),
    st.fractions("1/8", 4, max_denominator=12),
    st.sampled_from([0.25, 0.5, 1.0, 1.5]),
)
def test_an_excerpt_is_as_long_as_its_span_to_the_sample(start, length, speed):
    passage, time_map = dense_riff(2)
    end = min(start + length, passage.length_quarters)
    sound = render(passage, time_map, span=Span(start, end), speed=speed)
    seconds = (time_map.seconds_at(end) - time_map.seconds_at(start)) / speed
    assert sound.sample_count == round(seconds * RATE)
    assert not np.any(sound.samples[:, :1])
    assert np.all(np.abs(sound.samples[:, -1:]) < 1e-3)


def test_an_excerpt_sounds_as_it_does_within_the_whole():
    # At 120 each quarter starts on a sample, so that no onset is rounded another way.
    passage, time_map = dense_riff(2, quarters_per_minute=120.0)
    whole = render(passage, time_map).samples
    span = Span(Fraction(3), Fraction(6))
    part = render(passage, time_map, span=span).samples
    at = round(time_map.seconds_at(span.start_quarters) * RATE)
    settled, faded = RATE // 4, RATE // 40
    expected = whole[:, at + settled : at + part.shape[1] - faded]
    assert np.abs(part[:, settled:-faded] - expected).max() < 2e-3


def test_half_speed_takes_twice_as_long_at_the_same_pitch():
    note = Played(at=2, length=2, string=4, fret=2)
    whole, half = sound_of(note), sound_of(note, speed=0.5)
    assert half.shape[1] == 2 * whole.shape[1]
    onset = np.argmax(np.abs(half[0]) > 0.02)
    assert onset == pytest.approx(2 * RATE, abs=0.005 * RATE)
    assert abs(cents_off(half[0, onset:], hz_of(52))) < 1.0


def test_one_seed_gives_one_sound():
    passage, time_map = dense_riff(1)
    first, again, other = (render(passage, time_map, seed=seed).samples for seed in (1, 1, 2))
    assert np.array_equal(first, again)
    assert not np.array_equal(first, other)


def test_repeated_notes_differ_from_each_other():
    samples = sound_of(*(Played(at=at, string=6, how=Technique.PALM_MUTE) for at in range(4)))
    strokes = samples[0, : 4 * RATE // 2].reshape(4, -1)
    peaks = np.abs(strokes).max(axis=1)
    assert 0.0 < np.ptp(peaks) < 0.5 * peaks.mean()
    assert len(set(peaks.tolist())) == 4


@pytest.mark.parametrize("tone", Tone)
def test_a_stopped_string_is_silent(tone):
    note = Played(at=0, length=1, string=6, fret=3)
    samples = sound_of(note, bars=1, tone=tone)
    # 20 ms to still the string, and the walls of the room.
    assert np.abs(samples[:, int(0.75 * RATE) :]).max() < 1e-3 * np.abs(samples).max()


def test_a_string_that_rings_on_is_heard_under_the_next_note():
    low = Played(at=0, length=1, string=6, ring_end=4)
    high = Played(at=1, length=3, string=1)
    ringing = sound_of(low, high, tone=Tone.CLEAN)[0, RATE : RATE + RATE // 2]
    alone = sound_of(high, tone=Tone.CLEAN)[0, RATE : RATE + RATE // 2]
    second_partial = 2 * hz_of(40)
    assert level_db(ringing, RATE, second_partial) > -40.0
    assert level_db(alone, RATE, second_partial) < -70.0


@pytest.mark.parametrize("tone", Tone)
def test_a_palm_mute_is_darker_and_shorter(tone):
    plain, muted = (
        sound_of(Played(at=0, length=2, string=6, how=how), tone=tone)[0]
        for how in (Technique(0), Technique.PALM_MUTE)
    )
    early = slice(RATE // 50, RATE // 5)
    assert centroid_hz(muted[early]) < 0.7 * centroid_hz(plain[early])
    late = slice(RATE // 2, 9 * RATE // 10)
    assert np.std(muted[late]) < 0.2 * np.std(plain[late])


def test_a_dead_note_is_a_short_thump():
    samples = sound_of(Played(at=0, length=2, string=6, fret=5, how=Technique.DEAD))[0]
    energy = np.cumsum(samples.astype(np.float64) ** 2)
    assert np.searchsorted(energy, 0.95 * energy[-1]) < 0.08 * RATE


# A harmonic is a partial of the open string, so the fifth is 14 cents flat of its fret
# (common practice; 1200 log₂(5/4) − 400).
@pytest.mark.parametrize(("fret", "node"), [(12, 2), (7, 3), (5, 4), (4, 5)])
def test_a_natural_harmonic_sounds_its_partial_and_nothing_below(fret, node):
    pitch = 45 + round(12 * np.log2(node))
    note = Played(at=0, length=4, string=5, fret=fret, pitch=pitch, how=Technique.NATURAL_HARMONIC)
    samples = sound_of(note, tone=Tone.CLEAN)[0, 9_600:]
    assert abs(cents_off(samples, node * 110.0)) < 3.0
    below = max(level_db(samples, RATE, n * 110.0) for n in range(1, node))
    assert below < level_db(samples, RATE, node * 110.0) - 50.0


def test_a_bend_reaches_its_goal():
    note = Played(at=0, length=4, string=2, fret=8, bend=(0, 200))
    samples = sound_of(note, tone=Tone.CLEAN)[0]
    assert abs(cents_off(samples[RATE : -RATE // 20], hz_of(59 + 8 + 2))) < 1.0


# Way of a bend, and where its pitches are held: start, end in seconds of a note of two seconds, and
# cents above the fret.
WAYS = [
    pytest.param((0, 200), [(0.9, 1.9, 200)], id="bend"),
    pytest.param((0, 50), [(0.9, 1.9, 50)], id="quarter tone"),
    pytest.param((200,), [(0.02, 1.9, 200)], id="pre-bend"),
    pytest.param((0, 200, 0), [(0.45, 0.98, 200), (1.4, 1.9, 0)], id="bend and release"),
    pytest.param((150, 0), [(0.02, 0.98, 150), (1.4, 1.9, 0)], id="pre-bend and release"),
    pytest.param(
        (0, 200, 100, 300), [(0.32, 0.65, 200), (0.95, 1.32, 100), (1.6, 1.95, 300)], id="three"
    ),
]


@pytest.mark.parametrize(("way", "held"), WAYS)
def test_a_bend_holds_each_of_its_pitches_within_a_cent(way, held):
    note = Played(at=0, length=4, string=2, fret=8, bend=way)
    samples = sound_of(note, tone=Tone.CLEAN)[0]
    for start, end, cents in held:
        part = samples[round(start * RATE) : round(end * RATE)]
        assert abs(cents_off(part, hz_of(59 + 8 + cents / 100))) < 1.0


def test_a_bend_takes_its_written_value_though_the_string_rings_on():
    note = Played(at=0, length=1, string=2, fret=8, bend=(0, 200, 0), ring_end=8)
    samples = sound_of(note, tone=Tone.CLEAN, bars=2)[0]
    assert abs(cents_off(samples[RATE // 2 : RATE], hz_of(59 + 8))) < 1.0


def onsets_in(samples: Samples) -> list[float]:
    """Tell when a string is struck, in seconds: its level rises by a quarter within 6 ms.

    A ringing string only falls, and wavers by less; a pick lies on it before it strikes again.
    """
    levels = np.abs(samples[: len(samples) // 96 * 96]).reshape(-1, 96).max(axis=1)
    found: list[int] = []
    for block, level in enumerate(levels.tolist()):
        before = float(np.min(levels[max(block - 3, 0) : block], initial=np.inf if block else 0.0))
        is_new = not found or block - found[-1] > 10
        if is_new and level > 1.25 * before and level > 0.2 * levels.max():
            found.append(block)
    return [block * 96 / RATE for block in found]


# MusicXML 4.0, tremolo: one mark for eighths, two for sixteenths, three for thirty-seconds.
@pytest.mark.parametrize(("marks", "strokes_a_quarter"), [(1, 2), (2, 4), (3, 8)])
def test_tremolo_strikes_at_the_value_of_its_marks(marks, strokes_a_quarter):
    note = Played(at=1, length=2, string=1, fret=12, tremolo_marks=marks)
    samples = sound_of(note, tone=Tone.CLEAN, bars=1, quarters_per_minute=100.0)[0]
    expected = [0.6 + 0.6 * k / strokes_a_quarter for k in range(2 * strokes_a_quarter)]
    assert onsets_in(samples) == pytest.approx(expected, abs=0.004)


def test_a_bend_goes_on_under_tremolo():
    note = Played(at=0, length=4, string=2, fret=8, bend=(0, 200), tremolo_marks=1)
    samples = sound_of(note, tone=Tone.CLEAN)[0]
    quarter = RATE // 4
    for k in (4, 5, 6):
        part = samples[k * quarter + 500 : (k + 1) * quarter - 500]
        assert abs(cents_off(part, hz_of(59 + 8 + 2))) < 1.0


@pytest.mark.parametrize("other_fret", [5, 8])
def test_a_trill_goes_between_its_two_notes(other_fret):
    note = Played(at=0, length=2, string=1, fret=7, how=Technique.TRILL, other_fret=other_fret)
    samples = sound_of(note, tone=Tone.CLEAN)[0]
    parts = np.array_split(samples[:RATE], 11)
    for place, part in enumerate(parts[:-1]):
        middle = part[RATE // 100 : -RATE // 200]
        both = {f: level_db(middle, RATE, 3 * hz_of(64 + f)) for f in (7, other_fret)}
        assert max(both, key=lambda f: both[f]) == (other_fret if place % 2 else 7)
    assert onsets_in(samples)[0] == 0.0


def test_a_grace_is_heard_just_before_the_beat_at_its_own_pitch():
    grace = Grace(at_quarters=Fraction(2), place=0, string=1, fret=10, pitch=74)
    note = Played(at=2, length=2, string=1, fret=12, how=Technique.HAMMER_ON)
    samples = sound_of(note, graces=[grace], tone=Tone.CLEAN)[0]
    assert onsets_in(samples)[0] == pytest.approx(1.0 - 0.07, abs=0.003)
    within = samples[round(0.935 * RATE) : round(0.995 * RATE)]
    assert abs(cents_off(within, hz_of(74))) < 12.0  # as near as so short a note can be measured
    assert abs(cents_off(samples[round(1.02 * RATE) :], hz_of(76))) < 1.0


def test_a_grace_slides_into_its_note():
    grace = Grace(at_quarters=Fraction(2), place=0, string=1, fret=10, pitch=74)
    note = Played(at=2, length=2, string=1, fret=12, how=Technique.SLIDE)
    samples = sound_of(note, graces=[grace], tone=Tone.CLEAN)[0]
    assert onsets_in(samples)[0] == pytest.approx(0.93, abs=0.003)
    assert abs(cents_off(samples[round(1.02 * RATE) :], hz_of(76))) < 1.0


# A node touched so many frets above the stopped one leaves this partial (common practice).
@pytest.mark.parametrize(("above", "node"), [(12, 2), (7, 3), (5, 4), (4, 5)])
@pytest.mark.parametrize("how", [Technique.ARTIFICIAL_HARMONIC, Technique.PINCH_HARMONIC])
def test_a_harmonic_of_a_stopped_string_sounds_its_partial_and_nothing_below(above, node, how):
    stopped = 50 + 3
    pitch = stopped + round(12 * np.log2(node))
    note = Played(at=0, length=4, string=4, fret=3, other_fret=3 + above, pitch=pitch, how=how)
    samples = sound_of(note, tone=Tone.CLEAN)[0, 4_800:]
    assert abs(cents_off(samples, node * hz_of(stopped))) < 3.0
    below = max(level_db(samples, RATE, n * hz_of(stopped)) for n in range(1, node))
    assert below < level_db(samples, RATE, node * hz_of(stopped)) - 50.0


def test_a_harmonic_on_no_partial_sounds_at_its_written_pitch():
    how = Technique.ARTIFICIAL_HARMONIC
    note = Played(at=0, length=4, string=4, fret=3, other_fret=9, pitch=53 + 17, how=how)
    samples = sound_of(note, tone=Tone.CLEAN)[0, 4_800:]
    assert abs(cents_off(samples, hz_of(70))) < 3.0


def test_a_pinch_of_which_nobody_says_the_partial_squeals_at_the_stopped_pitch():
    how = Technique.PINCH_HARMONIC
    note = Played(at=0, length=4, string=4, fret=3, how=how)
    plain = sound_of(Played(at=0, length=4, string=4, fret=3), tone=Tone.CLEAN)[0, 4_800:]
    samples = sound_of(note, tone=Tone.CLEAN)[0, 4_800:]
    assert centroid_hz(samples) > 2.0 * centroid_hz(plain)
    strong = max(level_db(samples, RATE, n * hz_of(53)) for n in (4, 5, 6))
    assert all(level_db(samples, RATE, n * hz_of(53)) < strong - 40.0 for n in (1, 2, 3))
    # The partials left lie one stopped pitch apart, stretched as the string is stiff.
    assert 0.0 < cents_off(samples, 4 * hz_of(53)) < 10.0


def test_a_tap_has_an_edge_and_a_hammer_has_none():
    def first_moment(how: Technique) -> Samples:
        note = Played(at=0, length=2, string=3, fret=12, how=how)
        return sound_of(note, tone=Tone.CLEAN)[0, :480]

    picked, tapped, hammered = map(first_moment, (Technique(0), Technique.TAP, Technique.HAMMER_ON))
    assert centroid_hz(hammered) < centroid_hz(tapped)
    assert np.std(hammered) < np.std(tapped) < np.std(picked)


def test_a_pull_off_is_a_small_pluck_and_a_hammer_on_is_none():
    def begun(how: Technique, before: int) -> Samples:
        notes = (
            Played(at=0, length=1, string=3, fret=before),
            Played(at=1, length=2, string=3, fret=7, how=how),
        )
        return sound_of(*notes, tone=Tone.CLEAN)[0, RATE // 2 : RATE // 2 + 4_800]

    hammered, pulled = begun(Technique.HAMMER_ON, 5), begun(Technique.PULL_OFF, 9)
    assert centroid_hz(pulled) > 1.05 * centroid_hz(hammered)
    assert np.abs(pulled).max() > np.abs(hammered).max()


@pytest.mark.parametrize(
    ("how", "at_start", "at_end"),
    [
        (Technique.SCOOP, -200, 0),
        (Technique.PLOP, 200, 0),
        (Technique.DOIT, 0, 500),
        (Technique.FALLOFF, 0, -500),
    ],
)
def test_slides_from_and_to_nowhere_hold_the_written_pitch_between(how, at_start, at_end):
    samples = sound_of(Played(at=0, length=4, string=2, fret=8, how=how), tone=Tone.CLEAN)[0]
    assert abs(cents_off(samples[RATE // 8 : 7 * RATE // 4], hz_of(67))) < 1.0
    start, end = samples[: RATE // 40], samples[int(1.90 * RATE) : int(1.96 * RATE)]
    for part, cents in ((start, at_start), (end, at_end)):
        hz = strongest_hz(part, RATE, near_hz=hz_of(67), within_cents=900.0)
        heard = 1200 * np.log2(hz / hz_of(67))
        assert np.sign(round(heard / 60)) == np.sign(cents)


def test_a_fermata_changes_nothing_that_the_time_map_does_not():
    passage, time_map = dense_riff(1)
    held = replace(passage, fermatas=(Fraction(2),))
    assert np.array_equal(render(passage, time_map).samples, render(held, time_map).samples)


def test_a_ramp_is_heard_as_the_time_map_says():
    passage, _ = performed([Played(at=at, length="1/4", string=1, fret=12) for at in range(8)])
    tempos = (
        TempoMark(at_quarters=Fraction(0), quarters_per_minute=60.0, is_ramp=True),
        TempoMark(at_quarters=Fraction(8), quarters_per_minute=180.0),
    )
    time_map = TimeMap.from_tempos(tempos, passage.length_quarters)
    samples = render(passage, time_map, tone=Tone.CLEAN).samples[0]
    # 60 / (60 + 15 q) seconds a quarter, summed from 0: 4 ln(1 + q / 4).
    expected = [4 * np.log(1 + at / 4) for at in range(8)]
    assert onsets_in(samples) == pytest.approx(expected, abs=0.004)


def test_a_slide_reaches_its_goal_on_the_beat():
    samples = sound_of(
        Played(at=0, length=2, string=3, fret=5),
        Played(at=2, length=2, string=3, fret=7, how=Technique.SLIDE),
        tone=Tone.CLEAN,
    )[0]
    assert abs(cents_off(samples[4_800 : 9 * RATE // 10], hz_of(60))) < 1.0
    assert abs(cents_off(samples[RATE : 2 * RATE - 2_400], hz_of(62))) < 1.0


CLICKY = [
    (Played(at=0, length=1, string=1, fret=3), Played(at=1, length=1, string=1, fret=5)),
    (Played(at=0, length=1, string=6), Played(at=2, length=1, string=6)),
    (
        Played(at=0, length=1, string=3, fret=5),
        Played(at=1, length=1, string=3, fret=7, how=Technique.HAMMER_ON),
    ),
    (
        Played(at=0, length=1, string=3, fret=5),
        Played(at=1, length=1, string=3, fret=12, how=Technique.SLIDE),
    ),
]


@pytest.mark.parametrize("notes", CLICKY)
def test_stops_and_joins_do_not_click(notes):
    samples = sound_of(*notes, tone=Tone.CLEAN)[0].astype(np.float64)
    jumps = np.abs(np.diff(samples, 2))
    attack = jumps[: RATE // 20].max()
    stop = jumps[int(0.45 * RATE) : int(0.495 * RATE)].max()
    gap = jumps[int(0.505 * RATE) : int(0.9 * RATE)].max()
    assert max(stop, gap) < attack


@pytest.mark.parametrize("tone", Tone)
def test_a_dense_riff_stays_within_full_scale_and_without_offset(tone):
    sound = render(*dense_riff(4), tone=tone)
    assert 0.2 < sound.peak < 1.0
    assert np.all(np.abs(sound.samples.mean(axis=1)) < 1e-3)
    assert np.all(np.isfinite(sound.samples))


def test_only_chosen_strings_sound():
    passage, time_map = performed([Played(at=0, string=6), Played(at=0, string=1, fret=2)])
    low = render(passage, time_map, strings=frozenset({6}), tone=Tone.CLEAN).samples[0]
    assert abs(cents_off(low, hz_of(40))) < 1.0
    assert level_db(low, RATE, hz_of(66)) < level_db(low, RATE, hz_of(40)) - 20.0
    assert not np.any(render(passage, time_map, strings=frozenset()).samples)


def test_rests_are_silent():
    assert not np.any(sound_of(bars=2))


@pytest.mark.parametrize("rate", [44_100, 96_000, 192_000])
def test_another_rate_keeps_time_and_pitch(rate):
    passage, time_map = performed([Played(at=0, length=4, string=5)])
    sound = render(passage, time_map, rate_hz=rate, tone=Tone.CLEAN)
    assert sound.sample_count == 2 * rate
    measured = strongest_hz(sound.samples[0, rate // 10 :], rate, near_hz=110.0)
    assert abs(1200 * np.log2(measured / 110.0)) < 1.0


def test_a_rate_out_of_range_is_refused():
    with pytest.raises(ValueError, match="rendered at 44100 to 192000 Hz, got 22050"):
        render(*dense_riff(1), rate_hz=22_050)


def test_progress_rises_to_the_whole():
    told: list[float] = []
    render(*dense_riff(1), progress=told.append)
    assert told == sorted(told)
    assert (told[0], told[-1]) == (0.0, 1.0)


def test_a_speed_out_of_range_is_refused():
    with pytest.raises(ValueError, match=r"speed lies between 0\.1 and 4, got 0\.0"):
        render(*dense_riff(1), speed=0.0)
