"""The handout: all that a reader needs to check the essay, as plain values to be set."""

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any, Final, Literal
from unicodedata import category

from riffract import __version__
from riffract.analysis.saying import language, say, say_count
from riffract.analysis.spelling import names_in, pitch_spelled
from riffract.analysis.wording import bars_text
from riffract.essay.by_hand.measured import HandMeasured
from riffract.essay.shots import SceneName, Shot
from riffract.music import Passage, Span, TempoMark
from riffract.picture.look import PAPER
from riffract.picture.marks import Role
from riffract.publish.about import About
from riffract.publish.evidence.facts import (
    KIND_NAMES,
    METHODS,
    VERDICT_MEANINGS,
    VERDICT_STRENGTHS,
    facts,
    fragility_facts,
    listen_for,
    rival_text,
    weighing_facts,
)
from riffract.publish.handout.glossary import references_for, terms_for
from riffract.publish.handout.reading_help import samples
from riffract.publish.handout.systems import systems
from riffract.publish.handout.words import HEADINGS, SAFE_LISTENING
from riffract.publish.heard_facts import HeardFacts
from riffract.publish.set_by_hand import by_hand_facts
from riffract.publish.staff import StaffSystem, staff_systems
from riffract.publish.wording import Fact, number_text
from riffract.weighing.study import VERDICT_NAMES, Study, Verdict, WeighedFinding

MOST_TAB_COLUMNS: Final = 109
"""What fits between the margins: 168 mm at 7.2 pt, each sign 0.602 of that wide."""

STAFF_WIDTHS_MM: Final[Mapping[str, float]] = MappingProxyType({"a4": 174.0, "letter": 179.9})
"""How wide a line of notation is: all that the paper leaves between its margins of 18 mm."""

EIGHTH: Final = 8
"""The unit of a metre in eighths."""

BREAK: Final = "\u200b"
"""Where a word may break that is longer than any line."""

_LONGEST_WORD = 20
_PAPERS: Final[Mapping[str, str]] = {"a4": "a4", "letter": "us-letter"}
"""Papers by the typesetter's names."""

NOT_CLAIMS: Final = frozenset({SceneName.TITLE, SceneName.CREDITS, SceneName.WHOLE})


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """A picture for paper.

    Attributes:
        svg: the drawing.
        description: the picture in words.
    """

    svg: str
    description: str


