"""How solid the ringing strings are."""

from riffract.analysis.finding import Drone, Finding
from riffract.analysis.saying import say
from riffract.music import Passage
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
                model=say(_MODEL),
                seed=view.seed,
            ),
            survives=found.measures["strikes"] > 1,
            carried_by=_only_stroke(found, view.passage),
        )
        for found in view.drones
    ]


def _only_stroke(found: Finding, passage: Passage) -> int | None:
    """Give the note that starts a ringing string, if it is struck but once."""
    if found.measures["strikes"] > 1 or not isinstance(found.what, Drone):
        return None
    pitch = found.what.pitch
    return next((note for note in found.notes if passage.notes.pitch[note] == pitch), None)
