"""Reading a tab against splitting its text, timed in turn; and how reading grows with size.

Run: python bench/read_tab.py
"""

import platform
from collections.abc import Callable
from functools import partial
from math import log
from os import cpu_count
from statistics import median
from time import perf_counter

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
SIZES = (300, 2_000, 20_000, 100_000)


def seconds(work: Callable[[], object]) -> float:
    start = perf_counter()
    work()
    return perf_counter() - start


def ratio(subject: Callable[[], object], floor: Callable[[], object], *, rounds: int) -> float:
    """Median of subject/floor; timed in turn, so that a noisy machine hits both alike."""
    return median(seconds(subject) / seconds(floor) for _ in range(rounds))


def split(text: str) -> list[list[str]]:
    return [line.split() for line in text.split("\n")]


def main() -> None:
    print(f"{platform.machine()}, {cpu_count()} cores, Python {platform.python_version()}")
    times: list[float] = []
    for size in SIZES:
        text = HEADER + LINE * (size // NOTES_A_LINE)
        result = read_tab(text)
        assert result.passage is not None, result.problems[:3]
        notes = len(result.passage.notes)
        rounds = max(3, min(15, 20_000 // size))
        read = partial(read_tab, text)
        against_split = ratio(read, partial(split, text), rounds=rounds)
        took = median(seconds(read) for _ in range(rounds))
        times.append(took)
        print(
            f"{notes:7d} notes: {took * 1000:8.1f} ms, {notes / took:7.0f} notes a second, "
            f"{against_split:5.0f} x splitting the text"
        )
    growth = log(times[-1] / times[1]) / log(SIZES[-1] / SIZES[1])
    print(f"growth exponent from {SIZES[1]} to {SIZES[-1]} notes: {growth:.2f}")


if __name__ == "__main__":
    main()
