"""The handout: complete, accessible, the same each time, and deaf to markup in words."""

import io
from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from typing import Any

import numpy as np
import pypdf
import pytest
import skia
from numpy.typing import NDArray
from tests.publish.handout_pictures import handout_pages
from tests.publish_fakes import ABOUT, TAB_TEXT, small_scene, small_shots, small_study

from riffract.analysis.finding import Kind
from riffract.essay.settings import read_settings
from riffract.essay.shots import Line, Shot
from riffract.music import Metre, TempoMark
from riffract.picture.look import PAPER, rgb_of
from riffract.picture.marks import Role
from riffract.publish.about import About
from riffract.publish.handout.document import (
    MOST_TAB_COLUMNS,
    NOT_CLAIMS,
    Figure,
    handout_data,
)
from riffract.publish.handout.glossary import TERMS, references_for, terms_for
from riffract.publish.handout.questions import QUESTIONS, with_questions
from riffract.publish.handout.typeset import handout_pdf
from riffract.publish.stills import Still, still_svg
from riffract.weighing.study import VERDICT_NAMES, Verdict

STUDY = small_study()
SHOTS = small_shots(STUDY)


def data(
    shots: Sequence[Shot] = SHOTS, about: About = ABOUT, tab_text: str = TAB_TEXT
) -> dict[str, Any]:
    stills = [Still(name=s.name, title=s.title, scene=small_scene(s)) for s in shots]
    figures = {
        still.name: Figure(svg=still_svg(still, PAPER), description=still.scene.description)
        for still in stills
    }
    return handout_data(
        STUDY, shots, figures, about=about, tab_text=tab_text, sources=["essay.toml", "passage.tab"]
    )


@pytest.fixture(scope="module")
def pdf() -> bytes:
    return handout_pdf(data()).pdf


@pytest.fixture(scope="module")
def reader(pdf: bytes) -> pypdf.PdfReader:
    return pypdf.PdfReader(io.BytesIO(pdf))


def words_of(reader: pypdf.PdfReader) -> str:
    return " ".join(" ".join(page.extract_text().split()) for page in reader.pages)


def test_it_is_a4(reader: pypdf.PdfReader) -> None:
    """ISO 216: A4 is 210 × 297 mm, 595.276 × 841.890 pt."""
    for page in reader.pages:
        assert float(page.mediabox.width) == pytest.approx(595.276, abs=0.01)
        assert float(page.mediabox.height) == pytest.approx(841.890, abs=0.01)


def test_it_says_that_it_is_accessible(pdf: bytes, reader: pypdf.PdfReader) -> None:
    """ISO 14289-1 (PDF/UA-1): identified as such, tagged, titled, with a language."""
    assert b"<pdfuaid:part>1</pdfuaid:part>" in pdf
    catalog: Any = reader.trailer["/Root"]
    assert catalog["/MarkInfo"]["/Marked"]
    assert catalog["/Lang"] == "en"
    assert catalog["/ViewerPreferences"]["/DisplayDocTitle"]
    assert reader.metadata is not None
    assert reader.metadata.title == ABOUT.title
    assert "/StructTreeRoot" in catalog


def test_each_picture_has_its_description(pdf: bytes) -> None:
    assert _alternatives(pdf) >= {small_scene(shot).description for shot in SHOTS[1:3]}


def _alternatives(pdf: bytes) -> set[str]:
    """Gather the alternative texts of all tagged elements."""
    root: Any = pypdf.PdfReader(io.BytesIO(pdf)).trailer["/Root"]
    found: set[str] = set()
    waiting = [root["/StructTreeRoot"]]
    while waiting:
        node = waiting.pop()
        node = node.get_object() if hasattr(node, "get_object") else node
        if isinstance(node, list):
            waiting += node
        elif isinstance(node, dict):
            if "/Alt" in node:
                found.add(str(node["/Alt"]))
            if "/K" in node:
                waiting.append(node["/K"])
    return found


