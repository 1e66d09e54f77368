"""Attacks that are exchanged for others, where the cheapest cover says added and missing."""

from collections.abc import Sequence
from dataclasses import replace
from itertools import groupby

from riffract.analysis.attacks import Attack
from riffract.analysis.passes.cover import Step, Template


def with_substitutions(
    attacks: Sequence[Attack], template: Template, run: Sequence[Step]
) -> list[Step]:
    """Call it a substitution where an added attack shares a pitch with a missing one beside it.

    A block of added and missing attacks costs less than substitutions that share nothing; but
    where a chord has changed one note, nobody would say that one chord went and another came.
    """
    steps: list[Step] = []
    for is_block, group in groupby(run, key=lambda s: s.op in {"insert", "delete"}):
        block = list(group)
        steps += _paired(attacks, template, block) if is_block else block
    return steps


def _paired(attacks: Sequence[Attack], template: Template, block: Sequence[Step]) -> list[Step]:
    added = [s for s in block if s.op == "insert"]
    missing = [s for s in block if s.op == "delete"]
    due = [_moved(attacks[template.start + m.place], template.semitones) for m in missing]
    pairs = _best_pairs(
        [[len(set(attacks[a.attack].pitches) & set(pitches)) for pitches in due] for a in added]
    )
    if not pairs:
        return list(block)
    partner_of = {added[i].attack: j for i, j in pairs}
    taken = {j for _, j in pairs}
    left = [m for j, m in enumerate(missing) if j not in taken]
    steps: list[Step] = []
    # The last place before the block, whichever of the two came first in it.
    place = min(s.place - (s.op == "delete") for s in block)
    for step in added:
        partner = partner_of.get(step.attack)
        if partner is None:
            steps.append(replace(step, place=place))
            continue
        place = missing[partner].place
        steps += [replace(m, attack=step.attack) for m in left if m.place < place]
        left = [m for m in left if m.place > place]
        kept = attacks[step.attack].pitches == due[partner]
        steps.append(replace(step, place=place, op="value" if kept else "both"))
    return [*steps, *left]


def _moved(attack: Attack, semitones: int) -> tuple[int, ...]:
    return tuple(pitch + semitones for pitch in attack.pitches)


def _best_pairs(shared: Sequence[Sequence[int]]) -> list[tuple[int, int]]:
    """Pair rows with columns, in order, so that as much as possible is shared."""
    rows, columns = len(shared), len(shared[0]) if shared else 0
    best = [[0] * (columns + 1) for _ in range(rows + 1)]
    for i in range(1, rows + 1):
        for j in range(1, columns + 1):
            both = best[i - 1][j - 1] + shared[i - 1][j - 1]
            best[i][j] = max(both, best[i - 1][j], best[i][j - 1])
    pairs: list[tuple[int, int]] = []
    i, j = rows, columns
    while i and j:
        if best[i][j] == best[i - 1][j]:
            i -= 1
        elif best[i][j] == best[i][j - 1]:
            j -= 1
        else:
            i, j = i - 1, j - 1
            pairs.append((i, j))
    return pairs[::-1]
