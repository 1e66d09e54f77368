"""Only what changed is converted, and nobody can tell: the slow way is the oracle."""

from collections.abc import Sequence
from contextlib import closing
from pathlib import Path
from typing import Any

import av
import numpy as np
import pytest
from av.video.reformatter import ColorRange, Colorspace, VideoReformatter
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from tests.picture_studies import odd_study, shot_of, steps

from riffract.essay.shots import SceneName
from riffract.picture.changed import PixelBox
from riffract.picture.look import DARK
from riffract.picture.raster import Frame, ScenePainter, paint
from riffract.picture.scene import WIDE
from riffract.picture.scenes import scene_for
from riffract.publish.film import part as film_part
from riffract.publish.film.part import MovieFrame, PartFile, PictureConverter, is_whole

Pixels = NDArray[np.uint8]


def slowly_converted(pixels: Pixels) -> Pixels:
    """Convert a whole picture to BT.709 in limited range by the reference library."""
    frame: Any = VideoReformatter().reformat(
        av.VideoFrame.from_numpy_buffer(pixels, format="bgra"),
        format="yuv420p",
        src_color_range=ColorRange.JPEG,
        dst_color_range=ColorRange.MPEG,
        dst_colorspace=Colorspace.ITU709,
    )
    return np.asarray(frame.to_ndarray())


def box_of(before: Pixels, after: Pixels) -> PixelBox:
    """Find the part in which two pictures differ."""
    rows, columns = (np.flatnonzero((before != after).any(axis=(axis, 2))) for axis in (1, 0))
    if not len(rows):
        return PixelBox(left=0, top=0, right=0, bottom=0)
    left, right = int(columns[0]), int(columns[-1]) + 1
    return PixelBox(left=left, top=int(rows[0]), right=right, bottom=int(rows[-1]) + 1)


def moved_about(seed: int, sides: tuple[int, int], boxes: Sequence[tuple[int, int]]) -> list[Frame]:
    """Make noise, then put other noise into parts of it, of odd sizes and at odd places."""
    draw = np.random.default_rng(seed)
    width, height = sides
    pixels = draw.integers(0, 256, (height, width, 4), dtype=np.uint8)
    frames = [Frame(pixels=pixels, is_new=True)]
    for wide, high in boxes:
        changed = frames[-1].pixels.copy()
        left, top = int(draw.integers(0, width)), int(draw.integers(0, height))
        part = changed[top : top + high, left : left + wide]
        part[...] = draw.integers(0, 256, part.shape, dtype=np.uint8)
        box = box_of(frames[-1].pixels, changed)
        frames.append(Frame(pixels=changed, is_new=True, changed=box))
    return frames


@given(
    st.integers(0, 2**16),
    st.tuples(st.integers(16, 60), st.integers(16, 40)).map(lambda s: (2 * s[0], 2 * s[1])),
    st.lists(st.tuples(st.integers(1, 90), st.integers(1, 60)), min_size=1, max_size=5),
)
@settings(max_examples=60, deadline=None)
def test_a_mended_picture_is_the_converted_one(
    seed: int, sides: tuple[int, int], boxes: list[tuple[int, int]]
) -> None:
    converter = PictureConverter()
    for frame in moved_about(seed, sides, boxes):
        converted = converter.converted(frame).to_ndarray()
        assert np.array_equal(converted, slowly_converted(frame.pixels))


def test_sides_that_four_does_not_divide_are_kept() -> None:
    (frame, *_) = moved_about(1, (66, 50), [])
    assert PictureConverter().converted(frame).to_ndarray().shape == (75, 66)


@pytest.mark.parametrize("share", [0.25, 1.0])
def test_how_much_is_mended_makes_no_difference(
    share: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(film_part, "_MOST_SHARE", share)
    converter = PictureConverter()
    for frame in moved_about(7, (64, 48), [(9, 9), (40, 30), (60, 44)]):
        converted = converter.converted(frame).to_ndarray()
        assert np.array_equal(converted, slowly_converted(frame.pixels))


def test_a_picture_given_out_is_not_written_to_again() -> None:
    converter = PictureConverter()
    frames = moved_about(3, (64, 48), [(9, 9), (5, 7)])
    pictures = [converter.converted(frame) for frame in frames]
    for picture, frame in zip(pictures, frames, strict=True):
        assert np.array_equal(picture.to_ndarray(), slowly_converted(frame.pixels))


@pytest.mark.parametrize("name", [name for name in SceneName if name is not SceneName.GROWTH])
def test_every_scene_is_filmed_as_if_each_frame_were_new(name: SceneName) -> None:
    study = odd_study()
    shot = shot_of(study, name, plays=[steps(0, 24)], lines=["Down, and up again."])
    scene = scene_for(study, shot, WIDE)
    painter = ScenePainter(scene, DARK, width=640, height=360)
    converter = PictureConverter()
    mended = 0
    for seconds in np.arange(0.0, min(shot.length_seconds, 4.0), 1 / 6):
        frame = painter.frame(float(seconds))
        if frame.is_new:
            converted = converter.converted(frame).to_ndarray()
            assert np.array_equal(converted, slowly_converted(frame.pixels)), seconds
            fresh = paint(scene.at(float(seconds)), DARK, page=WIDE, width=640, height=360)
            assert np.array_equal(frame.pixels, fresh), seconds
            mended += frame.changed is not None
    assert mended or name in {SceneName.TITLE, SceneName.CREDITS}


def test_a_part_is_whole_only_with_all_its_pictures(tmp_path: Path) -> None:
    path = tmp_path / "part.mp4"
    assert not is_whole(path, 1)
    with closing(PartFile(path, width=64, height=48, frames_a_second=30)) as part:
        converter = PictureConverter()
        for index, frame in enumerate(moved_about(3, (64, 48), [(9, 9)] * 11)):
            part.add(MovieFrame(index=index, picture=converter.converted(frame)))
        part.finish()
    assert is_whole(path, 12)
    assert not is_whole(path, 11)
    data = path.read_bytes()
    path.write_bytes(data[: len(data) // 2])
    assert not is_whole(path, 12)
