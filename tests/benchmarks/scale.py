"""How time and memory grow with the number of pieces: `python -m tests.benchmarks.scale --help`."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from marker.placement.search.separation import separate
from marker.placement.search.state import SeparationParams
from tests.benchmarks import loops
from tests.benchmarks.fresh import in_fresh_process, peak_memory_mb
from tests.benchmarks.garments import laid, shirts, squeezed
from tests.benchmarks.options import counts, positive_count
from tests.benchmarks.table import markdown, markdown_row
from tests.benchmarks.timing import timed


@dataclass(frozen=True)
class Size:
    """Measurements at one number of pieces, times in seconds.

    tables : building no-fit polygons and tables of all pairs of shapes, first_layout : one of it.
    overlapping : pieces that overlap once pressed together; a round moves about so many.
    """

    pieces: int
    shapes: int
    tables: float
    first_layout: float
    overlapping: int
    a_round: float
    a_move: float
    memory_mb: float

    def cells(self) -> tuple[str, ...]:
        """The row of the table."""
        return (
            str(self.pieces),
            str(self.shapes),
            f"{self.tables:.2f}",
            f"{self.first_layout:.2f}",
            str(self.overlapping),
            f"{self.a_round * 1e3:.2f}",
            f"{self.a_move * 1e6:.1f}",
            f"{self.memory_mb:.0f}",
        )


def main(arguments: Sequence[str] | None = None) -> None:
    """Print one row a number of pieces, each measured in a process of its own."""
    parser = argparse.ArgumentParser("python -m tests.benchmarks.scale", description=__doc__)
    add = parser.add_argument
    add(
        "--pieces",
        type=counts,
        default=[50, 100, 200, 500, 1000],
        help="numbers of pieces (default 50,100,200,500,1000)",
    )
    add("--rounds", type=positive_count, default=5, help="separation rounds timed (default 5)")
    options = parser.parse_args(arguments)
    in_fresh_process(measure, options.pieces[0], 1)  # so that no memory holds the compiler
    head = (
        "pieces", "shapes", "tables, s", "first layout, s",
        "pieces that overlap", "a round, ms", "a move, µs", "peak MB",
    )  # fmt: skip
    print(markdown(head, []))
    for pieces in options.pieces:
        size = in_fresh_process(measure, pieces, options.rounds)
        print(markdown_row(size.cells()), flush=True)


def measure(pieces: int, rounds: int) -> Size:
    """Lay so many pieces, press them together, and time rounds and moves of separation."""
    problem = shirts(pieces)
    first = laid(problem)
    effort = SeparationParams().effort
    overlapping = np.flatnonzero(squeezed(first).penalty.max(axis=1) > 0.0)
    a_round = timed(
        lambda state: separate(first.grids, first.choices, state, rounds, effort),
        rounds,
        3,
        lambda: squeezed(first),
    )
    a_move = timed(
        lambda state: loops.moves(first.grids, first.choices, state, overlapping, effort),
        len(overlapping),
        5,
        lambda: squeezed(first),
    )
    return Size(
        pieces,
        len(problem.shapes),
        first.table_seconds,
        first.layout_seconds,
        len(overlapping),
        a_round.median / 1e9,
        a_move.median / 1e9,
        peak_memory_mb(),
    )


if __name__ == "__main__":
    main()
