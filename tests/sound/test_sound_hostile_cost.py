"""What a hostile recording may cost: seconds and memory, measured in a process of its own."""

import json
import struct
import subprocess
import sys
import zlib
from dataclasses import dataclass
from pathlib import Path

import av
import numpy as np
import pytest

MOST_CPU_SECONDS = 12.0
"""The aim is 4; a busy machine may be three times as slow, of processor, too."""
MOST_MEGABYTES = 200

READ = """
import json, sys, time
from pathlib import Path
from riffract.sound.reading.one_channel import read_mono
from riffract.sound.sound import SoundProblem
start = time.process_time()
read = read_mono(Path(sys.argv[1]))
is_problem = isinstance(read, SoundProblem)
print(json.dumps({
    "seconds": time.process_time() - start,
    "megabytes": int(Path("/proc/self/status").read_text().split("VmHWM:")[1].split()[0]) / 1024,
    "told": [read.what, read.mend] if is_problem else list(read.notes),
}))
"""


def wav(channels: int = 2, rate: int = 48_000, bits: int = 16, claimed: int = 4_000) -> bytes:
    form = struct.pack(
        "<4sIHHIIHH", b"fmt ", 16, 1, channels, rate, 192_000, channels * bits // 8 % 65_536, bits
    )
    content = b"WAVE" + form + struct.pack("<4sI", b"data", claimed) + b"\x00\x10" * 2_000
    return b"RIFF" + struct.pack("<I", claimed + 36) + content


def flac_of_zeros(path: Path, seconds: int) -> None:
    with av.open(str(path), "w") as container:
        stream = container.add_stream("flac", rate=8_000, layout="stereo")
        for second in range(0, seconds, 60):
            frame = av.AudioFrame.from_ndarray(
                np.zeros((1, 960_000), np.int16), format="s16", layout="stereo"
            )
            frame.sample_rate, frame.pts = 8_000, second * 8_000
            sized = av.AudioResampler("s16", "stereo", 8_000, frame_size=4_608)
            for piece in sized.resample(frame):
                piece.pts = None
                container.mux(stream.encode(piece))
        container.mux(stream.encode(None))


FILES = {
    "claims-4-gb.wav": wav(claimed=2**32 - 40),
    "channels.wav": wav(channels=10_000),
    "rate.wav": wav(rate=2**31 - 1),
    "no-rate.wav": wav(rate=0),
    "bits.wav": wav(bits=65_535),
    "zeros.flac": b"fLaC" + bytes(5_000_000),
    "zeros.mp3": b"ID3\x04\x00\x00" + bytes(5_000_000),
    "large-tag.mp3": b"ID3\x04\x00\x00\x7f\x7f\x7f\x7f" + bytes(1_000_000),
    "boxes.m4a": b"\x00\x00\x00\x18ftypM4A " + bytes(12) + b"\x00\x00\x00\x08moov" * 200_000,
    "deep.m4a": b"\x00\x00\x00\x18ftypM4A " + bytes(12)
    + b"".join(struct.pack(">I4s", 800_000 - 8 * k, b"moov") for k in range(100_000)),
    "elements.mkv": b"\x1a\x45\xdf\xa3" + b"\x01\xff\xff\xff\xff\xff\xff\xff" * 500_000,
    "pages.ogg": (b"OggS\x00\x02" + bytes(21) + b"\x00") * 100_000,
    "syncs.mp3": b"\xff\xfb\x90\x64" * 1_000_000,
    "syncs.aac": b"\xff\xf1\x50\x80\x00\xff\xfc" * 500_000,
    "noise.aiff": b"FORM\x7f\xff\xff\xffAIFF" + zlib.compress(bytes(9_000_000)) * 9,
}  # fmt: skip


@dataclass(frozen=True)
class Cost:
    seconds: float
    megabytes: float
    told: list[str]


def cost(path: Path) -> Cost:
    run = subprocess.run(
        [sys.executable, "-c", READ, str(path)],
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )
    assert run.returncode == 0, run.stderr[-2000:]
    return Cost(**json.loads(run.stdout.splitlines()[-1]))


@pytest.mark.skipif(sys.platform != "linux", reason="memory is measured as Linux tells it")
@pytest.mark.parametrize("name", FILES)
def test_a_hostile_recording_costs_little_and_is_answered(tmp_path: Path, name: str) -> None:
    path = tmp_path / name
    path.write_bytes(FILES[name])
    spent = cost(path)
    assert spent.seconds < MOST_CPU_SECONDS
    assert spent.megabytes < MOST_MEGABYTES
    assert spent.told
    assert all(spent.told)


@pytest.mark.skipif(sys.platform != "linux", reason="memory is measured as Linux tells it")
def test_an_hour_of_nothing_takes_no_memory(tmp_path: Path) -> None:
    flac_of_zeros(tmp_path / "a.flac", 3_600)
    assert (tmp_path / "a.flac").stat().st_size < 1_000_000
    spent = cost(tmp_path / "a.flac")
    assert spent.megabytes < MOST_MEGABYTES
    assert spent.told[0] == "a.flac is silent from start to end"
