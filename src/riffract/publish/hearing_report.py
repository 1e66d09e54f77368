"""What listening to a recording gave, as notes: where it lies, how sure that is, what to doubt.

Nothing here changes the text: a note that the recording does not bear out is named with what fits
better, and the analyst decides.
"""

from collections.abc import Iterator, Sequence
from fractions import Fraction
from math import log2
from statistics import median
from typing import Final

from riffract.analysis.wording import counted, listed, percent
from riffract.essay.hearing import Hearing
from riffract.music import Passage, Span, TimeMap
from riffract.publish.notes_layout import Line, wrapped
from riffract.publish.wording import span_text
from riffract.sound.alignment import Alignment, Checks, HeardAttack
from riffract.sound.alignment.checking import AGREEING_SECONDS
from riffract.sound.support import Support, SupportReport
from riffract.sound.support.words import rival_words, unwritten_words

ROW_BARS: Final = 4
"""Bars in a row of the table of times."""

CLEARLY_BELOW: Final = 0.8
"""Ours: a fit says where the passage lies if it leaves at most so much of what chance leaves."""

STEADY_SHARE: Final = 0.03
"""Ours: paces of bars that differ by less than this are told as one tempo."""

SAME_REFERENCE_CENTS: Final = 2.0

JUST_BEFORE_QUARTERS: Final = Fraction(1, 1024)
"""A bar's end belongs to what follows it, which may be played elsewhere."""


def hearing_report(
    passage: Passage, hearing: Hearing, *, recording_seconds: float, width: int
) -> str:
    """Write what was heard as notes.

    Args:
        passage: what is written.
        hearing: what was heard.
        recording_seconds: how long the recording is.
        width: signs in a line, for wrapping; the table of times keeps its own.
    """
    alignment = hearing.alignment
    sections = [
        [(0, f"{passage.title or passage.source}, heard in {hearing.made_from.recording}")],
        [(0, "Where it lies"), *_lies(passage, alignment, recording_seconds)],
        [(0, "How sure the times are"), *_sure(passage, alignment)],
        [(0, "When each bar sounds"), *_bars(passage, alignment)],
        [(0, "What the recording says of the notes"), *_notes(passage, hearing)],
    ]
    return "\n\n".join(wrapped(section, width) for section in sections) + "\n"


def doubts(passage: Passage, found: SupportReport) -> tuple[str, ...]:
    """Say in a sentence each what the recording does not bear out, in order of time.

    What is unclear with nothing better in sight is only counted: there is nothing to try instead.
    """
    told: list[tuple[Fraction, str]] = []
    for one in found.notes:
        if one.support is Support.BORNE_OUT or one.rival is None:
            continue
        note = passage.notes[one.note]
        sure = "" if one.support is Support.CONTRADICTED else " (unclear)"
        place = passage.place(note.onset_quarters)
        told.append(
            (note.onset_quarters, f"{_capital(str(place))}: {rival_words(note, one.rival)}{sure}.")
        )
    for extra in found.unwritten:
        place = passage.place(extra.quarters)
        told.append((extra.quarters, f"{_capital(str(place))}: {unwritten_words(extra)}."))
    return tuple(text for _, text in sorted(told))


def moment_text(seconds: float) -> str:
    """Write a moment of a recording to the thousandth of a second.

    >>> moment_text(74.2604), moment_text(59.9996)
    ('1:14.260', '1:00.000')
    """
    minutes, thousandths = divmod(round(seconds * 1000), 60_000)
    return f"{minutes}:{thousandths // 1000:02d}.{thousandths % 1000:03d}"


def reference_text(reference_hz: float) -> str:
    """Say how the players tuned.

    >>> reference_text(440.1)
    'They tuned to A4 = 440 Hz.'
    >>> reference_text(432.0)
    'They tuned to A4 = 432.0 Hz, 32 cents below 440.'
    """
    cents = 1200.0 * log2(reference_hz / 440.0)
    if abs(cents) < SAME_REFERENCE_CENTS:
        return "They tuned to A4 = 440 Hz."
    side = "above" if cents > 0 else "below"
    return f"They tuned to A4 = {reference_hz:.1f} Hz, {abs(cents):.0f} cents {side} 440."


def transposition_text(semitones: int) -> str:
    """Say how far from the text it sounds.

    >>> transposition_text(-1)
    'It sounds one semitone lower than it is written.'
    """
    side = "higher" if semitones > 0 else "lower"
    return f"It sounds {counted(abs(semitones), 'semitone')} {side} than it is written."


def _lies(passage: Passage, alignment: Alignment, recording_seconds: float) -> Iterator[Line]:
    start, end = alignment.stretches[0].start_seconds, alignment.stretches[-1].end_seconds
    yield (
        1,
        (
            f"It sounds from {moment_text(start)} to {moment_text(end)} "
            f"of {moment_text(recording_seconds)}."
        ),
    )
    yield 1, reference_text(alignment.reference_hz)
    if alignment.transposition_semitones:
        yield 1, transposition_text(alignment.transposition_semitones)
    yield 1, _pace(passage, alignment)
    for stretch in alignment.stretches:
        if stretch.is_again:
            where, at = span_text(passage, stretch.span), moment_text(stretch.start_seconds)
            yield 1, f"The recording plays {where} again at {at}."
    for span in alignment.left_out:
        yield 1, f"The recording leaves out {span_text(passage, span)}."
    if alignment.anchors:
        yield 1, f"{_capital(counted(len(alignment.anchors), 'fixed moment'))} of yours kept."
    for anchor in alignment.doubtful_anchors:
        where = f"{passage.place(anchor.quarters)} at {moment_text(anchor.seconds)}"
        yield 1, f"Listen again to {where}: the recording alone would put it elsewhere."
    if alignment.warning:
        yield 1, f"Without them nothing would be told: {alignment.warning}."


