"""Which stretches of a passage may be its riff.

A riff starts or ends where a resemblance of the passage with itself starts or ends: the distances
at which most comes back give the lengths of riffs that follow upon themselves, and the edges of
what comes back there part the riffs that follow one another. A riff that is moved up or down comes
back in its steps and its values, not in its pitches.
"""

from collections.abc import Iterable, Iterator, Sequence
from typing import Final

import numpy as np

from riffract.analysis.description import ANY_VALUE, Ids, Spelling
from riffract.analysis.passes.cover import Template
from riffract.analysis.passes.recurrences import (
    SHORTEST_LAG,
    Resemblance,
    Stream,
    lags_of,
    resemblances,
)
from riffract.analysis.passes.template_prices import TemplateSet, all_tokens

SHORTEST_STRETCH: Final = SHORTEST_LAG
_LAGS_TRIED: Final = 8
"""Distances at which most comes back: the length of a riff, its halves and doubles, and the same
for a second and a third riff."""
_PLACES_TRIED: Final = 1_200
"""How many attacks the stretches of one length may hold together."""
_PLACES_BETWEEN: Final = 4_000
"""How many attacks the stretches between edges may hold together: these are of all lengths, so
there are more of them."""
_FEWEST_STRETCHES: Final = 4
"""Stretches that are tried even if they are so long that they exceed this: a riff may fill much of
a short passage."""
_TELLING_BITS: Final = 10.0
"""What comes back less tellingly is passed over: chance does this from a given place on once in a
thousand times."""
_SLIP_BITS: Final = 8.0
"""What a spoilt attack takes away: nearly what a resemblance must hold, so that chance agreements
do not prolong it past a slip."""
_EDGES_TRIED: Final = 32
"""Edges that stretches are laid between, the most telling first: two for each of sixteen
statements, more than most passages hold."""
_EDGES_SPANNED: Final = 4
"""How many edges further on a stretch may end: departures within a riff make edges of their own,
one or two in each statement."""
_MOVES_TRIED: Final = 3
"""Moves of one riff, the best borne out first: each is one more template that has to pay."""
_WIDEST_MOVE_SEMITONES: Final = 24
"""Two octaves, the range that the price of a moved form allows for (`MOVE_BITS`)."""
_SHORTEST_MOVE: Final = 3
"""Attacks that a move holds for: two may be a semitone off by the scale."""
_FEWEST_ANCHORS: Final = 3
"""Strokes of the lowest open string before riffs that move above it are looked for: one or two are
notes of the line."""
_GENERIC: Final = (0, 1, 1, 2, 2, 3, 3, 4, 5, 5, 6, 6)
"""Steps of a scale that an interval spans: a move within a scale makes no second a third."""


def likely_stretches(spelling: Spelling) -> list[Template]:
    """List the stretches that may be a riff: they start and end where something comes back.

    None ends with the last attack, whose value is not known. Of equal stretches one is listed, on
    a bar line if any is, then the earliest.
    """
    stream = Stream(
        tokens=all_tokens(spelling),
        bits=spelling.bits,
        parts=spelling.pitches,
        part_bits=spelling.pitch_bits,
    )
    lags = lags_of(stream, most=_LAGS_TRIED)
    found = resemblances(stream, lags, least_bits=_TELLING_BITS, slip_bits=_SLIP_BITS)
    stretches = [
        Template(start=start, length=lag)
        for lag in lags
        for start in _likely_starts(spelling, lag, _starts_of(found, lag))
    ]
    between = as_many(_between_edges(found), _PLACES_BETWEEN)
    return one_of_each_content(spelling, [*stretches, *between])


def one_of_each_content(spelling: Spelling, templates: Iterable[Template]) -> list[Template]:
    """Keep one of equal stretches, and of those that lie before the last attack."""
    tokens = all_tokens(spelling)
    kept: dict[bytes, Template] = {}
    inside = {t for t in templates if is_within(spelling, t)}
    for t in sorted(inside, key=lambda t: (not spelling.on_bar_line[t.start], t.start, t.length)):
        kept.setdefault(tokens[t.start : t.start + t.length].tobytes(), t)
    return list(kept.values())


