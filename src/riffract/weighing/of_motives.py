"""How solid it is that an idea comes back, here or from an earlier passage."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import partial
from typing import Final

import numpy as np

from riffract.analysis.attacks import attacks_of
from riffract.analysis.drones.find import drone_notes, find_drones
from riffract.analysis.finding import Ignored, Motive, Passes, Reading
from riffract.analysis.motives.find import FoundMotive, find_motives
from riffract.analysis.motives.known import follows_from_earlier, is_of_passes, is_of_sequence
from riffract.analysis.motives.line import MotiveLine, motive_line
from riffract.analysis.motives.search import Search
from riffract.analysis.passes.find import find_passes
from riffract.analysis.reordering import Floats, Ids
from riffract.analysis.saying import say
from riffract.analysis.wording import place_in_words
from riffract.music import Passage
from riffract.weighing.best_of_many import tail
from riffract.weighing.chance import Chance
from riffract.weighing.motive_versions import (
    with_cells_reordered,
    with_pedal_kept,
    with_pitches_reordered,
    with_steps_reordered,
)
from riffract.weighing.of_sequences import weighed_sequences
from riffract.weighing.verdict import LIKELY_Q
from riffract.weighing.view import View, moving_voice
from riffract.weighing.weighed import SMALLEST_P, Weighed, bits_behind

VERSIONS: Final = 59
"""Random versions of each sort. The best of a search follows Gumbel's law, whose two numbers are
known well enough from so many; counting alone would need thousands."""

FEWEST_VERSIONS, EVENTS_DRAWN = 19, 30_000
"""Long lines get fewer versions, since what is best among many places varies less."""

LONGEST_LINE: Final = 4_000
"""Notes of a line that are looked at: beyond, a search would take longer than all else together."""

HOPELESS_P: Final = 0.3
"""Once chance does as well so often, further versions cannot bring it down to what is solid."""

_ANY_INTERVALS: Final = (
    "intervals drawn one by one from the passage's own, from any pair of notes on"
)

_Version = tuple[str, Callable[[int, np.random.Generator], tuple[Ids, Ids] | None]]


def weighed_motives(view: View) -> list[Weighed]:
    """Weigh returns: how often does as much come back in random versions of the lines?

    The best return of each version counts, over all places and turns, and a return has to stand
    against every sort of version. It also has to be worth more than the number of pairs of notes it
    could have started from.
    """
    here = _line(view)
    sequences = weighed_sequences(_whole_line(view), view.seed)
    earlier = [
        _line_of(passage, number=k - len(view.earlier)) for k, passage in enumerate(view.earlier)
    ]
    searches = [Search((here,), here)]
    if any(len(line) for line in earlier):
        searches.append(Search([line for line in earlier if len(line)], here))
    possible = [search for search in searches if search.is_possible]
    found = find_motives(possible, [reading.template for reading in view.readings])
    weighed = list(sequences)
    for search in possible:
        own = [one for one in found if one.search is search]
        if own:
            weighed += _weighed_search(search, own, view.seed)
    return [one for one in weighed if one in sequences or not _is_known(one, weighed, view)]


def _is_known(one: Weighed, weighed: Sequence[Weighed], view: View) -> bool:
    """Whether passes, a sequence, or the returns of an earlier passage tell a return already."""
    what = one.finding.what
    if not isinstance(what, Motive) or what.source.passage < 0:
        return False
    solid = [w.finding.what for w in weighed if w is not one and _is_solid(w)]
    told = [other for other in solid if isinstance(other, Motive)]
    earlier = [other for other in told if other.source.passage < 0]
    sequences = [other for other in told if other.goes_on]
    return (
        is_of_passes(what, _solid_readings(view))
        or is_of_sequence(what, sequences)
        or follows_from_earlier(what, earlier)
    )


def _solid_readings(view: View) -> list[Reading]:
    return [
        found.what.readings[0]
        for found in view.passes
        if isinstance(found.what, Passes)
        and found.what.of == "notes"
        and 2.0 ** -found.measures["saved_bits"] <= LIKELY_Q
    ]


def _is_solid(one: Weighed) -> bool:
    return one.chance is not None and one.chance.p <= LIKELY_Q


def motives_ignored(view: View) -> tuple[Ignored, ...]:
    """Say where a line is cut that is longer than what is looked at; empty if it is not."""
    here = _line(view)
    if len(here) < LONGEST_LINE:
        return ()
    last = here.passage.notes[here.note_of(-1)]
    why = say(
        "returns are looked for in the first {count} notes that repeat no riff", count=LONGEST_LINE
    )
    where = say("after {place}", place=place_in_words(here.passage.place(last.onset_quarters)))
    return (Ignored(what=say("rest of a long line"), why=why, where=where),)


def _line(view: View) -> MotiveLine:
    return motive_line(
        view.passage,
        view.attacks,
        view.lead,
        view.readings,
        number=0,
        most_events=LONGEST_LINE,
    )


def _whole_line(view: View) -> MotiveLine:
    """Lay out the moving voice with every repeat: a sequence may look like passes of a riff."""
    return motive_line(
        view.passage, view.attacks, view.lead, (), number=0, most_events=LONGEST_LINE
    )


def _weighed_search(search: Search, found: Sequence[FoundMotive], seed: int) -> list[Weighed]:
    best = max(one.bits for one in found)
    draws: dict[str, Floats] = {}
    if _anywhere(search, best) <= HOPELESS_P:
        draws = _drawn(search, best, seed)
    weighed = [_weighed(one, draws, seed) for one in found]
    return [
        w
        for place, w in enumerate(weighed)
        if place == 0 or (w.chance is not None and w.chance.p <= LIKELY_Q)
    ]


def _anywhere(search: Search, bits: float) -> float:
    """Bound how often chance gains so many bits, whatever pair of notes it starts from."""
    return float(min(search.places * 2.0**-bits, 1.0))


def _weighed(one: FoundMotive, draws: Mapping[str, Floats], seed: int) -> Weighed:
    chances = {name: tail(one.bits, bits) for name, bits in draws.items()}
    hardest = max(chances, key=lambda name: chances[name]) if chances else say(_ANY_INTERVALS)
    anywhere = _anywhere(one.search, one.bits)
    own = draws.get(hardest, np.zeros(0))
    return Weighed(
        finding=one.finding,
        chance=Chance(
            observed=round(one.bits, 6),
            draws=tuple(np.round(own, 6).tolist()),
            model=say("{model}; p by the law of the best of many places", model=hardest)
            if draws
            else hardest,
            seed=seed,
            exact_p=max(chances.get(hardest, 0.0), anywhere, SMALLEST_P),
        ),
        log10_bayes=(one.bits - np.log2(one.search.places)) * np.log10(2.0),
        rivals=bits_behind(-one.bits, [(name, -bits) for name, bits in one.rivals]),
        survives=_anywhere(one.search, one.bits - one.one_note_bits) <= LIKELY_Q
        and all(tail(one.bits - one.one_note_bits, bits) <= LIKELY_Q for bits in draws.values()),
    )


def _drawn(search: Search, best: float, seed: int) -> dict[str, Floats]:
    """Draw every sort of version, and give the bits of the best return in each.

    Drawing stops as soon as it is plain that one sort does as well as the music.
    """
    rng = np.random.default_rng(seed)
    events = len(search.source_heights) + len(search.back)
    most = int(np.clip(EVENTS_DRAWN // events, FEWEST_VERSIONS, VERSIONS))
    draws: dict[str, Floats] = {}
    for name, draw in _versions(search):
        bits = np.zeros(0)
        for count in (FEWEST_VERSIONS, most - FEWEST_VERSIONS):
            drawn = draw(count, rng) if count else None
            if drawn is not None:
                bits = np.concatenate([bits, search.best_bits(*drawn)])
            if len(bits) and tail(best, bits) > HOPELESS_P:
                return {name: bits}
        if len(bits):
            draws[name] = bits
    return draws


def _versions(search: Search) -> Iterator[_Version]:
    sorts = (
        (say("steps through the scale reordered"), with_steps_reordered),
        (say("pitches reordered"), with_pitches_reordered),
        (say("pitches reordered but for the one that comes most often"), with_pedal_kept),
        (say("cells of about four notes reordered"), with_cells_reordered),
    )
    for name, reordered in sorts:
        if search.is_within:
            yield say("rhythm kept, {what}", what=name), partial(_both, search, reordered)
        else:
            yield (
                say("rhythm and earlier passages kept, {what}", what=name),
                partial(_back, search, reordered),
            )
    if not search.is_within:
        name, reordered = sorts[0]
        yield (
            say("this passage and all rhythms kept, {what} in the earlier ones", what=name),
            partial(_sources, search, reordered),
        )


_Reordered = Callable[[MotiveLine, int, np.random.Generator], Ids | None]


def _both(
    search: Search, reordered: _Reordered, count: int, rng: np.random.Generator
) -> tuple[Ids, Ids] | None:
    heights = reordered(search.back, count, rng)
    return None if heights is None else (heights, heights)


def _back(
    search: Search, reordered: _Reordered, count: int, rng: np.random.Generator
) -> tuple[Ids, Ids] | None:
    heights = reordered(search.back, count, rng)
    return None if heights is None else (np.tile(search.source_heights, (count, 1)), heights)


def _sources(
    search: Search, reordered: _Reordered, count: int, rng: np.random.Generator
) -> tuple[Ids, Ids] | None:
    heights = [reordered(line, count, rng) for line in search.sources]
    if any(one is None for one in heights):
        return None
    drawn = np.concatenate([one for one in heights if one is not None], axis=1)
    return drawn, np.tile(search.back.heights, (count, 1))


def _line_of(passage: Passage, *, number: int) -> MotiveLine:
    """Lay out the moving voice of an earlier passage, as the passage studied has it."""
    attacks = attacks_of(passage)
    ringing = drone_notes(find_drones(passage, attacks))
    lead = moving_voice(passage, attacks, ringing)
    passes = find_passes(passage, attacks)
    readings = [
        p.what.readings[0] for p in passes if isinstance(p.what, Passes) and p.what.of == "notes"
    ]
    return motive_line(passage, attacks, lead, readings, number=number, most_events=LONGEST_LINE)
