"""How fast music is indexed and asked about, and how much memory that takes.

Run from the repository: python -m bench.corpus
"""

import resource
import tempfile
from fractions import Fraction
from functools import partial
from pathlib import Path
from time import perf_counter

import numpy as np
from bench.timing import machine, median_seconds, ratio

from riffract.essay.corpus.build import build_corpus
from riffract.essay.corpus.files import MeasuredFile, MusicFile
from riffract.essay.corpus.index import index_to_write
from riffract.essay.corpus.query import compare_with_corpus
from riffract.essay.corpus.reading import Reading
from riffract.essay.corpus.rows import add_files, finish
from riffract.formats.midi import write_midi
from riffract.formats.tab import write_tab
from riffract.music import Metre, NoteTableBuilder, Passage, TempoMark, Tuning, bars_in_row
from riffract.weighing.comparing.measured_part import measured_part, measured_surface
from riffract.weighing.comparing.profile import profile_of
from riffract.weighing.comparing.surface import BarLine, surface_from, surface_of

SIX = Tuning(open_pitches=(40, 45, 50, 55, 59, 64))
FOUR = Metre(groups=(4,), unit=4)
FILES = 300
PIECES = 500
PASSAGES_AIM = 10_000


def riff(seed: int, *, notes: int) -> Passage:
    """Make a random line in eighths and quarters on one string."""
    rng = np.random.default_rng(seed)
    builder = NoteTableBuilder()
    at = Fraction(0)
    for fret, value in zip(rng.integers(0, 15, notes), rng.integers(1, 3, notes), strict=True):
        length = Fraction(int(value), 2)
        builder.add(
            onset_quarters=at,
            duration_quarters=length,
            string=3,
            fret=int(fret),
            pitch=SIX.pitch_at(3, int(fret)),
        )
        at += length
    bars = -(-at // 4)
    return Passage(
        title=f"Bench {seed}",
        tuning=SIX,
        bars=bars_in_row((FOUR, None, n + 1) for n in range(int(bars))),
        tempos=(TempoMark(at_quarters=Fraction(0), quarters_per_minute=120.0),),
        notes=builder.build(),
    )


def of_files(place: Path) -> None:
    """Read, measure and write files of tab and MIDI."""
    music = place / "music"
    music.mkdir()
    size = 0
    for seed in range(FILES):
        passage = riff(seed, notes=120)
        path = music / f"{seed}.{'mid' if seed % 2 else 'tab'}"
        data = write_midi(passage) if seed % 2 else write_tab(passage).encode()
        path.write_bytes(data)
        size += len(data)
    for workers in (1, 2):
        index = place / f"{workers}.duckdb"
        start = perf_counter()
        built = build_corpus(music, index, reading=Reading(workers=workers))
        took = perf_counter() - start
        passages = sum(built.passages.values())
        print(
            f"{FILES} files of 120 notes, {workers} process(es): {took:.2f} s, "
            f"{FILES / took:.0f} files and {passages / took:.0f} passages a second"
        )
    again = median_seconds(partial(build_corpus, music, index), rounds=3)
    print(f"the same again, nothing new: {again:.3f} s")


def of_pieces(place: Path) -> Path:
    """Measure and write pieces that are read already."""
    index = place / "pieces.duckdb"
    surfaces = [surface_of(riff(seed, notes=300)) for seed in range(PIECES)]
    start = perf_counter()
    parts = [
        measured_surface(s, name="", title=f"{k}", is_for_strings=True)
        for k, s in enumerate(surfaces)
    ]
    measured = perf_counter() - start
    passages = sum(len(w) for part in parts for w in part.windows)
    start = perf_counter()
    with index_to_write(index) as connection:
        for first in range(0, PIECES, 50):
            some = [
                MeasuredFile(
                    file=MusicFile(name=f"{k}", path=Path(f"{k}"), size_bytes=0, changed_ns=0),
                    sha256=f"{k}",
                    parts=(parts[k],),
                )
                for k in range(first, first + 50)
            ]
            add_files(connection, some, grid="")
        finish(connection)
    written = perf_counter() - start
    print(
        f"{passages} passages of {PIECES} pieces: measured {passages / measured:.0f} a second, "
        f"written {passages / written:.0f} a second, {index.stat().st_size / passages:.0f} bytes "
        "each"
    )
    return index


def of_questions(index: Path) -> None:
    """Ask where a passage stands and what is like it."""
    surface = surface_of(riff(9_999, notes=300))
    for attacks in (8, 16, 32, 64, 128):
        profile = profile_of(surface, attacks)
        assert profile is not None
        ask = partial(compare_with_corpus, profile, index)
        passages = ask().corpus.passages
        once = median_seconds(ask, rounds=9)
        print(f"a question about {passages} passages of {attacks} attacks: {1000 * once:.0f} ms")
    floor = partial(np.sort, np.random.default_rng(1).random((PASSAGES_AIM, 41)), axis=0)
    print(f"  = {ratio(ask, floor, rounds=9):.1f} × sorting a table of {PASSAGES_AIM} × 41")


def of_one_long_file() -> None:
    """Measure a hundred thousand notes."""
    count = 100_000
    rng = np.random.default_rng(1)
    surface = surface_from(
        onset_ticks=np.arange(count),
        pitch=rng.integers(40, 80, count),
        ticks_per_quarter=2,
        bar_lines=[BarLine(start_quarters=Fraction(4 * k), metre=FOUR) for k in range(count // 8)],
    )
    work = partial(measured_surface, surface, name="", title="", is_for_strings=True)
    print(f"100,000 notes in one part: {median_seconds(work, rounds=3):.2f} s")


def main() -> None:
    print(machine())
    measured_part(riff(0, notes=40))
    with tempfile.TemporaryDirectory() as name:
        place = Path(name)
        of_files(place)
        of_questions(of_pieces(place))
    of_one_long_file()
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"peak memory of this process {peak:.0f} MB")


if __name__ == "__main__":
    main()