def test_it_holds_all_that_a_reader_needs(reader: pypdf.PdfReader) -> None:
    text = words_of(reader)
    for words in (
        ABOUT.title,
        *ABOUT.credits,
        ABOUT.rights,
        "B♭1 F2 B♭2 E♭3 A♭3 C4 F4",
        "7/8 = 2+2+3; 5/8 = 3+2",
        "Seven steps down, then five up: the mirror leans, & nothing is lost.",
        "bar 2, beat 3",
        "100 random versions",
        "a straight mirror one eighth later",
        "seed 11",
        "riffract study PASSAGE --json",
        "passage.tab",
        "dead note (bar 2, beat 2)",
        "80 dB for 40 hours a week",
        "Benjamini",
    ):
        assert words in text, words


def test_every_finding_is_in_it_with_its_verdict(reader: pypdf.PdfReader) -> None:
    text = words_of(reader)
    for weighed in STUDY.findings:
        assert weighed.finding.sentence in text
        assert VERDICT_NAMES[weighed.verdict] in text
    assert "not beyond chance" in text


def test_it_is_set_in_our_own_font_and_one_for_tab(reader: pypdf.PdfReader) -> None:
    fonts: list[Any] = [
        font.get_object()
        for page in reader.pages
        for font in page["/Resources"]["/Font"].values()  # type: ignore[index]
    ]
    names = {str(font["/BaseFont"]).partition("+")[2] for font in fonts}
    assert {name.partition("-")[0] for name in names} == {"RiffractSans", "DejaVuSansMono"}


def test_the_same_handout_twice_is_the_same_bytes(pdf: bytes) -> None:
    assert handout_pdf(data()).pdf == pdf


NASTY = (
    '#panic("x") #read("/etc/passwd") *bold* _it_ $x^2$ `raw` @ref <label> = h // c \\ ] } ) " ~ --'
)


def test_words_of_the_user_are_no_instructions() -> None:
    shot = replace(SHOTS[2], title=NASTY, lines=(Line(text=NASTY, start_seconds=0, end_seconds=1),))
    about = About(title=NASTY, subtitle=NASTY, credits=(NASTY,), rights=NASTY)
    made = handout_pdf(data([shot], about, f"{NASTY}\n\nG|--0--|\nD|-----|")).pdf
    text = words_of(pypdf.PdfReader(io.BytesIO(made))).replace(" ", "")
    assert text.count(NASTY.replace(" ", "")) >= 6


def test_an_essay_without_claims_still_has_a_handout() -> None:
    made = handout_pdf(data([SHOTS[0]], About(title="Untitled"), "")).pdf
    text = words_of(pypdf.PdfReader(io.BytesIO(made)))
    assert "The claims" not in text
    assert STUDY.findings[0].finding.sentence in text


@pytest.mark.parametrize(
    "words", ["", "W" * 300, "\x00\x07\x1c\x85 \u202e \ud7ff", "漢字 и ελληνικά", "a\nb\tc"]
)
def test_odd_words_are_set_within_the_margins(words: str) -> None:
    shot = replace(SHOTS[2], title=words, lines=(Line(text=words, start_seconds=0, end_seconds=1),))
    about = About(title=words, subtitle=words, credits=(words,), rights=words)
    made = data([shot], about, f"{words}\n\n{TAB_TEXT}")
    assert handout_pdf(made).pdf.startswith(b"%PDF")
    for png in handout_pages(made, pixels_per_inch=50):
        pixels = _pixels(png)
        assert (pixels[:, -int(17 / 210 * pixels.shape[1]) :] == 255).all()


def test_a_sign_that_no_font_has_becomes_a_question_mark_and_is_told() -> None:
    unassigned = "\U0003fff0"
    made = handout_pdf(data(about=About(title=f"Étude {unassigned}")))
    assert made.lost_signs == unassigned
    text = words_of(pypdf.PdfReader(io.BytesIO(made.pdf)))
    assert "Étude ?" in text


