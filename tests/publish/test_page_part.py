"""The web page: one file, whole in itself, with the film's own pictures and words."""

import json
import re
from base64 import b64decode, b64encode
from collections import Counter
from dataclasses import replace
from hashlib import sha256
from io import BytesIO
from pathlib import Path
from typing import Any
from zlib import decompress

import numpy as np
import pytest
from lxml import html
from tests.publish.test_publish_package import material

from riffract.picture.look import DARK, Look
from riffract.picture.marks import Colour, Mark, Role, Shape, rectangle
from riffract.picture.scene import WIDE, Cue, Scene
from riffract.picture.svg import SvgPieces
from riffract.publish.about import About
from riffract.publish.handout.systems import systems
from riffract.publish.package import publish
from riffract.publish.page.claim_sound import PAGE_FORM, data_address, sound_between
from riffract.publish.page.document import UPRIGHT_COLUMNS, variable_look
from riffract.publish.page.moving_picture import FRAMES_A_SECOND, moving_picture
from riffract.publish.parts import PAGE_FILE, Part
from riffract.sound.encoding import decoded
from riffract.sound.sound import Sound

HOSTILE = "</script><!-- <script>alert(1)</script> \"'&"


@pytest.fixture(scope="module")
def text(tmp_path_factory: pytest.TempPathFactory) -> str:
    folder = tmp_path_factory.mktemp("page")
    made = publish(material(), folder, [Part.PAGE])
    assert made.problems == ()
    return (folder / PAGE_FILE).read_text("utf-8")


def parsed(text: str) -> Any:
    """Read a page; lxml gives many types where the path knows one."""
    return html.fromstring(text)


def box(x: float) -> Mark:
    return Shape(path=rectangle(x, 0, 10, 10), fill=Colour(Role.TEXT))


def pieces(look: Look = DARK) -> SvgPieces:
    return SvgPieces(look, prefix="")


def scene(*cues: Cue) -> Scene:
    """A box that steps to the right once a second, for four seconds."""
    return Scene(
        page=WIDE,
        ground=(box(1000),),
        cues=cues,
        length_seconds=4.0,
        description="A box steps.",
        moving=lambda seconds: (box(500), box(20 * int(seconds))),
    )


def test_each_claim_has_its_words_its_picture_and_its_evidence(text: str) -> None:
    articles = parsed(text).xpath("//article")
    claims = [shot for shot in material().shots if shot.findings or shot.lines]
    assert [a.find("h2").text for a in articles] == [shot.title for shot in claims]
    for article, shot in zip(articles, claims, strict=True):
        assert [li.text for li in article.xpath(".//li")] == [line.text for line in shot.lines]
        assert [svg.get("class") for svg in article.xpath(".//svg")] == ["wide", "upright"]
        assert len(article.xpath(".//dl")) == len(shot.findings)


def test_the_policy_lets_in_the_one_script_and_the_one_style_by_their_sums(text: str) -> None:
    """W3C, Content Security Policy Level 3, 8.3: the sum is of the text within the element."""
    policy = parsed(text).xpath("//meta[@http-equiv]/@content")[0]
    for tag in ("script", "style"):
        (content,) = re.findall(rf"<{tag}>(.*?)</{tag}>", text, flags=re.DOTALL)
        assert "\nexport " not in content
        assert "\nimport " not in content
        digest = b64encode(sha256(content.encode()).digest()).decode()
        assert f"{tag}-src 'sha256-{digest}'" in policy
    assert policy.startswith("default-src 'none'; ")


def test_nothing_in_it_points_outside(text: str) -> None:
    tree = parsed(text)
    for address in tree.xpath("//@src | //@href | //@*[name()='xlink:href']"):
        assert address.startswith(("#", "data:audio/mpeg;base64,")), address[:80]
    assert "@import" not in text


def test_every_reference_finds_what_it_names_once(text: str) -> None:
    tree = parsed(text)
    names = tree.xpath("//@id")
    assert len(names) == len(set(names))
    referred = {a[1:] for a in tree.xpath("//@href | //@*[name()='xlink:href']")}
    referred |= set(re.findall(r"url\(#(\w+)\)", text))
    referred |= {
        n for a in tree.xpath("//@aria-labelledby | //@aria-describedby") for n in a.split()
    }
    assert referred <= set(names)


def test_words_of_the_user_stay_words(tmp_path: Path) -> None:
    hostile = replace(
        material(),
        about=About(title=HOSTILE, subtitle=HOSTILE, credits=(HOSTILE,), rights=HOSTILE),
        tab_text=HOSTILE,
        shots=[replace(shot, title=HOSTILE) for shot in material().shots],
    )
    publish(hostile, tmp_path, [Part.PAGE])
    tree = parsed((tmp_path / PAGE_FILE).read_text("utf-8"))
    assert tree.xpath("//h1")[0].text == tree.xpath("//pre")[0].text == HOSTILE
    kinds = [script.get("type") for script in tree.xpath("//script")]
    assert (kinds.count(None), set(kinds)) == (1, {None, "text/plain"})


def test_the_same_essay_gives_the_same_page(text: str, tmp_path: Path) -> None:
    publish(material(), tmp_path, [Part.PAGE])
    assert (tmp_path / PAGE_FILE).read_text("utf-8") == text


