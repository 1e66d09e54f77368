"""The order of playing: repeats, endings, jumps; tempo and sections follow it."""

from fractions import Fraction
from time import process_time

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.formats.musicxml_writing import note, passage_in, problem_about, rest, score

from riffract.formats.musicxml import read_musicxml
from riffract.formats.musicxml.flow import Flow
from riffract.formats.musicxml.repeats import MOST_PLAYED_BARS, playing_order
from riffract.formats.musicxml.report import Report
from riffract.music import Span

FORWARD = '<repeat direction="forward"/>'
BACKWARD = '<repeat direction="backward"/>'


def left(*signs: str) -> str:
    return f'<barline location="left">{"".join(signs)}</barline>'


def right(*signs: str) -> str:
    return f'<barline location="right">{"".join(signs)}</barline>'


def ending(number: str, kind: str) -> str:
    return f'<ending number="{number}" type="{kind}"/>'


def times(count: int) -> str:
    return f'<repeat direction="backward" times="{count}"/>'


def sound(what: str) -> str:
    return f"<sound {what}/>"


def order(*bars: str) -> str:
    """Read bars of one note each, and give the order they are played in as digits.

    The signs of a bar stand in front of its note, or behind it, after `|`.
    """
    texts = []
    for bar in bars:
        before, _, after = bar.partition("|")
        texts.append(before + note(1, 0, 16) + after)
    return "".join(str(bar.written_number) for bar in passage_in(score(*texts)).bars)


# Expected orders: common practice, and the descriptions in the W3C MusicXML 4.0 reference.
def test_a_repeat_without_a_start_goes_back_to_the_beginning() -> None:
    assert order("", "|" + right(BACKWARD), "") == "12123"


def test_a_repeat_goes_back_to_its_start() -> None:
    assert order("", left(FORWARD), "|" + right(BACKWARD), "") == "123234"


def test_a_second_repeat_without_a_start_goes_back_to_the_end_of_the_first() -> None:
    assert order("|" + right(BACKWARD), "", "|" + right(BACKWARD), "") == "1123234"


def test_a_repeat_is_played_as_often_as_it_says() -> None:
    assert order("|" + right(times(5)), "") == "111112"


def test_times_of_one_is_no_repeat() -> None:
    assert order("|" + right(times(1)), "") == "12"


def test_first_and_second_endings() -> None:
    first = left(ending("1", "start")) + "|" + right(ending("1", "stop"), BACKWARD)
    second = left(ending("2", "start")) + "|" + right(ending("2", "discontinue"))
    assert order("", first, second, "") == "12134"


def test_endings_of_several_bars_and_passes() -> None:
    first = left(ending("1, 2", "start"))
    last_of_first = "|" + right(ending("1, 2", "stop"), BACKWARD)
    second = left(ending("3", "start")) + "|" + right(ending("3", "stop"))
    assert order("", first, last_of_first, second, "") == "12312314" + "5"


def test_one_ending_alone_is_left_out_the_last_time() -> None:
    first = left(ending("1", "start")) + "|" + right(ending("1", "stop"), BACKWARD)
    assert order("", first, "", "") == "12134"


def test_a_repeat_sign_at_the_end_of_the_last_ending_adds_no_pass() -> None:
    first = left(ending("1", "start")) + "|" + right(ending("1", "stop"), BACKWARD)
    second = left(ending("2", "start")) + "|" + right(ending("2", "stop"), BACKWARD)
    assert order("", first, second, "") == "12134"


def test_a_repeat_that_starts_inside_a_second_ending() -> None:
    # As the test suite's 45e has it in its bars 6 to 10.
    first = left(ending("1", "start")) + "|" + right(ending("1", "stop"), BACKWARD)
    second = left(ending("2", "start"), FORWARD) + "|" + right(ending("2", "discontinue"))
    assert order(left(FORWARD), first, second, "|" + right(BACKWARD), "") == "12134345"


def test_nested_repeats_are_nested() -> None:
    assert order(left(FORWARD), left(FORWARD) + "|" + right(BACKWARD), "|" + right(BACKWARD)) == (
        "122" + "3" + "122" + "3"
    )


def test_a_repeat_that_never_ends_is_played_once() -> None:
    assert order("", left(FORWARD), "") == "123"


def test_da_capo_al_fine_leaves_out_repeats() -> None:
    assert (
        order("|" + right(BACKWARD), "|" + sound('fine="yes"'), "|" + sound('dacapo="yes"'))
        == "1123" + "12"
    )


