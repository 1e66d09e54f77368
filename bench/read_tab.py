"""Reading a tab against splitting its text, timed in turn; and how reading grows with size.

A riff repeats: lines that come again are known after the first time. How long a tab takes in which
no line is like another is told as well.

Run from the repository: python -m bench.read_tab
"""

import re
from functools import partial
from math import log
from random import Random

from bench.timing import machine, median_seconds, ratio

from riffract.formats.tab import read_tab

HEADER = """\
title: Benchmark
tuning: B1 E2 A2 D3 G3 B3 E4
metre: 11/8 = 3+3+3+2
tempo: q = 132

"""
LINE = """\
ring              --        --        --              --        --        --
pm         ---       ---       ---             ---       ---       ---
time       s s e  e  s s e  e  s s e  e  q     s s e  e  s s e  e  s s e  e  q
e        |-----------------------------------|-----------------------------------|
B        |-----------------------------------|-----------------------------------|
G        |-----------------------------------|-----------------------------------|
D        |--------5---------5---------5------|--------5---------5---------5------|
A        |-----3---------4---------5-----12--|-----3---------4---------5-----12--|
E        |-------------------------------10--|-------------------------------10--|
B        |-0-0-------0-0-------0-0-------10--|-0-0-------0-0-------0-0-------10--|

"""
NOTES_A_LINE = 30
FRETS = re.compile("[0-9]+(?=-)")
SIZES = (300, 2_000, 20_000, 100_000)


def split(text: str) -> list[list[str]]:
    return [line.split() for line in text.split("\n")]


def without_repetition(size: int) -> str:
    """Write lines that differ in their frets, of one or two digits as before."""
    seed = Random(1)

    def other(fret: re.Match[str]) -> str:
        lowest, highest = (10, 19) if len(fret[0]) == 2 else (0, 9)
        return str(seed.randint(lowest, highest))

    head, strings = LINE.split("\ne ", 1)
    lines = (head + FRETS.sub(other, f"\ne {strings}") for _ in range(size // NOTES_A_LINE))
    return HEADER + "".join(lines)


def main() -> None:
    print(machine())
    times: list[float] = []
    for size in SIZES:
        text = HEADER + LINE * (size // NOTES_A_LINE)
        result = read_tab(text)
        assert result.passage is not None, result.problems[:3]
        notes = len(result.passage.notes)
        rounds = max(3, min(15, 20_000 // size))
        read = partial(read_tab, text)
        against_split = ratio(read, partial(split, text), rounds=rounds)
        took = median_seconds(read, rounds=rounds)
        times.append(took)
        print(
            f"{notes:7d} notes: {took * 1000:8.1f} ms, {notes / took:7.0f} notes a second, "
            f"{against_split:5.0f} x splitting the text"
        )
    text = without_repetition(SIZES[2])
    against_split = ratio(partial(read_tab, text), partial(split, text), rounds=5)
    print(f"{SIZES[2]:7d} notes, no line like another: {against_split:5.0f} x splitting the text")
    growth = log(times[-1] / times[1]) / log(SIZES[-1] / SIZES[1])
    print(f"growth exponent from {SIZES[1]} to {SIZES[-1]} notes: {growth:.2f}")


if __name__ == "__main__":
    main()
