"""Stills, and everything made into one folder."""

import io
import json
import struct
import zlib
from collections.abc import Iterator
from dataclasses import replace
from hashlib import sha256
from pathlib import Path
from typing import Any

import av
import numpy as np
import pypdf
import pytest
import skia
from lxml import etree
from tests.publish_fakes import (
    ABOUT,
    TAB_TEXT,
    silent_soundtrack,
    small_scene,
    small_shots,
    small_study,
)

from riffract.essay.settings import HandoutSettings
from riffract.essay.shots import Line
from riffract.essay.soundtrack import Soundtrack
from riffract.formats.problem import Severity
from riffract.picture.look import DARK
from riffract.picture.raster import paint
from riffract.publish.answer import answer_text
from riffract.publish.film.progress import CancelledError
from riffract.publish.handout.words import HEADINGS
from riffract.publish.material import Material
from riffract.publish.package import publish
from riffract.publish.parts import UNFINISHED_FOLDER, USUAL_PARTS, Part
from riffract.publish.stills import Still, still_png, still_svg, with_texts

STUDY = small_study()
SHOTS = small_shots(STUDY)
STILL = Still(name="03-fold", title="The climb & the fall.", scene=small_scene(SHOTS[2]))


def material(*, height: int = 90) -> Material:
    shots = [replace(shot, length_seconds=shot.length_seconds / 8) for shot in SHOTS]
    scenes = [small_scene(shot) for shot in shots]
    return Material(
        study=STUDY,
        shots=shots,
        scenes=scenes,
        stills=scenes,
        figures=scenes,
        soundtrack=lambda: silent_soundtrack(3.0),
        about=ABOUT,
        tab_text=TAB_TEXT,
        sources=["essay.toml", "passage.tab"],
        look=DARK,
        width=height * 16 // 9,
        height=height,
    )


def files_in(folder: Path) -> dict[str, bytes]:
    """Read all files below a folder, by name."""
    paths = sorted(path for path in folder.rglob("*") if path.is_file())
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in paths}


def chunks_of(png: bytes) -> Iterator[tuple[str, bytes]]:
    """Read a PNG chunk by chunk, checking each sum (PNG, third edition, 5.3)."""
    assert png[:8] == b"\x89PNG\r\n\x1a\n"
    at = 8
    while at < len(png):
        (length,) = struct.unpack(">I", png[at : at + 4])
        kind, content = png[at + 4 : at + 8], png[at + 8 : at + 8 + length]
        (checksum,) = struct.unpack(">I", png[at + 8 + length : at + 12 + length])
        assert zlib.crc32(kind + content) == checksum
        yield kind.decode("ascii"), content
        at += 12 + length


def test_a_still_keeps_its_title_and_description() -> None:
    texts = [content for kind, content in chunks_of(still_png(STILL, DARK)) if kind == "iTXt"]
    assert texts == [
        b"Title\0\0\0\0\0The climb & the fall.",
        b"Description\0\0\0\0\0" + STILL.scene.description.encode(),
    ]


def test_a_still_shows_the_scene_at_rest_in_the_size_of_its_page() -> None:
    image = skia.Image.MakeFromEncoded(skia.Data.MakeWithCopy(still_png(STILL, DARK)))
    assert (image.width(), image.height()) == (1920, 1080)
    expected = paint(STILL.scene.at_rest(), DARK, page=STILL.scene.page, width=1920, height=1080)
    assert np.array_equal(image.toarray(colorType=skia.kBGRA_8888_ColorType), expected)


def test_texts_come_right_behind_the_header() -> None:
    kinds = [kind for kind, _ in chunks_of(still_png(STILL, DARK))]
    assert kinds[:3] == ["IHDR", "iTXt", "iTXt"]
    assert kinds[-1] == "IEND"


def test_an_empty_text_is_left_out() -> None:
    png = still_png(replace(STILL, title=""), DARK)
    assert [kind for kind, _ in chunks_of(png)].count("iTXt") == 1
    assert with_texts(png, {}) == png


