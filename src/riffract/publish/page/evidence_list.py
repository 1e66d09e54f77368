"""What bears a claim out, and what was set by hand, as lists of a web page."""

from collections.abc import Iterable, Iterator, Sequence
from html import escape

from riffract.analysis.saying import say
from riffract.essay.by_hand.measured import HandMeasured
from riffract.essay.shots import Shot
from riffract.publish.evidence.facts import (
    facts,
    fragility_facts,
    listen_for,
    measure_facts,
    rival_text,
    weighing_facts,
)
from riffract.publish.set_by_hand import NOT_FOUND, by_hand_facts
from riffract.publish.wording import spans_text
from riffract.weighing.study import VERDICT_NAMES, Study, WeighedFinding


def evidence_html(shot: Shot, study: Study) -> Iterator[str]:
    """List what a claim rests on, folded up; nothing if it rests on no finding.

    Yields:
        Elements, in order.
    """
    if not shot.findings:
        return
    heard = [play.span for play in shot.plays]
    what = shot.findings[0].finding.what
    listen = escape(listen_for(what, study.passage, heard))
    yield f"<p><strong>{escape(say('Listen for'))}:</strong> {listen}.</p>"
    yield f'<details class="evidence"><summary>{escape(say("Evidence"))}</summary>'
    for weighed in shot.findings:
        yield from _finding(weighed, study)
    yield "</details>"


def by_hand_html(by_hand: Sequence[HandMeasured]) -> Iterator[str]:
    """List what the analyst has set by hand, with what the notes say to it; nothing if nothing.

    Yields:
        Elements, in order.
    """
    if not by_hand:
        return
    yield '<section id="by-hand" aria-labelledby="by-hand-title">'
    yield f'<h2 id="by-hand-title">{escape(say("Set by hand"))}</h2>'
    yield f"<p>{escape(say(NOT_FOUND))}</p>"
    for one in by_hand:
        yield f"<p><strong>{escape(one.sentence)}</strong></p>"
        if one.facts:
            yield f'<details class="evidence"><summary>{escape(say("Evidence"))}</summary>'
            yield from _listed(by_hand_facts(one))
            yield "</details>"
    yield "</section>"


def _finding(weighed: WeighedFinding, study: Study) -> Iterator[str]:
    finding = weighed.finding
    verdict = say(VERDICT_NAMES[weighed.verdict])
    yield f"<p>{escape(finding.sentence)} <em>{escape(verdict)}</em></p>"
    yield from _listed((say(name), text) for name, text in _facts(weighed, study))


def _listed(facts_said: Iterable[tuple[str, str]]) -> Iterator[str]:
    yield "<dl>"
    for name, text in facts_said:
        yield f"<div><dt>{escape(name)}</dt><dd>{escape(text)}</dd></div>"
    yield "</dl>"


def _facts(weighed: WeighedFinding, study: Study) -> Iterator[tuple[str, str]]:
    passage = study.passage
    yield "where", spans_text(passage, weighed.finding.spans)
    yield from facts(weighed.finding.what, passage)
    yield from weighing_facts(weighed)
    yield from fragility_facts(weighed, passage)
    yield from measure_facts(weighed, passage)
    for rival in weighed.rivals:
        yield "rival", rival_text(rival, study)
