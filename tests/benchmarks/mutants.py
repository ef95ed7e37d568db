"""Files of every format with random faults: read or refused, soon, with little memory.

Seed k is a fault in the format at k modulo their number.
"""

from __future__ import annotations

import resource
import time
import traceback
from collections.abc import Iterator
from pathlib import Path
from tempfile import TemporaryDirectory

from tests.exchange.mutants import mutants
from tests.exchange.test_mutants import KINDS, read, sound

MOST_SECONDS, MOST_MB = 10.0, 1_000.0


def faults_of_seeds(seeds: range) -> list[str]:
    """What went wrong with so many files, each with its seed and format."""
    with TemporaryDirectory() as base:
        folder = Path(base)
        contents = {kind: sound(kind, folder) for kind in KINDS}
        return [
            f"{seed} ({kind}): {each}"
            for seed in seeds
            for kind in (KINDS[seed % len(KINDS)],)
            for each in _faults(contents[kind], folder / f"mutant.{kind}", seed)
        ]


def _faults(content: bytes, path: Path, seed: int) -> Iterator[str]:
    (mutant,) = mutants(content, 1, seed)
    path.write_bytes(mutant)
    began, before = time.thread_time(), _peak_mb()
    try:
        faults = read(path) or []
        yield from (f"no place or remedy: {each}" for each in faults if not each.remedy)
    except Exception:
        yield traceback.format_exc(limit=-4)
    if time.thread_time() - began > MOST_SECONDS:
        yield f"it took {time.thread_time() - began:.0f} s"
    if _peak_mb() - before > MOST_MB:
        yield f"it took {_peak_mb() - before:.0f} MB"


def _peak_mb() -> float:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1000