def handout_data(
    study: Study,
    shots: Sequence[Shot],
    figures: Mapping[str, Figure],
    *,
    about: About,
    tab_text: str,
    sources: Sequence[str],
    sums: Mapping[str, str] = MappingProxyType({}),
    paper: Literal["a4", "letter"] = "a4",
    heard: HeardFacts | None = None,
    by_hand: Sequence[HandMeasured] = (),
) -> dict[str, Any]:
    """Gather all that the handout says, as plain values for the template.

    Args:
        study: the passage with all its findings.
        shots: the film's; those with a claim become the handout's claims.
        figures: pictures by the names of shots.
        about: title, credits and rights.
        tab_text: the passage as plain-text tab.
        sources: names of the files that the essay was made from.
        sums: SHA-256 of those of them that were at hand, by name.
        paper: its size.
        heard: what a recording says of the passage; `None` if none was listened to.
        by_hand: what the analyst has set by hand.
    """
    claims = [shot for shot in shots if shot.scene not in NOT_CLAIMS]
    wholes = [shot for shot in shots if shot.scene is SceneName.WHOLE]
    claimed = {weighed.finding.id for shot in claims for weighed in shot.findings}
    rest = [weighed for weighed in study.findings if weighed.finding.id not in claimed]
    kinds = {weighed.finding.kind for weighed in study.findings}
    staff = staff_systems(study.passage, width_mm=STAFF_WIDTHS_MM[paper])
    parts = list(systems(_printable(tab_text), most_columns=MOST_TAB_COLUMNS))
    return {
        "paper": _PAPERS[paper],
        "questions": [],
        "about": {
            "title": _breakable(about.title or study.passage.title or say("Untitled")),
            "subtitle": _breakable(about.subtitle),
            "credits": [_breakable(line) for line in about.credits],
            "rights": _breakable(about.rights),
        },
        "music": [list(fact) for fact in _music(study.passage)],
        "recording": _heard(heard),
        "samples": [{"svg": s.svg, "meaning": s.meaning} for s in samples(PAPER)],
        "staff": [{"svg": line.svg, "description": line.description} for line in staff],
        "is_too_fine": bool(len(study.passage.notes)) and not staff,
        "systems": parts,
        "tab_columns": max((len(row) for part in parts for row in part.splitlines()), default=0),
        "claims": _with_first_claims([_claim(shot, study, figures, staff) for shot in claims]),
        "wholes": [_claim(shot, study, figures, ()) for shot in wholes],
        "by_hand": [
            {"sentence": one.sentence, "facts": [list(fact) for fact in by_hand_facts(one)]}
            for one in by_hand
        ],
        "rest": [_row(weighed, study) for weighed in sorted(rest, key=_strongest_first)],
        "verdicts": [
            {
                "name": say(VERDICT_NAMES[verdict]),
                "meaning": say(VERDICT_MEANINGS[verdict]),
                "strength": VERDICT_STRENGTHS[verdict],
            }
            for verdict in Verdict
        ],
        "ignored": [{"what": i.what, "why": i.why, "where": i.where} for i in study.ignored],
        "terms": sorted(
            ([say(term.word), say(term.meaning)] for term in terms_for(kinds)),
            key=lambda term: term[0].casefold(),
        ),
        "references": [work.text for work in references_for(kinds)],
        "sources": [_breakable(name) for name in sources],
        "sums": [[_breakable(name), sums[name]] for name in sources if name in sums],
        "version": __version__,
        "seed": study.seed,
        "safe_listening": say(SAFE_LISTENING),
        "language": language().code.partition("-")[0],
        "words": {name: say(words) for name, words in HEADINGS.items()},
        "colours": {role.value: PAPER.hexes[role] for role in Role},
    }


def _heard(heard: HeardFacts | None) -> dict[str, Any] | None:
    if heard is None:
        return None
    return {
        "facts": [[name, _breakable(text)] for name, text in heard.facts],
        "doubts": list(heard.doubts),
        "by_ear": list(heard.by_ear),
    }


def _music(passage: Passage) -> Iterator[Fact]:
    tuning = passage.tuning
    names = names_in(passage)
    strings = " ".join(pitch_spelled(pitch, names) for pitch in tuning.open_pitches)
    yield (
        say("tuning"),
        strings + (say(", capo at fret {fret}", fret=tuning.capo) if tuning.capo else ""),
    )
    metres = list(dict.fromkeys(bar.metre.label_with_groups() for bar in passage.bars))
    # a metre and its grouping stay on one line
    yield (
        say("metre"),
        "; ".join(metres[:4]).replace(" = ", "\u00a0=\u00a0") + " …" * (len(metres) > 4),
    )
    tempos = list(dict.fromkeys(_tempo(passage, mark) for mark in passage.tempos))
    yield say("tempo"), "; ".join(tempos[:4]) + " …" * (len(tempos) > 4)
    bars = say_count(len(passage.bars), "{count} bar", "{count} bars")
    notes = say_count(len(passage.notes), "{count} note", "{count} notes")
    yield say("length"), f"{bars}, {notes}"


def _tempo(passage: Passage, mark: TempoMark) -> str:
    """Write a tempo in the beat of its metre: dotted quarters where eighths go by threes."""
    metre = passage.bar_at(mark.at_quarters).metre
    if metre.unit == EIGHTH and set(metre.beats) == {3}:
        dotted = number_text(mark.quarters_per_minute / 1.5)
        return say("{number} dotted quarters a minute", number=dotted)
    return say("{number} quarters a minute", number=number_text(mark.quarters_per_minute))


