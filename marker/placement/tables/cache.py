"""The tables that a process has made last, for whoever lays the same shapes again.

Searches of one marker go on in heats, each a piece of work of its own. A job is laid again with one
thing changed, or on cloth of another width. Tables follow from shapes and their parameters alone,
so no layout depends on whether they were kept.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Callable, Hashable, Iterator
from hashlib import sha256
from threading import Lock
from typing import Generic, TypeVar

import numpy as np

from marker.placement.problem.statement import PlacementProblem
from marker.placement.tables.no_fit_polygons import NoFitPolygons, movable_shapes, no_fit_polygons
from marker.placement.tables.overlap_grids import GridParams, OverlapGrids, overlap_grids

Table = TypeVar("Table", NoFitPolygons, OverlapGrids)


class TableCache(Generic[Table]):
    """Tables by what they were made of, while all together take at most `most_mb` (10^6 bytes).
    Those used last stay."""

    def __init__(self, most_mb: float) -> None:
        self._most = most_mb * 1e6
        self._tables: OrderedDict[Hashable, Table] = OrderedDict()
        self._lock = Lock()  # a process may lay several markers, in threads

    def found(self, key: Hashable, make: Callable[[], Table]) -> Table:
        """Those of this key, made if there are none yet."""
        with self._lock:
            if key in self._tables:
                self._tables.move_to_end(key)
                return self._tables[key]
        made = make()
        if _size(made) <= self._most:
            with self._lock:
                self._tables[key] = made
                while sum(map(_size, self._tables.values())) > self._most:
                    self._tables.popitem(last=False)
        return made


_POLYGONS: TableCache[NoFitPolygons] = TableCache(50.0)
_GRIDS: TableCache[OverlapGrids] = TableCache(200.0)


def cached_polygons(problem: PlacementProblem, stopped: Callable[[], bool]) -> NoFitPolygons:
    """As `no_fit_polygons`, where they are not at hand."""
    return _POLYGONS.found(_content(problem), lambda: no_fit_polygons(problem, stopped))


def cached_grids(
    problem: PlacementProblem,
    polygons: NoFitPolygons,
    params: GridParams,
    workers: int,
    stopped: Callable[[], bool],
) -> OverlapGrids:
    """As `overlap_grids` of the problem's own polygons, where they are not at hand."""
    return _GRIDS.found(
        (_content(problem), params),
        lambda: overlap_grids(polygons, problem.shapes, params, workers, stopped),
    )


def _content(problem: PlacementProblem) -> bytes:
    """What tables depend on: all shapes, and which of them move."""
    digest = sha256(repr(sorted(movable_shapes(problem))).encode())
    for shape in problem.shapes:
        digest.update(len(shape).to_bytes(8, "little"))
        digest.update(np.ascontiguousarray(shape).tobytes())
    return digest.digest()


def _size(tables: tuple[object, ...]) -> int:
    """Bytes of all arrays."""
    return sum(each.nbytes for each in _arrays(tables))


def _arrays(tables: tuple[object, ...]) -> Iterator[np.ndarray]:
    for each in tables:
        if isinstance(each, np.ndarray):
            yield each
        elif isinstance(each, tuple):
            yield from _arrays(each)
