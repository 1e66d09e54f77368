"""The script: shot by shot, what is claimed, said and played, with the evidence, as Markdown."""

import re
from collections.abc import Iterator, Sequence
from itertools import accumulate

from riffract.analysis.saying import say, say_count
from riffract.essay.shots import Shot
from riffract.music import Passage
from riffract.publish.evidence.facts import (
    facts,
    fragility_facts,
    listen_for,
    measure_facts,
    rival_text,
    weighing_facts,
)
from riffract.publish.wording import Fact, clock_text, duration_text, play_text, spans_text
from riffract.weighing.study import VERDICT_NAMES, Study, WeighedFinding


def script_text(shots: Sequence[Shot], study: Study, *, title: str = "") -> str:
    """Write the script of a film. Times are from the film's start.

    Its title is the passage's unless the essay has one in its language.

    Words of the user are escaped, so that they read as written and cannot become markup.
    """
    starts = [0.0, *accumulate(shot.length_seconds for shot in shots)]
    paragraphs = [
        f"# {escaped(title or study.passage.title or say('Untitled'))}",
        say_count(
            len(shots),
            "{count} shot, {length}.",
            "{count} shots, {length}.",
            length=duration_text(starts[-1]),
        ),
    ]
    for number, (shot, start) in enumerate(zip(shots, starts, strict=False), start=1):
        paragraphs += _shot(number, shot, start, study)
    return "\n\n".join(paragraphs) + "\n"


def escaped(text: str) -> str:
    r"""Escape what Markdown would read as markup, and join lines.

    Source: CommonMark 0.31, 2.4: any ASCII punctuation may be escaped with a backslash.

    >>> print(escaped("a *b* [c](d) <e>"))
    a \*b\* \[c\](d) \<e\>
    """
    joined = " ".join(text.split())
    marked = re.sub(r"([\\`*_\[\]<>#|~]|&(?=#|\w+;))", r"\\\1", joined)
    return re.sub(r"^(\d*)([-+=.)])(?=\s|$|=|-)", r"\1\\\2", marked)


def _shot(number: int, shot: Shot, start: float, study: Study) -> Iterator[str]:
    passage = study.passage
    end = start + shot.length_seconds
    yield f"## {number}. {escaped(shot.title)}"
    times = say("{start} to {end}", start=clock_text(start), end=clock_text(end))
    picture = say(f"picture: {shot.scene}")
    yield f"{times} · {picture} · `{shot.name}`"
    if shot.details:
        yield "\n".join(f"- {escaped(detail)}" for detail in shot.details)
    if shot.lines:
        yield f"**{say('Say')}**"
        yield "\n".join(
            f"- {clock_text(start + line.start_seconds)} {escaped(line.text)}"
            for line in shot.lines
        )
    if shot.plays:
        yield f"**{say('Play')}**"
        yield "\n".join(
            f"- {clock_text(start + play.at_seconds)} {play_text(passage, play)}"
            for play in shot.plays
        )
    if shot.findings:
        heard = [play.span for play in shot.plays]
        what = shot.findings[0].finding.what
        yield f"**{say('Listen for')}:** {escaped(listen_for(what, passage, heard))}."
        yield f"**{say('Evidence')}**"
        yield "\n".join(
            line for weighed in shot.findings for line in _evidence(weighed, passage, study)
        )


def _evidence(weighed: WeighedFinding, passage: Passage, study: Study) -> Iterator[str]:
    finding = weighed.finding
    yield f"- {escaped(finding.sentence)} *{say(VERDICT_NAMES[weighed.verdict])}* (`{finding.id}`)"
    yield f"  - {say('where')}: {spans_text(passage, finding.spans)}"
    for name, text in _all_facts(weighed, passage):
        yield f"  - {escaped(say(name))}: {escaped(text)}"
    if finding.measures:
        numbers = "; ".join(
            f"{say(name)} = {text}" for name, text in measure_facts(weighed, passage)
        )
        yield f"  - {say('numbers')}: {escaped(numbers)}"
    for rival in weighed.rivals:
        yield f"  - {say('rival')}: {escaped(rival_text(rival, study))}"


def _all_facts(weighed: WeighedFinding, passage: Passage) -> tuple[Fact, ...]:
    return (
        *facts(weighed.finding.what, passage),
        *weighing_facts(weighed),
        *fragility_facts(weighed, passage),
    )
