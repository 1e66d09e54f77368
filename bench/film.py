"""How long a film takes, against encoding the same frames alone.

Run from the repository: python -m bench.film [SECONDS A SHOT] [ROUNDS]
"""

import sys
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass, field
from functools import partial
from importlib.resources import files
from itertools import accumulate
from math import pi
from pathlib import Path
from resource import RUSAGE_SELF, getrusage
from statistics import median
from tempfile import TemporaryDirectory
from time import perf_counter, process_time

import numpy as np
from bench.timing import machine

from riffract.essay.proposals.proposal import proposed_claims
from riffract.essay.shot_list import shot_list
from riffract.formats.tab import read_tab
from riffract.music import TimeMap
from riffract.picture.look import DARK
from riffract.picture.raster import ScenePainter
from riffract.picture.scene import WIDE
from riffract.picture.scenes import scene_for
from riffract.publish.film.flash import FlashMeter
from riffract.publish.film.movie_file import MovieFile, MovieLabels
from riffract.publish.film.part import MovieFrame, PartFile, PictureConverter
from riffract.publish.film.writing import Reel, moments, write_film
from riffract.sound.sound import Sound
from riffract.weighing.weigh import study_passage

WIDTH, HEIGHT, FPS = 1920, 1080, 30
TARGET_RATIO, TARGET_SPEED = 1.25, 3.0


def demo_reels(seconds_a_shot: float) -> list[Reel]:
    """Take the start of each shot of the built-in essay, title and credits apart."""
    text = files("riffract.demo").joinpath("passage.tab").read_text(encoding="utf-8")
    passage = read_tab(text, source="passage.tab").passage
    assert passage is not None
    study = study_passage(passage)
    shots = shot_list(
        proposed_claims(study),
        TimeMap.from_tempos(passage.tempos, passage.length_quarters),
        title=passage.title,
        subtitle="",
        credits_lines=(),
        rights="",
    )[1:-1]
    return [
        Reel(
            title=shot.title,
            length_seconds=min(seconds_a_shot, shot.length_seconds),
            painter=partial(
                ScenePainter, scene_for(study, shot, WIDE), DARK, width=WIDTH, height=HEIGHT
            ),
        )
        for shot in shots
    ]


def join(parts: list[Path], counts: list[int], sound: Sound, path: Path) -> None:
    """Encode the sound and put parts that are ready together."""
    movie = MovieFile(
        path,
        first_part=parts[0],
        frames_a_second=FPS,
        frame_count=sum(counts),
        sound=sound,
        labels=MovieLabels(),
    )
    with closing(movie):
        for first_index, part in zip(accumulate(counts, initial=0), parts, strict=False):
            movie.add_part(part, first_index)
        movie.finish()


@dataclass(slots=True)
class Stopwatch:
    """Adds up the processor time spent on each kind of work."""

    seconds: dict[str, float] = field(default_factory=dict)

    @contextmanager
    def running(self, name: str) -> Iterator[None]:
        start = process_time()
        yield
        self.seconds[name] = self.seconds.get(name, 0.0) + process_time() - start


def made_parts(reels: list[Reel], watch: Stopwatch) -> list[list[MovieFrame]]:
    """Draw, check and convert every frame, reel by reel, step by step in one thread."""
    meter = FlashMeter(width=WIDTH, height=HEIGHT)
    parts: list[list[MovieFrame]] = []
    for moment in moments([r.length_seconds for r in reels], FPS):
        with watch.running("draw"):
            if moment.reel == len(parts):
                parts.append([])
                painter, converter = reels[moment.reel].painter(), PictureConverter()
            frame = painter.frame(moment.seconds)
        if frame.is_new:
            with watch.running("watch for flashes"):
                meter.add(moment.index / FPS, frame.pixels)
            with watch.running("convert"):
                picture = converter.converted(frame)
        parts[-1].append(MovieFrame(index=len(parts[-1]), picture=picture))
    return parts


def encode_alone(parts: list[list[MovieFrame]], folder: Path) -> list[Path]:
    """Encode frames that are ready, each part into its file."""
    paths = []
    for number, frames in enumerate(parts):
        paths.append(folder / f"{number}.mp4")
        file = PartFile(paths[-1], width=WIDTH, height=HEIGHT, frames_a_second=FPS)
        with closing(file):
            for frame in frames:
                file.add(frame)
            file.finish()
    return paths


def main(seconds_a_shot: float = 3.0, rounds: int = 3) -> None:
    """Time both in turn, so that a noisy machine hits both alike."""
    reels = demo_reels(seconds_a_shot)
    length_seconds = sum(reel.length_seconds for reel in reels)
    tone = 0.1 * np.sin(2 * pi * 220 * np.arange(int(length_seconds * 48_000)) / 48_000)
    sound = Sound(samples=np.stack([tone, tone]).astype(np.float32), rate_hz=48_000)
    watch = Stopwatch()
    with TemporaryDirectory() as place:
        folder = Path(place)
        path = folder / "film.mp4"

        def floor() -> None:
            with watch.running("encode pictures"):
                made = encode_alone(parts, folder)
            with watch.running("encode sound and join"):
                join(made, [len(frames) for frames in parts], sound, folder / "floor.mp4")

        def film() -> None:
            problems = write_film(
                path, reels, sound, width=WIDTH, height=HEIGHT, labels=MovieLabels()
            )
            assert not problems

        film()
        peak_mb = getrusage(RUSAGE_SELF).ru_maxrss / 1e3  # before the floor's frames are kept
        parts = made_parts(reels, watch)
        timed = [(_timed(film), _timed(floor)) for _ in range(rounds)]
        size_mb = path.stat().st_size / 1e6
    wall, cpu = (median(whole[i] for whole, _ in timed) for i in (0, 1))
    floor_wall, floor_cpu = (median(floor[i] for _, floor in timed) for i in (0, 1))
    ratio, cpu_ratio = (median(whole[i] / floor[i] for whole, floor in timed) for i in (0, 1))
    frames = [frame for part in parts for frame in part]
    pictures = len({id(frame.picture) for frame in frames})
    print(machine())
    print(f"{length_seconds:g} s of {WIDTH} × {HEIGHT} at {FPS} frames a second, {size_mb:.1f} MB")
    print(f"{len(frames)} frames, {pictures} of them different")
    print(f"film                       {wall:6.2f} s, CPU {cpu:6.2f} s")
    print(f"encoding alone             {floor_wall:6.2f} s, CPU {floor_cpu:6.2f} s")
    print(f"ratio                      {ratio:6.2f},   CPU {cpu_ratio:6.2f}; target {TARGET_RATIO}")
    print(f"seconds of film a second   {length_seconds / wall:6.2f}; target {TARGET_SPEED}")
    print(f"peak memory                {peak_mb:6.0f} MB; target 700")
    spent = {
        name: seconds / (rounds if name.startswith("encode") else 1)
        for name, seconds in watch.seconds.items()
    }
    print("CPU time of each kind of work, done one after the other:")
    for name, seconds in spent.items():
        print(f"  {name:<24} {seconds:6.2f} s {seconds / sum(spent.values()):6.0%}")


def _timed(work: Callable[[], None]) -> tuple[float, float]:
    """Give wall and CPU seconds, all threads together."""
    start, cpu_start = perf_counter(), process_time()
    work()
    return perf_counter() - start, process_time() - cpu_start


if __name__ == "__main__":
    main(*(float(a) if i == 0 else int(a) for i, a in enumerate(sys.argv[1:3])))  # type: ignore[arg-type]
