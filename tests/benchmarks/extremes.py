"""Input far too large, and options at their ends: `python -m tests.benchmarks.extremes [NAME ...]`.

Each case is a command of its own. Every one is to answer within 10 s and 1 GB, with exit code 0 to
2 and no traceback. Prints the time from start to end and of processors, the lesser of which counts
on a busy machine, the peak memory of the largest process, and what was said first. Runs the cases
whose names hold one of the words given; all of them if none is.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import time
from dataclasses import dataclass
from pathlib import Path
from tempfile import TemporaryDirectory

from tests.benchmarks.extreme_files import CASES, Extreme, laid_job

MOST_SECONDS, MOST_MB = 10.0, 1000.0
_ENDED_SECONDS = 60.0


@dataclass(frozen=True)
class Answer:
    """What a command answered, how soon, and its peak memory.

    processor_seconds : of all its processes; less than the time that passes on a busy machine.
    """

    exit_code: int
    seconds: float
    processor_seconds: float
    peak_mb: float
    said: str

    @property
    def holds(self) -> bool:
        """Whether it kept to what every command must."""
        sound = self.exit_code in (0, 1, 2) and "Traceback" not in self.said
        soon = min(self.seconds, self.processor_seconds) <= MOST_SECONDS
        return sound and soon and self.peak_mb <= MOST_MB

    def __str__(self) -> str:
        took = f"{self.seconds:.1f} s, {self.processor_seconds:.1f} s of processors"
        said = " ".join(self.said.split())[:110]
        return f"{took}, {self.peak_mb:.0f} MB, exit {self.exit_code}: {said}"


# a process of its own, since a child's peak counts from that of the process that starts it
_MEASURED = """
import json, resource, subprocess, sys
try:
    done = subprocess.run(sys.argv[2:], stdin=subprocess.DEVNULL, stdout=subprocess.PIPE,
                          stderr=subprocess.STDOUT, timeout=float(sys.argv[1]))
    code, said = done.returncode, done.stdout.decode(errors="replace")
except subprocess.TimeoutExpired as late:
    code, said = -9, (late.stdout or b"").decode(errors="replace")
used = resource.getrusage(resource.RUSAGE_CHILDREN)
print(json.dumps([code, used.ru_utime + used.ru_stime, used.ru_maxrss / 1000, said[:2000]]))
"""


def answered(words: tuple[str, ...], folder: Path) -> Answer:
    """Run `marker WORDS` in a folder."""
    command = [sys.executable, "-m", "marker", *words]
    began = time.monotonic()
    told = subprocess.run(
        [sys.executable, "-c", _MEASURED, str(_ENDED_SECONDS), *command],
        cwd=folder, stdout=subprocess.PIPE, check=True,
        env=os.environ | {"PYTHONPATH": str(Path(__file__).parents[2])},
    )  # fmt: skip
    code, processor, peak, said = json.loads(told.stdout)
    return Answer(code, time.monotonic() - began, processor, peak, said)


def answer_of(case: Extreme, folder: Path) -> Answer:
    """Write the files of a case, and run its command beside them."""
    case.write(folder)
    return answered(case.words, folder)


def main(words: list[str]) -> int:
    """0 where every case holds."""
    fell = 0
    with TemporaryDirectory() as base:
        laid = laid_job(Path(base) / "laid")
        for case in CASES:
            if words and not any(word in case.name for word in words):
                continue
            folder = Path(base) / "case"
            laid.copied_to(folder)
            found = answer_of(case, folder)
            fell += not found.holds
            print(f"{'  ' if found.holds else '! '}{case.name}: {found}", flush=True)
    return int(fell > 0)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
