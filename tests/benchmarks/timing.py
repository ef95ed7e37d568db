"""Timing by repeating whole runs: the median says how long, the quartiles how sure."""

from __future__ import annotations

import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeVar

import numpy as np

T = TypeVar("T")


@dataclass(frozen=True)
class Timing:
    """Nanoseconds a call: median and quartiles over the repeats."""

    median: float
    lower: float
    upper: float

    def __str__(self) -> str:
        return f"{_readable(self.median)} ({_readable(self.lower)} to {_readable(self.upper)})"


def timed(run: Callable[[T], object], calls: int, repeats: int, prepare: Callable[[], T]) -> Timing:
    """Time `run`, which makes `calls` calls, after one run for warmth.

    Each run gets what `prepare` makes anew, off the clock, so that all do the same work.
    """
    run(prepare())
    taken = []
    for _ in range(repeats):
        prepared = prepare()
        started = time.perf_counter_ns()
        run(prepared)
        taken.append((time.perf_counter_ns() - started) / calls)
    lower, median, upper = np.quantile(taken, (0.25, 0.5, 0.75))
    return Timing(float(median), float(lower), float(upper))


def _readable(nanoseconds: float) -> str:
    for unit, size in (("s", 1e9), ("ms", 1e6), ("µs", 1e3)):
        if nanoseconds >= size:
            return f"{nanoseconds / size:.3g} {unit}"
    return f"{nanoseconds:.3g} ns"
