"""The film: in step, tagged, whole or not there at all."""

import errno
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace
from fractions import Fraction
from functools import partial
from itertools import accumulate, pairwise
from pathlib import Path
from typing import Any

import av
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray
from tests.publish_fakes import small_shots, small_study

from riffract.formats.problem import Severity
from riffract.picture.raster import Frame
from riffract.publish.captions import Cue, captions
from riffract.publish.film.flash import FlashMeter
from riffract.publish.film.movie_file import MovieLabels
from riffract.publish.film.part import MovieFrame, PartFile
from riffract.publish.film.progress import CancelledError
from riffract.publish.film.writing import Reel, frame_count, moments, write_film
from riffract.sound.sound import Sound

WIDTH, HEIGHT, FPS, RATE_HZ = 320, 180, 30, 48_000
GROUND, LIGHT = (14, 17, 23), (113, 200, 242)  # blue, green, red
LABELS = MovieLabels(
    title="Étude ♭", author="Ada Sample", rights="© the composer", description="A test."
)

Pixels = NDArray[np.uint8]


@dataclass(slots=True)
class BarPainter:
    """Paints a bar that takes a new place at given moments; frames between are the same."""

    moves_seconds: Sequence[float]
    says_when_same: bool = True
    _last: tuple[int, Pixels] | None = None

    def frame(self, seconds: float) -> Frame:
        place = sum(seconds >= move - 1e-9 for move in self.moves_seconds)
        if self._last is not None and self._last[0] == place and self.says_when_same:
            return Frame(pixels=self._last[1], is_new=False)
        pixels = np.empty((HEIGHT, WIDTH, 4), dtype=np.uint8)
        pixels[...] = (*GROUND, 255)
        pixels[60:80, 8 + 16 * place : 20 + 16 * place, :3] = LIGHT
        self._last = (place, pixels)
        return Frame(pixels=pixels, is_new=True)


@dataclass(slots=True)
class FunctionPainter:
    """Paints whatever a function of time gives, always as new."""

    paint: Callable[[float], Pixels]
    asked: list[float] = field(default_factory=list)

    def frame(self, seconds: float) -> Frame:
        self.asked.append(seconds)
        return Frame(pixels=self.paint(seconds), is_new=True)


def grey(level: int, width: int = WIDTH) -> Pixels:
    return np.full((HEIGHT, width, 4), level, dtype=np.uint8)


def reel(length_seconds: float, *moves: float, title: str = "A bar moves.") -> Reel:
    return Reel(title=title, length_seconds=length_seconds, painter=lambda: BarPainter(moves))


