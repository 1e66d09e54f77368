"""What a file says about the whole: title, tempo, metre, sections."""

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from riffract.formats.midi.events import (
    CUE,
    LYRIC,
    MARKER,
    METRE,
    NAME,
    NOTE_ON,
    TEXT,
    Meta,
    Track,
)
from riffract.formats.midi.file import MidiFile
from riffract.formats.midi.report import Report, counted
from riffract.formats.midi.sayings import NO_SECTION, grouping_of, saying_of
from riffract.formats.midi.simplest import SMALLEST_PART
from riffract.music import Bar, Metre, Section, Span, TempoMark
from riffract.music.metre import LARGEST_DENOMINATOR

COMMON_TIME: Final = Metre(groups=(4,), unit=4)
MOST_BARS: Final = 20_000
MOST_MARKS: Final = 20_000
SLOWEST, FASTEST = 5.0, 1000.0
"""Quarters a minute, as in `TempoMark`."""

NEAR_A_BAR_LINE_QUARTERS: Final = Fraction(1, 16)
"""A metre that is written nearer to a bar line stands on it."""

MOST_EMPTY_BARS: Final = 4
"""So many empty bars behind the last note are kept, if the file ends on the last bar line."""

LONGEST_TEXT: Final = 200


def text_of(data: bytes) -> str:
    r"""Decode a text: UTF-8 if it is that, else one byte a letter; tidied to be shown.

    >>> text_of("Étude\n1".encode("latin-1"))
    'Étude 1'
    """
    cut = data[: 8 * LONGEST_TEXT]
    try:
        text = cut.decode("utf-8", errors="strict" if len(cut) == len(data) else "ignore")
    except UnicodeDecodeError:
        text = cut.decode("latin-1")
    spaced = " ".join(text.split())
    return "".join(filter(str.isprintable, spaced))[:LONGEST_TEXT]


def name_of(track: Track) -> str:
    """Give a track's name; empty if it has none."""
    return next((text_of(meta.data) for meta in track.metas if meta.kind == NAME), "")


def texts_of(track: Track) -> Iterator[str]:
    """Give the text events of a track."""
    return (text_of(meta.data) for meta in track.metas if meta.kind == TEXT)


