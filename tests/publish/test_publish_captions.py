"""Captions: limits of reading, the grammar of WebVTT, and SRT."""

import html
import json
import re
from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import accumulate, pairwise
from pathlib import Path
from unicodedata import category

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.publish_fakes import small_shots, small_study

from riffract.essay.shot_list import reading_seconds
from riffract.essay.shots import Line, Play, SceneName, Shot
from riffract.formats.problem import Severity
from riffract.music import Span, TimeMap
from riffract.publish.captions import (
    GAP_MS,
    LONGEST_MS,
    Cue,
    caption_problems,
    captions,
    needed_ms,
    rows_of,
    sub_rip,
    web_vtt,
)

STUDY = small_study()
SUITE = Path(__file__).parents[3] / "shared" / "data" / "webvtt" / "suite"

# --- A small reader of WebVTT, written from the W3C text (sections "WebVTT parser algorithm" and
# "collect a WebVTT timestamp"); it keeps ids, times and raw cue text, and drops settings. --------

_TIMESTAMP = r"(?:(\d+):)?([0-5]\d):([0-5]\d)\.(\d{3})"
_TIMINGS = re.compile(rf"[ \t\f]*{_TIMESTAMP}[ \t\f]*-->[ \t\f]*{_TIMESTAMP}(?![\d.])(.*)")


def _seconds(hours: str | None, minutes: str, seconds: str, thousandths: str) -> float:
    return int(hours or 0) * 3600 + int(minutes) * 60 + int(seconds) + int(thousandths) / 1000


def read_web_vtt(text: str) -> list[tuple[float, float, str]] | None:
    """Give (start, end, raw text) of each cue; `None` if it is no WebVTT file."""
    text = text.removeprefix("\ufeff").replace("\0", "\ufffd")
    rows = text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    if not re.fullmatch(r"WEBVTT(?:[ \t].*)?", rows[0]):
        return None
    cues: list[tuple[float, float, str]] = []
    blocks: list[list[str]] = [[]]
    for number, row in enumerate(rows[1:]):
        if "-->" in row and any("-->" in earlier for earlier in blocks[-1]):
            blocks.append([])
        if number == 0 and row and "-->" not in row:
            continue
        if row:
            blocks[-1].append(row)
        else:
            blocks.append([])
    for block in blocks:
        at = next((i for i, row in enumerate(block[:2]) if "-->" in row), None)
        match = _TIMINGS.fullmatch(block[at]) if at is not None else None
        if at is not None and match is not None:
            times = match.groups()
            cues.append((_seconds(*times[:4]), _seconds(*times[4:8]), "\n".join(block[at + 1 :])))
    return cues


def check_strictly(text: str) -> list[tuple[float, float, str]]:
    """Assert the syntax that the W3C text asks of writers, and give the cues as they read."""
    header, *blocks = text.split("\n\n")
    assert header.rstrip("\n") == "WEBVTT"
    cues = []
    for block in filter(None, (b.strip("\n") for b in blocks)):
        identifier, timings, *payload = block.split("\n")
        assert "-->" not in identifier
        match = re.fullmatch(rf"{_TIMESTAMP} --> {_TIMESTAMP}", timings)
        assert match is not None, timings
        assert all(hours is None or len(hours) >= 2 for hours in match.group(1, 5))
        start, end = _seconds(*match.groups()[:4]), _seconds(*match.groups()[4:])
        assert end > start
        assert payload
        for row in payload:
            # a cue text span holds no line ends, & and <; an & starts one of these escapes
            assert "-->" not in row
            assert "<" not in row
            assert re.fullmatch(r"(?:[^&]|&(?:amp|lt|gt|lrm|rlm|nbsp);)*", row)
        cues.append((start, end, "\n".join(payload)))
    assert cues == sorted(cues, key=lambda cue: cue[0])
    return cues


# Where that parser's expectations differ from the W3C text, which wins.
SUITE_SAYS_OTHERWISE = {
    "cue-times/min-top-digits.json": "three leading digits are hours, so seconds are missing",
    "integration/id.json": "a second arrow in a block starts the next block, so its cue counts",
}


def _expectations() -> list[Path]:
    return sorted(SUITE.rglob("*.json")) if SUITE.is_dir() else []


@pytest.mark.skipif(not SUITE.is_dir(), reason="the WebVTT files of ../shared are not here")
def test_our_reader_agrees_with_the_published_files() -> None:
    """Source: test files of an open-source WebVTT parser (Apache-2.0), with expected cues."""
    paths = _expectations()
    assert len(paths) > 50
    for path in paths:
        if str(path.relative_to(SUITE)) in SUITE_SAYS_OTHERWISE:
            continue
        expected = json.loads(path.read_text(encoding="utf-8"))
        source = path.with_suffix(".vtt").read_bytes().decode("utf-8", errors="replace")
        cues = read_web_vtt(source)
        assert [
            (cue["startTime"], cue["endTime"], cue["text"]) for cue in expected["cues"]
        ] == cues, path


