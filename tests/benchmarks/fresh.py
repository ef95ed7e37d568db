"""Measuring in a process of its own, so that memory and caches are nobody else's."""

from __future__ import annotations

import multiprocessing
import resource
import sys
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor
from typing import ParamSpec, TypeVar

P = ParamSpec("P")
R = TypeVar("R")


def in_fresh_process(function: Callable[P, R], *args: P.args, **kwargs: P.kwargs) -> R:
    """What the function returns, run in a new interpreter that ends with it."""
    context = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(1, mp_context=context) as pool:
        return pool.submit(function, *args, **kwargs).result()


def peak_memory_mb() -> float:
    """Most memory this process has held so far, MB of 10⁶ bytes."""
    unit = 1 if sys.platform == "darwin" else 1024  # getrusage: bytes there, KiB on Linux
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * unit / 1e6