def _claim(
    shot: Shot, study: Study, figures: Mapping[str, Figure], staff: Sequence[StaffSystem]
) -> dict[str, Any]:
    figure = figures.get(shot.name)
    heard = shot.plays[0].span if shot.plays else None
    return {
        "title": _breakable(shot.title),
        "figure": None
        if figure is None
        else {"svg": figure.svg, "description": figure.description or shot.title},
        "said": [_breakable(line.text) for line in shot.lines],
        # The lines of music that hold what is played first, by number.
        "music": [
            number
            for number, line in enumerate(staff)
            if heard is not None and line.span.overlap_quarters(heard)
        ],
        "findings": [
            _evidence(weighed, study, [play.span for play in shot.plays])
            for weighed in shot.findings
        ],
    }


def _with_first_claims(claims: Sequence[dict[str, Any]]) -> list[dict[str, Any]]:
    """Tell each finding that an earlier claim has told already by which one, counted from 1."""
    first: dict[str, int] = {}
    for number, claim in enumerate(claims, start=1):
        for finding in claim["findings"]:
            first.setdefault(finding["id"], number)
    return [
        claim
        | {
            "findings": [
                one | {"told_with": 0 if first[one["id"]] == number else first[one["id"]]}
                for one in claim["findings"]
            ]
        }
        for number, claim in enumerate(claims, start=1)
    ]


def _evidence(weighed: WeighedFinding, study: Study, heard: Sequence[Span]) -> dict[str, Any]:
    finding = weighed.finding
    passage = study.passage
    return {
        "id": finding.id,
        "sentence": finding.sentence,
        "detail": finding.detail,
        "facts": [
            [say("where"), bars_text(passage, finding.spans)],
            [say("listen for"), listen_for(finding.what, passage, heard)],
            *([say(name), text] for name, text in facts(finding.what, passage)),
        ],
        "weighing": [
            [say(name), text]
            for name, text in (*weighing_facts(weighed), *fragility_facts(weighed, passage))
        ],
        "rivals": [rival_text(rival, study) for rival in weighed.rivals],
        "method": say(METHODS[finding.kind]),
        **_verdict(weighed.verdict),
    }


def _row(weighed: WeighedFinding, study: Study) -> dict[str, Any]:
    numbers = dict(weighing_facts(weighed))
    return {
        "kind": say(KIND_NAMES[weighed.finding.kind]),
        "sentence": weighed.finding.sentence,
        "where": bars_text(study.passage, weighed.finding.spans),
        "p": _small(numbers.get("p", "–")),
        "q": _small(numbers.get("q", "–")),
        **_verdict(weighed.verdict),
    }


def _small(probability: str) -> str:
    """Write a probability for a narrow column."""
    return probability.replace(say("less than {limit}", limit="").strip(), "<")


def _verdict(verdict: Verdict) -> dict[str, Any]:
    return {
        "verdict": say(VERDICT_NAMES[verdict]),
        "meaning": say(VERDICT_MEANINGS[verdict]),
        "strength": VERDICT_STRENGTHS[verdict],
    }


def _breakable(text: str) -> str:
    r"""Let words break that no line could hold.

    >>> _breakable("a" * 21).replace("\u200b", "|")
    'aaaaaaaaaaaaaaaaaaaa|a'
    """
    return re.sub(rf"\S{{{_LONGEST_WORD}}}(?=\S)", rf"\g<0>{BREAK}", _printable(text))


def _printable(text: str) -> str:
    """Turn control signs into spaces; line ends and tabs stay."""
    return "".join(" " if category(c) == "Cc" and c not in "\n\t" else c for c in text)


def _strongest_first(weighed: WeighedFinding) -> int:
    return list(Verdict).index(weighed.verdict)
