"""Captions: what is said and what sounds, timed for reading, as WebVTT and SRT.

Sources of the limits below: two lines of 42 characters and 1 to 7 seconds a caption are an
academic captioning guide's; 160 to 180 words a minute are a public broadcaster's subtitle
guidelines, which at six characters a word (five letters and a space) is 16 to 18 characters a
second. The gap is common practice: without one, a change between two like captions goes unseen.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final
from unicodedata import category

from riffract.analysis.saying import in_digits, say
from riffract.essay.shot_list import MOST_CHARACTERS_A_ROW, MOST_CHARACTERS_A_SECOND
from riffract.essay.shots import Shot
from riffract.formats.problem import Problem, Severity
from riffract.music import Passage
from riffract.publish.wording import clock_text, play_text

MOST_ROWS: Final = 2
SHORTEST_MS: Final = 1000
LONGEST_MS: Final = 7000
GAP_MS: Final = 80
_LONGEST_SOUND_MS = 4000
_SMALL_WORD: Final = 3
"""Letters of the articles, prepositions and conjunctions that belong to what follows them: a row
should not end with one (a public broadcaster's subtitle guidelines)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Cue:
    """One caption.

    Attributes:
        start_ms, end_ms: when it is shown, from the start of the film.
        rows: one or two rows of text.
    """

    start_ms: int
    end_ms: int
    rows: tuple[str, ...]

    @property
    def text(self) -> str:
        """Give the words in one row."""
        return " ".join(self.rows)

    @property
    def characters_a_second(self) -> float:
        """How fast it must be read."""
        return len(self.text) * 1000 / (self.end_ms - self.start_ms)


def captions(shots: Sequence[Shot], passage: Passage) -> tuple[Cue, ...]:
    """Time the words of a film for reading, and name what sounds where nothing is said.

    A line that is too long for one caption is cut at the best places and its time shared out by
    length. A caption that would be too short to read stays on as long as nothing follows; what is
    still too short, `caption_problems` tells.

    Returns:
        Captions by time; they never overlap and always leave a gap.
    """
    starts = list(_starts_ms(shots))
    spoken = [
        cue
        for start, shot in zip(starts, shots, strict=False)
        for line in shot.lines
        for cue in _spoken(
            line.text, start + _ms(line.start_seconds), start + _ms(line.end_seconds)
        )
    ]
    settled = _settled(spoken, starts[-1])
    sounding = [
        cue
        for start, shot in zip(starts, shots, strict=False)
        for cue in _sounding(shot, start, passage, settled)
    ]
    return tuple(sorted((*settled, *sounding), key=lambda cue: cue.start_ms))


def caption_problems(cues: Sequence[Cue]) -> tuple[Problem, ...]:
    """List the captions that stay too short a time for their words, as warnings."""
    return tuple(
        Problem(
            what=say(
                "the words at {at} must be read at {speed} characters a second: “{words}”",
                at=clock_text(cue.start_ms / 1000),
                speed=round(cue.characters_a_second),
                words=_shortened(cue.text),
            ),
            mend=say(
                "shorten them, or give them {seconds} seconds",
                seconds=in_digits(f"{needed_ms(cue.text) / 1000:.1f}"),
            ),
            severity=Severity.WARNING,
        )
        for cue in cues
        if cue.end_ms - cue.start_ms < needed_ms(cue.text)
    )


def needed_ms(text: str) -> int:
    """Tell how long a text must stay: by its length, and never less than a second.

    >>> needed_ms("A long fall."), needed_ms("x" * 34)
    (1000, 2000)
    """
    return max(SHORTEST_MS, _ms(len(text) / MOST_CHARACTERS_A_SECOND))


def web_vtt(cues: Iterable[Cue]) -> str:
    """Write captions as WebVTT (W3C), numbered."""
    blocks = (
        f"{number}\n{_time_text(cue.start_ms, '.')} --> {_time_text(cue.end_ms, '.')}\n"
        + "".join(f"{_vtt_escaped(row)}\n" for row in cue.rows)
        for number, cue in enumerate(cues, start=1)
    )
    return "\n".join(("WEBVTT\n", *blocks))


def sub_rip(cues: Iterable[Cue]) -> str:
    """Write captions as SRT: the same, with commas in its times.

    SRT has no way to escape markup, so angle brackets become their typographic likes.
    """
    return "\n".join(
        f"{number}\n{_time_text(cue.start_ms, ',')} --> {_time_text(cue.end_ms, ',')}\n"
        + "".join(f"{row.replace('<', '‹').replace('>', '›')}\n" for row in cue.rows)
        for number, cue in enumerate(cues, start=1)
    )


def rows_of(text: str) -> tuple[tuple[str, ...], ...]:
    """Cut a text into captions of one or two rows each, few of them, at the best places.

    A caption ends at the end of a sentence rather than at a semicolon or colon, there rather than
    at a comma, and there rather than anywhere else; rows are of like length, the lower one the
    longer.

    Returns:
        For each caption its rows; empty for a text without words.

    >>> rows_of("Seven steps down, then five up: the mirror leans, and nothing is lost.")
    (('Seven steps down, then five up:', 'the mirror leans, and nothing is lost.'),)
    """
    words = tuple(_pieces(text))
    best: list[tuple[float, int]] = [(0.0, 0)]
    for end in range(1, len(words) + 1):
        best.append(
            min(
                (best[start][0] + _block_cost(words[start:end]), start)
                for start in range(end)
                if _rows(words[start:end])
            )
        )
    cuts = [len(words)]
    while cuts[-1]:
        cuts.append(best[cuts[-1]][1])
    return tuple(_rows(words[start:end]) for end, start in reversed(list(pairwise(cuts))))


def _pieces(text: str) -> Iterator[str]:
    """Split into words without control signs; a word that is longer than a row is broken."""
    printable = "".join(sign for sign in text if sign.isspace() or category(sign) != "Cc")
    for word in printable.split():
        for start in range(0, len(word), MOST_CHARACTERS_A_ROW):
            yield word[start : start + MOST_CHARACTERS_A_ROW]


def _rows(words: Sequence[str]) -> tuple[str, ...]:
    """Set words in one row or two; empty if they do not fit."""
    whole = " ".join(words)
    if len(whole) <= MOST_CHARACTERS_A_ROW:
        return (whole,)
    if len(whole) > MOST_ROWS * MOST_CHARACTERS_A_ROW + 1:
        return ()
    halves = [(" ".join(words[:i]), " ".join(words[i:])) for i in range(1, len(words))]
    fitting = [pair for pair in halves if max(map(len, pair)) <= MOST_CHARACTERS_A_ROW]
    return min(fitting, key=_split_cost, default=())


def _split_cost(rows: tuple[str, str]) -> tuple[int, int]:
    upper, lower = rows
    return (abs(len(upper) - len(lower)) + _break_cost(upper), len(upper))


def _break_cost(text: str) -> int:
    """Tell how badly a break after this text cuts into the sense, in characters' worth."""
    if text.endswith((".", "!", "?", "…")):
        return 0
    if text.endswith((";", ":", "–", "—")):
        return 3
    if text.endswith(","):
        return 5
    return 20 if len(text.rpartition(" ")[2]) > _SMALL_WORD else 25


def _block_cost(words: Sequence[str]) -> float:
    """Weigh one more caption (900) against cutting into the sense, and like lengths last of all.

    Two clauses in captions of their own are better than one that is cut anywhere, but not where one
    of them would pass too soon to be read.
    """
    length = len(" ".join(words))
    hasty = 1500.0 if needed_ms("x" * length) <= SHORTEST_MS else 0.0
    return 900.0 + 100.0 * _break_cost(words[-1]) + hasty + (length / 10) ** 2


def _starts_ms(shots: Sequence[Shot]) -> Iterator[int]:
    """Give the start of each shot, then the end of the film."""
    seconds = 0.0
    yield 0
    for shot in shots:
        seconds += shot.length_seconds
        yield _ms(seconds)


def _spoken(text: str, start_ms: int, end_ms: int) -> Iterator[Cue]:
    """Share the time of a line out over its captions by their lengths, the gaps between them apart.

    They follow each other directly, however long the line may stand: nothing comes between the
    halves of a sentence.
    """
    blocks = rows_of(text)
    lengths = [len(" ".join(rows)) for rows in blocks]
    read_ms = max(end_ms - start_ms - len(blocks) * GAP_MS, 0)
    shares = [read_ms * length // sum(lengths) for length in lengths]
    start = start_ms
    for rows, share in zip(blocks, shares, strict=True):
        end = start + min(share + GAP_MS, LONGEST_MS)
        yield Cue(start_ms=start, end_ms=end, rows=rows)
        start = end


def _settled(cues: Sequence[Cue], film_end_ms: int) -> tuple[Cue, ...]:
    """Give each caption the time that its words need, as far as what follows lets it.

    Lines set by hand may crowd: then a caption comes late rather than on top of another.
    """
    starts: list[int] = []
    for cue in cues:
        starts.append(max(cue.start_ms, starts[-1] + 2 * GAP_MS if starts else 0))
    limits = [start - GAP_MS for start in starts[1:]] + [film_end_ms]
    return tuple(
        Cue(
            start_ms=start,
            end_ms=max(
                min(max(cue.end_ms, start + needed_ms(cue.text)), start + LONGEST_MS, limit),
                start + GAP_MS,
            ),
            rows=cue.rows,
        )
        for cue, start, limit in zip(cues, starts, limits, strict=False)
    )


def _sounding(
    shot: Shot, shot_start_ms: int, passage: Passage, spoken: Sequence[Cue]
) -> Iterator[Cue]:
    """Name each excerpt while nothing is said, if there is time to read its name."""
    for play in shot.plays:
        rows = rows_of(f"♪ {play_text(passage, play)} ♪")
        if len(rows) != 1:
            continue
        start = shot_start_ms + _ms(play.at_seconds)
        end = start + _ms(play.length_seconds)
        needed = needed_ms(" ".join(rows[0]))
        for free_start, free_end in _free(start, end, spoken):
            if free_end - free_start >= needed:
                shown_until = min(free_end, free_start + max(needed, _LONGEST_SOUND_MS))
                yield Cue(start_ms=free_start, end_ms=shown_until, rows=rows[0])
                break


def _free(start_ms: int, end_ms: int, taken: Sequence[Cue]) -> Iterator[tuple[int, int]]:
    """List the stretches between captions within a stretch of time, gaps left out."""
    at = start_ms
    for cue in taken:
        if cue.end_ms + GAP_MS <= at or cue.start_ms - GAP_MS >= end_ms:
            continue
        if cue.start_ms - GAP_MS > at:
            yield at, cue.start_ms - GAP_MS
        at = cue.end_ms + GAP_MS
    if at < end_ms:
        yield at, end_ms


def _ms(seconds: float) -> int:
    return round(seconds * 1000)


def _time_text(ms: int, decimal_sign: str) -> str:
    seconds, rest = divmod(ms, 1000)
    return (
        f"{seconds // 3600:02d}:{seconds // 60 % 60:02d}:{seconds % 60:02d}{decimal_sign}{rest:03d}"
    )


def _vtt_escaped(text: str) -> str:
    """Escape what WebVTT reads as markup; escaping > also keeps an arrow out of the words."""
    return text.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")


def _shortened(text: str, most: int = 40) -> str:
    return text if len(text) <= most else f"{text[: most - 1].rstrip()}…"
