"""Problems of any size: as many pieces of the shirt in `pieces/` as asked for."""

from __future__ import annotations

import math
import time
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from marker.cloth.fabric import Cloth
from marker.geometry.arrays import FloatArray
from marker.jobfile.reading import read_job
from marker.pattern.piece import CutPiece
from marker.placement.problem.cuts import labels
from marker.placement.problem.statement import Arrangement, PlacementProblem, strip_length
from marker.placement.search.first_layouts import FirstLayouts
from marker.placement.search.overlaps import refresh
from marker.placement.search.state import Choices, State, choices, state_of
from marker.placement.tables.no_fit_polygons import NoFitPolygons, no_fit_polygons
from marker.placement.tables.overlap_grids import OverlapGrids, overlap_grids
from marker.planning.tasks import tasks
from tests.benchmarks.folder import ROOT
from tests.placement.problems import on_cloth

SQUEEZE = 0.95
"""Share of the first layout's length into which pieces are pressed to make them overlap."""


class Laid(NamedTuple):
    """A problem with all that the kernels need, a first layout of it, and what both took."""

    problem: PlacementProblem
    polygons: NoFitPolygons
    grids: OverlapGrids
    choices: Choices
    arrangement: Arrangement
    length: float
    table_seconds: float
    layout_seconds: float


def shirts(pieces: int) -> PlacementProblem:
    """The first `pieces` pieces of as many shirts as that takes, on the shirt's cloth."""
    task = tasks(read_job(ROOT / "pieces" / "shirt" / "job.toml"))[0]
    garments = math.ceil(pieces / len(task.load.items))
    every = labels(task.load.cut_pieces, task.load.job.garments * garments)
    return on_cloth(every[:pieces], task.cloth)


def eleven_shirts() -> PlacementProblem:
    """220 pieces: the shirt eleven times over five sizes, on the shirt's cloth."""
    job = read_job(ROOT / "pieces" / "shirt" / "job.toml")
    task = tasks(job.with_order(dict(zip(job.sizes, (2, 3, 2, 2, 2), strict=True))))[0]
    return on_cloth(task.load.items, task.cloth)


def different(count: int, turns: Sequence[float] = (0.0, 90.0, 180.0, 270.0)) -> PlacementProblem:
    """So many pieces of different outlines, by seed, on cloth 1.5 m wide: each a star-shaped
    polygon of 20 to 40 points and up to 60 cm across."""
    rng = np.random.default_rng(count)
    pieces = [
        CutPiece(f"piece {k}", "one", "cloth", star_shaped(rng), tuple(turns)) for k in range(count)
    ]
    return on_cloth(labels(pieces, ["one"]), Cloth("cloth", 1500.0))


def star_shaped(rng: np.random.Generator) -> FloatArray:
    """A random simple outline, (n, 2), mm, counter-clockwise."""
    corners = int(rng.integers(20, 41))
    angle = np.sort(rng.uniform(0.0, 2 * np.pi, corners))
    far = rng.uniform(100.0, 300.0) * rng.uniform(0.6, 1.0, corners)
    return np.column_stack([far * np.cos(angle), rng.uniform(0.4, 1.0) * far * np.sin(angle)])


def laid(problem: PlacementProblem) -> Laid:
    """The problem's tables and the first of its first layouts."""
    started = time.perf_counter()
    polygons, orientations = no_fit_polygons(problem), choices(problem)
    grids = overlap_grids(polygons, problem.shapes)
    tabled = time.perf_counter()
    layouts = FirstLayouts(problem, polygons, orientations, np.random.default_rng(0))
    arrangement = layouts.laid(layouts.batch()[0])
    done = time.perf_counter()
    length = strip_length(problem, arrangement)
    return Laid(
        problem, polygons, grids, orientations, arrangement, length, tabled - started, done - tabled
    )


def squeezed_length(first: Laid) -> float:
    """Length of the strip into which `squeezed` presses a layout, mm."""
    return SQUEEZE * first.length + 2 * first.problem.margin


def squeezed(first: Laid) -> State:
    """A new state: the first layout pressed into a shorter length, so that pieces overlap."""
    state = state_of(first.problem, first.arrangement, squeezed_length(first), 0)
    refresh(first.grids, state)
    return state
