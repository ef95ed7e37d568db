"""Faulty files of every format: `python -m tests.benchmarks.mutants [COUNT [SEED]]`.

Prints for each format how many of so many mutants were read and refused, the slowest, and every
traceback, with the number of its mutant.
"""

from __future__ import annotations

import sys
import time
import traceback
from pathlib import Path
from tempfile import TemporaryDirectory

from tests.exchange.mutants import mutants
from tests.exchange.test_mutants import read, sound


def main(count: int = 1_000, seed: int = 1) -> int:
    """How many mutants ended in a traceback."""
    fell = 0
    with TemporaryDirectory() as folder:
        for kind in ("svg", "dxf", "pdf", "json"):
            path = Path(folder) / f"robe.{kind}"
            refused, slowest, own = 0, 0.0, 0
            for number, mutant in enumerate(mutants(sound(kind, Path(folder)), count, seed)):
                path.write_bytes(mutant)
                began = time.perf_counter()
                try:
                    refused += read(path) is not None
                except Exception:
                    own += 1
                    print(f"{kind} {number}: {traceback.format_exc(limit=-4)}")
                slowest = max(slowest, time.perf_counter() - began)
            fell += own
            print(f"{kind}: {count} mutants, {refused} refused, {own} tracebacks, {slowest:.2f} s")
    return fell


if __name__ == "__main__":
    sys.exit(min(main(*map(int, sys.argv[1:])), 1))
