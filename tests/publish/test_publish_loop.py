"""Loops: the right stretch, at rest at both ends, small, and files that keep to their formats."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import av
import numpy as np
import pytest
from numpy.typing import NDArray

from riffract.picture.raster import Frame
from riffract.publish.film import loop
from riffract.publish.film.loop import (
    FRAMES_A_SECOND,
    Movable,
    loop_frames,
    main_movement,
    write_loops,
)

Pixels = NDArray[np.uint8]


@dataclass(slots=True)
class BlockPainter:
    """Paints a block whose width grows at each of some moments by a share of the picture."""

    width: int
    height: int
    moves: Sequence[tuple[float, float]]

    def frame(self, seconds: float) -> Frame:
        share = sum(share for at, share in self.moves if seconds >= at - 1e-9)
        pixels = np.full((self.height, self.width, 4), (14, 17, 23, 255), dtype=np.uint8)
        pixels[:, : round(share * self.width), :3] = (113, 200, 242)
        return Frame(pixels=pixels, is_new=True)


def movable(length_seconds: float, *moves: tuple[float, float]) -> Movable:
    return Movable(
        name="01-fold",
        length_seconds=length_seconds,
        sides=(1080, 1920),
        painter=lambda *, width, height: BlockPainter(width, height, moves),
    )


def test_the_stretch_with_most_change_is_taken_and_cut_to_its_movement() -> None:
    moments = main_movement(movable(30.0, (1.0, 0.1), (15.0, 0.2), (18.0, 0.3), (29.0, 0.1)))
    frame = 1 / FRAMES_A_SECOND
    assert moments[0] == pytest.approx(15.0 - frame)
    assert moments[-1] == pytest.approx(18.0)
    assert np.diff(moments) == pytest.approx(frame)


@pytest.mark.parametrize("longest", [4.0, 16.0])
def test_another_longest_stretch_finds_the_same_movement(
    longest: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(loop, "LONGEST_SECONDS", longest)
    moments = main_movement(movable(40.0, (1.0, 0.1), (20.0, 0.2), (23.0, 0.3)))
    assert (moments[0], moments[-1]) == pytest.approx((20.0 - 1 / FRAMES_A_SECOND, 23.0))


def test_a_still_shot_has_no_movement(tmp_path: Path) -> None:
    assert main_movement(movable(3.0)) == ()
    assert list(write_loops(tmp_path, [movable(3.0)])) == []


def test_it_starts_and_ends_at_rest_and_fades_back() -> None:
    painter = BlockPainter(90, 160, [(0.5, 0.5)])
    frames = list(loop_frames(painter, [0.4, 0.5, 0.6]))
    assert all(np.array_equal(frame, frames[0]) for frame in frames[:10])
    steps = [
        float(np.abs(a.astype(float) - b).mean())
        for a, b in zip(frames, [*frames[1:], frames[0]], strict=True)
    ]
    way_back = steps[-6:]  # five frames between the last picture and the first
    assert sum(way_back) == pytest.approx(steps[9], rel=0.05)
    assert max(way_back) < steps[9] / 4


def chunks(data: bytes) -> Iterator[tuple[bytes, bytes]]:
    """Read the chunks of a WebP file (RIFF: a name, a size, content padded to even length)."""
    assert (data[:4], data[8:12]) == (b"RIFF", b"WEBP")
    assert int.from_bytes(data[4:8], "little") == len(data) - 8
    at = 12
    while at < len(data):
        size = int.from_bytes(data[at + 4 : at + 8], "little")
        yield data[at : at + 4], data[at + 8 : at + 8 + size]
        at += 8 + size + size % 2


def test_the_files_keep_to_their_formats(tmp_path: Path) -> None:
    """WebP container specification: the animation flag is bit 1 of VP8X, a loop count of 0 in ANIM
    is for ever, and each ANMF says how many ms it is shown. GIF89a: the looping extension."""
    webp, gif = write_loops(tmp_path, [movable(3.0, (1.0, 0.2), (1.5, 0.3))])
    read = list(chunks(webp.read_bytes()))
    (head,) = [content for name, content in read if name == b"VP8X"]
    assert head[0] & 2
    sides = [int.from_bytes(head[at : at + 3], "little") + 1 for at in (4, 7)]
    assert sides == [450, 800]
    (animation,) = [content for name, content in read if name == b"ANIM"]
    assert animation[4:6] == b"\0\0"
    shown_ms = sum(int.from_bytes(c[12:15], "little") for name, c in read if name == b"ANMF")
    frames = 10 + 9 + 10 + 5  # the movement: from 1.0 s to the first frame at or after 1.5 s
    assert shown_ms == pytest.approx(1000 * frames / FRAMES_A_SECOND, abs=20)
    data = gif.read_bytes()
    assert data[:6] == b"GIF89a"
    assert b"NETSCAPE2.0\x03\x01\0\0" in data
    with av.open(str(gif)) as movie:
        pictures = [frame.to_ndarray(format="bgr24") for frame in movie.decode(video=0)]
    assert len(pictures) == frames
    assert pictures[20][400, 100].tolist() == pytest.approx([113, 200, 242], abs=6)
    assert pictures[20][400, 400].tolist() == pytest.approx([14, 17, 23], abs=6)


def test_a_loop_that_would_be_too_large_gets_smaller(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    shot = movable(3.0, (1.0, 0.2), (1.5, 0.3))
    (large, *_) = write_loops(tmp_path, [shot])
    monkeypatch.setattr(loop, "LARGEST_BYTES", large.stat().st_size - 1)
    (smaller, *_) = write_loops(tmp_path, [shot])
    (head,) = [content for name, content in chunks(smaller.read_bytes()) if name == b"VP8X"]
    assert int.from_bytes(head[7:10], "little") + 1 < 800


def test_the_same_shot_gives_the_same_bytes(tmp_path: Path) -> None:
    shot = movable(2.0, (1.0, 0.2))
    first = [path.read_bytes() for path in write_loops(tmp_path, [shot])]
    assert [path.read_bytes() for path in write_loops(tmp_path, [shot])] == first
