"""What listening to a recording gave, as notes: where it lies, how sure that is, what to doubt.

Nothing here changes the text: a note that the recording does not bear out is named with what fits
better, and the analyst decides.
"""

from collections.abc import Iterator, Sequence
from fractions import Fraction
from math import log2
from statistics import median
from typing import Final

from riffract.analysis.saying import in_digits, say
from riffract.analysis.wording import capital, counted, listed, percent, place_in_words
from riffract.essay.hearing import Hearing
from riffract.music import Passage, Span, TimeMap
from riffract.publish.doubt_words import doubt_text, unwritten_text
from riffract.publish.notes_layout import Line, wrapped
from riffract.publish.wording import span_text
from riffract.sound.alignment import Alignment, Checks, HeardAttack
from riffract.sound.alignment.checking import AGREEING_SECONDS
from riffract.sound.support import Support, SupportReport

ROW_BARS: Final = 4
"""Bars in a row of the table of times."""

CLEARLY_BELOW: Final = 0.8
"""Ours: a fit says where the passage lies if it leaves at most so much of what chance leaves."""

STEADY_SHARE: Final = 0.03
"""Ours: paces of bars that differ by less than this are told as one tempo."""

SAME_REFERENCE_CENTS: Final = 2.0

MOST_NAMED: Final = 3
"""Attacks that are not heard, named by their places; further ones are counted."""

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
        [(0, _heading(passage, hearing))],
        [(0, say("Where it lies")), *_lies(passage, alignment, recording_seconds)],
        [(0, say("How sure the times are")), *_sure(passage, alignment)],
        [(0, say("When each bar sounds")), *_bars(passage, alignment)],
        [(0, say("What the recording says of the notes")), *_notes(passage, hearing)],
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
        told.append((passage.notes[one.note].onset_quarters, doubt_text(passage, one)))
    told += [(extra.quarters, unwritten_text(passage, extra)) for extra in found.unwritten]
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
        return say("They tuned to A4 = 440 Hz.")
    told = {"hertz": in_digits(f"{reference_hz:.1f}"), "cents": round(abs(cents))}
    if cents > 0:
        return say("They tuned to A4 = {hertz} Hz, {cents} cents above 440.", **told)
    return say("They tuned to A4 = {hertz} Hz, {cents} cents below 440.", **told)


def transposition_text(semitones: int) -> str:
    """Say how far from the text it sounds.

    >>> transposition_text(-1)
    'It sounds one semitone lower than it is written.'
    """
    steps = counted(abs(semitones), "semitone")
    if semitones > 0:
        return say("It sounds {steps} higher than it is written.", steps=steps)
    return say("It sounds {steps} lower than it is written.", steps=steps)


def _heading(passage: Passage, hearing: Hearing) -> str:
    title = passage.title or passage.source
    return say("{title}, heard in {file}", title=title, file=hearing.made_from.recording)


def _lies(passage: Passage, alignment: Alignment, recording_seconds: float) -> Iterator[Line]:
    start, end = alignment.stretches[0].start_seconds, alignment.stretches[-1].end_seconds
    yield (
        1,
        say(
            "It sounds from {start} to {end} of {whole}.",
            start=moment_text(start),
            end=moment_text(end),
            whole=moment_text(recording_seconds),
        ),
    )
    yield 1, reference_text(alignment.reference_hz)
    if alignment.transposition_semitones:
        yield 1, transposition_text(alignment.transposition_semitones)
    yield 1, _pace(passage, alignment)
    for stretch in alignment.stretches:
        if stretch.is_again:
            where, at = span_text(passage, stretch.span), moment_text(stretch.start_seconds)
            yield 1, say("The recording plays {where} again at {at}.", where=where, at=at)
    for span in alignment.left_out:
        yield 1, say("The recording leaves out {where}.", where=span_text(passage, span))
    yield from ((1, line) for line in _anchors(passage, alignment))


