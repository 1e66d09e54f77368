"""No text makes the reader raise, hang or lie about having found errors."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.formats.tab_passages import passages
from tests.formats.tab_reading import HEADER
from tests.formats.test_tab_round_trip import as_read_again

from riffract.formats.problem import ReadResult, Severity
from riffract.formats.tab import read_tab, write_tab
from riffract.formats.tab.lines import ROW_LABELS

TAB_SIGNS = st.text(
    "|-:0123456789xhpb/\\~()<>{}[]^qest.+= \n#eEBGDA\t\u2014timeringholdpm,tgrpickfermatndu",
    max_size=200,
)
SIGN = st.sampled_from(list("|-:0127xhpbtgr/\\~()<>{}[]^qest.+= \n#eE\t,\u00a0\r\x00"))


def check(text: str) -> ReadResult:
    result = read_tab(text)
    lines = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    for problem in result.problems:
        assert problem.what
        assert problem.mend
        assert 0 <= problem.line <= len(lines)
        assert problem.column >= 0
    has_errors = any(p.severity is Severity.ERROR for p in result.problems)
    assert (result.passage is None) == has_errors
    if result.passage is not None:
        again = read_tab(write_tab(result.passage)).passage
        assert again == as_read_again(result.passage)
    return result


@given(st.text())
def test_any_text_is_answered(text: str) -> None:
    check(text)


@given(TAB_SIGNS)
def test_any_heap_of_tab_signs_is_answered(text: str) -> None:
    check(text)


@st.composite
def spoilt(draw: st.DrawFn) -> str:
    """A good tab after a few slips of the hand."""
    text = write_tab(draw(passages()))
    for _ in range(draw(st.integers(1, 4))):
        at = draw(st.integers(0, len(text)))
        kind = draw(st.sampled_from(["out", "in", "over", "line out", "line twice", "lines swap"]))
        lines = text.split("\n")
        row = draw(st.integers(0, len(lines) - 1))
        match kind:
            case "out":
                text = text[:at] + text[at + 1 :]
            case "in":
                text = text[:at] + draw(SIGN) + text[at:]
            case "over":
                text = text[:at] + draw(SIGN) + text[at + 1 :]
            case "line out":
                text = "\n".join(lines[:row] + lines[row + 1 :])
            case "line twice":
                text = "\n".join(lines[: row + 1] + lines[row:])
            case "lines swap":
                other = draw(st.integers(0, len(lines) - 1))
                lines[row], lines[other] = lines[other], lines[row]
                text = "\n".join(lines)
    return text


@settings(max_examples=150, deadline=None)
@given(spoilt())
def test_any_spoilt_tab_is_answered(text: str) -> None:
    check(text)


# Each is long in a way that a careless search would take quadratic time for, or worse.
LONG = [
    *("g{" * 50_000, "g{a}" * 50_000, "(<[" * 50_000, "b{1," * 50_000, "7b{1}r" * 50_000),
    *("/" * 100_000, "7//" * 50_000, "tr" * 50_000, "7tr" * 50_000, "7<=" * 50_000, "{" * 100_000),
    *("=A-" * 50_000, "^" * 100_000, "-".join("k" * 50_000), "7<1=b" * 40_000),
]


@pytest.mark.parametrize("signs", LONG, ids=lambda signs: signs[:6])
def test_long_heaps_of_signs_are_answered(signs: str) -> None:
    rows = "".join(f"{name}    |-{signs}-|\n" for name in "GDAE")
    assert read_tab(f"{HEADER}\ntime   w\n{rows}").problems


@pytest.mark.parametrize("label", ROW_LABELS)
def test_long_rows_of_any_label_are_answered(label: str) -> None:
    bars = "|".join(["-0-"] * 1_000)
    rows = "".join(f"{name}    |{bars}|\n" for name in "GDAE")
    for signs in ("1.-- ", "^ ", "/ ", "d ", "- ", "1,1,", "q=9-> ", "free  ", "rit."):
        assert read_tab(f"{HEADER}\n{label} {signs * 2_000}\n{rows}").problems


def test_a_bar_that_never_ends_is_told() -> None:
    rows = "".join(f"{name}    |-{'5-' * 5_001}|\n" for name in "GDAE")
    found = [problem.what for problem in read_tab(f"{HEADER}\ntime   w\n{rows}").problems]
    assert "more than 5000 notes stand on this string in one bar" in found


def test_many_passages_in_one_file_are_answered() -> None:
    text = HEADER + "".join(f"passage: {n}\ntitle: x\n" for n in range(20_000))
    assert read_tab(text).problems
