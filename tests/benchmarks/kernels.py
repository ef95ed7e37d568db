"""How fast the kernels are: `python -m tests.benchmarks.kernels --help`."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Iterator, Sequence
from typing import NamedTuple

import numpy as np

from marker.geometry.arrays import FloatArray, IntArray
from marker.placement.lp.compaction import compact
from marker.placement.search.first_layouts import FirstLayoutParams, ground_of, leftmost
from marker.placement.search.state import SeparationParams, State
from marker.placement.tables.no_fit_polygons import no_fit_polygons
from marker.placement.tables.overlap_grids import overlap_grids
from tests.benchmarks import loops
from tests.benchmarks.garments import Laid, laid, shirts, squeezed, squeezed_length
from tests.benchmarks.options import positive_count
from tests.benchmarks.table import markdown, markdown_row
from tests.benchmarks.timing import timed

CALLS = 20_000
"""Calls of a fast kernel in one run."""

EFFORT, FIRST = SeparationParams().effort, FirstLayoutParams().effort


class Work(NamedTuple):
    """Something to time: a run of so many calls, given a state with overlaps to spoil."""

    name: str
    calls: int
    run: Callable[[State], object]


class Draws(NamedTuple):
    """Where the fast kernels are called: random items at random positions on the strip."""

    items: IntArray
    at: FloatArray


def main(arguments: Sequence[str] | None = None) -> None:
    """Print one row a kernel."""
    parser = argparse.ArgumentParser("python -m tests.benchmarks.kernels", description=__doc__)
    add = parser.add_argument
    add("--pieces", type=positive_count, default=100, help="pieces on the strip (default 100)")
    add("--repeats", type=positive_count, default=15, help="whole runs a kernel (default 15)")
    options = parser.parse_args(arguments)
    first = laid(shirts(options.pieces))
    print(markdown(("kernel", "calls a run", "a call: median (quartiles)"), []))
    for work in (*_inner(first), *_whole(first)):
        timing = timed(work.run, work.calls, options.repeats, lambda: squeezed(first))
        print(markdown_row((work.name, str(work.calls), str(timing))), flush=True)


def _inner(first: Laid) -> Iterator[Work]:
    """The kernels that a move is made of, and the move."""
    grids, length = first.grids, squeezed_length(first)
    start_state = squeezed(first)
    items, at = _draws(first, start_state, length)
    few, at_few = items[: len(items) // 10], at[: len(items) // 10]
    overlapping = np.flatnonzero(start_state.penalty.max(axis=1) > 0.0)
    yield Work(
        "gap search along the strip",
        len(items),
        lambda state: loops.gap_searches(first.polygons, state, state.shape[items], at[:, 1]),
    )
    yield Work(
        "overlap evaluation",
        len(items),
        lambda state: loops.penalties(grids, state, items, at),
    )
    yield Work(
        "descent",
        len(few),
        lambda state: loops.descents(grids, first.choices, state, few, at_few, EFFORT),
    )
    yield Work(
        "full move",
        len(overlapping),
        lambda state: loops.moves(grids, first.choices, state, overlapping, EFFORT),
    )


def _draws(first: Laid, state: State, length: float) -> Draws:
    rng = np.random.default_rng(0)
    items = rng.integers(0, len(state.x), CALLS)
    feasible = np.array([length, first.problem.width]) - first.grids.extent[state.shape[items]]
    return Draws(items, rng.random((CALLS, 2)) * np.maximum(feasible, 0.0))


def _whole(first: Laid) -> Iterator[Work]:
    """What is done once for a problem or a layout."""
    problem = first.problem
    count = len(first.polygons.start) - 1
    ground = ground_of(problem)
    order = np.argsort(-first.grids.extent[first.choices.shape[first.choices.start[:-1]], 0])
    directions = np.zeros(len(problem.items) + 1, dtype=np.int64)  # more than there are groups
    yield Work("no-fit polygon of a pair", count, lambda _: no_fit_polygons(problem))
    yield Work("grid of a pair", count, lambda _: overlap_grids(first.polygons, problem.shapes))
    yield Work(
        f"first layout of {len(problem.items)} pieces",
        1,
        lambda _: leftmost(first.polygons, first.choices, ground, order, directions, FIRST),
    )
    yield Work(
        f"compaction of {len(problem.items)} pieces",
        1,
        lambda _: compact(problem, first.polygons, first.arrangement),
    )


if __name__ == "__main__":
    main()
