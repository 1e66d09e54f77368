import random
import resource
import tracemalloc

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st
from tests.formats.midi_passages import midi_file, note, tempo, words_of
from tests.formats.test_midi_bytes import FORMAT_0, FORMAT_1
from tests.making import passage as spelled

from riffract.formats.midi import read_midi, write_midi
from riffract.formats.midi.chunks import MOST_BYTES, chunk
from riffract.formats.midi.conductor import MOST_BARS, MOST_MARKS
from riffract.formats.midi.file import MOST_EVENTS
from riffract.formats.midi.reader import MOST_NOTES

END = bytes.fromhex("00 FF2F00")


def header(*, kind: int = 0, tracks: int = 1, division: int = 480) -> bytes:
    return chunk(b"MThd", b"".join(n.to_bytes(2, "big") for n in (kind, tracks, division)))


def one_track(content: str | bytes, **said: int) -> bytes:
    body = bytes.fromhex(content) if isinstance(content, str) else content
    return header(**said) + chunk(b"MTrk", body)


BROKEN = [
    pytest.param(b"", "does not start with MThd (byte 0 of the file)", id="nothing"),
    pytest.param(b"RIFF" + FORMAT_0, "does not start with MThd", id="wrapped"),
    pytest.param(FORMAT_0[:10], "a header says that it holds 6 bytes, but only 2", id="cut header"),
    pytest.param(chunk(b"MThd", b"\0\0"), "the header holds 2 bytes instead of 6", id="short"),
    pytest.param(header(), "announces 1 tracks, but the file ends after 0", id="no track"),
    pytest.param(FORMAT_0[:-3], "a track says that it holds 59 bytes, but only 56", id="cut track"),
    pytest.param(FORMAT_1[:42], "announces 4 tracks, but the file ends after 1", id="cut off"),
    pytest.param(one_track(END, kind=2), "format 2", id="format 2"),
    pytest.param(one_track(END, kind=7), "format 7 is unknown", id="format 7"),
    pytest.param(one_track(END, division=0), "a quarter has 0 ticks", id="division 0"),
    pytest.param(one_track(END, division=0xE700), "25 frames a second with 0", id="no ticks"),
    pytest.param(one_track(END, division=0x8001), "128 frames a second", id="odd frames"),
    pytest.param(one_track("FFFFFFFF 00"), "does not end (byte 22 of the file)", id="endless"),
    pytest.param(one_track("00 3C40"), "stands without a status (byte 23", id="no status"),
    pytest.param(one_track("00 903C"), "ends within an event (byte 25", id="cut message"),
    pytest.param(one_track("00 903C C005"), "cut short by the next one", id="message in message"),
    pytest.param(one_track("00 F4"), "cannot hold messages of status F4", id="system message"),
    pytest.param(one_track("00 FF517F07A1"), "ends within an event", id="long meta"),
    pytest.param(one_track("00 F0FFFFFF7F"), "ends within an event", id="long exclusive"),
]


@pytest.mark.parametrize(("data", "said"), BROKEN)
def test_broken_bytes_are_an_error_that_says_what_and_where(data, said):
    result = read_midi(data)
    assert result.passage is None
    assert len(result.problems) == 1
    assert said in result.problems[0].what
    assert result.problems[0].mend


def test_tempos_and_metres_of_wrong_lengths_are_passed_over():
    odd = bytes.fromhex("00FF5100 00FF510100 00FF5103000000 00FF5800 00FF580404FF1808")
    odd += bytes.fromhex("00FF58040002 1808 00FF2100 00FF5902FF09")
    data = one_track(odd + bytes.fromhex("00902840 8360 802840") + END)
    result = read_midi(data)
    assert result.passage is not None
    assert result.passage.tempos[0].quarters_per_minute == 120.0
    assert "3 metres cannot be read" in words_of(result)


def test_tempos_beyond_what_is_playable_are_told():
    data = midi_file([tempo(0, 1), tempo(480, 0xFFFFFF), *note(0, 960, 45)])
    result = read_midi(data)
    assert result.passage is not None
    assert [m.quarters_per_minute for m in result.passage.tempos] == [1000.0, 5.0]
    assert "2 tempos beyond 5 to 1000" in words_of(result)


def test_what_follows_the_last_track_and_unknown_chunks_are_no_harm():
    strange = header(tracks=1) + chunk(b"XFIH", b"abc") + FORMAT_0[14:] + b"junk"
    result = read_midi(strange)
    assert result.passage is not None
    assert "4 bytes behind the last track are not read" in words_of(result)


def test_keys_that_are_never_let_go_end_with_their_track():
    result = read_midi(one_track(bytes.fromhex("00 902840 8360 FF2F00")))
    assert result.passage is not None
    assert result.passage.notes[0].duration_quarters == 1
    assert "1 note never let go" in words_of(result)


def hits(count: int, delta: int = 1) -> bytes:
    """Many keys, with running status."""
    return b"\x00\x90" + b"\x3c\x40%c\x3c\x00%c" % (delta, 0) * count + b"\x3c\x40" + END


