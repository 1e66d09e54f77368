"""Index pieces that come as lists of notes, and make the background table that ships.

The lists lie beside the repository (see the README there): one JSON object a line with `meters`,
`bars` and `parts`, a note being [onset in quarters, duration in quarters, MIDI pitch]. They serve
tests and benchmarks; they are no format of Riffract's users.

    python -m tools.corpus_from_notes index FOLDER OUT.duckdb    index every piece
    python -m tools.corpus_from_notes background FOLDER          make the table that ships
"""

import gzip
import json
import sys
from collections.abc import Iterator
from fractions import Fraction
from hashlib import sha256
from itertools import islice
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

import riffract.weighing
from riffract.essay.corpus.build import BATCH_FILES
from riffract.essay.corpus.files import MeasuredFile, MusicFile
from riffract.essay.corpus.index import index_to_write, set_about
from riffract.essay.corpus.rows import add_files, finish
from riffract.music import Metre
from riffract.weighing.comparing.background import FILE, table_text
from riffract.weighing.comparing.measured_part import MeasuredPart, measured_surface
from riffract.weighing.comparing.surface import BarLine, Surface, felt_beats, surface_from

TICKS_PER_QUARTER = 10_080
"""Onsets come rounded to four decimals; this holds every tuplet up to tens, thirty-seconds too."""

SOURCES = ("lieder", "quartets")
MOST_CHORDS_SHARE = 0.1
"""Riffs are compared with lines: parts that strike more chords, as pianos do, are left out."""

UNFIT = ("chord_share", "notes_per_attack")
"""What the choice of parts decides is no fact about the music."""

TITLE = "songs and string quartets, mostly of the 19th century"
PROVENANCE = (
    "Lines of singers and string players from the OpenScore Lieder Corpus "
    "(github.com/OpenScore/Lieder, commit bca122458de6) and OpenScore String Quartets "
    "(github.com/OpenScore/StringQuartets, commit 2c723a5b7b4e), both CC0 1.0. Parts of which more "
    "than a tenth of the attacks are chords were left out, repeats not written out. Made by "
    "tools/corpus_from_notes.py."
)


def pieces(folder: Path, source: str) -> Iterator[dict[str, Any]]:
    """Read the pieces of one file, one after the other."""
    with gzip.open(folder / f"{source}.jsonl.gz", "rt", encoding="utf-8") as lines:
        yield from map(json.loads, lines)


def surface_of_part(part: dict[str, Any], bars: list[BarLine]) -> Surface:
    """Lay a part out attack by attack."""
    notes = np.array(part["notes"], dtype=np.float64)
    order = np.argsort(notes[:, 0], kind="stable")
    return surface_from(
        onset_ticks=np.round(notes[order, 0] * TICKS_PER_QUARTER).astype(np.int64),
        pitch=notes[order, 2].astype(np.int64),
        ticks_per_quarter=TICKS_PER_QUARTER,
        bar_lines=bars,
    )


def bar_lines(piece: dict[str, Any]) -> list[BarLine]:
    """Lay bars out from the changes of metre.

    The lists do not say how long a pick-up bar is. The length is taken, in eighths, with which
    most notes of the first metre start on felt beats; 0 if that does as well.
    """
    changes = [(_quarters(at), metre_named(name)) for at, name in piece["meters"]]
    changes[0] = (Fraction(0), changes[0][1])
    onsets = np.array([note[0] for part in piece["parts"] for note in part["notes"]])
    ends = [at for at, _ in changes[1:]] + [_quarters(onsets.max()) + 1]
    lines: list[BarLine] = []
    for number, ((start, metre), end) in enumerate(zip(changes, ends, strict=True)):
        at = start
        if number == 0 and (pick_up := likely_pick_up(onsets[onsets < float(end)], metre)):
            missing = metre.length_quarters - pick_up
            lines.append(BarLine(start_quarters=at, metre=metre, missing_quarters=missing))
            at += pick_up
        while at < end:
            lines.append(BarLine(start_quarters=at, metre=metre))
            at += metre.length_quarters
    return lines


def likely_pick_up(onset_quarters: NDArray[np.float64], metre: Metre) -> Fraction:
    """Give the length of a pick-up bar with which most notes start on felt beats."""
    bar = float(metre.length_quarters)
    beats = np.cumsum((0, *felt_beats(metre)[:-1])) * float(metre.unit_quarters)

    def on_beat(pick_up: Fraction) -> int:
        at = np.round((onset_quarters - float(pick_up)) % bar, 3)
        return int(np.isin(at, np.round(beats, 3)).sum())

    lengths = [Fraction(k, 2) for k in range(int(2 * metre.length_quarters))]
    return max(lengths, key=lambda length: (on_beat(length), -length), default=Fraction(0))


def _quarters(number: float) -> Fraction:
    return Fraction(round(number * TICKS_PER_QUARTER), TICKS_PER_QUARTER)


def metre_named(name: str) -> Metre:
    """Read a metre such as `7/8` or `3+2/8`."""
    units, unit = name.split("/")
    return Metre(groups=tuple(int(n) for n in units.split("+")), unit=int(unit))


def measured_piece(piece: dict[str, Any], *, lines_only: bool) -> tuple[MeasuredPart, ...]:
    """Measure the parts of a piece; none if it does not say its metre."""
    found = []
    if not piece["meters"]:
        return ()
    bars = bar_lines(piece)
    for part in piece["parts"]:
        if not part["notes"]:
            continue
        surface = surface_of_part(part, bars)
        if lines_only and (surface.note_count > 1).mean() > MOST_CHORDS_SHARE:
            continue
        found.append(
            measured_surface(surface, name=part["name"], title=piece["title"], is_for_strings=False)
        )
    return tuple(found)


def measured_files(
    folder: Path, *, lines_only: bool, most: int | None = None
) -> Iterator[MeasuredFile]:
    """Measure pieces as if each were a file; so many of each source at most."""
    for source in SOURCES:
        for piece in islice(pieces(folder, source), most):
            file = MusicFile(name=piece["id"], path=Path(piece["id"]), size_bytes=0, changed_ns=0)
            yield MeasuredFile(
                file=file,
                sha256=sha256(piece["id"].encode()).hexdigest(),
                parts=measured_piece(piece, lines_only=lines_only),
            )


def index(folder: Path, out: Path, *, lines_only: bool = True, most: int | None = None) -> None:
    """Write pieces into an index."""
    with index_to_write(out) as connection:
        set_about(connection, title=TITLE, provenance=PROVENANCE)
        measured = measured_files(folder, lines_only=lines_only, most=most)
        while some := list(islice(measured, BATCH_FILES)):
            add_files(connection, some, grid="")
        finish(connection)


def background(folder: Path) -> None:
    """Make the table that ships."""
    rows: dict[int, list[tuple[int, NDArray[np.float32]]]] = {}
    for number, one in enumerate(measured_files(folder, lines_only=True)):
        for part in one.parts:
            for windows in part.windows:
                rows.setdefault(windows.attacks, []).append((number, windows.values))
    text = table_text(rows, title=TITLE, provenance=PROVENANCE, unfit=UNFIT)
    out = Path(riffract.weighing.__file__).with_name(FILE)
    out.write_text(text, encoding="utf-8")
    print(f"{out}: {len(text.encode())} bytes")


if __name__ == "__main__":
    match sys.argv[1:]:
        case ["index", folder, out]:
            index(Path(folder), Path(out))
        case ["background", folder]:
            background(Path(folder))
        case _:
            print(__doc__)
