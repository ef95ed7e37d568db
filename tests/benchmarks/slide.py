"""How soon a dragged piece answers: `python -m tests.benchmarks.slide --help`."""

from __future__ import annotations

import argparse
import time
from collections.abc import Sequence

import numpy as np

from marker.placement.free_places import FreePlaces
from marker.placement.problem.statement import Position, strip_length
from tests.benchmarks.garments import eleven_shirts, laid
from tests.benchmarks.options import positive_count
from tests.benchmarks.table import markdown

_SHARES = (50, 95, 100)


def main(arguments: Sequence[str] | None = None) -> None:
    """Print the times of many slides to random wishes among 220 pieces, in their first layout."""
    parser = argparse.ArgumentParser("python -m tests.benchmarks.slide", description=__doc__)
    parser.add_argument("--slides", type=positive_count, default=1000, help="(default 1000)")
    options = parser.parse_args(arguments)
    problem = eleven_shirts()
    arrangement = laid(problem).arrangement
    places, rng = FreePlaces(problem), np.random.default_rng(0)
    length = strip_length(problem, arrangement)
    rows = []
    for name in ("no-fit polygons made on the way", "all made before"):
        taken = [_slide(places, arrangement, length, rng) for _ in range(options.slides)]
        rows.append((name, *(f"{np.percentile(taken, share):.1f}" for share in _SHARES)))
    print(markdown(("", *(f"{share} %, ms" for share in _SHARES)), rows))


def _slide(
    places: FreePlaces, arrangement: tuple[Position, ...], length: float, rng: np.random.Generator
) -> float:
    """Milliseconds of one slide of a random piece to a random place on the layout."""
    item = int(rng.integers(len(arrangement)))
    x, y = rng.uniform(0.0, (length, places.problem.width))
    orientation = int(rng.integers(len(places.problem.items[item].orientations)))
    started = time.perf_counter()
    places.nearest(arrangement, item, Position(float(x), float(y), orientation))
    return 1e3 * (time.perf_counter() - started)


if __name__ == "__main__":
    main()
