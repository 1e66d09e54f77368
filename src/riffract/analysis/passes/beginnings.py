"""Beginnings that a pass replaces: other music from where the riff would have begun.

The cheapest cover says that a pass comes in late, and that other material, or what the pass before
it adds, leads up to it. Where that material starts just when the riff was due, a musician hears a
whole pass with another beginning; its attacks then stand for those of the riff that sound at their
time. See `endings` for the other end.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from fractions import Fraction

from riffract.analysis.attacks import Attack
from riffract.analysis.description import Spelling
from riffract.analysis.finding import Edit, Pass
from riffract.analysis.passes.cover import Op, Step, Template
from riffract.analysis.passes.cover_steps import op_of_pair


def with_replaced_beginnings(
    attacks: Sequence[Attack],
    spelling: Spelling,
    templates: Sequence[Template],
    runs: Sequence[Sequence[Step]],
) -> list[list[Step]]:
    """Make whole the passes that come in late while the music has started in time.

    Args:
        attacks: of the passage.
        spelling: the same, spelled out.
        templates: the riffs of the cover.
        runs: the cover, pass by pass and stretch by stretch.

    Returns:
        The runs. What leads up to a late pass has gone over to it, unless it starts before the
        riff was due and no bar line parts it, or less than half of the riff follows.
    """
    whole: list[list[Step]] = []
    for run in runs:
        template = templates[run[0].template]
        if not whole or run[0].op == "other" or not 0 < 2 * run[0].place <= template.length:
            whole.append(list(run))
            continue
        maker = _Beginning(attacks, spelling, template)
        left, own = maker.parted(whole[-1], run[0])
        if own:
            whole[-1:] = [left] if left else []
            whole.append(maker.completed(run, own))
        else:
            whole.append(list(run))
    return whole


def replaced_beginning(one: Pass) -> tuple[Edit, ...]:
    """List the edits that make another beginning: all before the first attack of the riff kept.

    Nothing where a pass comes in late, or where single attacks are changed or added and no more.
    """
    changed = {edit.template_attack for edit in one.edits if edit.op != "insert"}
    kept = [template for template, _ in one.pairs if template not in changed]
    first_kept = min(kept, default=-1)
    beginning = tuple(
        edit
        for edit in one.edits
        if edit.template_attack < first_kept
        or (edit.template_attack == first_kept and edit.op == "insert")
    )
    ops = {edit.op for edit in beginning}
    is_other = "substitute" in ops and len(ops) > 1
    return beginning if is_other and one.truncated == "none" else ()


class _Beginning:
    """Completes passes of one riff."""

    def __init__(self, attacks: Sequence[Attack], spelling: Spelling, template: Template) -> None:
        self._attacks = attacks
        self._spelling = spelling
        self._template = template
        self._moved = spelling.moved(template.semitones, keeps_anchor=template.keeps_anchor)

    def parted(self, before: Sequence[Step], first: Step) -> tuple[list[Step], list[int]]:
        """Part what leads up to a late pass from what comes before it.

        Returns:
            The steps before; the attacks that lead up, none if they do not start in time.
        """
        due = self._onset(first.attack) - self._place_quarters(first.place)
        free = list(before) if before[0].op == "other" else _added_last(before)
        own = [step.attack for step in free if self._onset(step.attack) >= due]
        is_in_time = bool(own) and self._onset(own[0]) == due
        starts_apart = len(own) == len(free) or self._spelling.on_bar_line[own[0]] if own else False
        if not (is_in_time and starts_apart):
            return list(before), []
        left = list(before)[: len(before) - len(own)]
        return left, own

    def completed(self, run: Sequence[Step], own: Sequence[int]) -> list[Step]:
        """Give a pass with the attacks that lead up to it."""
        first = replace(run[0], begins=False)
        steps = [*self._in_step(first, own), first, *run[1:]]
        return [replace(steps[0], begins=True), *steps[1:]]

    def _in_step(self, first: Step, own: Sequence[int]) -> Iterator[Step]:
        """Let attacks stand for those of the riff that sound at their time before `first`."""
        start = self._onset(own[0])
        attack_at = {self._onset(attack) - start: attack for attack in own}
        place_at = {self._place_quarters(place): place for place in range(first.place)}
        place, following = 0, own[0]
        for moment in sorted({*attack_at, *place_at}):
            attack, place = attack_at.get(moment), place_at.get(moment, place)
            if attack is None:
                yield replace(first, attack=following, place=place, op="delete")
                continue
            following = attack + 1
            op = self._op(attack, place) if moment in place_at else "insert"
            yield replace(first, attack=attack, place=place, op=op)

    def _op(self, attack: int, place: int) -> Op:
        return op_of_pair(self._spelling, self._moved, attack, self._template.start + place)

    def _onset(self, attack: int) -> Fraction:
        return self._attacks[attack].onset_quarters

    def _place_quarters(self, place: int) -> Fraction:
        """Time from the riff's start to a place in it."""
        start = self._template.start
        return self._onset(start + place) - self._onset(start)


def _added_last(run: Sequence[Step]) -> list[Step]:
    """The attacks that a pass adds after all else."""
    count = 0
    while count < len(run) and run[len(run) - 1 - count].op == "insert":
        count += 1
    return list(run[len(run) - count :])
