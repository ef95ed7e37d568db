"""Kernels made ready before a clock starts: compiled at their first use, then only loaded."""

from __future__ import annotations

import functools

import numpy as np

from marker.placement.lp.compaction import compact
from marker.placement.lp.program import separations
from marker.placement.lp.rotations import Corners, contacts
from marker.placement.problem.statement import Item, Orientation, PlacementProblem, Position
from marker.placement.search.first_layouts import FirstLayouts
from marker.placement.search.overlaps import SeparationParams, choices, state_of
from marker.placement.search.separation import restore, separate
from marker.placement.tables.no_fit_polygons import no_fit_polygons, polygons_of
from marker.placement.tables.overlap_grids import overlap_grids


@functools.cache
def warm_up() -> None:
    """Call every kernel of a run once, on two squares."""
    square = np.array([[0.0, 0.0], [9.0, 0.0], [9.0, 9.0], [0.0, 9.0]])
    item = Item((Orientation(0, 0.0, False, 0, (0.0, 0.0)),))
    problem = PlacementProblem((square,), (item, item), 20.0, 0.0, 162.0, 20.0)
    polygons, flat = no_fit_polygons(problem), choices(problem)
    layouts = FirstLayouts(problem, polygons, flat, np.random.default_rng(0))
    layouts.laid(layouts.batch()[0])
    grids = overlap_grids(polygons, problem.shapes)
    on_each_other = (Position(0.0, 0.0, 0), Position(1.0, 1.0, 0))
    state = state_of(problem, on_each_other, 20.0, 0)
    separate(grids, flat, state, 1, SeparationParams().effort)
    restore(grids, flat, state)
    compact(problem, polygons, on_each_other)
    none, numbers = np.empty((0, 2)), np.empty(0, dtype=np.int64)
    nothing = polygons_of({}, none)
    rows = separations(none, none, numbers, nothing, 0.0, 0)
    contacts(rows, none, Corners(numbers, none), nothing, 0.0, none[:, 0].copy())
