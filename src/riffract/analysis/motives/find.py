"""Where does this idea come from, what becomes of it?

Two searches answer: one for what earlier passages have of the passage studied, one for what it
takes up again itself, moved, turned or stretched, with notes put in, left out and changed. How
telling a return is, is counted in bits (`motives.prices`); whether that is more than chance, is
decided in `riffract.weighing`.

What only shares a rhythm is not told: most riffs have one rhythm throughout, and which parts of it
come back is the business of passes and metre. What shares its pitches in another rhythm is.
"""

from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from math import log2
from typing import Final

from riffract.analysis.finding import Finding, Kind, Motive
from riffract.analysis.motives.change import Change, change_of
from riffract.analysis.motives.family import Link, families_of
from riffract.analysis.motives.line import MotiveLine
from riffract.analysis.motives.prices import MOVES
from riffract.analysis.motives.search import Return, Search
from riffract.analysis.motives.told import Statement, statements_of
from riffract.analysis.motives.words import detail_of, sentence_of, turn_text
from riffract.analysis.what.motive import MotivePlace
from riffract.music import Span

_TOLD_P: Final = 0.05
"""Of all places where a return may start, chance does as well from one of them less often than
this: the level at which findings are called likely as well."""
_CHANGED_BITS: Final = -MOVES[2, 2]


@dataclass(frozen=True, slots=True, kw_only=True)
class FoundMotive:
    """A return that is told, and what its weight rests on.

    Attributes:
        finding: the answer.
        search: the search that found it.
        bits: how much better it explains the return than chance does.
        one_note_bits: what one note more or less makes of that, on average.
        rivals: other turns that explain the same notes, with their bits.
    """

    finding: Finding
    search: Search
    bits: float
    one_note_bits: float
    rivals: tuple[tuple[str, float], ...]


def find_motives(searches: Sequence[Search], riffs: Sequence[Span]) -> tuple[FoundMotive, ...]:
    """Find what comes back changed, and put together what belongs to one idea.

    Args:
        searches: within the passage, and of earlier ones in it.
        riffs: where the riffs of the passage stand, so that an idea can be named by its riff.

    Returns:
        By search, the most telling first; nothing where no four notes come back. Weak ones are
        left out, but for the best of each search, which chance decides on.
    """
    told = [(search, s) for search in searches for s in _told(search)]
    links = [_link(search, s) for search, s in told]
    found = []
    for (search, s), link, (family, stage) in zip(told, links, families_of(links), strict=True):
        change = _change(search, s)
        what = replace(_motive(search, s, link, change), family=family, stage=stage)
        found.append(
            FoundMotive(
                finding=_finding(search, s, what, riffs),
                search=search,
                bits=s.found.bits,
                one_note_bits=2 * s.found.bits / (len(s.found.pairs) - 1) + _CHANGED_BITS,
                rivals=tuple((turn_text(r), r.bits) for r in s.rivals),
            )
        )
    return tuple(found)


def _told(search: Search) -> tuple[Statement, ...]:
    """Choose what chance does not do from some pair of notes in any case."""
    least = log2(search.places / _TOLD_P) if search.places else 0.0
    return statements_of(search.returns(), is_within=search.is_within, least_bits=least)


def _link(search: Search, statement: Statement) -> Link:
    source, back = search.sources[statement.found.source], search.back
    return Link(
        source=_place(source, [i for i, _ in statement.pairs]),
        back=_place(back, [j for _, j in statement.pairs]),
        pairs=tuple((source.note_of(i), back.note_of(j)) for i, j in statement.pairs),
    )


def _place(line: MotiveLine, events: Collection[int]) -> MotivePlace:
    """Give the place of a figure, with the notes that stand between those that are paired."""
    own = range(min(events), max(events) + 1)
    return MotivePlace(
        passage=line.number,
        title=line.passage.title,
        span=line.span_of(own),
        notes=tuple(line.note_of(i) for i in own),
    )


def _change(search: Search, statement: Statement) -> Change:
    found: Return = statement.found
    return change_of(
        search.sources[found.source],
        search.back,
        statement.pairs,
        inverted=found.inverted,
        backwards=found.backwards,
    )


def _motive(search: Search, statement: Statement, link: Link, change: Change) -> Motive:
    source, back = search.sources[statement.found.source], search.back
    return Motive(
        source=link.source,
        return_=link.back,
        transform=change.transform,
        inserted=tuple(back.note_of(j) for j in change.inserted),
        dropped=tuple(source.note_of(i) for i in change.dropped),
        changed=tuple((source.note_of(i), back.note_of(j)) for i, j in change.changed),
        goes_on=tuple(_place(back, events) for events in statement.goes_on),
        is_free=change.is_free,
    )


def _finding(search: Search, statement: Statement, what: Motive, riffs: Sequence[Span]) -> Finding:
    places = [p for p in (what.source, what.return_, *what.goes_on) if p.passage == 0]
    bits = statement.found.bits
    return Finding(
        kind=Kind.MOTIVE,
        spans=tuple(sorted(p.span for p in places)),
        notes=tuple(sorted({i for p in places for i in p.notes})),
        what=what,
        measures={
            "bits": round(bits, 6),
            "notes": float(len(statement.pairs)),
            "statements": float(2 + len(what.goes_on)),
            "inserted_notes": float(len(what.inserted)),
            "dropped_notes": float(len(what.dropped)),
            "changed_notes": float(len(what.changed)),
            "moved_strings_share": round(_moved_strings(search, statement), 6),
        },
        sentence=sentence_of(what, search.back.passage, _earlier(search, statement), riffs),
        detail=detail_of(what, search.back.passage, _earlier(search, statement), bits),
    )


def _earlier(search: Search, statement: Statement) -> MotiveLine:
    return search.sources[statement.found.source]


def _moved_strings(search: Search, statement: Statement) -> float:
    """Share of the notes that come back on another string."""
    source, back = search.sources[statement.found.source], search.back
    strings = source.passage.notes.string, back.passage.notes.string
    moved = sum(
        strings[0][source.note_of(i)] != strings[1][back.note_of(j)] for i, j in statement.pairs
    )
    return float(moved / len(statement.pairs))
