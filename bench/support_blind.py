"""A set of recordings that nothing was tuned on: `python -m bench.support_blind [make]`.

Passages drawn with seeds that are used nowhere else, every voice, some in a room, with noise, with
a changing pace or with strings out of tune. It is listened to once, at the end of the work; the
seeds are then drawn anew before the next work begins.
"""

import os
import sys
from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import Final

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from bench import controls, plants
from bench.heard_passages import at_tempo
from bench.heard_scenes import VARIATIONS, Heard, Scene, Voice, can_play, heard
from bench.hearing import doubted, print_doubting
from bench.hearing_metrics import Doubting

from riffract.music import Passage

FOLDER: Final = Path("/tmp/hear7")
FOUR_BARS: Final = Fraction(16)

BLIND: Final[Mapping[str, Callable[[], Passage]]] = {
    "blind-line": lambda: at_tempo(plants.retrograde(221).music, 152.0),
    "blind-drone": lambda: at_tempo(plants.crossing_drone(222).music, 120.0),
    "blind-shape": lambda: at_tempo(plants.moved_shape(223).music, 96.0),
    "blind-passes": lambda: at_tempo(plants.edited_passes(224).music, 140.0),
    "blind-values": lambda: at_tempo(controls.CONTROLS["odd metre, mixed values"].draw(225), 118.0),
    "blind-chords": lambda: at_tempo(controls.CONTROLS["mixed chords"].draw(226), 88.0),
    "blind-fifths": lambda: at_tempo(controls.CONTROLS["power chords"].draw(227), 130.0),
    "blind-chug": lambda: at_tempo(controls.CONTROLS["chugging between notes"].draw(228), 150.0),
}
FAMILIES: Final = ("plain", "room-05", "plain", "pink-10", "wander-5", "plain", "strings-off-8")


def blind_scenes() -> Iterator[Scene]:
    """Every passage by four voices in turn, every other in a difficulty."""
    voices = list(Voice)
    for k, name in enumerate(BLIND):
        for j in range(4):
            number = 4 * k + j
            family = FAMILIES[number % len(FAMILIES)]
            scene = Scene(
                passage=name, voice=voices[number % len(voices)], family=family, seed=800 + number
            )
            yield replace(scene, **VARIATIONS.get(family, {}))


def blind(scene: Scene) -> Heard:
    """Make one of them, or take it from its folder."""
    return heard(scene, FOLDER, text=BLIND[scene.passage]())


def main() -> None:
    results: dict[str, list[Doubting]] = defaultdict(list)
    for seed, scene in enumerate(s for s in blind_scenes() if can_play(s)):
        made = blind(scene)
        if sys.argv[1:] == ["make"]:
            print(scene.name, flush=True)
            continue
        for way in ("true", "jitter", "aligned"):
            held = doubted(made, way, 1600 + seed)
            if held is not None:
                sort = "driven" if scene.voice.is_driven else "clean"
                results[f"{way}, {sort}"].append(held)
    print_doubting(dict(sorted(results.items())))


if __name__ == "__main__":
    main()
