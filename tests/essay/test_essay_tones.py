"""Every tone that the amplifier has can be asked for in an essay's settings."""

import msgspec
import pytest

from riffract.essay.settings import Film
from riffract.sound import Tone


@pytest.mark.parametrize("tone", Tone)
def test_a_film_can_have_every_tone(tone):
    assert msgspec.convert({"tone": str(tone)}, Film).tone == tone.value