def test_the_svg_still_names_itself() -> None:
    root = etree.fromstring(still_svg(STILL, DARK).encode())
    names = {"svg": "http://www.w3.org/2000/svg"}
    assert root.findtext("svg:title", namespaces=names) == "The climb & the fall."
    assert root.findtext("svg:desc", namespaces=names) == STILL.scene.description


def test_everything_is_made(tmp_path: Path) -> None:
    published = publish(material(), tmp_path / "out")
    names = {path.relative_to(tmp_path / "out").as_posix() for path in published.files}
    stills = {f"stills/{shot.name}.{ending}" for shot in SHOTS for ending in ("png", "svg", "pdf")}
    assert names == stills | {
        "stills/descriptions.md",
        "findings.json",
        "findings.csv",
        "script.md",
        "prompter.txt",
        "chapters.txt",
        "description.txt",
        "passage.musicxml",
        "passage.mid",
        "timeline.otio",
        "manifest.json",
        "captions.vtt",
        "captions.srt",
        "descriptions.vtt",
        "handout.pdf",
        "film.mp4",
        "checks.txt",
        "checks.json",
    }
    on_disk = {p.relative_to(tmp_path / "out").as_posix() for p in (tmp_path / "out").rglob("*.*")}
    assert on_disk == names
    assert (tmp_path / "out" / "findings.json").read_text(encoding="utf-8") == answer_text(STUDY)


def test_only_what_was_asked_for_is_made(tmp_path: Path) -> None:
    def no_sound() -> Soundtrack:
        raise AssertionError("nobody asked for a film")

    silent = replace(material(), soundtrack=no_sound)
    published = publish(silent, tmp_path, {Part.FINDINGS, Part.SCRIPT})
    assert [p.name for p in published.files] == [
        "findings.json",
        "findings.csv",
        "script.md",
        "prompter.txt",
        "manifest.json",
    ]
    assert all(p.severity is Severity.WARNING for p in published.problems)


def test_the_same_material_gives_the_same_files(tmp_path: Path) -> None:
    for folder in ("one", "two"):
        publish(material(), tmp_path / folder)
    one, two = files_in(tmp_path / "one"), files_in(tmp_path / "two")
    # The encoder works in two threads and may pack the same pictures into a byte more or less.
    films = [folder.pop("film.mp4") for folder in (one, two)]
    manifests = [json.loads(folder.pop("manifest.json")) for folder in (one, two)]
    assert [name for name in one | two if one.get(name) != two.get(name)] == []
    assert without_film(manifests[0]) == without_film(manifests[1])
    assert shown_and_heard(films[0]) == shown_and_heard(films[1])


def without_film(manifest: dict[str, Any]) -> dict[str, Any]:
    """Leave out the size and the sum of the film."""
    rest = [entry for entry in manifest["files"] if entry["name"] != "film.mp4"]
    return {**manifest, "files": rest}


def shown_and_heard(film: bytes) -> list[str]:
    """Give the sums of all pictures and of all sound of a film, as they are decoded."""
    sums: list[str] = []
    with av.open(io.BytesIO(film), "r") as container:
        for stream in (container.streams.video[0], container.streams.audio[0]):
            container.seek(0)
            frames: Any = container.decode(stream)
            sums += [sha256(frame.to_ndarray().tobytes()).hexdigest() for frame in frames]
    return sums