def _pace(passage: Passage, alignment: Alignment) -> str:
    paces = _bar_paces(passage, alignment)
    written = f"{passage.tempos[0].quarters_per_minute:g} is written at its start"
    if not paces:
        return f"No whole bar is played, so nothing is said of its pace; {written}."
    usual = median(paces)
    told = f"about {usual:.0f}"
    if max(paces) > min(paces) * (1.0 + STEADY_SHARE):
        told = f"{min(paces):.0f} to {max(paces):.0f}, mostly about {usual:.0f}"
    return f"Its pace is {told} quarters a minute; {written}."


def _bar_paces(passage: Passage, alignment: Alignment) -> list[float]:
    """Give the pace of each bar that is played whole, in quarters a minute."""
    time_map = alignment.time_map
    spans = [stretch.span for stretch in alignment.stretches if not stretch.is_again]
    whole = [bar.span for bar in passage.bars if any(_holds(span, bar.span) for span in spans)]
    return [
        60.0 * float(span.length_quarters) / seconds
        for span in whole
        # The last moment of a stretch is followed by a leap, so a bar ends just before it.
        if (seconds := _seconds_of(time_map, span)) > 0.0
    ]


def _holds(outer: Span, inner: Span) -> bool:
    return outer.start_quarters <= inner.start_quarters and inner.end_quarters <= outer.end_quarters


def _seconds_of(time_map: TimeMap, span: Span) -> float:
    last = span.end_quarters - JUST_BEFORE_QUARTERS
    return time_map.seconds_at(last) - time_map.seconds_at(span.start_quarters)


def _sure(passage: Passage, alignment: Alignment) -> Iterator[Line]:
    attacks = [attack for stretch in alignment.stretches for attack in stretch.attacks]
    widths = [attack.uncertainty_seconds for attack in attacks]
    widest = max(attacks, key=lambda attack: attack.uncertainty_seconds)
    yield (
        1,
        (
            f"Each attack within ±{_ms(median(widths))} (half of them), ±{_ms(max(widths))} at "
            f"{passage.place(widest.quarters)}, in 95 of 100 such cases."
        ),
    )
    yield 1, _heard(passage, attacks)
    yield from ((1, line) for line in _checks(alignment.checks))


def _heard(passage: Passage, attacks: Sequence[HeardAttack]) -> str:
    unheard = [str(passage.place(a.quarters)) for a in attacks if not a.is_heard]
    if not unheard:
        return f"All {len(attacks)} attacks are heard in the recording."
    named = unheard[:3] + ([f"{len(unheard) - 3} more"] if len(unheard) > 3 else [])
    return (
        f"{len(attacks) - len(unheard)} of {len(attacks)} attacks are heard in the recording; "
        f"the others follow from their neighbours: {listed(named)}."
    )


def _checks(checks: Checks) -> Iterator[str]:
    yield (
        f"A second method, which hears harmony and no attacks, puts "
        f"{percent(checks.agreement_share)} of them within {_ms(AGREEING_SECONDS)} of there; "
        f"noise moves them by {_ms(checks.stability_seconds)} (median)."
    )
    fit = (
        f"At these times {percent(1.0 - checks.residual_share)} of the recording's harmony is what "
        f"is written; where the passage does not belong, {percent(1.0 - checks.chance_share)}."
    )
    if checks.residual_share > CLEARLY_BELOW * checks.chance_share:
        fit += " That is little more: listen before you trust these times."
    yield fit


def _bars(passage: Passage, alignment: Alignment) -> Iterator[Line]:
    time_map = alignment.time_map
    bars = [b for b in passage.bars if not _is_left_out(alignment, b.start_quarters)]
    cells = [f"{b.number:>4} {moment_text(time_map.seconds_at(b.start_quarters))}" for b in bars]
    for first in range(0, len(cells), ROW_BARS):
        yield 1, "  ".join(cells[first : first + ROW_BARS])


def _is_left_out(alignment: Alignment, quarters: Fraction) -> bool:
    return any(span.holds(quarters) for span in alignment.left_out)


def _notes(passage: Passage, hearing: Hearing) -> Iterator[Line]:
    played = [
        one
        for one in hearing.support.notes
        if not _is_left_out(hearing.alignment, passage.notes[one.note].onset_quarters)
    ]
    counts = {word: sum(note.support is word for note in played) for word in Support}
    missing = len(hearing.support.unwritten)
    more = f"{_capital(counted(missing, 'note'))} may be missing from the text." if missing else ""
    left_out = len(hearing.support.notes) - len(played)
    of_all = f"of {len(played)} notes" + (" that are played" if left_out else "")
    said = (
        f"It bears out {counts[Support.BORNE_OUT]} {of_all}, "
        f"contradicts {counts[Support.CONTRADICTED]} and leaves {counts[Support.UNCLEAR]} unclear."
    )
    yield 1, f"{said} {more}".rstrip()
    for doubt in hearing.doubts:
        yield 1, f"• {doubt}"
    if hearing.doubts:
        yield 1, "Nothing in your text was changed. Listen to each of these places and decide."


def _ms(seconds: float) -> str:
    return f"{seconds * 1000:.0f} ms"


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
