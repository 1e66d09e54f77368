"""The common time axis of a stack of passes: one column for one attack of the template."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

from riffract.analysis.attacks import Attack
from riffract.analysis.finding import Pass
from riffract.picture.departures import inserts_in_time


@dataclass(frozen=True, slots=True, kw_only=True)
class Axis:
    """Where each attack of the template stands, in quarters from the left.

    Attributes:
        columns: start of each template attack's column, by the attack's index.
        slots: for each template attack before which some pass adds something, where the room for
            that starts and how wide it is.
        length_quarters: of the whole axis.
        template_end_quarters: where the template ends in the passage.
    """

    columns: Mapping[int, Fraction]
    slots: Mapping[int, tuple[Fraction, Fraction]]
    length_quarters: Fraction
    template_end_quarters: Fraction

    def places(self, one: Pass, attacks: Sequence[Attack]) -> dict[int, Fraction]:
        """Tell where each attack of a pass stands; what is added stands in its slot, in order.

        What is added and takes no time of its own needs no slot, and stands in time.
        """
        found = {own: self.columns[template] for template, own in one.pairs}
        in_time = inserts_in_time(one, attacks, self.template_end_quarters)
        found |= {own: self.columns[before] + later for own, (before, later) in in_time.items()}
        used: dict[int, Fraction] = {}
        for template, own in _added(one, attacks, self.template_end_quarters):
            start, _ = self.slots[template]
            found[own.index] = start + used.get(template, Fraction(0))
            used[template] = used.get(template, Fraction(0)) + own.value_quarters
        return found


def axis_of(template: Sequence[Attack], passes: Sequence[Pass], attacks: Sequence[Attack]) -> Axis:
    """Lay out the template so that every pass finds room for what it adds or holds longer.

    A longer value needs no room of its own where what follows in the template is left out.
    """
    columns: dict[int, Fraction] = {}
    slots: dict[int, tuple[Fraction, Fraction]] = {}
    now = Fraction(0)
    partners = [dict(one.pairs) for one in passes]
    end = template[-1].onset_quarters + template[-1].value_quarters
    added = [_added_quarters(one, attacks, end) for one in passes]
    for place, attack in enumerate(template):
        room = max((more.get(attack.index, Fraction(0)) for more in added), default=Fraction(0))
        if room:
            slots[attack.index] = (now, room)
            now += room
        columns[attack.index] = now
        widths = [
            attacks[pairs[attack.index]].value_quarters - _left_out(template[place + 1 :], pairs)
            for pairs in partners
            if attack.index in pairs
        ]
        now += max([attack.value_quarters, *widths])
    return Axis(columns=columns, slots=slots, length_quarters=now, template_end_quarters=end)


def _left_out(following: Sequence[Attack], pairs: Mapping[int, int]) -> Fraction:
    """Tell how long the next attacks are that a pass leaves out, up to the first that it has."""
    total = Fraction(0)
    for attack in following:
        if attack.index in pairs:
            break
        total += attack.value_quarters
    return total


def _added(
    one: Pass, attacks: Sequence[Attack], template_end_quarters: Fraction
) -> list[tuple[int, Attack]]:
    """List the added attacks that need a slot, each with the template's attack behind it."""
    inserts = [edit for edit in one.edits if edit.op == "insert"]
    in_time = inserts_in_time(one, attacks, template_end_quarters)
    return [
        (edit.template_attack, attack)
        for edit in inserts
        for attack in attacks
        if attack.onset_quarters == edit.at_quarters and attack.index not in in_time
    ]


def _added_quarters(
    one: Pass, attacks: Sequence[Attack], template_end_quarters: Fraction
) -> dict[int, Fraction]:
    total: dict[int, Fraction] = {}
    for template, attack in _added(one, attacks, template_end_quarters):
        total[template] = total.get(template, Fraction(0)) + attack.value_quarters
    return total
