"""Progress of a search on standard error."""

from __future__ import annotations

import sys
import time

from marker.placement.stop import Progress
from marker.units import metric

EVERY_SECONDS = 1.0


class Reporter:
    """Prints a line a second and one at each better layout; on a terminal over the last one."""

    def __init__(self, cloth: str, quiet: bool) -> None:
        self._cloth = cloth
        self._quiet = quiet
        self._last = -EVERY_SECONDS
        self._length = float("inf")
        self._in_place = sys.stderr.isatty()

    def __call__(self, progress: Progress) -> None:
        now = time.monotonic()
        shorter = progress.length < self._length - 0.5
        if self._quiet or (now - self._last < EVERY_SECONDS and not shorter):
            return
        self._last, self._length = now, min(progress.length, self._length)
        gap = 1 - progress.bound / progress.length
        line = (
            f"{self._cloth}  {progress.seconds:6.1f} s  length {metric(progress.length)}  "
            f"utilisation {100 * progress.utilisation:.1f} %  "
            f"bound {metric(progress.bound)}  gap {100 * gap:.1f} %"
        )
        print(f"\r{line}\033[K" if self._in_place else line, end="" if self._in_place else "\n",
              file=sys.stderr, flush=True)  # fmt: skip

    def of(self, name: str) -> Reporter:
        """The same for another search, on a line of its own."""
        if self._length < float("inf"):
            self.finish()
        self._cloth, self._length = name, float("inf")
        return self

    def finish(self) -> None:
        """Leave the line that was written in place."""
        if self._in_place and not self._quiet:
            print(file=sys.stderr, flush=True)


def announce_first_use(quiet: bool) -> None:
    """Say why the very first search is slow to begin."""
    from marker.geometry.kernels import is_compiled
    from marker.placement.search.separation import separate

    if not quiet and not is_compiled(separate):
        message = "preparing the search for its first use; this takes half a minute, once"
        print(message, file=sys.stderr, flush=True)
