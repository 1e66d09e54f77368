"""The part of a package that holds the film's sound in stems: what is played, and what is said.

Each is as long as the film and as loud as it is in it, so that together they are its sound.
"""

from collections.abc import Collection
from pathlib import Path
from typing import Final

from riffract.essay.beside import beside
from riffract.essay.soundtrack import Layer
from riffract.publish.material import Material
from riffract.publish.parts import STEMS_FOLDER
from riffract.publish.published import Published
from riffract.sound.files import write_wav

HIGHEST_PEAK: Final = 0.999
"""A stem alone may peak above all of them together, and a WAV file ends at 1: then all are made
softer alike."""


def stems_part(material: Material, folder: Path) -> Published:
    """Write each layer of the sound as a WAV file; one that is not heard any more is taken away."""
    track = material.soundtrack()
    own = folder / STEMS_FOLDER
    own.mkdir(exist_ok=True)
    peaks = {layer: track.layer(layer).peak for layer in Layer}
    gain = HIGHEST_PEAK / max(HIGHEST_PEAK, *peaks.values())
    files = []
    for layer, peak in peaks.items():
        target = folder / stem_name(layer)
        if peak == 0.0:
            target.unlink(missing_ok=True)
            continue
        with beside(target) as path:
            write_wav(path, track.layer(layer).scaled(gain))
        files.append(target)
    return Published(files=tuple(files), problems=())


def stem_name(layer: Layer) -> str:
    """Name the file of a layer, from the package's folder."""
    return f"{STEMS_FOLDER}/{layer}.wav"


def stems_in(folder: Path) -> Collection[Layer]:
    """Tell which stems there are in a folder of things that went out."""
    return frozenset(layer for layer in Layer if (folder / stem_name(layer)).is_file())