def test_letters_of_other_scripts_are_kept_where_a_font_has_them() -> None:
    made = handout_pdf(data(about=About(title="Этюд")))
    assert made.lost_signs == ""
    assert "Этюд" in words_of(pypdf.PdfReader(io.BytesIO(made.pdf)))


def test_an_observation_of_the_analysts_own_says_so() -> None:
    shot = replace(SHOTS[1], findings=())
    text = words_of(pypdf.PdfReader(io.BytesIO(handout_pdf(data([shot])).pdf)))
    assert "The analyst’s own observation" in text.replace("'", "’")


def pages_of(shots: Sequence[Shot], about: About = ABOUT) -> list[str]:
    reader = pypdf.PdfReader(io.BytesIO(handout_pdf(data(shots, about)).pdf))
    return [" ".join(page.extract_text().split()) for page in reader.pages]


def test_claims_share_a_page_and_each_stays_with_its_picture_and_words() -> None:
    own = [replace(SHOTS[1], name=f"0{n}", title=f"Claim number {n}.", findings=()) for n in (1, 2)]
    pages = pages_of(own)
    (claims,) = [page for page in pages if "The claims" in page]
    assert claims.count("The analyst") == 2
    assert all(len(page) > 300 for page in pages[:-1])


def _lines_of_music(shots: Sequence[Shot]) -> int:
    figures = _figures(handout_pdf(data(shots)).pdf)
    return sum("in staff notation" in str(figure.get("/Alt")) for figure in figures)


def test_what_a_claim_plays_stands_with_it_where_its_page_has_room() -> None:
    claim = SHOTS[1]
    silent = replace(claim, plays=())
    assert len(data([claim])["claims"][0]["music"]) == 1
    assert _lines_of_music([claim]) == _lines_of_music([silent]) + 1
    # Two observations share a page; music would part them.
    own = replace(claim, findings=())
    assert _lines_of_music([own]) == _lines_of_music([silent])


def test_music_never_takes_a_page_of_its_own() -> None:
    full = replace(SHOTS[1], findings=SHOTS[1].findings * 3)
    assert len(pages_of([full])) == len(pages_of([replace(full, plays=())]))


@pytest.mark.parametrize("lines", range(0, 30, 6))
def test_a_claims_numbers_stand_on_the_page_of_its_picture(lines: int) -> None:
    """Wherever a page can hold both; what stands before pushes them down the page."""
    about = replace(ABOUT, credits=("Music: our own",) * lines)
    claim = replace(SHOTS[1], title="Claim of its own kind.", findings=SHOTS[1].findings[:1])
    pages = pages_of([claim], about)
    (page,) = [page for page in pages if "The claims 1. Claim of its own kind." in page]
    assert "listen for" in page
    assert VERDICT_NAMES[claim.findings[0].verdict] in page


def test_a_finding_that_bears_two_claims_is_told_in_full_once() -> None:
    claim = replace(SHOTS[1], findings=SHOTS[1].findings[:1])
    again = replace(claim, name="again", title="Once more.")
    given = data([claim, again])["claims"]
    assert [one["told_with"] for shot in given for one in shot["findings"]] == [0, 1]
    text = " ".join(pages_of([claim, again]))
    assert "The same finding as with claim 1; more of it stands there." in text
    assert text.count(claim.findings[0].finding.detail.split(".")[0]) == 1


def test_works_stand_by_author() -> None:
    authors = [work.text.split(",")[0] for work in references_for(Kind)]
    assert authors == sorted(authors)


def test_the_legend_is_not_parted() -> None:
    (page,) = [page for page in pages_of(SHOTS) if "How to read the pictures" in page]
    meanings = [" ".join(sample["meaning"].split()) for sample in data()["samples"]]
    assert [meaning for meaning in meanings if meaning not in page] == []


