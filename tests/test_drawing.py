"""Drawing and publishing from Python."""

import shutil
from pathlib import Path

import pytest
from lxml import etree

import riffract
from riffract.demo import __file__ as demo_file
from riffract.picture.look import PAPER
from riffract.picture.scene import SQUARE
from riffract.publish.parts import SCRIPT_FILE
from riffract.weighing.study import Study

DEMO = Path(demo_file).parent
SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture(scope="module")
def study() -> Study:
    return riffract.study(riffract.read(DEMO / "passage.tab"), seed=1)


def test_every_finding_can_be_drawn_and_names_itself(study: Study) -> None:
    """W3C, SVG 1.1, 5.4: the title that comes first names the document."""
    for weighed in study.findings:
        drawing = riffract.draw(study, weighed)
        root = etree.fromstring(drawing._repr_svg_().encode())
        assert root[0].tag == f"{SVG}title"
        assert root[0].text == drawing.title
        assert root[1].text == drawing.description != ""


def test_without_a_finding_the_passage_is_drawn(study: Study) -> None:
    assert riffract.draw(study).title == study.passage.title


def test_a_finding_is_known_by_its_id(study: Study) -> None:
    first = study.findings[0]
    assert riffract.draw(study, first.finding.id).svg == riffract.draw(study, first).svg


def test_size_and_colours_can_be_chosen(study: Study) -> None:
    drawing = riffract.draw(study, look="paper", page=SQUARE)
    assert drawing.look == PAPER
    assert etree.fromstring(drawing.svg.encode()).get("viewBox") == "0 0 1080 1080"
    assert riffract.draw(study, look=PAPER, page=SQUARE).svg == drawing.svg


@pytest.mark.parametrize(
    ("choice", "message"),
    [
        ({"finding": "nothing-0000"}, "no finding 'nothing-0000'; its first ones are "),
        ({"scene": "ribbon"}, "scene is one of page, contour, .* got 'ribbon'"),
        ({"scene": "weight"}, "a page is drawn instead"),
        ({"look": "neon"}, "look is one of dark, paper, got 'neon'"),
    ],
)
def test_a_wrong_choice_names_the_right_ones(
    study: Study, choice: dict[str, str], message: str
) -> None:
    with pytest.raises(ValueError, match=message):
        riffract.draw(study, **choice)  # type: ignore[arg-type]


# Signatures: PNG (third edition), 5.2; PDF, ISO 32000-1, 7.5.2.
@pytest.mark.parametrize(
    ("name", "start"), [("a.svg", b"<svg "), ("a.PNG", b"\x89PNG\r\n\x1a\n"), ("a.pdf", b"%PDF-")]
)
def test_a_drawing_is_saved_by_the_ending_of_its_name(
    study: Study, tmp_path: Path, name: str, start: bytes
) -> None:
    path = riffract.draw(study).save(tmp_path / name)
    assert path.read_bytes().startswith(start)


def test_another_ending_is_refused(study: Study, tmp_path: Path) -> None:
    with pytest.raises(ValueError, match=r"saved as \.svg, \.png, \.pdf, got \.gif"):
        riffract.draw(study).save(tmp_path / "a.gif")


@pytest.fixture
def essay(tmp_path: Path) -> Path:
    for name in ("essay.toml", "passage.tab", "claims.toml"):
        shutil.copy(DEMO / name, tmp_path / name)
    return tmp_path


def test_parts_of_an_essay_are_made(essay: Path, tmp_path: Path) -> None:
    published = riffract.publish_essay(essay, ["script"], out=tmp_path / "made")
    assert tmp_path / "made" / SCRIPT_FILE in published.files
    assert all(file.is_file() for file in published.files)


def test_an_essay_with_a_mistake_says_where_and_how_to_mend(essay: Path) -> None:
    (essay / "claims.toml").write_text('[[claim]]\ntitle = "A claim"\nfinding = "none-00"\n')
    with pytest.raises(riffract.EssayError, match=r"(?s)claims\.toml.*mend:"):
        riffract.publish_essay(essay, ["script"])
    assert not (essay / "out").exists()


def test_what_is_no_essay_and_no_part_is_told(tmp_path: Path) -> None:
    with pytest.raises(riffract.EssayError):
        riffract.publish_essay(tmp_path / "nowhere")
    with pytest.raises(ValueError, match=r"parts are any of findings, .* got posters"):
        riffract.publish_essay(tmp_path, ["posters"])
