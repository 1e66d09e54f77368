"""A study as an analyst's notes: what is solid first, then question by question.

Shape comes first, which anyone can hear; then what comes back and what bends it; then harmony from
surface to depth; then the instrument's part. What is no better than chance is only named.
"""

from collections.abc import Iterator, Mapping, Sequence
from typing import Final

from riffract.analysis.finding import AttackContent, Edit, Kind, Mirror, Pass, Passes, Reading
from riffract.analysis.saying import say
from riffract.analysis.spelling import names_in, pitch_spelled
from riffract.analysis.wording import (
    capital,
    counted,
    length_text,
    listed,
    place_in_words,
    quarters_text,
    signed,
)
from riffract.music import Passage, Span
from riffract.publish.evidence.facts import fragility_facts, rival_text
from riffract.publish.notes_layout import Line, wrapped
from riffract.publish.wording import missing_part, number_text, probability_text, span_text
from riffract.weighing.chance import Chance
from riffract.weighing.study import VERDICT_NAMES, Study, Verdict, WeighedFinding

QUESTIONS: Final[Mapping[str, tuple[Kind, ...]]] = {
    "What shape it draws": (Kind.GESTURE,),
    "Where the riff starts, and how it comes back": (Kind.PASSES,),
    "How it sits in the bar": (Kind.METRE,),
    "What mirrors what": (Kind.MIRROR,),
    "Where an idea comes from, and what becomes of it": (Kind.MOTIVE, Kind.PATTERN),
    "What sounds together and in a row": (Kind.SONORITY,),
    "Which scale it draws on, and how that changes": (Kind.COLLECTION, Kind.COLLECTION_CHANGE),
    "Which string rings on": (Kind.DRONE,),
    "What sits above the lowest string": (Kind.ANCHOR,),
    "What the hand explains": (Kind.HAND,),
}
"""The questions in the order of a listener's questions, and the kinds of finding that answer."""

MOST_METRES_NAMED: Final = 4
MOST_DEPARTURES_NAMED: Final = 12
_TOLD: Final = frozenset({Verdict.FIRM, Verdict.LIKELY, Verdict.SUGGESTIVE})


def report(study: Study, *, width: int, everything: bool = False) -> str:
    """Write a study out as notes.

    Args:
        study: what to report.
        width: signs in a line, for wrapping.
        everything: tell what is no better than chance in full, too.
    """
    told = [one for one in study.findings if everything or one.verdict in _TOLD]
    sections = [
        _heading(study.passage),
        _in_short(study),
        _form(study),
        *(_question(name, kinds, told, study) for name, kinds in QUESTIONS.items()),
        [] if everything else _no_better_than_chance(study),
        _left_out(study),
        _method(study),
    ]
    return "\n\n".join(wrapped(section, width) for section in sections if section) + "\n"


def _heading(passage: Passage) -> list[Line]:
    tuning = passage.tuning
    metres = list(dict.fromkeys(bar.metre.label() for bar in passage.bars))
    named = ", ".join(metres[:MOST_METRES_NAMED])
    more = len(metres) - MOST_METRES_NAMED
    first, last = passage.bars[0].number, passage.bars[-1].number
    notes, bars = counted(len(passage.notes), "note"), counted(len(passage.bars), "bar")
    if first > 1:
        bars = say("{bars} ({first} to {last})", bars=bars, first=first, last=last)
    length = quarters_text(passage.length_quarters)
    if more > 0:
        named = say("{metres} and {count} more metres", metres=named, count=more)
    facts = (
        say("{notes} in {bars}, {length}", notes=notes, bars=bars, length=length),
        named,
        say("{count} strings ({names})", count=tuning.string_count, names=_strings(passage)),
    )
    title = passage.title or passage.source or say("Passage")
    return [(0, title), (0, f"{'; '.join(facts)}.")]


def _strings(passage: Passage) -> str:
    """Name the open strings as the notes are named."""
    names = names_in(passage)
    return " ".join(pitch_spelled(pitch, names) for pitch in passage.tuning.open_pitches)


def _in_short(study: Study) -> list[Line]:
    by_question = {k: n for n, kinds in enumerate(QUESTIONS.values()) for k in kinds}
    solid = sorted(
        (one for one in study.findings if one.is_solid and not one.follows_from),
        key=lambda one: by_question[one.finding.kind],
    )
    if not study.findings:
        return [(0, say("In short")), (1, say("Nothing was found."))]
    if not solid:
        return [(0, say("In short")), (1, say("Nothing in it goes beyond what chance would do."))]
    return [
        (0, say("In short")),
        *((1, _short(one, study.passage)) for one in solid),
    ]


