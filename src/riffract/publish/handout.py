"""The handout: what a reader needs to check the essay, as an accessible PDF (PDF/UA-1).

Everything that varies reaches the typesetter as data, never as markup, so no word of a user can
become an instruction.
"""

import json
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from importlib.resources import files
from pathlib import Path
from types import MappingProxyType
from typing import Any, Final, Literal
from unicodedata import category

import typst

from riffract import __version__
from riffract.analysis.saying import language, say, say_count
from riffract.analysis.spelling import pitch_spelled, spelled
from riffract.analysis.wording import bars_text
from riffract.essay.shots import SceneName, Shot
from riffract.music import Passage, Span, TempoMark
from riffract.picture.look import PAPER
from riffract.picture.marks import Role
from riffract.picture.type import missing_characters
from riffract.publish.about import About
from riffract.publish.evidence import (
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
from riffract.publish.glossary import references_for, terms_for
from riffract.publish.reading_help import samples
from riffract.publish.staff import staff_systems
from riffract.publish.systems import systems
from riffract.publish.wording import Fact, number_text
from riffract.weighing.study import VERDICT_NAMES, Study, Verdict, WeighedFinding

MOST_TAB_COLUMNS: Final = 109
"""What fits between the margins: 168 mm at 7.2 pt, each sign 0.602 of that wide."""

STAFF_WIDTH_MM: Final = 174.0
"""How wide a line of notation is: all that A4 leaves between the margins."""

SAFE_LISTENING: Final = (
    "Start softly and raise the level only as far as is comfortable, above all on headphones; "
    "rest your ears now and then. As a guide, 80 dB for 40 hours a week are held to be safe for "
    "adults, and each 3 dB more halves that time (WHO and ITU, Recommendation H.870)."
)

HEADINGS: Final[Mapping[str, str]] = MappingProxyType(
    {
        "in_short": "In short",
        "questions": "Questions",
        "find": "find",
        "look": "look at",
        "listen": "listen for",
        "answers": "The answers stand on the pages behind this one.",
        "not_weighed": "not weighed",
        "passage": "The passage",
        "pictures": "How to read the pictures",
        "claims": "The claims",
        "own": "The analyst's own observation; it was not weighed.",
        "rival": "rival",
        "verdicts": "What the verdicts mean",
        "rest": "Found, but not claimed",
        "finding": "Finding",
        "where": "Where",
        "verdict": "Verdict",
        "left_out": "Left out of the study",
        "terms": "Words used here",
        "again": "How this was made, and how to make it again",
        "made_with": "Made with Riffract",
        "seed": "Random versions were drawn with seed",
        "files": "Its files:",
        "and": "and",
        "sums": "You have the same files if their SHA-256 sums are these:",
        "same": "The same files, version and seed give the same findings:",
        "lists": "lists them all, with every number.",
        "literature": "Literature",
        "rights": "Rights",
        "others": "Recordings and music of others stay theirs; ask before you publish them.",
        "safe": "Safe listening",
    }
)
"""What the template says itself, by the names that it uses."""

EIGHTH: Final = 8
"""The unit of a metre in eighths."""

_LONGEST_WORD, _BREAK = 20, "\u200b"
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


@dataclass(frozen=True, slots=True, kw_only=True)
class Handout:
    """A finished handout.

    Attributes:
        pdf: the file.
        lost_signs: signs that no font has; they read as question marks.
    """

    pdf: bytes
    lost_signs: str = ""


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
    """
    claims = [shot for shot in shots if shot.scene not in NOT_CLAIMS]
    wholes = [shot for shot in shots if shot.scene is SceneName.WHOLE]
    claimed = {weighed.finding.id for shot in claims for weighed in shot.findings}
    rest = [weighed for weighed in study.findings if weighed.finding.id not in claimed]
    kinds = {weighed.finding.kind for weighed in study.findings}
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
        "samples": [{"svg": s.svg, "meaning": s.meaning} for s in samples(PAPER)],
        "staff": [
            {"svg": system.svg, "description": system.description}
            for system in staff_systems(study.passage, width_mm=STAFF_WIDTH_MM)
        ],
        "systems": parts,
        "tab_columns": max((len(row) for part in parts for row in part.splitlines()), default=0),
        "claims": [_claim(shot, study, figures) for shot in claims],
        "wholes": [_claim(shot, study, figures) for shot in wholes],
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


def handout_pdf(data: Mapping[str, Any]) -> Handout:
    """Set the handout, tagged for screen readers; the same data give the same bytes.

    Accessible PDF allows no sign without a glyph. What our fonts lack is looked for in the
    system's; what those lack too is written as a question mark.
    """
    text = json.dumps(data, ensure_ascii=False)
    try:
        return Handout(pdf=_accessible_pdf(text, _fonts(with_system=False)))
    except typst.TypstError as error:
        _check_glyph_missing(error)
    try:
        return Handout(pdf=_accessible_pdf(text, _fonts(with_system=True)))
    except typst.TypstError as error:
        _check_glyph_missing(error)
    lost = missing_characters(text).replace(_BREAK, "")
    text = text.translate(dict.fromkeys(map(ord, lost), "?"))
    return Handout(pdf=_accessible_pdf(text, _fonts(with_system=False)), lost_signs=lost)


def handout_pages(data: Mapping[str, Any], *, pixels_per_inch: float = 110.0) -> tuple[bytes, ...]:
    """Set the same handout as pictures, one PNG a page, to be looked at."""
    made: bytes | list[bytes] = typst.compile(
        _template(),
        format="png",
        ppi=pixels_per_inch,
        font_paths=_fonts(with_system=False),
        sys_inputs={"data": json.dumps(data, ensure_ascii=False)},
    )
    return tuple(made) if isinstance(made, list) else (made,)


def _template() -> bytes:
    return files(__package__).joinpath("handout.typ").read_bytes()


def _fonts(*, with_system: bool) -> typst.Fonts:
    """Take our own sans and the typesetter's built-in fonts, of which one is monospaced."""
    folder = Path(str(files("riffract.picture").joinpath("fonts")))
    return typst.Fonts(include_system_fonts=with_system, font_paths=[folder])


def _accessible_pdf(text: str, fonts: typst.Fonts) -> bytes:
    return typst.compile(
        _template(),
        format="pdf",
        pdf_standards="ua-1",
        font_paths=fonts,
        sys_inputs={"data": text},
    )


def _check_glyph_missing(error: typst.TypstError) -> None:
    """Let an error pass only if it says that a font lacks a sign."""
    if "could not be displayed" not in error.message:
        raise error


def _music(passage: Passage) -> Iterator[Fact]:
    tuning = passage.tuning
    names = spelled(tuning.open_pitches)
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


def _claim(shot: Shot, study: Study, figures: Mapping[str, Figure]) -> dict[str, Any]:
    figure = figures.get(shot.name)
    return {
        "title": _breakable(shot.title),
        "figure": None
        if figure is None
        else {"svg": figure.svg, "description": figure.description or shot.title},
        "said": [_breakable(line.text) for line in shot.lines],
        "findings": [
            _evidence(weighed, study, [play.span for play in shot.plays])
            for weighed in shot.findings
        ],
    }


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
    return re.sub(rf"\S{{{_LONGEST_WORD}}}(?=\S)", rf"\g<0>{_BREAK}", _printable(text))


def _printable(text: str) -> str:
    """Turn control signs into spaces; line ends and tabs stay."""
    return "".join(" " if category(c) == "Cc" and c not in "\n\t" else c for c in text)


def _strongest_first(weighed: WeighedFinding) -> int:
    return list(Verdict).index(weighed.verdict)
