"""Endings that a pass replaces: other music up to where the riff would have ended.

The cheapest cover says only that a pass stops early, and that other material, added attacks or a
long note follow. Where these last until the riff would have been over, a musician hears a whole
pass with another ending; its attacks then stand for those of the riff that sound at their time.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import takewhile

from riffract.analysis.attacks import Attack, held_until
from riffract.analysis.description import Spelling
from riffract.analysis.finding import Edit, Pass
from riffract.analysis.passes.cover import Op, Step, Template
from riffract.analysis.passes.cover_steps import op_of_pair
from riffract.music import Passage


def with_replaced_endings(
    passage: Passage,
    attacks: Sequence[Attack],
    spelling: Spelling,
    templates: Sequence[Template],
    runs: Sequence[Sequence[Step]],
) -> list[list[Step]]:
    """Make whole the passes that stop early while the music goes on to the riff's length.

    Args:
        passage: where all is.
        attacks: its attacks.
        spelling: the same, spelled out.
        templates: the riffs of the cover.
        runs: the cover, pass by pass and stretch by stretch.

    Returns:
        The runs. Other material that ends a pass has gone over to it, unless a section of its own
        starts there: one that begins on a bar line and goes on after the riff's length.
    """
    left = [list(run) for run in runs]
    whole: list[list[Step]] = []
    while left:
        run = left.pop(0)
        template = templates[run[0].template]
        if run[0].op == "other" or run[-1].place == template.length - 1:
            whole.append(run)
            continue
        other = left[0] if left and left[0][0].template < 0 else []
        maker = _Ending(passage, attacks, spelling, template)
        run, taken = maker.completed(run, other)
        whole.append(run)
        if taken:
            left[0] = [replace(s, begins=k == 0) for k, s in enumerate(other[taken:])]
            left = left if left[0] else left[1:]
    return whole


def replaced_ending(one: Pass) -> tuple[Edit, ...]:
    """List the edits that make another ending: all that follows the last attack of the riff kept.

    Nothing where a pass breaks off, where nothing stands for what is missing, or where single
    attacks are changed or something is added and no more.
    """
    changed = {edit.template_attack for edit in one.edits if edit.op != "insert"}
    last_kept = max((t for t, _ in one.pairs if t not in changed), default=-1)
    ending = tuple(edit for edit in one.edits if edit.template_attack > last_kept)
    ops = {edit.op for edit in ending}
    is_other = ("substitute" in ops and len(ops) > 1) or ops >= {"shift", "delete"}
    return ending if is_other and one.truncated == "none" else ()


class _Ending:
    """Completes passes of one riff."""

    def __init__(
        self,
        passage: Passage,
        attacks: Sequence[Attack],
        spelling: Spelling,
        template: Template,
    ) -> None:
        self._passage = passage
        self._attacks = attacks
        self._spelling = spelling
        self._template = template
        self._moved = spelling.moved(template.semitones, keeps_anchor=template.keeps_anchor)

    def completed(self, run: Sequence[Step], other: Sequence[Step]) -> tuple[list[Step], int]:
        """Give a pass with its ending, and how much of the other material that is.

        Of all attacks after which the ending may start, that one is taken that leaves the fewest
        departures, then the last one.
        """
        most = _departures(run) + self._template.length - 1 - run[-1].place
        best, taken = list(run), 0
        for k in reversed(range(len(run))):
            ending = None if 2 * k + 2 < self._template.length else self._ending(run, k, other)
            if ending is None:
                continue
            own, count = ending
            steps = [*run[: k + 1], *self._in_step(run[k], own)]
            cost = _departures(steps) - count
            if cost < most or (cost == most and best[-1].place < self._template.length - 1):
                best, taken, most = steps, count, cost
        return best, taken

    def _ending(
        self, run: Sequence[Step], k: int, other: Sequence[Step]
    ) -> tuple[list[int], int] | None:
        """Give the attacks from after a step up to the riff's end, if they last so long.

        Returns:
            The attacks, and how many of them are other material.
        """
        step = run[k]
        if step.op in {"insert", "delete"}:
            return None
        due = self._onset(step.attack) + self._end_quarters() - self._place_quarters(step.place)
        own = [s.attack for s in run[k + 1 :] if s.op != "delete"]
        taken = [s.attack for s in takewhile(lambda s: self._onset(s.attack) < due, other)]
        if taken and len(taken) < len(other):
            starts = [self._spelling.on_bar_line[other[n].attack] for n in (0, len(taken))]
            if starts != [False, True]:
                return None
        own += taken
        if not own:
            is_filled = held_until(self._passage, self._attacks[step.attack]) >= due
        else:
            is_filled = self._onset(own[-1]) < due <= self._attack_end(own[-1])
        return (own, len(taken)) if is_filled else None

    def _in_step(self, start: Step, own: Sequence[int]) -> Iterator[Step]:
        """Let attacks stand for those of the riff that sound at their time after `start`."""
        here, there = self._onset(start.attack), self._place_quarters(start.place)
        attack_at = {self._onset(attack) - here: attack for attack in own}
        place_at = {
            self._place_quarters(place) - there: place
            for place in range(start.place + 1, self._template.length)
        }
        place, following = start.place, start.attack + 1
        for moment in sorted({*attack_at, *place_at}):
            attack, place = attack_at.get(moment), place_at.get(moment, place)
            if attack is None:
                yield replace(start, attack=following, place=place, op="delete", begins=False)
                continue
            following = attack + 1
            op = self._op(attack, place) if moment in place_at else "insert"
            yield replace(start, attack=attack, place=place, op=op, begins=False)

    def _op(self, attack: int, place: int) -> Op:
        return op_of_pair(self._spelling, self._moved, attack, self._template.start + place)

    def _onset(self, attack: int) -> Fraction:
        return self._attacks[attack].onset_quarters

    def _place_quarters(self, place: int) -> Fraction:
        return self._onset(self._template.start + place)

    def _end_quarters(self) -> Fraction:
        return self._attack_end(self._template.start + self._template.length - 1)

    def _attack_end(self, attack: int) -> Fraction:
        """Tell when an attack's time is over: with the next one, or as long as the last is held."""
        if attack == len(self._attacks) - 1:
            return held_until(self._passage, self._attacks[attack])
        return self._onset(attack) + self._attacks[attack].value_quarters


def _departures(steps: Sequence[Step]) -> int:
    return sum(step.op != "keep" for step in steps)