@pytest.mark.parametrize("rows", range(0, 60, 6))
def test_the_last_page_holds_more_than_what_is_left_over(rows: int) -> None:
    made = handout_pdf(data([SHOTS[0]], tab_text="\n".join(["D|-|"] * rows))).pdf
    last = pypdf.PdfReader(io.BytesIO(made)).pages[-1].extract_text()
    for heading in ("How this was made", "Literature", "Rights", "Safe listening"):
        assert heading in last, heading


@pytest.mark.parametrize("place", ["bars 8–9, beat 4 4/7", "bar 8, beat 4 4/7"])
def test_a_number_is_not_parted_from_the_word_that_it_belongs_to(place: str) -> None:
    """Common practice of typesetting: references such as "bar 3" do not break."""
    lines = tuple(
        Line(text="so " * count + place, start_seconds=0, end_seconds=1) for count in range(26, 40)
    )
    made = handout_pdf(data([replace(SHOTS[2], lines=lines)])).pdf
    pages = pypdf.PdfReader(io.BytesIO(made)).pages
    rows = [row.strip() for page in pages for row in page.extract_text().splitlines()]
    assert sum("so so" in row for row in rows) > len(lines), "some of them are broken"
    assert [row for row in rows if row.endswith(("bars", "bars 8–", "beat", "beat 4"))] == []


def test_more_sums_than_a_page_can_hold_break_over_pages() -> None:
    told = data() | {"sums": [[f"earlier/{n}.tab", "0" * 64] for n in range(120)]}
    text = words_of(pypdf.PdfReader(io.BytesIO(handout_pdf(told).pdf)))
    assert all(f"earlier/{n}.tab" in text for n in range(120))


def test_times_finer_than_notation_are_told_where_the_tab_stands_for_it() -> None:
    marks = (Fraction(0), Fraction(1, 10**9 + 7))
    tempos = tuple(TempoMark(at_quarters=at, quarters_per_minute=90.0) for at in marks)
    study = replace(STUDY, passage=replace(STUDY.passage, tempos=tempos))
    told = handout_data(study, [], {}, about=ABOUT, tab_text=TAB_TEXT, sources=[])
    text = words_of(pypdf.PdfReader(io.BytesIO(handout_pdf(told).pdf)))
    assert "finer than notation can write" in text
    assert "finer than notation can write" not in words_of(
        pypdf.PdfReader(io.BytesIO(handout_pdf(data([SHOTS[0]])).pdf))
    )


def test_rights_and_the_word_of_others_rights_are_two_paragraphs() -> None:
    about = replace(ABOUT, rights="Own work, free to use")
    reader = pypdf.PdfReader(io.BytesIO(handout_pdf(data(about=about)).pdf))
    rows = [row for page in reader.pages for row in page.extract_text().splitlines()]
    assert "Own work, free to use" in [row.strip() for row in rows]


@pytest.mark.parametrize(
    ("groups", "unit", "tempo"),
    [
        # Common practice: 6/8, 9/8 and 12/8 are beaten in dotted quarters, other metres are not.
        pytest.param((6,), 8, "60 dotted quarters a minute", id="6/8"),
        pytest.param((3, 3, 3), 8, "60 dotted quarters a minute", id="9/8"),
        pytest.param((12,), 8, "60 dotted quarters a minute", id="12/8"),
        pytest.param((2, 2, 2, 3), 8, "90 quarters a minute", id="9/8 = 2+2+2+3"),
        pytest.param((3,), 4, "90 quarters a minute", id="3/4"),
        pytest.param((2, 2, 3), 8, "90 quarters a minute", id="7/8"),
    ],
)
def test_a_tempo_is_told_in_the_beat_of_its_metre(
    groups: tuple[int, ...], unit: int, tempo: str
) -> None:
    metre = Metre(groups=groups, unit=unit)
    bars = tuple(replace(bar, metre=metre) for bar in STUDY.passage.bars)
    marks = (TempoMark(at_quarters=Fraction(0), quarters_per_minute=90.0),)
    passage = replace(STUDY.passage, bars=bars, tempos=marks)
    told = handout_data(
        replace(STUDY, passage=passage), SHOTS, {}, about=ABOUT, tab_text="", sources=[]
    )
    assert ["tempo", tempo] in told["music"]


