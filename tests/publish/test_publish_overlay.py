"""The overlay: decoded again, its alpha and its colours are those that were drawn."""

import csv
from collections.abc import Iterator
from dataclasses import replace
from functools import partial
from pathlib import Path
from typing import Any

import av
import numpy as np
import pytest
import skia
from numpy.typing import NDArray

from riffract.picture.look import DARK, contrast
from riffract.picture.marks import Colour, Mark, Role, Shape, Stroke, Words, polyline, rectangle
from riffract.picture.raster import OVERLAY_RIM_PX, ScenePainter, paint, rimmed, unmultiplied
from riffract.picture.scene import WIDE, Cue, Scene
from riffract.publish.film.overlay import OverlayKind, is_whole, timing_text, write_overlay
from riffract.publish.film.progress import CancelledError
from riffract.publish.film.writing import Reel

WIDTH, HEIGHT, FPS = 320, 180, 12
LOOK = DARK.without_ground
NAMES = ["01-page", "02-fold"]

SOLID = Shape(path=rectangle(300, 300, 600, 300), fill=Colour(Role.FALL))
HALF = Shape(path=rectangle(1000, 300, 600, 300), fill=Colour(Role.RISE, 0.5))
HOLE = Shape(path=rectangle(500, 400, 200, 100), fill=Colour(Role.GROUND))
SCENE = Scene(
    page=WIDE,
    ground=(SOLID, HOLE),
    cues=(Cue(at_seconds=0.5, marks=(HALF,)),),
    length_seconds=1.0,
    description="",
)

# Points of the small picture, row and column: in each shape, in the hole, and beside all.
IN_SOLID, IN_HALF, IN_HOLE, BESIDE = (60, 65), (75, 215), (75, 100), (20, 20)
Pixels = NDArray[np.uint8]


def reels() -> list[Reel]:
    painter = partial(ScenePainter, SCENE, LOOK, width=WIDTH, height=HEIGHT)
    return [
        Reel(title="Down.", length_seconds=1.0, painter=painter),
        Reel(title="Up, & down.", length_seconds=0.75, painter=painter),
    ]


def made(folder: Path, kind: OverlayKind) -> list[Path]:
    size: dict[str, Any] = {"width": WIDTH, "height": HEIGHT, "frames_a_second": FPS}
    return list(write_overlay(folder, NAMES, reels(), LOOK, kind=kind, **size))


def decoded(path: Path) -> Iterator[Pixels]:
    """Decode with alpha; of VP9 only the reference decoder knows the second layer."""
    if path.is_dir():
        for file in sorted(path.iterdir()):
            image = skia.Image.MakeFromEncoded(skia.Data.MakeWithCopy(file.read_bytes()))
            yield image.toarray(
                colorType=skia.kBGRA_8888_ColorType, alphaType=skia.kUnpremul_AlphaType
            )
        return
    with av.open(str(path)) as movie:
        stream = movie.streams.video[0]
        frames: Any = movie.decode(stream)
        if path.suffix == ".webm":
            decoder: Any = av.CodecContext.create("libvpx-vp9", "r")
            packets = [packet for packet in movie.demux(stream) if packet.size]
            frames = [frame for packet in packets for frame in decoder.decode(packet)]
        for frame in frames:
            yield frame.reformat(format="bgra").to_ndarray()


@pytest.mark.parametrize(
    ("kind", "ending", "tolerance"),
    [(OverlayKind.PRORES, ".mov", 4), (OverlayKind.VP9, ".webm", 8), (OverlayKind.PNG, "", 1)],
)
def test_alpha_and_colours_come_back(
    kind: OverlayKind, ending: str, tolerance: int, tmp_path: Path
) -> None:
    assert [path.name for path in made(tmp_path, kind)] == [
        *(f"{name}{ending}" for name in NAMES),
        "timing.csv",
    ]
    frames = list(decoded(tmp_path / f"{NAMES[0]}{ending}"))
    assert len(frames) == FPS
    fall, rise = (
        [round(255 * channel) for channel in reversed(DARK.rgb(role))]
        for role in (Role.FALL, Role.RISE)
    )
    before, after = frames[4], frames[-1]
    assert before[IN_HALF][3] <= tolerance
    for place, colour in ((IN_SOLID, [*fall, 255]), (IN_HALF, [*rise, 128])):
        assert after[place].tolist() == pytest.approx(colour, abs=tolerance)
    assert after[IN_HOLE][3] <= tolerance
    assert after[BESIDE][3] <= tolerance


