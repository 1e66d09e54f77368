"""The handout for those who do not see it: PDF/UA-1 (ISO 14289-1), and what no rule can ask.

The rules that a machine can check are those of page-validation, a general-purpose checker that is
held against the veraPDF corpus; clause numbers are from memory.
"""

import io
from collections import defaultdict
from collections.abc import Iterator
from typing import Any, NamedTuple

import page
import pypdf
import pytest
from pypdf.generic import ContentStream
from tests.publish_fakes import ABOUT, TAB_TEXT, small_scene, small_shots, small_study

from riffract.picture.look import PAPER
from riffract.publish.handout.document import Figure, handout_data
from riffract.publish.handout.questions import with_questions
from riffract.publish.handout.typeset import handout_pdf
from riffract.publish.stills import Still, still_svg

STUDY = small_study()
SHOTS = small_shots(STUDY)


class Tag(NamedTuple):
    """An element of the structure tree, in reading order."""

    depth: int
    name: str
    node: Any


@pytest.fixture(scope="module", params=["plain", "questions", "letter"])
def handout(request: pytest.FixtureRequest) -> bytes:
    stills = [Still(name=s.name, title=s.title, scene=small_scene(s)) for s in SHOTS]
    figures = {
        still.name: Figure(svg=still_svg(still, PAPER), description=still.scene.description)
        for still in stills
    }
    data = handout_data(
        STUDY,
        SHOTS,
        figures,
        about=ABOUT,
        tab_text=TAB_TEXT,
        sources=["essay.toml"],
        paper="letter" if request.param == "letter" else "a4",
    )
    if request.param == "questions":
        data = with_questions(data, SHOTS, STUDY)
    return handout_pdf(data).pdf


@pytest.fixture(scope="module")
def reader(handout: bytes) -> pypdf.PdfReader:
    return pypdf.PdfReader(io.BytesIO(handout))


def tags(reader: pypdf.PdfReader) -> Iterator[Tag]:
    root: Any = reader.trailer["/Root"]
    yield from _tags_in(root["/StructTreeRoot"], 0)


def _tags_in(node: Any, depth: int) -> Iterator[Tag]:
    node = node.get_object() if hasattr(node, "get_object") else node
    if isinstance(node, list):
        for kid in node:
            yield from _tags_in(kid, depth)
    elif isinstance(node, dict):
        if "/S" in node:
            yield Tag(depth, str(node["/S"]), node)
        if "/K" in node:
            yield from _tags_in(node["/K"], depth + 1)


def _marked_ids(node: Any, page: Any) -> Iterator[tuple[int, int]]:
    """Give page and id of all marked content in reading order."""
    node = node.get_object() if hasattr(node, "get_object") else node
    if isinstance(node, int):
        yield page.idnum, int(node)
    elif isinstance(node, list):
        for kid in node:
            yield from _marked_ids(kid, page)
    elif isinstance(node, dict):
        page = node.raw_get("/Pg") if "/Pg" in node else page  # type: ignore[attr-defined]
        if "/MCID" in node:
            yield page.idnum, int(node["/MCID"])
        elif "/K" in node:
            yield from _marked_ids(node["/K"], page)


def broken_rules(pdf: bytes) -> set[str]:
    report = page.validate_pdf_bytes(pdf, profile=page.ValidationProfile.PDF_UA_1)
    return {failure.rule_id for failure in report.failures}


def test_it_breaks_no_rule_of_pdf_ua_1(handout: bytes) -> None:
    assert broken_rules(handout) == set()


def test_the_checker_would_notice(handout: bytes) -> None:
    writer = pypdf.PdfWriter(clone_from=io.BytesIO(handout))
    del writer.root_object["/Lang"]
    changed = io.BytesIO()
    writer.write(changed)
    assert broken_rules(changed.getvalue()) >= {"PDFUA1-TEXT-LANGUAGE-001"}


def test_each_piece_of_real_content_stands_in_the_tree_once(reader: pypdf.PdfReader) -> None:
    """7.1: the structure tree holds all real content; 14.7.4 of ISO 32000-1: by page and id."""
    root: Any = reader.trailer["/Root"]
    told = list(_marked_ids(root["/StructTreeRoot"], None))
    drawn = [
        (page.indirect_reference.idnum, int(operands[1]["/MCID"]))
        for page in reader.pages
        if page.indirect_reference is not None
        for operands, operator in ContentStream(page.get_contents(), reader).operations
        if operator == b"BDC" and len(operands) > 1 and "/MCID" in operands[1]
    ]
    assert sorted(told) == sorted(set(drawn))


def test_it_is_read_in_the_order_of_its_pages(reader: pypdf.PdfReader) -> None:
    """7.2: the tree is in logical reading order; nothing jumps back to an earlier page."""
    numbers = {
        page.indirect_reference.idnum: place
        for place, page in enumerate(reader.pages)
        if page.indirect_reference is not None
    }
    root: Any = reader.trailer["/Root"]
    pages = [numbers[page] for page, _ in _marked_ids(root["/StructTreeRoot"], None)]
    assert pages == sorted(pages)


def test_each_figure_has_words_and_a_place(reader: pypdf.PdfReader) -> None:
    """7.3: an alternative text; ISO 32000-1, 14.8.5.4.3: a bounding box."""
    figures = [tag.node for tag in tags(reader) if tag.name == "/Figure"]
    assert len(figures) >= 3
    for figure in figures:
        assert str(figure["/Alt"]).strip()
        attributes = figure["/A"].get_object()
        owned = attributes if isinstance(attributes, list) else [attributes]
        assert any("/BBox" in each.get_object() for each in owned)


def test_tables_have_headers_and_rows_of_one_length(reader: pypdf.PdfReader) -> None:
    """7.5: headers are tagged as such and say what they head."""
    rows: dict[int, int] = defaultdict(int)
    row = 0
    for tag in tags(reader):
        row += tag.name == "/TR"
        if tag.name in {"/TH", "/TD"}:
            rows[row] += 1
        if tag.name == "/TH":
            assert "/Scope" in str(tag.node["/A"].get_object())
    assert len(set(rows.values())) == 1


def test_the_outline_names_the_headings(reader: pypdf.PdfReader) -> None:
    """7.17 asks for none; a reader of twelve pages does."""
    outline = [item.title for item in reader.outline if not isinstance(item, list)]
    for heading in ("The passage", "The claims", "The passage as text"):
        assert heading in outline


def test_whoever_cannot_see_the_staff_has_the_tab_as_text(reader: pypdf.PdfReader) -> None:
    words = "".join(page.extract_text() for page in reader.pages)
    rows = [row for row in TAB_TEXT.splitlines() if "|" in row]
    assert rows
    assert all(row.strip() in words for row in rows)
