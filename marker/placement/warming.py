"""Kernels made ready before a clock counts: compiled at their first use, then only loaded.

In two stages, so that there is a first layout before the larger half is compiled.
"""

from __future__ import annotations

import functools
from typing import NamedTuple

import numpy as np

from marker.placement.lp.compaction import compact
from marker.placement.lp.program import separations
from marker.placement.lp.rotations import Corners, contacts
from marker.placement.problem.statement import Item, Orientation, PlacementProblem, Position
from marker.placement.search.first_layouts import FirstLayouts
from marker.placement.search.separation import restore, separate
from marker.placement.search.state import Choices, SeparationParams, choices, state_of
from marker.placement.tables.no_fit_polygons import NoFitPolygons, no_fit_polygons, polygons_of
from marker.placement.tables.overlap_grids import overlap_grids

_ON_EACH_OTHER = (Position(0.0, 0.0, 0), Position(1.0, 1.0, 0))


class _Tiny(NamedTuple):
    """Two squares to call kernels with."""

    problem: PlacementProblem
    polygons: NoFitPolygons
    choices: Choices


@functools.cache
def warm_up_first_layouts() -> None:
    """Call every kernel that a first layout takes."""
    problem, polygons, flat = _tiny()
    layouts = FirstLayouts(problem, polygons, flat, np.random.default_rng(0))
    layouts.laid(layouts.batch()[0])
    compact(problem, polygons, _ON_EACH_OTHER)


@functools.cache
def warm_up_search(tilts: bool) -> None:
    """Call every kernel that a search takes; if pieces may be tilted, those of turns, too."""
    problem, polygons, flat = _tiny()
    grids = overlap_grids(polygons, problem.shapes)
    state = state_of(problem, _ON_EACH_OTHER, 20.0, 0)
    separate(grids, flat, state, 1, SeparationParams().effort)
    restore(grids, flat, state)
    if tilts:
        none, numbers = np.empty((0, 2)), np.empty(0, dtype=np.int64)
        nothing = polygons_of({}, none)
        rows = separations(none, none, numbers, nothing, 0.0, 0)
        contacts(rows, none, Corners(numbers, none), nothing, 0.0, none[:, 0].copy())


def _tiny() -> _Tiny:
    square = np.array([[0.0, 0.0], [9.0, 0.0], [9.0, 9.0], [0.0, 9.0]])
    item = Item((Orientation(0, 0.0, False, 0, (0.0, 0.0)),))
    problem = PlacementProblem((square,), (item, item), 20.0, 0.0, 162.0, 20.0)
    return _Tiny(problem, no_fit_polygons(problem), choices(problem))