def test_laid_over_the_ground_it_is_the_film() -> None:
    """The alpha of every point, straight, gives the film's own picture again (Porter & Duff)."""
    words = Words(
        x=320, y=420, text="Down", size=90, weight=600, colour=Colour(Role.TEXT), halo=4.0
    )
    marks = (SOLID, HOLE, HALF, words)
    size: dict[str, Any] = {"page": WIDE, "width": 640, "height": 360}
    drawn = rimmed(paint(marks, LOOK, **size), LOOK, page=WIDE)
    straight = unmultiplied(drawn, LOOK).astype(float)
    alpha = straight[..., 3:] / 255
    ground = np.array([round(255 * c) for c in reversed(DARK.rgb(Role.GROUND))])
    laid = alpha * straight[..., :3] + (1 - alpha) * ground
    assert np.abs(laid - paint(marks, DARK, **size)[..., :3]).max() <= 3


def test_glass_lets_half_of_the_picture_below_through_and_none_of_the_marks() -> None:
    glass = Shape(path=rectangle(600, 200, 900, 600), fill=Colour(Role.GLASS))
    drawn = paint((SOLID, glass), LOOK, page=WIDE, width=WIDTH, height=HEIGHT)
    straight = unmultiplied(drawn, LOOK)
    expected = [round(255 * channel) for channel in reversed(DARK.rgb(Role.GLASS))]
    over_a_mark, over_nothing = straight[75, 130], straight[110, 130]
    assert over_a_mark.tolist() == over_nothing.tolist()
    assert over_nothing.tolist() == pytest.approx([*expected, 128], abs=2)


def test_the_list_of_times_says_where_each_file_belongs(tmp_path: Path) -> None:
    made(tmp_path, OverlayKind.PNG)
    rows = list(csv.DictReader((tmp_path / "timing.csv").read_text("utf-8").splitlines()))
    assert [(row["file"], row["first_frame"], row["frames"]) for row in rows] == [
        ("01-page/", "0", "12"),
        ("02-fold/", "12", "9"),
    ]
    assert (rows[1]["title"], rows[1]["start_seconds"]) == ("Up, & down.", "1.000")
    assert len(list((tmp_path / "02-fold").iterdir())) == 9
    assert timing_text(NAMES, reels(), OverlayKind.VP9, FPS).splitlines()[1] == (
        "01-page.webm,Down.,0,12,12,0.000,1.000"
    )


def test_a_shorter_sequence_leaves_nothing_of_a_longer_one(tmp_path: Path) -> None:
    (tmp_path / "02-fold").mkdir()
    (tmp_path / "02-fold" / "00011.png").write_bytes(b"earlier")
    made(tmp_path, OverlayKind.PNG)
    assert len(list((tmp_path / "02-fold").iterdir())) == 9


@pytest.mark.parametrize("kind", [OverlayKind.PRORES, OverlayKind.VP9])
def test_the_same_shots_give_the_same_bytes(kind: OverlayKind, tmp_path: Path) -> None:
    folders = [tmp_path / "one", tmp_path / "two"]
    for folder in folders:
        folder.mkdir()
        made(folder, kind)
    one, two = ([path.read_bytes() for path in sorted(f.iterdir())] for f in folders)
    assert one == two