def _pixels(png: bytes) -> NDArray[np.uint8]:
    image = skia.Image.MakeFromEncoded(skia.Data.MakeWithCopy(png))
    pixels: NDArray[np.uint8] = image.toarray(colorType=skia.kRGBA_8888_ColorType)[..., :3]
    return pixels


def test_nothing_is_set_into_the_margins() -> None:
    row = "G" + "|" + "M" * (MOST_TAB_COLUMNS - 3) + "|"
    wide_tab = "\n".join([row.replace("M", "-"), row])
    for png in handout_pages(data(tab_text=wide_tab)):
        pixels = _pixels(png)
        margin = int(17.5 / 210 * pixels.shape[1])
        assert (pixels[:, :margin] == 255).all()
        assert (pixels[:, -margin:] == 255).all()


def test_the_longest_row_of_tab_ends_inside_its_panel() -> None:
    row = "G" + "|" + "M" * (MOST_TAB_COLUMNS - 3) + "|"
    without_staff = {**data([SHOTS[0]], tab_text="\n".join([row, "D|-|"])), "staff": []}
    page = _pixels(handout_pages(without_staff)[0])
    panel = np.round(np.array(rgb_of(PAPER.hexes[Role.GROUND])) * 255).astype(int)
    strip = page[:, int(189.5 / 210 * page.shape[1]) : int(191 / 210 * page.shape[1])].astype(int)
    is_blank = (np.abs(strip - panel).max(axis=2) <= 2) | (strip.min(axis=2) == 255)
    rows_with_panel = (np.abs(strip - panel).max(axis=2) <= 2).all(axis=1)
    assert rows_with_panel.sum() > 20
    first, last = np.flatnonzero(rows_with_panel)[[0, -1]]
    assert is_blank[first : last + 1].all()


@pytest.mark.parametrize("kind", list(Kind))
def test_the_glossary_knows_each_kind(kind: Kind) -> None:
    assert {term.word for term in terms_for([kind])} >= {"p", "q", "attack"}
    assert len(references_for([kind])) >= 2


def test_the_glossary_is_in_alphabetical_order() -> None:
    words = [term.word.lower() for term in TERMS]
    assert words == sorted(words)


def test_a_stronger_verdict_has_more_dots() -> None:
    given = data()["verdicts"]
    assert [v["strength"] for v in given] == [4, 3, 2, 1, 0]
    assert [v["name"] for v in given] == [VERDICT_NAMES[v] for v in Verdict]


def test_letter_paper_is_letter_and_nothing_reaches_its_margins() -> None:
    """ANSI/ASME Y14.1: letter is 8.5 × 11 in, 612 × 792 pt."""
    made = data() | {"paper": "us-letter"}
    for page in pypdf.PdfReader(io.BytesIO(handout_pdf(made).pdf)).pages:
        assert (float(page.mediabox.width), float(page.mediabox.height)) == (612.0, 792.0)
    for png in handout_pages(made, pixels_per_inch=60):
        pixels = _pixels(png)
        margin = int(17.5 / 215.9 * pixels.shape[1])
        assert (pixels[:, :margin] == 255).all()
        assert (pixels[:, -margin:] == 255).all()


def test_staff_notation_stands_in_it_with_words_for_those_who_do_not_see_it(pdf: bytes) -> None:
    assert any("in staff notation" in words for words in _alternatives(pdf))