def test_repeats_marked_for_it_are_played_again_after_a_jump() -> None:
    again = '<repeat direction="backward" after-jump="yes"/>'
    assert order("|" + right(again), "|" + sound('dacapo="yes"')) == "112" + "112"


def test_dal_segno_al_coda() -> None:
    assert (
        order(
            "",
            sound('segno="s"'),
            "|" + sound('tocoda="c"'),
            "|" + sound('dalsegno="s"'),
            sound('coda="c"'),
        )
        == "1234" + "23" + "5"
    )


@pytest.mark.parametrize("destination", ["<coda/>", "<words>Coda</words>"])
def test_jumps_in_words_and_signs_are_the_same_as_in_sound(destination: str) -> None:
    def direction(sign: str) -> str:
        return f"<direction><direction-type>{sign}</direction-type></direction>"

    assert (
        order(
            "",
            direction("<segno/>"),
            "|" + direction("<words>To Coda</words>") + direction("<coda/>"),
            "|" + direction("<words>D.S. al Coda</words>"),
            direction(destination),
        )
        == "1234" + "23" + "5"
    )


def test_an_ending_for_the_time_before_a_jump_and_one_for_after() -> None:
    first = left(ending("1", "start")) + "|" + sound('dacapo="yes"') + right(ending("1", "stop"))
    second = left(ending("2", "start")) + "|" + right(ending("2", "stop"))
    assert order("", first, second) == "12" + "13"


def test_a_jump_without_a_goal_is_told_and_the_music_goes_on() -> None:
    data = score(note(1, 0, 16) + sound('dalsegno="s"'), note(1, 0, 16))
    assert [bar.written_number for bar in passage_in(data).bars] == [1, 2]
    told = problem_about(read_musicxml(data), "jumps to a segno sign that is not there")
    assert (told.line, told.place) == (9, "bar 1, beat 1")
    assert told.mend == "write a `segno` where the jump leads"


def test_endings_without_a_repeat_are_told_and_played_in_a_row() -> None:
    one = left(ending("1", "start")) + note(1, 0, 16) + right(ending("1", "stop"))
    two = left(ending("2", "start")) + note(1, 0, 16) + right(ending("2", "stop"))
    data = score(one, two)
    assert len(passage_in(data).bars) == 2
    assert problem_about(read_musicxml(data), "endings without a repeat sign").line == 8


def test_a_repeat_in_the_middle_of_a_bar_is_told() -> None:
    middle = f'<barline location="middle">{BACKWARD}</barline>'
    result = read_musicxml(score(note(1, 0, 8) + middle + note(1, 0, 8)))
    assert problem_about(result, "repeat within a bar").place == "bar 1, beat 3"


# --- guards -------------------------------------------------------------------------------------


def test_repeats_that_explode_are_an_error() -> None:
    data = score(note(1, 0, 16) + right(times(999_999_999)))
    result = read_musicxml(data)
    assert result.passage is None
    assert (result.problems[0].line, result.problems[0].place) == (9, "bar 1, beat 1")
    assert result.problems[0].what == f"the repeats unfold to more than {MOST_PLAYED_BARS:,} bars"


def test_deeply_nested_repeats_are_an_error_soon() -> None:
    depth = 1000
    bars = [left(FORWARD) + note(1, 0, 16)] * depth + [note(1, 0, 16) + right(BACKWARD)] * depth
    started = process_time()
    assert read_musicxml(score(*bars)).passage is None
    assert process_time() - started < 20


flows = st.builds(
    Flow,
    is_repeat_start=st.booleans(),
    is_repeat_end=st.booleans(),
    times=st.integers(0, 4),
    ending=st.frozensets(st.integers(1, 3), max_size=2),
    ends_ending=st.booleans(),
    segno=st.sampled_from(["", "a", "b"]),
    coda=st.sampled_from(["", "a"]),
    dal_segno=st.sampled_from(["", "", "a", "c"]),
    to_coda=st.sampled_from(["", "", "a"]),
    is_da_capo=st.booleans(),
    is_fine=st.booleans(),
)


@settings(deadline=None, max_examples=300)
@given(st.integers(1, 10), st.dictionaries(st.integers(0, 9), flows))
def test_any_signs_give_some_order_of_written_bars(count: int, flow: dict[int, Flow]) -> None:
    played = playing_order(count, flow, Report())
    assert 1 <= len(played) <= MOST_PLAYED_BARS
    assert set(played) <= set(range(count))