@dataclass(frozen=True, slots=True, kw_only=True)
class Conductor:
    """What holds for all parts.

    Attributes:
        title: the name of the first track, unless that is the name of a part among others.
        tempos: by moment; the first at 0.
        metres: moment and metre, by moment; not necessarily at bar lines.
        markers: moment and text, by moment.
    """

    title: str
    tempos: tuple[TempoMark, ...]
    metres: tuple[tuple[Fraction, Metre], ...]
    markers: tuple[tuple[Fraction, str], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Moments:
    """Turns ticks into moments of the score.

    Attributes:
        ticks_per_quarter: the unit.
        is_exact: whether ticks are meant as they stand.
    """

    ticks_per_quarter: int
    is_exact: bool

    def at(self, tick: int) -> Fraction:
        """Give the moment of a tick: the nearest simple fraction if it is less than a tick off.

        >>> str(Moments(ticks_per_quarter=480, is_exact=False).at(69))
        '1/7'
        """
        exact = Fraction(tick, self.ticks_per_quarter)
        if self.is_exact:
            return exact
        simple = exact.limit_denominator(SMALLEST_PART)
        return simple if abs(simple - exact) * self.ticks_per_quarter < 1 else exact


def conductor_of(file: MidiFile, moments: Moments, report: Report) -> Conductor:
    """Gather what any track says about the whole, and name what is not read."""
    metas = sorted(
        (meta for track in file.tracks for meta in track.metas), key=lambda meta: meta.tick
    )
    _warn_of_words(metas, report)
    marks = [meta for meta in metas if meta.kind in {MARKER, METRE}]
    if max(len(marks), len(file.tempos)) > MOST_MARKS:
        report.error(
            f"there are more than {MOST_MARKS:,} marks of tempo, metre and section",
            "export a shorter passage, and a ramp of tempo in larger steps",
        )
        marks = []
    return Conductor(
        title=_title(file),
        tempos=_tempos(file, moments, report),
        metres=_metres(metas, marks, moments, report),
        markers=tuple(
            (moments.at(meta.tick), text)
            for meta in marks
            if meta.kind == MARKER and (text := text_of(meta.data))
        ),
    )


def _title(file: MidiFile) -> str:
    """Give the name of the first track.

    Source: Standard MIDI Files 1.0: it names the sequence in format 0, and in format 1 if it is in
    the first track; but programs name a track of notes there by its instrument.
    """
    first = file.tracks[0]
    is_part = file.format == 1 and any(message.kind == NOTE_ON for message in first.messages)
    return "" if is_part else name_of(first)


def _tempos(file: MidiFile, moments: Moments, report: Report) -> tuple[TempoMark, ...]:
    if not file.has_tempo:
        report.warn(
            "the file says no tempo; 120 quarters a minute are taken, as the standard asks",
            "set the tempo where the file comes from",
        )
    marks: list[TempoMark] = []
    beyond = 0
    for tick, microseconds in file.tempos[:MOST_MARKS]:
        tempo = quarters_per_minute(microseconds)
        kept = min(max(tempo, SLOWEST), FASTEST)
        beyond += kept != tempo
        at = moments.at(tick)
        if not marks or marks[-1].quarters_per_minute != kept:
            marks.append(TempoMark(at_quarters=at, quarters_per_minute=kept))
    if beyond:
        report.warn(
            f"{counted(beyond, 'tempo')} beyond {SLOWEST:g} to {FASTEST:g} quarters a minute; the "
            "nearest of these is taken",
            "set the tempo where the file comes from",
        )
    return tuple(marks)


def quarters_per_minute(microseconds: int) -> float:
    """Turn microseconds a quarter into quarters a minute: the roundest number that gives them.

    Microseconds are whole, so that 137 quarters a minute come as 437,956, which are 137.00006.

    >>> quarters_per_minute(500_000), quarters_per_minute(0x06AEC4), quarters_per_minute(461_000)
    (120.0, 137.0, 130.1518438177874)
    """
    exact = 60e6 / microseconds
    rounded = (round(exact, digits) for digits in range(4))
    return next((r for r in rounded if r and round(60e6 / r) == microseconds), exact)


def _metres(
    metas: Sequence[Meta], marks: Sequence[Meta], moments: Moments, report: Report
) -> tuple[tuple[Fraction, Metre], ...]:
    grouped = {
        meta.tick: metre
        for meta in metas
        if meta.kind == TEXT and (metre := grouping_of(text_of(meta.data))) is not None
    }
    metres: dict[Fraction, Metre] = {}
    odd: list[bytes] = []
    for meta in marks:
        if meta.kind != METRE:
            continue
        metre = _metre(meta.data)
        if metre is None:
            odd.append(meta.data)
            continue
        said = grouped.get(meta.tick)
        is_said = said is not None and said.label() == metre.label()
        metres[moments.at(meta.tick)] = said if said is not None and is_said else metre
    if odd:
        report.warn(
            f"{counted(len(odd), 'metre')} cannot be read, first the bytes {odd[0][:8].hex(' ')}; "
            "the metre before goes on",
            "set a metre such as 11/8, with a unit of 1 to 64 and at most 64 units",
        )
    if not metres:
        report.warn(
            "the file says no metre; 4/4 is taken, as the standard asks",
            "set the metre where the file comes from",
        )
    return tuple(metres.items())


def _metre(data: bytes) -> Metre | None:
    if len(data) < 2 or not data[0] or 2 ** min(data[1], 7) > LARGEST_DENOMINATOR:
        return None
    try:
        return Metre(groups=(data[0],), unit=2 ** data[1])
    except ValueError:
        return None


def _warn_of_words(metas: Sequence[Meta], report: Report) -> None:
    """Name the words that are not read."""
    names = {LYRIC: "lyric", CUE: "cue point", TEXT: "text"}
    counts: Counter[str] = Counter()
    first: dict[str, str] = {}
    for meta in metas:
        name = names.get(meta.kind)
        text = text_of(meta.data) if name else ""
        if name and text and not (meta.kind == TEXT and saying_of(text)):
            counts[name] += 1
            first.setdefault(name, text)
    for name, count in counts.items():
        report.warn(
            f"{counted(count, name)} not read, first {first[name][:40]!r}",
            "nothing, if the words do not matter; markers are read as sections",
        )


def bars_of(
    metres: Sequence[tuple[Fraction, Metre]],
    last_end: Fraction,
    file_end: Fraction,
    report: Report,
    *,
    is_exact: bool,
) -> tuple[Bar, ...]:
    """Lay bars until all notes are held.

    A metre that is written within a bar closes it there; one that is written less than a 64th off
    a bar line stands on the line. If the file's times are exact, a metre stands where it is
    written, and the last bar ends with the file.

    Args:
        metres: moment and metre, by moment.
        last_end: when the last note ends, in quarters.
        file_end: when the file ends, in quarters; if that is on a bar line, a few empty bars
            behind the last note are kept.
        report: told if there are too many bars.
        is_exact: whether the file's times are exact.
    """
    near = Fraction(0) if is_exact else NEAR_A_BAR_LINE_QUARTERS
    goal = max(file_end, last_end) if is_exact else last_end
    bars: list[Bar] = []
    start, metre, waiting, empty = Fraction(0), COMMON_TIME, list(reversed(metres)), 0
    while start < goal or not bars or (start < file_end and empty < MOST_EMPTY_BARS):
        while waiting and (waiting[-1][0] <= start or waiting[-1][0] < start + near):
            metre = waiting.pop()[1]
        end = start + metre.length_quarters
        if waiting and waiting[-1][0] < end and waiting[-1][0] <= end - near:
            end = waiting[-1][0]
        if is_exact and start < goal < end:
            end = goal
        if len(bars) >= MOST_BARS:
            report.error(f"the music needs more than {MOST_BARS:,} bars", "export a shorter one")
            break
        bars.append(_bar(len(bars) + 1, start, end, metre))
        empty += start >= goal
        start = end
    return tuple(bars) if start == file_end else tuple(bars[: len(bars) - empty])


def _bar(number: int, start: Fraction, end: Fraction, metre: Metre) -> Bar:
    return Bar(
        number=number,
        written_number=number,
        start_quarters=start,
        length_quarters=end - start,
        metre=metre,
    )


def sections_of(
    markers: Sequence[tuple[Fraction, str]], end_quarters: Fraction
) -> tuple[Section, ...]:
    """Make a section of each marker, up to the next one; `-` only ends the one before."""
    starts = {at: text for at, text in markers if at < end_quarters}
    ends = [*starts, end_quarters][1:]
    return tuple(
        Section(label=text, span=Span(at, end))
        for (at, text), end in zip(starts.items(), ends, strict=True)
        if text != NO_SECTION
    )
