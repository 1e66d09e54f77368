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
from pathlib import Path
from typing import Final

os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

from bench import controls, plants
from bench.heard_passages import at_tempo
from bench.heard_scenes import VARIATIONS, Scene, Voice, can_play, heard
from bench.hearing import doubted, print_doubting
from bench.hearing_metrics import Doubting

from riffract.music import Passage

FOLDER: Final = Path("/tmp/hear9")
FIRST_SEED: Final = 247
ROUNDS: Final = 2
"""How many passages of each manner are drawn, at two tempos."""

VOICES_EACH: Final = 3

DRAWS: Final[Mapping[str, tuple[Callable[[int], Passage], float, float]]] = {
    "line": (lambda seed: plants.retrograde(seed).music, 152.0, 176.0),
    "drone": (lambda seed: plants.crossing_drone(seed).music, 120.0, 104.0),
    "shape": (lambda seed: plants.moved_shape(seed).music, 96.0, 132.0),
    "passes": (lambda seed: plants.edited_passes(seed).music, 140.0, 112.0),
    "values": (controls.CONTROLS["odd metre, mixed values"].draw, 118.0, 136.0),
    "chords": (controls.CONTROLS["mixed chords"].draw, 88.0, 108.0),
    "fifths": (controls.CONTROLS["power chords"].draw, 130.0, 150.0),
    "chug": (controls.CONTROLS["chugging between notes"].draw, 150.0, 124.0),
}
"""How a passage is drawn, and its tempo in the first and in the second round."""

FAMILIES: Final = ("plain", "room-05", "plain", "pink-10", "wander-5", "plain", "strings-off-8")


def blind_scenes() -> Iterator[tuple[Scene, Passage]]:
    """Every passage by voices in turn, every other in a difficulty."""
    voices = list(Voice)
    passages = [(name, turn) for turn in range(ROUNDS) for name in DRAWS]
    for k, (name, turn) in enumerate(passages):
        draw, *tempos = DRAWS[name]
        text = at_tempo(draw(FIRST_SEED + k), tempos[turn])
        for j in range(VOICES_EACH):
            number = VOICES_EACH * k + j
            family = FAMILIES[number % len(FAMILIES)]
            scene = Scene(
                passage=f"blind-{name}-{turn}", voice=voices[number % len(voices)], family=family,
                seed=800 + number,
            )  # fmt: skip
            yield replace(scene, **VARIATIONS.get(family, {})), text


def main() -> None:
    results: dict[str, list[Doubting]] = defaultdict(list)
    playable = (pair for pair in blind_scenes() if can_play(pair[0]))
    for seed, (scene, text) in enumerate(playable):
        made = heard(scene, FOLDER, text=text)
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
