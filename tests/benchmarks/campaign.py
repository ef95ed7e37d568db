"""The long campaigns: `python -m tests.benchmarks.campaign jobs|files|kills --first 0 --count 100`.

jobs : random jobs laid for a few rounds, seen by the judge and by a second one written for this.
files : files of every format with random faults: no traceback, soon, with little memory.
kills : commands ended at random moments (see `kills`).

Seeds from --first on, in parts of a few, shared out among --processes. Each fault is printed with
its seed, and after each part up to where all seeds are done: --first with that number goes on from
there. Exit code 1 where there was a fault.
"""

from __future__ import annotations

import argparse
import multiprocessing
import sys
import time
from collections.abc import Callable, Iterator, Sequence
from functools import partial
from typing import NamedTuple

from tests.benchmarks import kills, mutants, random_jobs
from tests.benchmarks.options import positive_count


class Kind(NamedTuple):
    """faults : seeds -> what is wrong, each with its seed. part : seeds done in one go."""

    faults: Callable[[range], Sequence[str]]
    part: int


KINDS = {
    "jobs": Kind(random_jobs.faults_of_seeds, 50),
    "files": Kind(mutants.faults_of_seeds, 100),
    "kills": Kind(kills.faults_of_seeds, 10),
}


def main(arguments: Sequence[str] | None = None) -> int:
    """Run one of them."""
    parser = argparse.ArgumentParser("python -m tests.benchmarks.campaign")
    add = parser.add_argument
    add("kind", choices=KINDS)
    add("--first", type=int, default=0, help="seed of the first (default 0)")
    add("--count", type=positive_count, default=100, help="how many (default 100)")
    add("--processes", type=positive_count, default=2, help="at once (default 2)")
    options = parser.parse_args(arguments)
    kind, began, faulty = KINDS[options.kind], time.monotonic(), 0
    end = options.first + options.count
    parts = list(_parts(range(options.first, end), kind.part))
    context = multiprocessing.get_context("spawn")
    with context.Pool(min(options.processes, len(parts)), maxtasksperchild=20) as pool:
        for part, found in zip(parts, pool.imap(partial(_found, options.kind), parts), strict=True):
            faulty += len(found)
            for each in found:
                print(each, file=sys.stderr, flush=True)
            passed = time.monotonic() - began
            print(f"done to {part.stop}, {faulty} faults, {passed:.0f} s", flush=True)
    return int(faulty > 0)


def _found(kind: str, part: range) -> Sequence[str]:
    return KINDS[kind].faults(part)


def _parts(seeds: range, size: int) -> Iterator[range]:
    for start in range(seeds.start, seeds.stop, size):
        yield range(start, min(start + size, seeds.stop))


if __name__ == "__main__":
    sys.exit(main())