def test_the_one_with_questions_is_published_beside_the_plain_one(tmp_path: Path) -> None:
    """The plain one is the same, byte for byte, whether there is one with questions or not."""
    asked = replace(material(), handout=HandoutSettings(questions=True))
    publish(material(), tmp_path / "plain", {Part.HANDOUT})
    published = publish(asked, tmp_path / "both", {Part.HANDOUT})
    names = [path.name for path in published.files]
    assert names == ["handout.pdf", "handout-questions.pdf", "manifest.json"]
    plain, both = files_in(tmp_path / "plain"), files_in(tmp_path / "both")
    assert plain["handout.pdf"] == both["handout.pdf"]
    pages = pypdf.PdfReader(tmp_path / "both" / "handout-questions.pdf").pages
    texts = [" ".join(page.extract_text().split()) for page in pages]
    (short,) = (n for n, text in enumerate(texts) if HEADINGS["in_short"] in text)
    questions = next(n for n, text in enumerate(texts) if HEADINGS["questions"] in text)
    assert questions < short
    listed = {entry["name"] for entry in json.loads(both["manifest.json"])["files"]}
    assert "handout-questions.pdf" in listed


def test_progress_is_one_rising_line(tmp_path: Path) -> None:
    told: list[tuple[str, float]] = []
    publish(material(), tmp_path, report=lambda what, share: told.append((what, share)))
    shares = [share for _, share in told]
    assert shares == sorted(shares)
    assert (shares[0], shares[-1]) == (0.0, 1.0)
    usual = [part for part in Part if part in USUAL_PARTS]
    assert list(dict.fromkeys(what for what, _ in told)) == [*usual, "done"]


def test_captions_too_fast_are_told_but_written(tmp_path: Path) -> None:
    fast = Line(text="Much too much to read in such a short time.", start_seconds=0, end_seconds=1)
    shots = [replace(material().shots[0], lines=(fast,))]
    scenes = [small_scene(shots[0])]
    hasty = replace(material(), shots=shots, scenes=scenes, stills=scenes, figures=scenes)
    published = publish(hasty, tmp_path, {Part.CAPTIONS})
    assert [p.severity for p in published.problems] == [Severity.WARNING]
    assert (tmp_path / "captions.vtt").exists()


def test_signs_that_no_font_has_are_told(tmp_path: Path) -> None:
    odd = replace(material(), about=replace(ABOUT, title="Étude \U0003fff0"))
    (problem,) = publish(odd, tmp_path, {Part.HANDOUT}).problems
    assert problem.severity is Severity.WARNING
    assert "question marks" in problem.what
    assert (tmp_path / "handout.pdf").exists()


def test_stopping_keeps_what_is_complete(tmp_path: Path) -> None:
    asked = iter([False] * 30 + [True] * 9)
    with pytest.raises(CancelledError):
        publish(material(), tmp_path, is_cancelled=lambda: next(asked))
    assert json.loads((tmp_path / "findings.json").read_text(encoding="utf-8"))["schema"] == 1
    assert (tmp_path / "handout.pdf").exists()
    assert [p.name for p in tmp_path.iterdir() if "film" in p.name] == []


def test_a_stopped_film_goes_on_later_and_leaves_nothing_beside_it(tmp_path: Path) -> None:
    asked = iter([False] * 40 + [True])
    with pytest.raises(CancelledError):
        publish(material(), tmp_path, {Part.FILM}, is_cancelled=lambda: next(asked))
    assert list((tmp_path / UNFINISHED_FOLDER).glob("*.mp4"))
    publish(material(), tmp_path, {Part.FILM})
    assert {path.name for path in tmp_path.iterdir()} == {
        "film.mp4",
        "checks.txt",
        "checks.json",
        "manifest.json",
    }


def test_a_failure_leaves_earlier_files_as_they_were(tmp_path: Path) -> None:
    def no_sound() -> Soundtrack:
        raise RuntimeError("the recording cannot be read")

    (tmp_path / "film.mp4").write_bytes(b"earlier")
    with pytest.raises(RuntimeError):
        publish(replace(material(), soundtrack=no_sound), tmp_path)
    assert (tmp_path / "film.mp4").read_bytes() == b"earlier"
    assert (tmp_path / "script.md").exists()
    assert not list(tmp_path.glob("*.part"))


def test_each_shot_needs_its_scene() -> None:
    with pytest.raises(ValueError, match="4 shots and"):
        replace(material(), scenes=material().scenes[:3])
