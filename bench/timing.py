"""Timing for the benchmarks: ratios, since a noisy machine hits both sides alike."""

import platform
from collections.abc import Callable
from os import cpu_count
from statistics import median
from time import perf_counter


def seconds(work: Callable[[], object]) -> float:
    """Time one run."""
    start = perf_counter()
    work()
    return perf_counter() - start


def median_seconds(work: Callable[[], object], *, rounds: int) -> float:
    """Give the median time of some runs."""
    return median(seconds(work) for _ in range(rounds))


def ratio(subject: Callable[[], object], floor: Callable[[], object], *, rounds: int = 15) -> float:
    """Give the median of subject / floor, timed in turn."""
    return median(seconds(subject) / seconds(floor) for _ in range(rounds))


def machine() -> str:
    """Name what this ran on."""
    system = f"{platform.system()} {platform.machine()}"
    return f"{system}, {cpu_count()} cores, Python {platform.python_version()}"
