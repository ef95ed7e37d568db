"""Problems of any size: as many pieces of the shirt in `pieces/` as asked for."""

from __future__ import annotations

import math
import time
from typing import NamedTuple

import numpy as np

from marker.jobfile.reading import read_job
from marker.placement.problem.cuts import labels
from marker.placement.problem.prepare import placement_problem
from marker.placement.problem.statement import Arrangement, PlacementProblem, strip_length
from marker.placement.search.first_layouts import first_layouts
from marker.placement.search.overlaps import Choices, State, choices, refresh, state_of
from marker.placement.tables.no_fit_polygons import Boundaries, boundaries
from marker.placement.tables.overlap_grids import NoFitTable, no_fit_table
from marker.planning.tasks import tasks
from tests.benchmarks.folder import ROOT

SQUEEZE = 0.95
"""Share of the first layout's length into which pieces are pressed to make them overlap."""


class Laid(NamedTuple):
    """A problem with all that the kernels need, a first layout of it, and what both took."""

    problem: PlacementProblem
    edges_of: Boundaries
    table: NoFitTable
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
    return placement_problem(every[:pieces], task.cloth)


def laid(problem: PlacementProblem) -> Laid:
    """The problem's tables and the first of its first layouts."""
    started = time.perf_counter()
    edges_of = boundaries(problem)
    table, orientations = no_fit_table(problem, edges_of), choices(problem)
    tabled = time.perf_counter()
    layouts = first_layouts(problem, table, orientations, np.random.default_rng(0))
    arrangement = next(layouts)
    done = time.perf_counter()
    length = strip_length(problem, arrangement)
    return Laid(
        problem, edges_of, table, orientations, arrangement, length, tabled - started, done - tabled
    )


def squeezed_length(first: Laid) -> float:
    """Length of the strip into which `squeezed` presses a layout, mm."""
    return SQUEEZE * first.length + 2 * first.problem.margin


def squeezed(first: Laid) -> State:
    """A new state: the first layout pressed into a shorter length, so that pieces overlap."""
    state = state_of(first.problem, first.arrangement, squeezed_length(first), 0)
    refresh(first.table, state)
    return state