def is_within(spelling: Spelling, template: Template) -> bool:
    """Whether a stretch lies before the last attack, whose value is not known."""
    end = template.start + template.length
    return template.start >= 0 and template.length >= SHORTEST_STRETCH and end < len(spelling)


def _starts_of(found: Iterable[Resemblance], lag: int) -> list[int]:
    """Where what comes back at a lag starts, the most of it first."""
    own = sorted((r for r in found if r.lag == lag), key=lambda r: (-r.bits, r.start))
    return [r.start for r in own]


def _likely_starts(spelling: Spelling, lag: int, edges: Sequence[int]) -> list[int]:
    """The first attack, those where a resemblance starts, and those on bar lines."""
    most = max(_PLACES_TRIED // lag, _FEWEST_STRETCHES)
    on_bar_lines = np.flatnonzero(spelling.on_bar_line)[:most].tolist()
    return list(dict.fromkeys([0, *edges[:most], *on_bar_lines]))[: 2 * most]


def _between_edges(found: Iterable[Resemblance]) -> Iterator[Template]:
    """Stretches between two edges of what comes back, not too far from one another."""
    best: dict[int, float] = {}
    for one in found:
        for edge in (one.start, one.end, one.start + one.lag, one.end + one.lag):
            best[edge] = max(best.get(edge, 0.0), one.bits)
    telling = sorted(best, key=lambda edge: (-best[edge], edge))[:_EDGES_TRIED]
    edges = sorted({0, *telling})
    for k, start in enumerate(edges):
        for end in edges[k + 1 : k + 1 + _EDGES_SPANNED]:
            yield Template(start=start, length=end - start)


def as_many(templates: Iterable[Template], places: int) -> list[Template]:
    """Keep the shortest stretches, as many as hold so many attacks together, but a few always."""
    kept: list[Template] = []
    for one in sorted(templates, key=lambda t: (t.length, t.start)):
        places -= one.length
        if places < 0 and len(kept) >= _FEWEST_STRETCHES:
            break
        kept.append(one)
    return kept


# Moved up or down


def moved_stretches(spelling: Spelling) -> list[TemplateSet]:
    """List stretches with the same moved up or down, wherever their steps come back elsewhere."""
    if not spelling.struck:
        return []
    has_anchor = int((spelling.pitches == spelling.anchor).sum()) >= _FEWEST_ANCHORS
    sets = [_moved(spelling, keeps_anchor=keeps) for keeps in (False, True)[: 1 + has_anchor]]
    return list(dict.fromkeys(one for found in sets for one in found))


def _moved(spelling: Spelling, *, keeps_anchor: bool) -> Iterator[TemplateSet]:
    heights = _heights(spelling)
    stays = (spelling.pitches == spelling.anchor) & keeps_anchor
    stream = _steps(spelling, heights, stays)
    lags = lags_of(stream, most=_LAGS_TRIED, moved=np.where(stays, 0, heights))
    alike = resemblances(stream, lags, least_bits=_TELLING_BITS, slip_bits=_SLIP_BITS)
    found = [part for one in alike for part in _by_move(one, stream, heights, stays)]
    for template in _moved_templates(spelling, lags, [one for one, _ in found]):
        moves = _moves_of(template, found)
        for count in range(1, len(moves) + 1):
            yield (
                template,
                *(
                    template._replace(semitones=by, keeps_anchor=keeps_anchor)
                    for by in moves[:count]
                ),
            )


def _heights(spelling: Spelling) -> Ids:
    """The lowest pitch of each attack; a dead one is as high as the one before it."""
    lowest = [min(pitches, default=-1) for pitches, _ in spelling.struck]
    heights = np.array(lowest, dtype=np.int64)[spelling.pitches]
    last = np.maximum.accumulate(np.where(heights >= 0, np.arange(len(heights)), 0))
    return heights[last]


def _steps(spelling: Spelling, heights: Ids, stays: Ids) -> Stream:
    """What stays the same when a passage is moved: steps, the build of chords, and values."""
    source = np.maximum.accumulate(np.where(stays, 0, np.arange(len(heights))))
    before = np.concatenate([[0], source[:-1]])
    steps = heights - heights[before]
    octaves, rest = np.divmod(np.abs(steps), 12)
    generic = np.sign(steps) * (7 * octaves + np.array(_GENERIC)[rest])
    generic[stays] = 1_000
    builds: dict[object, int] = {}
    build_of = np.array(
        [
            builds.setdefault((tuple(p - pitches[0] for p in pitches), dead), len(builds))
            for pitches, dead in spelling.struck
        ],
        dtype=np.int64,
    )[spelling.pitches]
    values = np.where(spelling.values == ANY_VALUE, 0, spelling.values + 1)
    parts = (generic - generic.min()) * len(builds) + build_of
    return Stream(
        tokens=parts * (int(values.max()) + 1) + values,
        bits=spelling.bits,
        parts=parts,
        part_bits=spelling.pitch_bits,
    )


def _by_move(
    one: Resemblance, stream: Stream, heights: Ids, stays: Ids
) -> Iterator[tuple[Resemblance, int]]:
    """Part a resemblance where its return begins to stand higher or lower than before.

    A move holds for three attacks at least: within a scale it is a semitone off here and there.
    """
    here = np.arange(one.start, one.end)
    here = here[~stays[here] & ~stays[here + one.lag]]
    moves = heights[here + one.lag] - heights[here]
    if len(moves) < _SHORTEST_MOVE:
        return
    holds = (moves[:-2] == moves[1:-1]) & (moves[1:-1] == moves[2:])
    firsts = np.flatnonzero(holds)
    if not len(firsts):
        return
    values = moves[firsts]
    turns = np.flatnonzero(np.diff(values)) + 1
    edges = [one.start, *here[firsts[turns]].tolist(), one.end]
    for start, end, move in zip(edges, edges[1:], values[np.r_[0, turns]].tolist(), strict=False):
        bits = float(stream.bits[start:end].sum())
        if move and abs(move) <= _WIDEST_MOVE_SEMITONES and bits >= _TELLING_BITS:
            yield Resemblance(start=start, end=end, lag=one.lag, bits=bits), int(move)


def _moved_templates(
    spelling: Spelling, lags: Sequence[int], found: Sequence[Resemblance]
) -> list[Template]:
    """Stretches of which a moved one is heard; its first step is not among what comes back."""
    lengths = dict.fromkeys(lags)
    firsts = sorted({max(one.start - 1, 0) for one in found})
    ends = [one.end for one in found]
    bars = np.flatnonzero(spelling.on_bar_line).tolist()
    stretches = [
        Template(start=start, length=length)
        for length in lengths
        for start in list(dict.fromkeys([0, *firsts, *bars]))[
            : max(_PLACES_TRIED // length, _FEWEST_STRETCHES)
        ]
    ]
    stretches += [
        Template(start=max(one.start - 1, 0), length=end - max(one.start - 1, 0))
        for one in found
        for end in {one.end, *(e for e in ends if one.start < e < one.end)}
    ]
    return one_of_each_content(spelling, as_many(stretches, _PLACES_BETWEEN))


def _moves_of(template: Template, found: Iterable[tuple[Resemblance, int]]) -> list[int]:
    """By how much a stretch is moved where it comes back elsewhere, the best borne out first."""
    bits_of: dict[int, float] = {}
    first, end = template.start, template.start + template.length
    for one, move in found:
        share = 1.0 / (one.end - one.start)
        for start, by in ((one.start, move), (one.start + one.lag, -move)):
            shared = min(end, start + one.end - one.start) - max(first, start)
            if 2 * shared >= template.length:
                bits_of[by] = bits_of.get(by, 0.0) + one.bits * share * shared
    return sorted(bits_of, key=lambda by: (-bits_of[by], abs(by), by))[:_MOVES_TRIED]
