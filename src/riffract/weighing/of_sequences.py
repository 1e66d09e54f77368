"""How solid it is that a figure goes on in sequence."""

from collections.abc import Callable, Iterator
from math import log2
from typing import Final

import numpy as np

from riffract.analysis.motives.line import MotiveLine
from riffract.analysis.motives.sequence_told import sequence_finding
from riffract.analysis.motives.sequences import (
    FEWEST_STATEMENTS,
    Chain,
    best_bits,
    find_sequences,
    places_of,
)
from riffract.analysis.reordering import Floats, Ids
from riffract.analysis.saying import say
from riffract.weighing.best_of_many import tail
from riffract.weighing.chance import Chance
from riffract.weighing.motive_versions import (
    with_cells_reordered,
    with_pitches_reordered,
    with_steps_reordered,
)
from riffract.weighing.verdict import LIKELY_Q
from riffract.weighing.weighed import SMALLEST_P, Weighed

VERSIONS: Final = 39
"""Random versions of each sort: the law of the best of many is fitted to them, not counted."""

FEWEST_VERSIONS, EVENTS_DRAWN = 9, 6_000
"""Long lines get fewer versions, since every figure is looked for in each of them."""

_Version = tuple[str, Callable[[MotiveLine, int, np.random.Generator], Ids | None]]
NULL_MODELS: Final[tuple[_Version, ...]] = (
    ("rhythm kept, steps through the scale reordered", with_steps_reordered),
    ("rhythm kept, pitches reordered", with_pitches_reordered),
    ("rhythm kept, cells of about four notes reordered", with_cells_reordered),
)


def weighed_sequences(line: MotiveLine, seed: int) -> list[Weighed]:
    """Weigh the sequences of a line: how often has a random version of it one as telling?

    The best of each version counts, over all figures, places and scales, and a sequence has to
    stand against every sort of version, and to be worth more than the places it could start from.

    Args:
        line: the moving voice, with every repeat of the riff.
        seed: of the random versions.

    Returns:
        What may be told, by length; what chance does easily is left out.
    """
    places = places_of(line)
    told = find_sequences(line, least_bits=log2(places / LIKELY_Q)) if places else ()
    if not told:
        return []
    draws = dict(_drawn(line, seed))
    return [_weighed(line, one, draws, seed) for one in told]


def _drawn(line: MotiveLine, seed: int) -> Iterator[tuple[str, Floats]]:
    rng = np.random.default_rng(seed)
    count = int(np.clip(EVENTS_DRAWN // len(line), FEWEST_VERSIONS, VERSIONS))
    for name, reordered in NULL_MODELS:
        heights = reordered(line, count, rng)
        if heights is not None:
            yield name, best_bits(line, heights)


def _weighed(line: MotiveLine, chain: Chain, draws: dict[str, Floats], seed: int) -> Weighed:
    hardest = max(draws, key=lambda name: tail(chain.bits, draws[name]))
    anywhere = places_of(line) * 2.0**-chain.bits
    p = max(tail(chain.bits, draws[hardest]), anywhere, SMALLEST_P)
    fewer_bits = chain.bits * (1 - 1 / (chain.count - 1))
    return Weighed(
        finding=sequence_finding(line, chain),
        chance=Chance(
            observed=round(chain.bits, 6),
            draws=tuple(np.round(draws[hardest], 6).tolist()),
            model=say("{model}; p by the law of the best of many places", model=say(hardest)),
            seed=seed,
            exact_p=min(p, 1.0),
        ),
        log10_bayes=float((chain.bits - np.log2(places_of(line))) * np.log10(2.0)),
        survives=chain.count > FEWEST_STATEMENTS
        and all(tail(fewer_bits, bits) <= LIKELY_Q for bits in draws.values()),
    )