def test_what_goes_about_is_kept_once_and_only_where_it_changes() -> None:
    picture = moving_picture(scene(), scene(), pieces())
    assert len(picture.parts) == 1 + 5
    assert [seconds for seconds, _ in picture.frames] == [0.0, 1.0, 2.0, 3.0, 4.0]
    assert all(frame[0] == 0 for _, frame in picture.frames)


def test_a_picture_ends_as_the_scene_does_and_rests_as_its_still() -> None:
    cue = Cue(at_seconds=1.0, marks=(box(300),))
    own = pieces()
    still = replace(scene(), ground=(box(700),))
    picture = moving_picture(scene(cue), still, own)
    last = "".join(picture.parts[number] for number in picture.frames[-1][1])
    shown = picture.ground + "".join(one.elements for one in picture.rising) + last
    assert shown == own.piece(scene(cue).at_rest())
    assert picture.rest == own.piece(still.at_rest())


def test_what_moves_a_picture_is_packed_as_published() -> None:
    """RFC 1950 and RFC 4648, read back by other hands: Python's own."""
    cue = Cue(at_seconds=1.0, marks=(box(300),), fade_seconds=0.25)
    picture = moving_picture(scene(cue), scene(cue), pieces())
    read = json.loads(decompress(b64decode(picture.packed)))
    assert read["ground"] == picture.ground
    assert read["rising"] == [[1.0, 0.25, picture.rising[0].elements]]
    assert read["parts"] == list(picture.parts)
    assert [(at, tuple(seen)) for at, seen in read["frames"]] == list(picture.frames)


def test_the_tab_for_a_telephone_has_short_rows_and_all_the_frets(text: str) -> None:
    wide, upright = (one.text for one in parsed(text).xpath("//pre"))
    assert max(map(len, upright.splitlines())) <= UPRIGHT_COLUMNS < max(map(len, wide.splitlines()))
    assert frets(upright) == frets(wide)


@pytest.mark.parametrize("columns", [UPRIGHT_COLUMNS // 2, 2 * UPRIGHT_COLUMNS])
def test_half_or_twice_the_columns_keep_the_frets(columns: int) -> None:
    tab = material().tab_text
    assert frets("\n\n".join(systems(tab, most_columns=columns))) == frets(tab)


def frets(tab: str) -> Counter[str]:
    """Count the numbers in the rows of strings; inside a bar such a row begins with a dash."""
    rows = re.findall(r"^[A-Ga-g]\S? *([|-].*)$", tab, re.MULTILINE)
    return Counter(number for row in rows for number in re.findall(r"\d+", row))


def test_what_comes_up_only_after_the_end_is_left_out() -> None:
    late = Cue(at_seconds=4.0, marks=(box(300),))
    assert moving_picture(scene(late), scene(late), pieces()).rising == ()


@pytest.mark.parametrize("frames", [FRAMES_A_SECOND // 2, 2 * FRAMES_A_SECOND])
def test_half_or_twice_as_many_looks_see_the_same_steps(
    frames: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    usual = moving_picture(scene(), scene(), pieces())
    monkeypatch.setattr("riffract.publish.page.moving_picture.FRAMES_A_SECOND", frames)
    other = moving_picture(scene(), scene(), pieces())
    assert other.parts == usual.parts
    assert [shown for _, shown in other.frames] == [shown for _, shown in usual.frames]


def test_colours_are_named_not_valued() -> None:
    piece = pieces(variable_look(DARK)).piece([box(0)])
    assert 'fill="var(--picture-text)"' in piece


def test_the_sound_of_a_claim_is_that_stretch_of_the_films() -> None:
    times = np.arange(2 * 48_000) / 48_000
    tone = np.sin(2 * np.pi * 440.0 * times) * np.where(times < 1.0, 0.0, 0.5)
    film = Sound(samples=np.array([tone, tone], dtype=np.float32), rate_hz=48_000)
    cut = sound_between(film, 1.0, 2.0)
    address = data_address(cut)
    heard = decoded(BytesIO(b64decode(address.partition(",")[2])), PAGE_FORM)
    left = heard.samples[0, :48_000]
    strongest_hz = np.argmax(np.abs(np.fft.rfft(left))) * 48_000 / len(left)
    assert strongest_hz == pytest.approx(440.0, abs=2.0)
    # The encoder takes 0.45 dB off below 192 kbit a second, lest loud sound be cut.
    assert np.sqrt(np.mean(heard.samples[0, 4_800:43_200] ** 2)) == pytest.approx(0.354, abs=0.02)


def test_without_sound_there_is_no_player(tmp_path: Path) -> None:
    silent = replace(
        material(), shots=[replace(shot, plays=(), voice=None) for shot in material().shots]
    )
    publish(silent, tmp_path, [Part.PAGE])
    assert "<audio" not in (tmp_path / PAGE_FILE).read_text("utf-8")


def test_a_large_page_is_told(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("riffract.publish.page.page_part.LARGEST_BYTES", 1000)
    (problem,) = publish(material(), tmp_path, [Part.PAGE]).problems
    assert problem.severity == "warning"
    assert (tmp_path / PAGE_FILE).is_file()