# --- What we write --------------------------------------------------------------------------------


def shot_saying(*lines: tuple[str, float, float], length: float = 60.0) -> Shot:
    return Shot(
        name="01",
        scene=SceneName.PAGE,
        title="t",
        lines=tuple(Line(text=t, start_seconds=a, end_seconds=b) for t, a, b in lines),
        plays=(),
        length_seconds=length,
    )


def cues_saying(*lines: tuple[str, float, float], length: float = 60.0) -> tuple[Cue, ...]:
    return captions([shot_saying(*lines, length=length)], STUDY.passage)


def test_the_small_film_is_captioned() -> None:
    cues = captions(small_shots(STUDY), STUDY.passage)
    assert check_strictly(web_vtt(cues)) == [
        (3.5, 7.5, "Twelve eighths, twice.\nListen for the two places that differ."),
        (7.58, 9.5, "♪ bars 1 to 4 ♪"),
        (11.0, 15.0, "Seven steps down, then five up:\nthe mirror leans, &amp; nothing is lost."),
        (15.5, 18.5, "Where it fails,\na bracket says by how much."),
    ]


def test_both_readers_read_alike() -> None:
    written = web_vtt(captions(small_shots(STUDY), STUDY.passage))
    assert read_web_vtt(written) == check_strictly(written)


def test_srt_counts_from_one_and_writes_commas() -> None:
    assert sub_rip(captions(small_shots(STUDY), STUDY.passage)).startswith(
        "1\n00:00:03,500 --> 00:00:07,500\nTwelve eighths, twice.\n"
        "Listen for the two places that differ.\n\n2\n00:00:07,580 --> 00:00:09,500\n"
    )


def test_srt_has_no_markup_in_it() -> None:
    (cue,) = cues_saying(("one < two <b>bold</b>", 0.0, 3.0))
    assert sub_rip([cue]).splitlines()[2] == "one ‹ two ‹b›bold‹/b›"


def test_hours_are_written() -> None:
    late = Cue(start_ms=3_723_004, end_ms=3_725_000, rows=("x",))
    assert "01:02:03.004 --> 01:02:05.000" in web_vtt([late])


def test_words_that_look_like_markup_stay_words() -> None:
    words = "if a < b --> c & d <i>e</i> WEBVTT &amp; NOTE"
    cues = check_strictly(web_vtt(cues_saying((words, 0.0, 9.0))))
    assert " ".join(html.unescape(text.replace("\n", " ")) for _, _, text in cues) == words


def test_a_sentence_end_is_the_best_place_for_a_cut() -> None:
    first, second = rows_of(
        "The fall takes seven steps through five of the strings. "
        "The climb that answers takes only five steps, and it leans."
    )
    assert " ".join(first).endswith("strings.")
    assert " ".join(second).startswith("The climb")


def test_a_semicolon_is_a_better_place_for_a_cut_than_a_comma() -> None:
    text = (
        "Each row here is one statement; notes that are added, that are missing or that differ "
        "are marked."
    )
    first, _ = rows_of(text)
    assert first[-1].endswith("statement;")


# Subtitle guidelines of public broadcasters: end captions and rows where clauses end; leave no
# article, preposition or conjunction behind at the end of a row (from memory).
def test_clauses_stay_whole_even_if_that_takes_one_more_caption() -> None:
    said = (
        "A bright cluster over a low string, and then it is gone, before you could have named all"
        " of the notes that were in it, which is why it is shown on a ring here."
    )
    assert [" ".join(rows) for rows in rows_of(said)] == [
        "A bright cluster over a low string, and then it is gone,",
        "before you could have named all of the notes that were in it,",
        "which is why it is shown on a ring here.",
    ]


def test_no_caption_is_cut_so_short_that_it_would_flash_by() -> None:
    said = (
        "No, and so it goes on for a very long while, up and down the neck of the guitar without a"
        " stop, until it ends."
    )
    assert all(len(" ".join(rows)) > 17 for rows in rows_of(said)), "a second at reading speed"


def test_a_row_does_not_end_with_a_small_word_that_belongs_to_the_next() -> None:
    [(upper, _)] = rows_of("Seven steps of the climb come back on the way down again.")
    assert upper == "Seven steps of the climb come"


def test_a_word_longer_than_a_row_is_broken() -> None:
    rows = [row for caption in rows_of("x" * 100) for row in caption]
    assert sorted(map(len, rows)) == [16, 42, 42]


def test_no_words_give_no_captions() -> None:
    assert cues_saying((" \n\t ", 0.0, 2.0)) == ()
    assert web_vtt([]) == "WEBVTT\n"
    assert sub_rip([]) == ""
    assert captions([], STUDY.passage) == ()


