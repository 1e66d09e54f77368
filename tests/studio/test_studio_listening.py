"""Sounds for the desks: what is heard when."""

import io
import wave
from pathlib import Path

import numpy as np
import pytest
from tests.studio.opened import demo_essay

from riffract.studio.listening import Listen, listen
from riffract.studio.problems import RefusedError


def nothing(_what: str, _share: float) -> None:
    pass


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> str:
    return str(demo_essay(tmp_path_factory.mktemp("listening") / "tide"))


def samples(wav: bytes) -> tuple[int, np.ndarray]:
    with wave.open(io.BytesIO(wav)) as file:
        data = np.frombuffer(file.readframes(file.getnframes()), "<i2").reshape(-1, 2)
        return file.getframerate(), data


def test_a_stretch_sounds_as_long_as_it_is_and_its_moments_rise(folder: str):
    heard = listen(nothing, folder, None, Listen(start="0", end="4", speed=0.5))
    rate, data = samples(heard.wav)
    assert len(data) / rate == pytest.approx(heard.seconds, abs=1e-3)
    seconds = [moment for moment, _ in heard.moments]
    assert seconds == sorted(seconds)
    assert heard.moments[0] == (0.0, 0.0)
    end, quarters = heard.moments[-1]
    assert end == pytest.approx(heard.seconds, abs=1e-3)
    assert quarters == 4.0
    assert not data[0].any()  # from silence, without a step


def test_a_loop_joins_without_a_step(folder: str):
    heard = listen(nothing, folder, None, Listen(start="0", end="2", is_looped=True))
    rate, data = samples(heard.wav)
    first, last = round(heard.loop_from * rate), round(heard.loop_to * rate)
    around = data[first - 50 : first + 50].astype(int)
    usual = np.abs(np.diff(around, axis=0)).max()
    step = np.abs(data[first].astype(int) - data[last - 1].astype(int)).max()
    assert step <= 2 * usual + 400


@pytest.mark.parametrize(
    ("wanted", "told"),
    [
        (Listen(start="3", end="3"), "nothing to hear"),
        (Listen(start="5000", end="5001"), "nothing to hear"),
        (Listen(sound="recording"), "no recording"),
        (Listen(speed=0.01), "longer than"),
    ],
)
def test_what_cannot_be_heard_is_told(folder: str, wanted: Listen, told: str):
    with pytest.raises(RefusedError, match=told):
        listen(nothing, folder, None, wanted)


def test_text_that_is_being_written_is_heard_as_it_stands(folder: str):
    text = Path(folder, "passage.tab").read_text().replace("tempo: q =", "tempo: e =")
    slow = listen(nothing, folder, text, Listen(start="0", end="2"))
    usual = listen(nothing, folder, None, Listen(start="0", end="2"))
    assert slow.seconds != usual.seconds
