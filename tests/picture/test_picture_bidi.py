"""Writing from right to left: against the Unicode annex's own words and another implementation."""

from collections.abc import Callable, Iterable
from ctypes import CDLL, POINTER, c_int8, c_int32, c_uint32, pointer
from ctypes.util import find_library
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.picture_studies import odd_study, shot_of

from riffract.analysis.finding import Kind
from riffract.essay.shots import SceneName
from riffract.picture.bidi import levels_of, visual_runs
from riffract.picture.layout import Layout, captions, claim_marks, layout_of
from riffract.picture.marks import Group, Mark, Words
from riffract.picture.scene import TALL, WIDE, Page
from riffract.picture.scenes import scene_for
from riffract.picture.type import set_line, text_width

HEBREW = "אבגדהוזחטיכלמנסעפצקר"
NEUTRAL_BASE = 0x40  # FRIBIDI_PAR_ON, from memory: the first strong letter decides
ALPHABET = "ab אב مر 12 ١٢ .,:+-$%!\u05b0\t"


def shown(text: str) -> str:
    """Write what stands from left to right."""
    parts = [
        text[run.start : run.end] if run.is_rightward else text[run.start : run.end][::-1]
        for run in visual_runs(text)
    ]
    return "".join(parts)


def in_hebrew(text: str) -> str:
    """Write capitals, which stand for letters of right-to-left scripts in the annex, as such."""
    return "".join(HEBREW[(ord(c) - 65) % 20] if c.isupper() else c for c in text)


# Unicode Standard Annex 9, section 3.4, the examples of rule L2; capitals go to the left.
@pytest.mark.parametrize(
    ("stored", "displayed"),
    [("car means CAR.", "car means RAC."), ("CAR MEANS car.", ".car SNAEM RAC")],
)
def test_the_annexs_examples(stored: str, displayed: str) -> None:
    assert shown(in_hebrew(stored)) == in_hebrew(displayed)


@pytest.fixture(scope="module")
def peer() -> Callable[[str], tuple[int, ...]]:
    """Levels as GNU FriBidi gives them."""
    name = find_library("fribidi")
    if name is None:
        pytest.skip("libfribidi is not installed; it is the peer here")
    library = CDLL(name)

    def levels(text: str) -> tuple[int, ...]:
        length = len(text)
        signs = (c_uint32 * length)(*map(ord, text))
        found = (c_int8 * length)()
        base = pointer(c_uint32(NEUTRAL_BASE))
        nothing = POINTER(c_int32)()
        library.fribidi_log2vis(signs, c_int32(length), base, None, nothing, nothing, found)
        return tuple(found)

    return levels


@given(text=st.text(alphabet=ALPHABET, min_size=1, max_size=14))
def test_levels_are_those_of_another_implementation(
    peer: Callable[[str], tuple[int, ...]], text: str
) -> None:
    assert levels_of(text) == peer(text)


@given(st.text(alphabet=ALPHABET, max_size=20))
def test_runs_hold_each_character_once(text: str) -> None:
    held = sorted(i for run in visual_runs(text) for i in range(run.start, run.end))
    assert held == list(range(len(text)))


def test_a_line_without_such_letters_is_one_run() -> None:
    (run,) = visual_runs("E♭3 → 12/8, (016).")
    assert run.is_rightward


def test_a_mixed_line_is_as_wide_as_its_parts() -> None:
    whole = set_line("ab אב", 30.0, 400)
    assert whole.width == pytest.approx(text_width("ab ", 30.0, 400) + text_width("אב", 30.0, 400))


@pytest.mark.parametrize("page", [WIDE, TALL], ids=["wide", "tall"])
def test_a_claim_that_runs_to_the_left_starts_at_the_right_margin(page: Page) -> None:
    study = odd_study()
    finding = next(iter(study.of_kind(Kind.PASSES)))
    shot = replace(shot_of(study, SceneName.PAGE, in_hebrew("AB CD EF ABCD")), findings=(finding,))
    layout = layout_of(shot, page)
    ends = [words.x + text_width(words.text, words.size, words.weight) for words in said_by(layout)]
    assert len(ends) == 2  # the claim, and how firm its finding is
    assert ends == pytest.approx([layout.right, layout.right])
    other = layout_of(replace(shot, title="car " + shot.title), page)
    assert said_by(other)[0].x == other.left


@pytest.mark.parametrize("name", [SceneName.TITLE, SceneName.CREDITS], ids=str)
def test_each_line_of_a_card_starts_at_the_margin_it_is_read_from(name: SceneName) -> None:
    leftward, rightward = in_hebrew("EBB AND FLOOD"), "An etude"
    shot = shot_of(odd_study(), name, leftward, details=[leftward, rightward])
    lines = words_of(scene_for(odd_study(), shot, WIDE).at_rest())
    layout = layout_of(shot, WIDE)
    turned = [line for line in lines if line.text == leftward]
    assert len(turned) == 2
    for line in turned:
        assert line.x + text_width(line.text, line.size, line.weight) == pytest.approx(layout.right)
    assert [line.x for line in lines if line.text == rightward] == [layout.left]


@pytest.mark.parametrize("page", [WIDE, TALL], ids=["wide", "tall"])
def test_a_caption_that_runs_to_the_left_starts_at_the_right_margin(page: Page) -> None:
    text = " ".join([in_hebrew("SOME WORDS THAT ARE SAID"), "riff"] * 9)
    shot = shot_of(odd_study(), SceneName.PAGE, lines=[text])
    layout = layout_of(shot, page)
    (line,) = shot.lines
    shown = captions(layout, shot.lines)((line.start_seconds + line.end_seconds) / 2)
    rows = words_of(shown)
    assert rows
    for row in rows:
        assert row.x + text_width(row.text, row.size, row.weight) == pytest.approx(layout.right)


def words_of(marks: Iterable[Mark]) -> list[Words]:
    found = []
    for mark in marks:
        if isinstance(mark, Group):
            found += words_of(mark.marks)
        elif isinstance(mark, Words):
            found.append(mark)
    return found


def said_by(layout: Layout) -> list[Words]:
    return [mark for mark in claim_marks(layout) if isinstance(mark, Words)]