def _anchors(passage: Passage, alignment: Alignment) -> Iterator[str]:
    if alignment.anchors:
        moments = counted(len(alignment.anchors), "fixed moment")
        yield capital(say("{moments} of yours kept.", moments=moments))
    for anchor in alignment.doubtful_anchors:
        yield say(
            "Listen again to {place} at {at}: the recording alone would put it elsewhere.",
            place=place_in_words(passage.place(anchor.quarters)),
            at=moment_text(anchor.seconds),
        )
    if alignment.warning:
        yield say("Without them nothing would be told: {why}.", why=say(alignment.warning))


def _pace(passage: Passage, alignment: Alignment) -> str:
    paces = _bar_paces(passage, alignment)
    written = in_digits(f"{passage.tempos[0].quarters_per_minute:g}")
    if not paces:
        return say(
            "No whole bar is played, so nothing is said of its pace; {written} is written at its "
            "start.",
            written=written,
        )
    told = say("about {pace}", pace=round(median(paces)))
    if max(paces) > min(paces) * (1.0 + STEADY_SHARE):
        told = say(
            "{slowest} to {fastest}, mostly {usual}",
            slowest=round(min(paces)),
            fastest=round(max(paces)),
            usual=told,
        )
    return say(
        "Its pace is {pace} quarters a minute; {written} is written at its start.",
        pace=told,
        written=written,
    )


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
        say(
            "Each attack within ±{usual} (half of them), ±{most} at {place}, in 95 of 100 such "
            "cases.",
            usual=_ms(median(widths)),
            most=_ms(max(widths)),
            place=place_in_words(passage.place(widest.quarters)),
        ),
    )
    yield 1, _heard(passage, attacks)
    yield from ((1, line) for line in _checks(alignment.checks))


def _heard(passage: Passage, attacks: Sequence[HeardAttack]) -> str:
    unheard = [place_in_words(passage.place(a.quarters)) for a in attacks if not a.is_heard]
    if not unheard:
        return say("All {count} attacks are heard in the recording.", count=len(attacks))
    more = len(unheard) - MOST_NAMED
    named = unheard[:MOST_NAMED] + ([say("{count} more", count=more)] if more > 0 else [])
    return say(
        "{heard} of {count} attacks are heard in the recording; the others follow from their "
        "neighbours: {places}.",
        heard=len(attacks) - len(unheard),
        count=len(attacks),
        places=listed(named),
    )


def _checks(checks: Checks) -> Iterator[str]:
    yield say(
        "A second method, which hears harmony and no attacks, puts {share} of them within {width} "
        "of there; noise moves them by {moved} (median).",
        share=percent(checks.agreement_share),
        width=_ms(AGREEING_SECONDS),
        moved=_ms(checks.stability_seconds),
    )
    fit = say(
        "At these times {share} of the recording's harmony is what is written; where the passage "
        "does not belong, {chance}.",
        share=percent(1.0 - checks.residual_share),
        chance=percent(1.0 - checks.chance_share),
    )
    if checks.residual_share > CLEARLY_BELOW * checks.chance_share:
        fit += " " + say("That is little more: listen before you trust these times.")
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
    told = {
        "count": len(played),
        "borne_out": counts[Support.BORNE_OUT],
        "contradicted": counts[Support.CONTRADICTED],
        "unclear": counts[Support.UNCLEAR],
    }
    if len(played) < len(hearing.support.notes):
        said = say(
            "It bears out {borne_out} of {count} notes that are played, contradicts {contradicted} "
            "and leaves {unclear} unclear.",
            **told,
        )
    else:
        said = say(
            "It bears out {borne_out} of {count} notes, contradicts {contradicted} and leaves "
            "{unclear} unclear.",
            **told,
        )
    if missing := len(hearing.support.unwritten):
        notes = counted(missing, "note")
        said += " " + capital(say("{notes} may be missing from the text.", notes=notes))
    yield 1, said
    told_doubts = doubts(passage, hearing.support)
    yield from ((1, f"• {doubt}") for doubt in told_doubts)
    if told_doubts:
        yield (
            1,
            say("Nothing in your text was changed. Listen to each of these places and decide."),
        )


def _ms(seconds: float) -> str:
    return f"{seconds * 1000:.0f} ms"
