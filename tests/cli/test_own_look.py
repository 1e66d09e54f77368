"""A look of one's own, from the essay's folder to the pictures that go out."""

from pathlib import Path

import pytest
import skia

from riffract.cli.main import main
from riffract.picture.type import family, font_bytes

TAB = """\
title: Waves
tuning: E2 A2 D3 G3 B3 E4
metre: 4/4
tempo: q = 120

time | e e e e e e e e | e e e e e e e e |
E4   |-----------------|-----------------|
B3   |-----------------|-----------------|
G3   |-----------------|-----------------|
D3   |-----------------|-----------------|
A2   |-----5-3---------|-----5-3---------|
E2   |-0-3-----5-3-0-0-|-0-3-----5-3-0-0-|
"""


@pytest.fixture
def essay(tmp_path: Path) -> Path:
    folder = tmp_path / "waves"
    folder.mkdir()
    (folder / "passage.tab").write_text(TAB, "utf-8")
    (folder / "essay.toml").write_text('title = "Waves"\n[film]\nlook = "sea.toml"\n', "utf-8")
    return folder


def corner_of(png: Path) -> list[int]:
    image = skia.Image.MakeFromEncoded(skia.Data.MakeWithCopy(png.read_bytes()))
    pixels = image.toarray(colorType=skia.kBGRA_8888_ColorType)
    return [int(value) for value in pixels[2, 2]]


def test_its_colours_and_fonts_are_in_the_stills(
    essay: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (essay / "type").mkdir()
    (essay / "type" / "plain.ttf").write_bytes(font_bytes(400))
    (essay / "sea.toml").write_text('fonts = "type"\n[colours]\nground = "#081420"\n', "utf-8")
    before = family()
    assert main(["publish", str(essay), "stills"]) == 0, capsys.readouterr().err
    (title, *_) = sorted((essay / "out" / "stills").glob("*.png"))
    assert corner_of(title) == [0x20, 0x14, 0x08, 255]
    # One file serves all weights, so that no other weight is in the document.
    pdf = title.with_suffix(".pdf").read_bytes()
    assert b"RiffractSans-Regular" in pdf or b"RiffractSans" in pdf
    assert b"SemiBold" not in pdf
    assert family() is before


def test_check_tells_what_is_too_faint_and_goes_on(
    essay: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (essay / "sea.toml").write_text('[colours]\ntext = "#444444"\n', "utf-8")
    assert main(["check", str(essay)]) == 0
    told = capsys.readouterr().err
    assert "sea.toml:2 (colours.text): warning: text on ground has a contrast of 1.9" in told


@pytest.mark.parametrize("command", ["check", "publish"])
@pytest.mark.parametrize(
    ("name", "what"),
    [
        ("none.toml", "the look file cannot be read: No such file or directory"),
        ("../sea.toml", "the look file ../sea.toml lies outside the essay's folder"),
        ("bad.toml", '"blue" is no colour'),
    ],
)
def test_a_look_that_cannot_be_used_stops_the_work(
    command: str, name: str, what: str, essay: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (essay / "bad.toml").write_text('[colours]\nrise = "blue"\n', "utf-8")
    (essay / "essay.toml").write_text(f'title = "Waves"\n[film]\nlook = "{name}"\n', "utf-8")
    assert main([command, str(essay)]) == 1
    assert what in capsys.readouterr().err
    assert not (essay / "out").exists()