def test_a_short_caption_stays_until_it_can_be_read() -> None:
    (cue,) = cues_saying(("Listen to the fourth string.", 1.0, 1.2))
    assert cue.end_ms - cue.start_ms == needed_ms("Listen to the fourth string.") == 1647


def test_a_long_line_leaves_after_seven_seconds() -> None:
    (cue,) = cues_saying(("Short.", 0.0, 12.0))
    assert cue.end_ms == LONGEST_MS


def test_a_caption_never_outlasts_the_film() -> None:
    (cue,) = cues_saying(("Thank you for listening to all this.", 1.0, 1.4), length=2.0)
    assert cue.end_ms == 2000


def test_words_too_fast_to_read_are_told_with_a_remedy() -> None:
    cues = cues_saying(("Seven steps down and five steps up again.", 2.0, 3.0), ("Next.", 3.0, 5.0))
    (problem,) = caption_problems(cues)
    assert problem.severity is Severity.WARNING
    assert problem.what == (
        "the words at 0:02.0 must be read at 45 characters a second: "
        "“Seven steps down and five steps up agai…”"
    )
    assert problem.mend == "shorten them, or give them 2.4 seconds"


def test_seventeen_characters_a_second_is_within_the_broadcasters_words() -> None:
    """160 to 180 words a minute, at six characters a word (five letters and a space)."""
    assert 160 * 6 / 60 <= 17 <= 180 * 6 / 60


def test_an_excerpt_is_named_only_where_nothing_is_said() -> None:
    shots = small_shots(STUDY)
    shot = replace(shots[1], lines=(Line(text="So.", start_seconds=0.0, end_seconds=7.0),))
    assert [cue.text for cue in captions([shot], STUDY.passage)] == ["So."]
    shot = replace(shots[2], lines=())
    (cue,) = captions([shot], STUDY.passage)
    assert cue.text == "♪ bars 1 to 2, half speed, strings 3, 4 and 5 alone ♪"
    assert (cue.start_ms, cue.end_ms) == (1000, 5000)


def test_nothing_comes_between_the_halves_of_a_sentence() -> None:
    line = "Once more, now with an ear for the riff as it comes back, the mirror and what rings on."
    shot = shot_saying((line, 0.4, 24.0), length=25.0)
    span = Span(Fraction(0), Fraction(6))
    time_map = TimeMap.from_tempos(STUDY.passage.tempos, STUDY.passage.length_quarters)
    sound = Play(at_seconds=0.8, span=span, speed=0.125, time_map=time_map)
    first, second, sounding = captions([replace(shot, plays=(sound,))], STUDY.passage)
    assert f"{first.text} {second.text}" == line
    assert second.start_ms - first.end_ms == GAP_MS
    assert sounding.text.startswith("♪")


@given(st.text(min_size=85, max_size=300), st.floats(0, 60))
def test_the_captions_of_one_line_follow_each_other_directly(text: str, length: float) -> None:
    cues = cues_saying((text, 0.0, length))
    for before, after in pairwise(cues):
        if before.end_ms - before.start_ms > GAP_MS:
            assert after.start_ms - before.end_ms == GAP_MS


words = st.lists(st.text("aeinrstluä", min_size=1, max_size=14), min_size=1, max_size=40)


@given(st.lists(words.map(" ".join), min_size=1, max_size=4))
def test_lines_with_their_reading_time_can_be_read_as_captions(lines: Sequence[str]) -> None:
    ends = list(accumulate(map(reading_seconds, lines), initial=0.4))
    cues = cues_saying(
        *((text, start, end) for text, (start, end) in zip(lines, pairwise(ends), strict=True)),
        length=ends[-1],
    )
    assert caption_problems(cues) == ()


lines_anywhere = st.lists(
    st.tuples(st.text(max_size=300), st.floats(0, 50), st.floats(0, 20)), max_size=6
)


@given(lines_anywhere)
def test_captions_obey_the_limits_whatever_the_lines(
    lines: Sequence[tuple[str, float, float]],
) -> None:
    timed = [
        (text, start, start + length) for text, start, length in sorted(lines, key=lambda x: x[1])
    ]
    cues = cues_saying(*timed)
    for cue in cues:
        assert 1 <= len(cue.rows) <= 2
        assert all(1 <= len(row) <= 42 for row in cue.rows)
        assert 0 <= cue.start_ms < cue.end_ms <= cue.start_ms + LONGEST_MS
    for before, after in pairwise(cues):
        assert after.start_ms - before.end_ms >= GAP_MS
    read = check_strictly(web_vtt(cues))
    assert len(read) == len(cues)


@given(st.text(max_size=400))
def test_no_word_is_lost_or_added(text: str) -> None:
    said = "".join(row for rows in rows_of(text) for row in rows)
    printable = (sign for sign in "".join(text.split()) if category(sign) != "Cc")
    assert "".join(said.split()) == "".join(printable)