def _short(weighed: WeighedFinding, passage: Passage) -> str:
    """Give the sentence and the verdict, and the place if the sentence does not tell it."""
    sentence, spans = weighed.finding.sentence, weighed.finding.spans
    verdict = say(VERDICT_NAMES[weighed.verdict])
    has_place = (
        say("bar {bar}", bar="").strip() in sentence
        or not spans
        or weighed.finding.kind not in _PLACED
    )
    if has_place:
        return f"{sentence} ({verdict})"
    where, what = spans[0], weighed.finding.what
    if isinstance(what, Mirror):
        where = Span(what.left.start_quarters, what.right.end_quarters)
    return f"{sentence} ({span_text(passage, where)}; {verdict})"


_PLACED: Final = frozenset({Kind.MIRROR, Kind.DRONE, Kind.PATTERN, Kind.MOTIVE})
"""Kinds that stand somewhere, rather than throughout."""


def _form(study: Study) -> list[Line]:
    """Give the passage's parts in letters: one for each riff, a mark for each further version."""
    passage = study.passage
    riffs = [
        one.finding.what.readings[0]
        for one in study.of_kind(Kind.PASSES)
        if one.is_solid and isinstance(one.finding.what, Passes) and one.finding.what.of == "notes"
    ]
    riffs.sort(key=lambda reading: reading.passes[0].span)
    parts = sorted(part for n, reading in enumerate(riffs) for part in _parts(passage, reading, n))
    if len(riffs) == 1:
        parts += [(one.span, one.role, "") for one in riffs[0].other]
        parts.sort()
    parts = _in_rows(parts)
    if not parts:
        return []
    letters = max(len(name) for _, name, _ in parts)
    return [
        (0, say("Form")),
        *(
            (1, f"{name:<{letters}}  {span_text(passage, span)}{f': {what}' if what else ''}")
            for span, name, what in parts
        ),
    ]


Part = tuple[Span, str, str]
"""Where a part stands, its letter, and what there is to say of it."""


def _parts(passage: Passage, reading: Reading, riff: int) -> Iterator[Part]:
    """Mark the statements of a riff; the same version has the same mark each time."""
    letter = chr(ord("A") + riff)
    versions: list[object] = []
    for one in reading.passes:
        version = _version(one)
        if version not in versions:
            versions.append(version)
        length = length_text(
            one.span.length_quarters, passage.bar_at(one.span.start_quarters).metre
        )
        what = [length]
        what += [counted(len(one.edits), "departure")] if one.edits else []
        what += filter(None, [missing_part(one)])
        level = f" ({signed(one.transposition)})" if one.transposition else ""
        yield one.span, f"{letter}{_mark(versions.index(version))}{level}", ", ".join(what)


def _version(one: Pass) -> object:
    """Give what makes two statements two versions: their departures, wherever they stand."""
    edits = tuple((edit.op, edit.template_attack, edit.expected, edit.found) for edit in one.edits)
    return one.truncated, edits, one.span.length_quarters if one.truncated != "none" else None


def _mark(version: int) -> str:
    """Mark the first version with nothing, three more with primes, and further ones by number.

    >>> [_mark(version) for version in (0, 1, 3, 4)]
    ['', '′', '‴', '5']
    """
    return _PRIMES[version] if version < len(_PRIMES) else str(version + 1)


_PRIMES: Final = ("", "′", "″", "‴")


def _in_rows(parts: Sequence[Part]) -> list[Part]:
    """Put parts that follow one another and are alike into one row."""
    rows: list[tuple[Part, int]] = []
    for part in parts:
        if rows:
            (span, name, what), count = rows[-1]
            if (name, what) == part[1:] and span.end_quarters == part[0].start_quarters:
                rows[-1] = (Span(span.start_quarters, part[0].end_quarters), name, what), count + 1
                continue
        rows.append((part, 1))
    return [
        (span, f"{name} ×{count}", say("{what} each", what=what))
        if count > 1
        else (span, name, what)
        for (span, name, what), count in rows
    ]


def _question(
    name: str, kinds: Sequence[Kind], told: Sequence[WeighedFinding], study: Study
) -> list[Line]:
    found = [one for one in told if one.finding.kind in kinds]
    found.sort(key=lambda one: not one.is_solid)
    return (
        [(0, say(name)), *(line for one in found for line in _finding(one, study))] if found else []
    )