def _figures(pdf: bytes) -> list[Any]:
    """Gather the tagged figures."""
    root: Any = pypdf.PdfReader(io.BytesIO(pdf)).trailer["/Root"]
    found: list[Any] = []
    waiting = [root["/StructTreeRoot"]]
    while waiting:
        node = waiting.pop()
        node = node.get_object() if hasattr(node, "get_object") else node
        if isinstance(node, list):
            waiting += node
        elif isinstance(node, dict):
            if node.get("/S") == "/Figure":
                found.append(node)
            if "/K" in node:
                waiting.append(node["/K"])
    return found


def test_no_figure_is_without_words(pdf: bytes) -> None:
    """ISO 14289-1, 7.3: each figure needs an alternative text."""
    figures = _figures(pdf)
    assert len(figures) >= 2
    assert all(str(figure.get("/Alt", "")).strip() for figure in figures)


def test_every_font_is_embedded(reader: pypdf.PdfReader) -> None:
    """ISO 14289-1, 7.21.4.1: the font programs of all fonts shall be embedded."""
    for page in reader.pages:
        resources: Any = page["/Resources"]
        for font in resources["/Font"].values():
            (inner,) = font.get_object()["/DescendantFonts"]
            descriptor = inner.get_object()["/FontDescriptor"]
            assert {"/FontFile2", "/FontFile3"} & descriptor.keys()


def asked_pages() -> list[str]:
    made = handout_pdf(with_questions(data(), SHOTS, STUDY)).pdf
    reader = pypdf.PdfReader(io.BytesIO(made))
    return [" ".join(page.extract_text().split()) for page in reader.pages]


def test_questions_come_on_pages_before_their_answers() -> None:
    pages = asked_pages()
    claims = [shot for shot in SHOTS if shot.scene not in NOT_CLAIMS]
    last_asked = max(place for place, page in enumerate(pages) if "The answers stand" in page)
    before = " ".join(pages[: last_asked + 1])
    for shot in claims:
        kind = shot.findings[0].finding.kind
        assert QUESTIONS[kind].question in before
        assert shot.title not in before
        assert shot.findings[0].finding.sentence not in before
        assert any(shot.title in page for page in pages[last_asked + 1 :])


def test_a_question_that_is_asked_twice_names_its_bars() -> None:
    first = SHOTS[1]
    short = replace(first.plays[0], span=STUDY.passage.bars[0].span)
    claims = [first, replace(first, name="again", plays=(short,))]
    asked = [one["question"] for one in with_questions(data(claims), claims, STUDY)["questions"]]
    assert len(set(asked)) == 2
    assert asked[1].endswith("(bar 1)")
    [alone] = with_questions(data([first]), [first], STUDY)["questions"]
    assert "(" not in alone["question"]


@pytest.mark.parametrize("kind", list(Kind))
def test_each_kind_of_finding_can_be_asked_for(kind: Kind) -> None:
    asked = QUESTIONS[kind]
    assert asked.question.endswith("?")
    assert asked.find
    assert asked.listen


def test_a_paper_that_is_none_is_told_with_its_line() -> None:
    read, problems = read_settings('[handout]\npaper = "legal"\n')
    assert read is not None
    assert read.handout.paper == "a4"
    (problem,) = problems
    assert problem.line == 2
    assert "letter" in f"{problem.what} {problem.mend}"


def test_the_one_with_questions_is_asked_for_in_the_settings() -> None:
    read, problems = read_settings('[handout]\npaper = "letter"\nquestions = true\n')
    assert problems == ()
    assert read is not None
    assert (read.handout.paper, read.handout.questions) == ("letter", True)


def test_sums_of_the_files_are_told() -> None:
    """FIPS 180-4: SHA-256 of no bytes."""
    empty = "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855"
    told = data() | {"sums": [["essay.toml", empty]]}
    assert empty in words_of(pypdf.PdfReader(io.BytesIO(handout_pdf(told).pdf)))