@settings(deadline=None, max_examples=50)
@given(st.lists(st.tuples(st.integers(1, 3), st.integers(1, 4)), min_size=1, max_size=5))
def test_repeats_in_a_row_play_each_stretch_as_often_as_it_says(
    stretches: list[tuple[int, int]],
) -> None:
    flow: dict[int, Flow] = {}
    expected: list[int] = []
    bar = 0
    for length, count in stretches:
        flow[bar] = Flow(is_repeat_start=True)
        last = flow.setdefault(bar + length - 1, Flow())
        last.is_repeat_end, last.times = True, count
        expected += list(range(bar, bar + length)) * count
        bar += length
    assert playing_order(bar, flow, Report()) == expected


# --- tempo and sections -------------------------------------------------------------------------


def direction(kind: str, more: str = "") -> str:
    return f"<direction><direction-type>{kind}</direction-type>{more}</direction>"


def metronome(unit: str, per_minute: str, dots: int = 0) -> str:
    return direction(
        f"<metronome><beat-unit>{unit}</beat-unit>{'<beat-unit-dot/>' * dots}"
        f"<per-minute>{per_minute}</per-minute></metronome>"
    )


@pytest.mark.parametrize(
    ("mark", "quarters_per_minute"),
    [
        (metronome("quarter", "137"), 137.0),
        (metronome("quarter", "80", dots=1), 120.0),
        (metronome("eighth", "180"), 90.0),
        (metronome("half", "c. 66"), 132.0),
        (metronome("quarter", "92.5"), 92.5),
        ('<sound tempo="144"/>', 144.0),
    ],
)
def test_tempo_is_told_in_quarters_a_minute(mark: str, quarters_per_minute: float) -> None:
    data = score(mark + note(1, 0, 16), tempo="")
    assert [t.quarters_per_minute for t in passage_in(data).tempos] == [quarters_per_minute]
    assert read_musicxml(data).problems == ()


def test_sound_goes_before_a_metronome_mark_that_disagrees() -> None:
    mark = metronome("quarter", "100").replace("</direction>", '<sound tempo="150"/></direction>')
    data = score(mark + note(1, 0, 16), tempo="")
    assert [t.quarters_per_minute for t in passage_in(data).tempos] == [150.0]
    assert "100 and 150" in problem_about(read_musicxml(data), "two tempos").what


@pytest.mark.parametrize("tempo", ["", "0", "1e3", "NaN"])
def test_without_a_usable_tempo_120_is_taken_with_a_warning(tempo: str) -> None:
    mark = f'<sound tempo="{tempo}"/>'
    data = score(mark + note(1, 0, 16), tempo="")
    assert [t.quarters_per_minute for t in passage_in(data).tempos] == [120.0]
    assert problem_about(read_musicxml(data), "starts without a tempo")


def test_a_tempo_may_change_within_a_bar_and_be_shifted_by_an_offset() -> None:
    later = direction("<words> </words>", '<offset>8</offset><sound tempo="60"/>')
    passage = passage_in(score(later + note(1, 0, 16), note(1, 0, 8) + '<sound tempo="90"/>'))
    assert [(str(t.at_quarters), t.quarters_per_minute) for t in passage.tempos] == [
        ("0", 120.0),
        ("2", 60.0),
        ("6", 90.0),
    ]


def test_the_tempo_of_a_repeated_bar_is_the_one_written_there() -> None:
    data = score(
        note(1, 0, 16), '<sound tempo="60"/>' + note(1, 0, 16) + right(BACKWARD), note(1, 0, 16)
    )
    assert [(str(t.at_quarters), t.quarters_per_minute) for t in passage_in(data).tempos] == [
        ("0", 120.0),
        ("4", 60.0),
        ("8", 120.0),
        ("12", 60.0),
    ]


def test_rehearsal_marks_and_boxed_words_are_sections() -> None:
    boxed = direction('<words enclosure="rectangle">Bridge</words>')
    data = score(
        rest(16), direction("<rehearsal>A</rehearsal>") + rest(16), rest(8) + boxed + rest(8)
    )
    assert [(s.label, s.span) for s in passage_in(data).sections] == [
        ("A", Span(Fraction(4), Fraction(10))),
        ("Bridge", Span(Fraction(10), Fraction(12))),
    ]


def test_a_repeated_section_starts_again() -> None:
    data = score(direction("<rehearsal>A</rehearsal>") + rest(16) + right(BACKWARD), rest(16))
    assert [(s.label, s.span) for s in passage_in(data).sections] == [
        ("A", Span(Fraction(0), Fraction(4))),
        ("A", Span(Fraction(4), Fraction(12))),
    ]