def _finding(weighed: WeighedFinding, study: Study) -> list[Line]:
    finding = weighed.finding
    lines: list[Line] = [
        (1, finding.sentence),
        (2, f"{say(VERDICT_NAMES[weighed.verdict])}{_chance(weighed)}  [{finding.id}]"),
        (2, finding.detail),
    ]
    if isinstance(finding.what, Passes) and weighed.is_solid:
        lines += _departures(finding.what.readings[0], study.passage)
    lines += [
        (2, say("It {stands}.", stands=text)) for _, text in fragility_facts(weighed, study.passage)
    ]
    if weighed.follows_from:
        lines.append((2, say("It follows from {others}.", others=listed(weighed.follows_from))))
    others = [rival for rival in weighed.rivals if rival.description not in finding.detail]
    if others:
        # Mirrors of two kinds over the same notes may both hold.
        told = "; ".join(rival_text(one, study) for one in others[:2])
        if finding.kind is Kind.MIRROR:
            lines.append((2, say("Over the same notes: {rivals}.", rivals=told)))
        else:
            lines.append((2, say("Or else: {rivals}.", rivals=told)))
    return lines


def _departures(reading: Reading, passage: Passage) -> Iterator[Line]:
    for number, one in enumerate(reading.passes, start=1):
        told = [_departure(edit, passage) for edit in one.edits[:MOST_DEPARTURES_NAMED]]
        more = len(one.edits) - len(told)
        told += [say("and {count} more", count=more)] if more else []
        if told:
            yield 2, say("Pass {number}: {departures}.", number=number, departures="; ".join(told))


def _departure(edit: Edit, passage: Passage) -> str:
    at = place_in_words(passage.place(edit.at_quarters))
    metre = passage.bar_at(edit.at_quarters).metre
    found, expected = (_content(one, passage) for one in (edit.found, edit.expected))
    match edit.op:
        case "insert":
            return say("{place}, {sound} added", place=at, sound=found)
        case "delete":
            return say("{place}, {sound} missing", place=at, sound=expected)
        case "shift":
            is_long, was_long = (
                say("nothing") if content is None else length_text(content.value_quarters, metre)
                for content in (edit.found, edit.expected)
            )
            return say(
                "{place}, {sound} for {found} instead of {expected}",
                place=at,
                sound=found,
                found=is_long,
                expected=was_long,
            )
        case _:
            return say(
                "{place}, {found} instead of {expected}", place=at, found=found, expected=expected
            )


def _content(content: AttackContent | None, passage: Passage) -> str:
    if content is None or not content.pitches:
        return say("a dead stroke")
    names = names_in(passage)
    return "-".join(pitch_spelled(pitch, names) for pitch in content.pitches)


def _chance(weighed: WeighedFinding) -> str:
    chance = weighed.chance
    if chance is None:
        return ""
    q = "" if weighed.q is None else f", q = {probability_text(weighed.q)}"
    return f": {_how_often(chance)}{q}"


def _how_often(chance: Chance) -> str:
    if not chance.draws:
        return f"p = {probability_text(chance.p)} ({chance.model})"
    as_good = sum(draw >= chance.observed - 1e-9 for draw in chance.draws)
    return say(
        "{count} of {all} random versions do as well ({model})",
        count=as_good,
        all=len(chance.draws),
        model=chance.model,
    )


def _no_better_than_chance(study: Study) -> list[Line]:
    weak = [one for one in study.findings if one.verdict not in _TOLD]
    if not weak:
        return []
    return [
        (0, say("Looked at, and no better than chance or trivially true")),
        *((1, f"{one.finding.sentence} {_short_chance(one)}") for one in weak),
    ]


def _short_chance(weighed: WeighedFinding) -> str:
    if weighed.verdict is Verdict.TRIVIAL or weighed.chance is None:
        return f"({say(VERDICT_NAMES[Verdict.TRIVIAL])})"
    return f"(p = {number_text(weighed.chance.p)})"


def _left_out(study: Study) -> list[Line]:
    lines: list[Line] = [(1, f"{one.what}: {one.why} ({one.where})") for one in study.ignored]
    return [(0, say("Left out")), *lines] if lines else []


def _method(study: Study) -> list[Line]:
    if not any(one.q is not None for one in study.findings):
        return []
    questions = counted(study.asked, "question")
    text = say(
        "{questions} asked together: q is p after paying for all of them, so of those called "
        "likely one in twenty is expected to be chance, of those called firm one in a hundred. "
        "Seed {seed}.",
        questions=capital(questions),
        seed=study.seed,
    )
    return [(0, say("How it was weighed")), (1, text)]