def clicks(at_seconds: Sequence[float], length_seconds: float, rate_hz: int = RATE_HZ) -> Sound:
    samples = np.zeros((2, round(length_seconds * rate_hz)), dtype=np.float32)
    tone = 0.5 * np.sin(2 * np.pi * 3000 * np.arange(rate_hz // 50) / rate_hz)
    for at in at_seconds:
        start = round(at * rate_hz)
        samples[:, start : start + len(tone)] = tone
    return Sound(samples=samples, rate_hz=rate_hz)


def film(path: Path, reels: Sequence[Reel], sound: Sound, **more: Any) -> Path:
    problems = write_film(path, reels, sound, width=WIDTH, height=HEIGHT, labels=LABELS, **more)
    assert problems == ()
    return path


def pictures_of(path: Path) -> Iterator[tuple[float, NDArray[np.uint8]]]:
    with av.open(str(path)) as movie:
        for frame in movie.decode(video=0):
            assert frame.time is not None
            yield frame.time, frame.to_ndarray(format="bgr24")  # type: ignore[misc]


def sound_of(path: Path) -> NDArray[np.float32]:
    with av.open(str(path)) as movie:
        return np.concatenate([f.to_ndarray() for f in movie.decode(audio=0)], axis=1)


def top_level_boxes(path: Path) -> list[str]:
    """List the boxes of an ISO base media file (ISO/IEC 14496-12, 4.2: size, then type)."""
    data, at, names = path.read_bytes(), 0, []
    while at < len(data):
        names.append(data[at + 4 : at + 8].decode("ascii"))
        at += int.from_bytes(data[at : at + 4], "big")
    return names


CLICKS = [0.5, 1.0, 1.7333, 2.4, 3.05]


@pytest.fixture(scope="module")
def clicking(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("film")
    reels = [reel(2.0, *CLICKS[:3]), reel(1.5, 0.4, 1.05, title="It moves <again> & on.")]
    cues = [
        Cue(start_ms=500, end_ms=1500, rows=("Listen: E♭ {not a style}",)),
        Cue(start_ms=2000, end_ms=3400, rows=("Two rows,", "one & the other.")),
    ]
    return film(folder / "film.mp4", reels, clicks(CLICKS, 3.5), cues=cues)


def test_the_picture_moves_in_the_frame_in_which_the_click_sounds(clicking: Path) -> None:
    places = [
        (time, int(np.argmax(picture[70, :, 2] > 128))) for time, picture in pictures_of(clicking)
    ]
    moved = [time for (_, before), (time, after) in pairwise(places) if after != before]
    loud = np.abs(sound_of(clicking)[0]) > 0.1
    onsets = [
        k / RATE_HZ for k in np.flatnonzero(loud) if not loud[max(0, k - RATE_HZ // 10) : k].any()
    ]
    moved.remove(2.0)  # the second reel starts with its bar at rest
    assert len(moved) == 5
    assert onsets == pytest.approx(CLICKS, abs=0.002)
    # a frame is shown from its moment on, so it follows the click by less than a frame
    for seen, heard in zip(moved, onsets, strict=True):
        assert -0.002 <= seen - heard < 1 / FPS


def test_the_first_sample_of_the_sound_is_the_first_of_the_film(tmp_path: Path) -> None:
    noise = np.random.default_rng(5).normal(0, 0.1, (1, 2 * RATE_HZ)).astype(np.float32)
    sound = Sound(samples=np.repeat(noise, 2, axis=0), rate_hz=RATE_HZ)
    read = sound_of(film(tmp_path / "f.mp4", [reel(2.0)], sound))[0]
    lags = range(-1200, 1201)
    piece = slice(20_000, 60_000)
    match = [float(read[20_000 + lag : 60_000 + lag] @ noise[0, piece]) for lag in lags]
    assert lags[int(np.argmax(match))] == 0


def test_it_is_as_long_as_its_reels(clicking: Path) -> None:
    assert len(list(pictures_of(clicking))) == 105
    with av.open(str(clicking)) as movie:
        assert movie.duration == 3_500_000
        video: Any = movie.streams.video[0]
        audio: Any = movie.streams.audio[0]
        assert video.duration * video.time_base == Fraction(7, 2)
        assert audio.duration * audio.time_base == Fraction(7, 2)
        assert (video.start_time, audio.start_time) == (0, 0)


def test_frames_are_evenly_spaced(clicking: Path) -> None:
    times = [time for time, _ in pictures_of(clicking)]
    assert times == pytest.approx([k / FPS for k in range(105)], abs=1e-9)


def test_streams_are_what_players_expect(clicking: Path) -> None:
    """Code points of BT.709 (1) and of limited range (1): ITU-T H.273."""
    with av.open(str(clicking)) as movie:
        video = movie.streams.video[0].codec_context
        audio = movie.streams.audio[0].codec_context
        assert (video.name, video.profile, video.pix_fmt) == ("h264", "High", "yuv420p")
        assert (video.width, video.height) == (WIDTH, HEIGHT)
        assert movie.streams.video[0].average_rate == FPS
        assert (video.color_primaries, video.color_trc, video.colorspace, video.color_range) == (
            1, 1, 1, 1,
        )  # fmt: skip
        assert (audio.name, audio.sample_rate, audio.layout.name) == ("aac", RATE_HZ, "stereo")
    assert top_level_boxes(clicking)[:2] == ["ftyp", "moov"]


def test_colours_come_back(clicking: Path) -> None:
    _, picture = next(iter(pictures_of(clicking)))
    assert np.abs(picture[120, 200].astype(int) - GROUND).max() <= 2
    assert np.abs(picture[70, 14].astype(int) - LIGHT).max() <= 6  # beside an edge, chroma halved


def test_title_rights_and_chapters_are_inside(clicking: Path) -> None:
    with av.open(str(clicking)) as movie:
        assert movie.metadata["title"] == "Étude ♭"
        assert movie.metadata["artist"] == "Ada Sample"
        assert movie.metadata["copyright"] == "© the composer"
        assert movie.metadata["description"] == "A test."
        chapters = [
            (
                c["start"],
                c["end"],
                c["time_base"],
                c["metadata"]["title"],
            )
            for c in movie.chapters()
        ]
    assert chapters == [
        (0, 2000, Fraction(1, 1000), "A bar moves."),
        (2000, 3500, Fraction(1, 1000), "It moves <again> & on."),
    ]


def test_captions_are_a_track_of_their_own(clicking: Path) -> None:
    with av.open(str(clicking)) as movie:
        stream = movie.streams.subtitles[0]
        assert stream.metadata["language"] == "eng"
        read = [
            (packet.pts, packet.duration, bytes(packet)[2:].decode())
            for packet in movie.demux(stream)
            if packet.size > 2
        ]
    assert read == [
        (500, 1000, "Listen: E♭ {not a style}"),
        (2000, 1400, "Two rows,\none & the other."),
    ]


def test_each_reel_starts_with_a_picture_that_can_be_jumped_to(clicking: Path) -> None:
    with av.open(str(clicking)) as movie:
        packets: list[Any] = [p for p in movie.demux(video=0) if p.size]
        keys = [p.pts * p.time_base for p in packets if p.is_keyframe]
    assert {Fraction(0), Fraction(2)} <= set(keys)


def test_the_same_film_twice_is_the_same_bytes(tmp_path: Path) -> None:
    reels, sound = [reel(1.0, 0.3), reel(0.5)], clicks([0.3], 1.5)
    one = film(tmp_path / "one.mp4", reels, sound)
    other = film(tmp_path / "other.mp4", reels, sound)
    assert one.read_bytes() == other.read_bytes()


def test_taking_a_still_picture_again_changes_nothing(tmp_path: Path) -> None:
    slow = [
        Reel(title="t", length_seconds=1.0, painter=lambda: BarPainter([0.3], says_when_same=False))
    ]
    quick = [Reel(title="t", length_seconds=1.0, painter=lambda: BarPainter([0.3]))]
    sound = clicks([0.3], 1.0)
    one, other = film(tmp_path / "a.mp4", slow, sound), film(tmp_path / "b.mp4", quick, sound)
    assert one.read_bytes() == other.read_bytes()


@pytest.mark.parametrize("rate_hz", [22_050, 44_100, 48_000])
@pytest.mark.parametrize("sound_seconds", [0.0, 0.4, 3.0])
def test_sound_is_fitted_to_the_picture(tmp_path: Path, rate_hz: int, sound_seconds: float) -> None:
    at = [0.25] if sound_seconds else []
    path = film(tmp_path / "f.mp4", [reel(1.0)], clicks(at, sound_seconds, rate_hz))
    with av.open(str(path)) as movie:
        assert movie.streams.audio[0].duration == RATE_HZ
    loud = np.flatnonzero(np.abs(sound_of(path)[0]) > 0.1)
    assert [loud[0] / RATE_HZ] if len(loud) else pytest.approx(at, abs=0.002) == []


def test_progress_rises_to_one(tmp_path: Path) -> None:
    told: list[float] = []
    film(tmp_path / "f.mp4", [reel(1.5)], clicks([], 1.5), progress=told.append)
    assert told == sorted(told)
    assert (told[0], told[-1]) == (0.0, 1.0)


def test_a_cancelled_film_leaves_what_was_there(tmp_path: Path) -> None:
    path = tmp_path / "film.mp4"
    path.write_bytes(b"earlier")
    asked = iter([False] * 20 + [True])
    with pytest.raises(CancelledError):
        film(path, [reel(3.0)], clicks([], 3.0), is_cancelled=lambda: next(asked))
    assert [p.name for p in tmp_path.iterdir()] == ["film.mp4"]
    assert path.read_bytes() == b"earlier"


def resumable(made: list[str], length_seconds: float = 1.0) -> list[Reel]:
    """Three reels that note when their painter is made for more than a look at their end."""

    def painter(name: str) -> FunctionPainter:
        made.append(name)
        return FunctionPainter(lambda s: grey(40 + round(20 * s)))

    return [
        Reel(title=n, length_seconds=length_seconds, painter=partial(painter, n), key=n)
        for n in ("one", "two", "three")
    ]


def test_a_stopped_film_goes_on_from_its_whole_shots(tmp_path: Path) -> None:
    parts = tmp_path / ".parts"
    sound = clicks([0.5], 3.0)
    whole = film(tmp_path / "whole.mp4", resumable([]), sound)
    asked = iter([False] * 75 + [True])
    with pytest.raises(CancelledError):
        film(
            tmp_path / "film.mp4",
            resumable([]),
            sound,
            parts_folder=parts,
            is_cancelled=lambda: next(asked),
        )
    kept = sorted(path.name.split("-")[0] for path in parts.iterdir())
    assert kept == ["one", "two"]  # the third was stopped in its middle
    before = {path: path.stat().st_mtime_ns for path in parts.iterdir()}
    encoded: list[str] = []
    add = PartFile.add

    def add_and_note(self: PartFile, frame: MovieFrame) -> None:
        encoded.append("frame")
        add(self, frame)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(PartFile, "add", add_and_note)
        film(tmp_path / "film.mp4", resumable([]), sound, parts_folder=parts)
    assert len(encoded) == FPS
    assert len(before) == 2
    assert not parts.exists()
    assert (tmp_path / "film.mp4").read_bytes() == whole.read_bytes()


def test_a_changed_shot_and_one_that_was_cut_short_are_made_anew(tmp_path: Path) -> None:
    parts = tmp_path / ".parts"
    parts.mkdir()
    (parts / "one-30-0.part.mp4").write_bytes(b"of another key")
    (parts / "two-changed-30-0.part.mp4").write_bytes(b"cut short")
    reels = [replace(reel, key=f"{reel.key}-changed") for reel in resumable([])]
    film(tmp_path / "film.mp4", reels, clicks([], 3.0), parts_folder=parts)
    assert len(list(pictures_of(tmp_path / "film.mp4"))) == 90


def test_flashing_that_goes_on_from_a_kept_shot_is_seen(tmp_path: Path) -> None:
    def blinking(from_seconds: float, to_seconds: float) -> Callable[[], FunctionPainter]:
        def paint(s: float) -> Pixels:
            is_on = from_seconds <= s < to_seconds and int(s * 10 + 1e-6) % 2
            return grey(255 if is_on else 0)

        return lambda: FunctionPainter(paint)

    reels = [
        Reel(title="a", length_seconds=1.0, painter=blinking(0.6, 1.0), key="a"),
        Reel(title="b", length_seconds=1.0, painter=blinking(0.0, 0.5), key="b"),
    ]
    size: Any = {"width": WIDTH, "height": HEIGHT, "labels": LABELS}
    sound, parts = clicks([], 2.0), tmp_path / ".parts"
    for _ in range(2):  # the second time the first shot is there already
        (problem,) = write_film(tmp_path / "f.mp4", reels, sound, parts_folder=parts, **size)
        assert "flashes" in problem.what
        assert problem.place == "0:00.7"


def test_a_film_that_goes_on_is_watched_as_if_it_were_made_in_one(tmp_path: Path) -> None:
    """A kept shot's early flashing counts in the report too, though none of it is drawn again."""

    def flashes_early() -> FunctionPainter:
        return FunctionPainter(lambda s: grey(255 if s < 0.8 and int(s * 5 + 1e-6) % 2 else 0))

    def fails(_seconds: float) -> Pixels:
        raise RuntimeError("no shot that is kept is drawn again")

    def reels(first: Callable[[], FunctionPainter]) -> list[Reel]:
        still = partial(FunctionPainter, lambda _: grey(0))
        return [
            Reel(title="a", length_seconds=4.0, painter=first, key="a"),
            Reel(title="b", length_seconds=1.0, painter=still, key="b"),
        ]

    size: Any = {"width": WIDTH, "height": HEIGHT, "labels": LABELS}
    parts, seen = tmp_path / ".parts", []
    asked = iter([False] * 140 + [True])
    with pytest.raises(CancelledError):
        write_film(
            tmp_path / "f.mp4",
            reels(flashes_early),
            clicks([], 5.0),
            parts_folder=parts,
            is_cancelled=lambda: next(asked),
            **size,
        )
    for made in (reels(partial(FunctionPainter, fails)), reels(flashes_early)):
        meter = FlashMeter(width=WIDTH, height=HEIGHT)
        sound = clicks([], 5.0)
        problems = write_film(
            tmp_path / "f.mp4", made, sound, parts_folder=parts, meter=meter, **size
        )
        assert problems == ()
        seen.append(meter.most_flashes)
    assert seen[0] == seen[1] > 1


@pytest.mark.parametrize("failure", [RuntimeError("no such mark"), KeyboardInterrupt()])
def test_a_painter_that_fails_leaves_nothing_behind(tmp_path: Path, failure: BaseException) -> None:
    def fails_later(seconds: float) -> Pixels:
        if seconds > 0.5:
            raise failure
        return grey(0)

    reels = [Reel(title="t", length_seconds=2.0, painter=lambda: FunctionPainter(fails_later))]
    with pytest.raises(type(failure)):
        film(tmp_path / "film.mp4", reels, clicks([], 2.0))
    assert list(tmp_path.iterdir()) == []


def test_a_disk_that_fills_up_stops_the_drawing(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    add = PartFile.add

    def add_until_full(self: PartFile, frame: MovieFrame) -> None:
        if frame.index == 10:
            raise OSError(errno.ENOSPC, "No space left on device")
        add(self, frame)

    monkeypatch.setattr(PartFile, "add", add_until_full)
    painter = FunctionPainter(lambda _: grey(0))
    reels = [Reel(title="t", length_seconds=60.0, painter=lambda: painter)]
    with pytest.raises(OSError, match="No space left"):
        film(tmp_path / "film.mp4", reels, clicks([], 2.0))
    assert list(tmp_path.iterdir()) == []
    assert len(painter.asked) < 60


def test_a_disk_that_is_full_at_the_very_end_is_told_too(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def no_room(_self: PartFile) -> None:
        raise OSError(errno.ENOSPC, "No space left on device")

    monkeypatch.setattr(PartFile, "finish", no_room)
    with pytest.raises(OSError, match="No space left"):
        film(tmp_path / "film.mp4", [reel(1.0)], clicks([], 1.0))
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("asked", [28, 31, 36, 45])
def test_stopping_at_the_seam_of_two_shots_ends(tmp_path: Path, asked: int) -> None:
    answers = iter([False] * asked + [True])
    with pytest.raises(CancelledError):
        film(
            tmp_path / "film.mp4",
            [reel(1.0), reel(1.0)],
            clicks([], 2.0),
            is_cancelled=lambda: next(answers),
        )
    assert list(tmp_path.iterdir()) == []


def test_a_film_that_flashes_is_not_written(tmp_path: Path) -> None:
    path = tmp_path / "film.mp4"
    path.write_bytes(b"earlier")
    blinks = Reel(
        title="Too bright.",
        length_seconds=2.0,
        painter=lambda: FunctionPainter(lambda s: grey(255 if int(s * 10) % 2 else 0)),
    )
    problems = write_film(
        path, [reel(1.0), blinks], clicks([], 3.0), width=WIDTH, height=HEIGHT, labels=LABELS
    )
    (problem,) = problems
    assert problem.text("film.mp4") == (
        "film.mp4 (0:01.1): the picture flashes 3.5 times in the second from 0:01.1, in "
        "“Too bright.”; more than 3 may harm\n"
        "  mend: slow the shot down, or choose another picture for it; `--despite-flashing` writes "
        "it all the same"
    )
    assert [p.name for p in tmp_path.iterdir()] == ["film.mp4"]
    assert path.read_bytes() == b"earlier"


def test_a_film_that_flashes_is_written_on_an_explicit_word(tmp_path: Path) -> None:
    blinks = Reel(
        title="Too bright.",
        length_seconds=2.0,
        painter=lambda: FunctionPainter(lambda s: grey(255 if int(s * 10) % 2 else 0)),
    )
    meter = FlashMeter(width=WIDTH, height=HEIGHT)
    (problem,) = write_film(
        tmp_path / "film.mp4",
        [blinks],
        clicks([], 2.0),
        width=WIDTH,
        height=HEIGHT,
        labels=LABELS,
        meter=meter,
        despite_flashing=True,
    )
    assert problem.severity is Severity.WARNING
    assert (tmp_path / "film.mp4").exists()
    assert meter.most_flashes == 5.0
    assert meter.most_red_flashes == 0.0


@pytest.mark.parametrize(
    ("reels", "width", "message"),
    [([], WIDTH, "at least one frame"), ([reel(1.0)], WIDTH - 1, "must be even")],
)
def test_a_film_needs_frames_and_even_sides(
    tmp_path: Path, reels: list[Reel], width: int, message: str
) -> None:
    with pytest.raises(ValueError, match=message):
        write_film(
            tmp_path / "f.mp4", reels, clicks([], 1.0), width=width, height=HEIGHT, labels=LABELS
        )


def test_the_small_essay_becomes_a_film(tmp_path: Path) -> None:
    study = small_study()
    shots = small_shots(study)
    path = film(
        tmp_path / "film.mp4",
        [reel(shot.length_seconds / 8, title=shot.title) for shot in shots],
        clicks([], 3.0),
        cues=captions(shots, study.passage)[:1],
    )
    with av.open(str(path)) as movie:
        assert [c["metadata"]["title"] for c in movie.chapters()] == [s.title for s in shots]


@given(
    st.lists(st.floats(0.01, 5.0), min_size=1, max_size=8),
    st.sampled_from([24, 25, 30, 50, 60]),
)
def test_frame_k_shows_the_moment_k_over_fps(lengths: list[float], fps: int) -> None:
    starts = [0.0, *accumulate(lengths)]
    shown = list(moments(lengths, fps))
    assert [m.index for m in shown] == list(range(frame_count(lengths, fps)))
    for moment in shown:
        assert starts[moment.reel] + moment.seconds == pytest.approx(moment.index / fps, abs=1e-8)
        assert moment.seconds >= 0
    assert abs(len(shown) / fps - sum(lengths)) <= 0.5 / fps + 1e-9
