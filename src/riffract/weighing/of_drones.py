"""How solid the ringing strings are."""

from riffract.weighing.view import View
from riffract.weighing.weighed import Weighed, computed_chance

_MODEL = "every string leaves its pitch at an attack with one and the same chance"


def weighed_drones(view: View) -> list[Weighed]:
    """Weigh ringing strings by how long each is held."""
    return [
        Weighed(
            finding=found,
            chance=computed_chance(
                found.measures["chance_p"],
                observed=found.measures["longest_hold_attacks"],
                model=_MODEL,
                seed=view.seed,
            ),
            survives=found.measures["strikes"] > 1,
        )
        for found in view.drones
    ]