def test_a_timeline_counts_on_an_overlay_only_if_all_of_it_is_there(tmp_path: Path) -> None:
    assert not is_whole(tmp_path / "overlay", OverlayKind.PNG)
    *shots, timing = made(tmp_path, OverlayKind.PNG)
    assert is_whole(tmp_path, OverlayKind.PNG)
    assert not is_whole(tmp_path, OverlayKind.PRORES), "the settings ask for another kind now"
    shots[1].rename(tmp_path / "elsewhere")
    assert not is_whole(tmp_path, OverlayKind.PNG)
    timing.unlink()
    assert not is_whole(tmp_path, OverlayKind.PNG), "it was stopped before the end"


def test_stopping_leaves_no_half_written_shot(tmp_path: Path) -> None:
    asked = iter([False] * 15 + [True])
    with pytest.raises(CancelledError):
        list(
            write_overlay(
                tmp_path,
                NAMES,
                reels(),
                LOOK,
                kind=OverlayKind.PRORES,
                width=WIDTH,
                height=HEIGHT,
                frames_a_second=FPS,
                is_cancelled=lambda: next(asked),
            )
        )
    assert [path.name for path in tmp_path.iterdir()] == ["01-page.mov"]


def over_footage(marks: tuple[Mark, ...], footage: int) -> NDArray[np.float64]:
    """Lay marks over an even grey; give how light each point of the page then is."""
    painted = paint(marks, LOOK, page=WIDE, width=WIDE.width, height=WIDE.height)
    drawn = unmultiplied(rimmed(painted, LOOK, page=WIDE), LOOK)
    share = drawn[..., 3:] / 255.0
    light: NDArray[np.float64] = (drawn[..., :3] * share + footage * (1.0 - share)).mean(axis=2)
    return light


@pytest.mark.parametrize("role", [Role.TEXT, Role.FALL, Role.RISE, Role.DRONE, Role.BEND])
def test_marks_stand_out_from_light_pictures(role: Role) -> None:
    """WCAG 2.2, 1.4.11: 3 : 1 between what must be seen and what lies beside it, here its rim."""
    line = Shape(
        path=polyline([(300, 500), (900, 500)]), stroke=Stroke(colour=Colour(role), width=4.0)
    )
    light = over_footage((line,), 255)
    on_line, beside = light[500, 600], light[500 + 4, 600]
    assert contrast(grey(on_line), grey(beside)) >= 3.0
    assert light[500 + 20, 600] == 255, "further off nothing lies over the picture"


def grey(light: float) -> tuple[float, float, float]:
    return (light / 255, light / 255, light / 255)


def test_a_rim_is_as_wide_as_said_and_adds_nothing_inside_an_even_face() -> None:
    painted = paint((HALF,), LOOK, page=WIDE, width=WIDE.width, height=WIDE.height)
    ringed = rimmed(painted, LOOK, page=WIDE)
    alpha = ringed[450, :, 3]
    inside = painted[450, :, 3] > 0
    assert int((alpha > 0).sum() - inside.sum()) == 2 * OVERLAY_RIM_PX
    assert (ringed[450][inside] == painted[450][inside]).all()


@pytest.mark.parametrize("footage", [255, 128, 0])
def test_words_stand_out_from_any_picture_that_they_are_laid_over(footage: int) -> None:
    word = Words(text="crest", x=200, y=400, size=28.0, weight=400, colour=Colour(Role.TEXT))
    light = over_footage((word,), footage)
    letters = paint([word], DARK, page=WIDE, width=WIDE.width, height=WIDE.height)[..., 2] > 200
    beside = np.roll(letters, 3, axis=0) & ~np.roll(letters, 1, axis=0) & ~letters
    beside &= ~np.roll(letters, 2, axis=0)
    assert light[letters].min() > 150
    assert light[beside].mean() < 60, "three points below each letter the rim is dark"


def test_a_still_look_is_not_touched() -> None:
    assert DARK.has_ground
    assert replace(LOOK, has_ground=True) == DARK
