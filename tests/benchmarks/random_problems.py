"""Never an overlap: `python -m tests.benchmarks.random_problems` lays and judges at random."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from shapely.geometry import Polygon

from marker import judge
from marker.cloth.fabric import Cloth, Nap
from marker.geometry.arrays import FloatArray
from marker.layout import Layout, Placement
from marker.pattern.cutting import unfold
from marker.pattern.edge import Stretch
from marker.pattern.piece import CutPiece
from marker.placement.problem.cuts import Label, labels
from marker.placement.problem.prepare import placements, with_obstacles
from marker.placement.problem.statement import Item, PlacementProblem
from marker.placement.solve import Result, solve
from marker.placement.stop import after_iterations, at_bound, first_of
from marker.tolerances import JUDGED_MM
from tests.benchmarks.options import positive_count
from tests.placement.problems import on_cloth

SIZE = "38"
TURNS = ((0.0,), (0.0, 180.0), (0.0, 90.0, 180.0, 270.0))


@dataclass(frozen=True)
class Case:
    """A random problem and what a judge needs. flaws : outlines on the cloth, mm."""

    cloth: Cloth
    pieces: tuple[CutPiece, ...]
    garments: tuple[str, ...]
    flaws: tuple[FloatArray, ...]
    items: tuple[Label, ...]
    problem: PlacementProblem


def main(arguments: Sequence[str] | None = None) -> int:
    """Lay and judge random problems; every fault found on standard error, exit code 1 if any."""
    parser = argparse.ArgumentParser("python -m tests.benchmarks.random_problems")
    add = parser.add_argument
    add("--count", type=positive_count, default=1000, help="problems (default 1000)")
    add("--first", type=int, default=0, help="seed of the first one (default 0)")
    add("--iterations", type=positive_count, default=2, help="of each search (default 2)")
    options = parser.parse_args(arguments)
    faulty = 0
    for seed in range(options.first, options.first + options.count):
        found = list(faults_of(seed, options.iterations))
        faulty += bool(found)
        for each in found:
            print(f"{seed}: {each}", file=sys.stderr, flush=True)
    print(f"{options.count} problems, {faulty} with faults")
    return int(faulty > 0)


def faults_of(seed: int, iterations: int) -> Iterator[str]:
    """What is wrong with the layout of one random problem: the judge's findings, pieces over
    flaws, positions off their repeat."""
    case = random_case(np.random.default_rng(seed))
    stop = first_of(at_bound(), after_iterations(iterations))
    result = solve(case.problem, stop, seed, 1, lambda _: None)
    laid = placements(result.problem, case.items, result.arrangement)
    layout = Layout(
        "random", case.cloth, laid, result.length, result.bound, result.ending, seed, 0.0
    )
    yield from map(str, judge.findings(layout, case.pieces, case.garments))
    yield from _over_flaws(case, laid)
    yield from _off_repeat(result)


def random_case(rng: np.random.Generator) -> Case:
    """One to three pieces, some opened from the fold, for one or two garments; on cloth of any
    nap, with or without gap, flaws and positions tied to a repeat."""
    naps = list(Nap)
    cloth = Cloth(
        "poplin",
        float(rng.uniform(450, 900)),
        nap=naps[rng.integers(len(naps))],
        gap_mm=float(rng.choice([0.0, 0.0, 2.5, 8.0])),
    )
    pieces = tuple(_piece(f"piece {k}", rng) for k in range(1, int(rng.integers(2, 5))))
    garments = (SIZE,) * int(rng.integers(1, 3))
    items = labels(pieces, garments)
    bare = on_cloth(items, cloth)
    flaws = tuple(
        _polygon(rng, 20, 90) + rng.uniform((0, 0), (700, cloth.usable_width_mm))
        for _ in range(int(rng.integers(0, 3)))
    )
    problem = with_obstacles(bare, flaws)
    tied = tuple(_tied(problem, item, rng) for item in problem.items)
    return Case(cloth, pieces, garments, flaws, items, replace(problem, items=tied))


def _piece(name: str, rng: np.random.Generator) -> CutPiece:
    return CutPiece(
        name,
        SIZE,
        "poplin",
        _unfolded(rng) if rng.random() < 0.3 else _polygon(rng, 50, 200),
        TURNS[rng.integers(len(TURNS))],
        grain_tolerance_deg=float(rng.choice([0.0, 0.0, 3.0])),
        copies=int(rng.integers(1, 3)),
        mirrored_copies=int(rng.integers(0, 2)),
    )


def _polygon(rng: np.random.Generator, least: float, most: float) -> FloatArray:
    """Any star-shaped polygon of three to twelve corners, about so many mm from its middle."""
    corners = int(rng.integers(3, 13))
    steps = np.arange(corners) + rng.uniform(0, 0.45, corners)
    angles = 2 * np.pi * steps / corners
    radii = rng.uniform(least, most, corners)
    outline: FloatArray = radii[:, None] * np.column_stack([np.cos(angles), np.sin(angles)])
    return outline


def _unfolded(rng: np.random.Generator) -> FloatArray:
    """A half above its fold on the x axis, opened."""
    length = float(rng.uniform(100, 350))
    inner = np.sort(rng.uniform(10, length - 10, 3))[::-1]
    upper = np.column_stack([inner, rng.uniform(30, 150, 3)])
    return unfold(np.concatenate([[[0.0, 0.0], [length, 0.0]], upper]), Stretch(0, 1))


def _tied(problem: PlacementProblem, item: Item, rng: np.random.Generator) -> Item:
    """Some items tied along, across or both, each orientation by a phase it has room for."""
    along, across = rng.random(2) < 0.25
    repeat = float(rng.uniform(40, 250)), float(rng.uniform(40, 150))
    orientations = []
    for orientation in item.orientations:
        room = max(problem.width - problem.extent(orientation.shape)[1], 0.0)
        phase = float(rng.uniform(0, repeat[0])), float(rng.uniform(0, min(room, repeat[1])))
        orientations.append(replace(orientation, phase=phase))
    return replace(
        item,
        orientations=tuple(orientations),
        repeat=(repeat[0] * bool(along), repeat[1] * bool(across)),
    )


def _over_flaws(case: Case, laid: Sequence[Placement]) -> Iterator[str]:
    for piece in laid:
        shrunk = Polygon(piece.outline_mm).buffer(-JUDGED_MM)
        for number, flaw in enumerate(case.flaws):
            if shrunk.intersection(Polygon(flaw)).area > 0:
                yield f"{piece.piece} #{piece.garment}/{piece.copy} lies over flaw {number}"


def _off_repeat(result: Result) -> Iterator[str]:
    for number, (item, at) in enumerate(zip(result.problem.items, result.arrangement, strict=True)):
        phase = item.orientations[at.orientation].phase
        for value, repeat, start in zip((at.x, at.y), item.repeat, phase, strict=True):
            if repeat and abs((value - start + repeat / 2) % repeat - repeat / 2) > 1e-6:
                yield f"item {number} lies off its repeat"


if __name__ == "__main__":
    sys.exit(main())
