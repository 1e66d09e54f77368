"""No text makes the reader raise, hang or lie about having found errors."""

from hypothesis import given, settings
from hypothesis import strategies as st
from tests.formats.tab_passages import passages
from tests.formats.test_tab_round_trip import as_read_again

from riffract.formats.problem import ReadResult, Severity
from riffract.formats.tab import read_tab, write_tab

TAB_SIGNS = st.text(
    "|-:0123456789xhpb/\\~()<>{}qest.+= \n#eEBGDA\t\u2014timeringholdpm,", max_size=200
)
SIGN = st.sampled_from(list("|-:0127xhpb/\\~()<>{}qest.+= \n#eE\t,\u00a0\r\x00"))


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