LARGE = [
    pytest.param(lambda: bytes(MOST_BYTES + 1), "more than any passage needs", id="bytes"),
    pytest.param(lambda: one_track(b"\xff" * (MOST_BYTES - 30)), "does not end", id="endless"),
    pytest.param(lambda: one_track(hits(MOST_EVENTS)), "more events", id="events"),
    pytest.param(lambda: one_track(hits(MOST_NOTES + 1)), "at most 100,000", id="notes"),
    pytest.param(
        lambda: one_track(bytes.fromhex("FFFFFF7F 902840 01 802840") + END, division=1),
        f"more than {MOST_BARS:,} bars",
        id="bars",
    ),
    pytest.param(
        lambda: one_track(b"\x01\xff\x51\x03\x07\xa1\x20\x01\xff\x51\x03\x07\xa1\x21" * MOST_MARKS),
        "no notes",
        id="tempos without notes",
    ),
    pytest.param(
        lambda: one_track(b"\x01\xff\x51\x03\x07\xa1\x20" * (MOST_MARKS + 1) + hits(3)),
        "marks of tempo",
        id="tempos",
    ),
    pytest.param(
        lambda: header(tracks=0xFFFF, kind=1) + chunk(b"MTrk", END) * 0xFFFF,
        "no notes",
        id="tracks",
    ),
    pytest.param(
        lambda: one_track(
            b"".join(b"\x00\x90%c\x40" % pitch for pitch in range(128))
            + b"\x00\xb1\x7b\x00" * 400_000
            + END
        ),
        "cannot be played",
        id="all notes off",
    ),
]


def different_chords() -> bytes:
    """Many chords of many notes on many strings, all of them different."""
    draws = random.Random(0)
    chords = [draws.sample(range(12, 88), 11) for _ in range(5_000)]
    return b"".join(
        b"".join(b"\x00\x90%c\x40" % pitch for pitch in chord)
        + b"\x01\x80%c\x40" % chord[0]
        + b"".join(b"\x00\x80%c\x40" % pitch for pitch in chord[1:])
        for chord in chords
    )


def turning_wheel() -> bytes:
    """A wheel that turns all the time under six held notes."""
    held = b"".join(b"\x00\x90%c\x40" % pitch for pitch in (40, 45, 50, 55, 59, 64))
    return held + b"\x00\xe0\x00\x30" + b"\x01\x00\x50\x01\x00\x30" * 100_000


LARGE.append(
    pytest.param(lambda: one_track(turning_wheel() + END), "wheel turns more often", id="wheel")
)
LARGE.append(
    pytest.param(
        lambda: one_track(different_chords() + END, division=4),
        "different chords are too many",
        id="chords",
    )
)


@pytest.mark.parametrize(("make", "said"), LARGE)
def test_huge_files_are_refused_in_bounded_memory(make, said):
    data = make()
    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    result = read_midi(data)
    assert result.passage is None
    assert said in result.problems[0].what
    grown = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before
    assert grown < 400 * 1024  # kibibytes


@given(st.binary(max_size=200))
@settings(max_examples=150)
def test_no_bytes_raise(data):
    result = read_midi(data)
    assert result.passage is not None or result.problems


@given(st.binary(max_size=120), st.integers(0, 1), st.sampled_from([1, 24, 480, 0xE728, 0xE250]))
@settings(max_examples=300)
def test_no_events_raise(body, kind, division):
    result = read_midi(one_track(body, kind=kind, division=division))
    assert result.passage is not None or result.problems


BYTE = st.integers(0, 127)
CONTROLS = st.sampled_from([6, 38, 64, 100, 101, 120, 121, 123])
METAS = st.sampled_from([1, 3, 5, 6, 0x21, 0x51, 0x58])
MESSAGES = st.one_of(
    st.tuples(st.sampled_from([0x80, 0x90, 0x91, 0x95, 0xB0, 0xE0, 0xE5]), BYTE, BYTE),
    st.tuples(st.sampled_from([0xC0, 0xD0]), BYTE),
    st.tuples(st.just(0xB0), CONTROLS, st.integers(0, 12)),
    st.tuples(st.just(0xFF), METAS, st.binary(max_size=6)),
)


def written(message: tuple[int | bytes, ...]) -> bytes:
    """Write a message; bytes come with their length."""
    return b"".join(
        bytes((len(part), *part)) if isinstance(part, bytes) else bytes((part,)) for part in message
    )


@given(
    st.lists(st.tuples(st.integers(0, 127), MESSAGES), max_size=40),
    st.integers(0, 1),
    st.sampled_from([1, 7, 24, 96, 480, 0xE728]),
)
@settings(max_examples=400, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_any_messages_make_a_passage_or_an_error(messages, kind, division):
    body = b"".join(bytes((delta,)) + written(message) for delta, message in messages)
    result = read_midi(one_track(body + END, kind=kind, division=division))
    assert result.passage is not None or result.problems
    if result.passage is not None:
        assert read_midi(write_midi(result.passage)).passage is not None


@given(st.integers(0, 500), st.binary(min_size=1, max_size=6), st.booleans())
@example(13, b"\xff", True)
@settings(max_examples=200, deadline=None)
def test_a_damaged_file_makes_a_passage_or_an_error(at, damage, is_cut):
    whole = write_midi(spelled([(64, 1), ((40, 47), 1), (60, 2)], ringing=[40]))
    at %= len(whole)
    data = whole[:at] + damage + (b"" if is_cut else whole[at + len(damage) :])
    result = read_midi(data)
    assert result.passage is not None or result.problems


def test_a_file_of_many_notes_takes_little_memory():
    tracemalloc.start()
    read_midi(one_track(hits(20_000)))
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    assert peak < 200e6
