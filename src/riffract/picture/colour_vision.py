"""How far apart two colours look, to normal eyes and to the three kinds of colour blindness."""

from enum import StrEnum
from types import MappingProxyType
from typing import Final

import numpy as np
from numpy.typing import NDArray

from riffract.picture.look import Rgb, linear

Floats = NDArray[np.float64]


class Vision(StrEnum):
    """A kind of colour vision, in words."""

    NORMAL = "normal colour vision"
    PROTAN = "red blindness"
    DEUTAN = "green blindness"
    TRITAN = "blue blindness"


_SIMULATIONS: Final = MappingProxyType(
    {
        Vision.NORMAL: np.identity(3),
        Vision.PROTAN: np.array(
            [
                [0.152286, 1.052583, -0.204868],
                [0.114503, 0.786281, 0.099216],
                [-0.003882, -0.048116, 1.051998],
            ]
        ),
        Vision.DEUTAN: np.array(
            [
                [0.367322, 0.860646, -0.227968],
                [0.280085, 0.672501, 0.047413],
                [-0.011820, 0.042940, 0.968881],
            ]
        ),
        Vision.TRITAN: np.array(
            [
                [1.255528, -0.076749, -0.178779],
                [-0.078411, 0.930809, 0.147602],
                [0.004733, 0.691367, 0.303900],
            ]
        ),
    }
)
"""From linear sRGB to what is seen of it, severity 1.0.

Source: Machado, Oliveira & Fernandes, IEEE TVCG 15/6 (2009).
"""

_CONES_OF_RGB: Final = np.array(
    [
        [0.4122214708, 0.5363325363, 0.0514459929],
        [0.2119034982, 0.6806995451, 0.1073969566],
        [0.0883024619, 0.2817188376, 0.6299787005],
    ]
)
_OKLAB_OF_CONES: Final = np.array(
    [
        [0.2104542553, 0.7936177850, -0.0040720468],
        [1.9779984951, -2.4285922050, 0.4505937099],
        [0.0259040371, 0.7827717662, -0.8086757660],
    ]
)


def oklab(colour: Rgb, vision: Vision = Vision.NORMAL) -> Floats:
    """Place a colour, as an eye sees it, in the OKLab space.

    Definition: sRGB is made linear, the simulation of the eye is applied and cut to 0..1, then
    the cones' answers are taken by a matrix, their cube roots, and a second matrix.

    Args:
        colour: sRGB, 0..1.
        vision: of the eye.

    Returns:
        Lightness 0..1, and two axes of hue, shape (3,).

    Source: Ottosson, A perceptual color space for image processing (2020).

    >>> [round(float(value), 3) for value in oklab((1.0, 1.0, 1.0))]
    [1.0, 0.0, 0.0]
    """
    light = np.array([linear(channel) for channel in colour])
    seen = np.clip(_SIMULATIONS[vision] @ light, 0.0, 1.0)
    return np.asarray(_OKLAB_OF_CONES @ np.cbrt(_CONES_OF_RGB @ seen))


def of_oklab(place: Floats) -> Rgb:
    """Give the colour at a place in OKLab; what lies beyond sRGB is cut to it.

    >>> tuple(round(channel, 3) for channel in of_oklab(oklab((0.25, 0.5, 0.75))))
    (0.25, 0.5, 0.75)
    """
    cones = np.linalg.solve(_OKLAB_OF_CONES, place) ** 3
    light = np.clip(np.linalg.solve(_CONES_OF_RGB, cones), 0.0, 1.0)
    curved = np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055)
    red, green, blue = (float(channel) for channel in curved)
    return (red, green, blue)


def distance(one: Rgb, other: Rgb, vision: Vision = Vision.NORMAL) -> float:
    """Tell how far apart two colours look: 100 × their Euclidean distance in OKLab.

    About 2 is the least that can be told apart side by side; black and white are 100 apart.
    """
    return 100.0 * float(np.linalg.norm(oklab(one, vision) - oklab(other, vision)))
