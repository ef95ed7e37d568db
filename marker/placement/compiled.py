"""Compile the kernels ahead: numba does so when they are first called, and keeps the result."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from marker.placement import separate as source
from marker.placement.problem import Item, Orientation, PlacementProblem
from marker.placement.solve import solve
from marker.placement.stop import after_iterations


def is_compiled() -> bool:
    """Whether the search lies compiled in numba's cache, made since its source was written."""
    folder = Path(str(source.separate.stats.cache_path))
    written = Path(source.__file__).stat().st_mtime
    compiled = folder.glob(f"{Path(source.__file__).stem}.separate-*.nbi")
    return any(path.stat().st_mtime >= written for path in compiled)


def compile_kernels() -> None:
    """Call every kernel once, by searching among some squares."""
    square = np.array([[0.0, 0.0], [10.0, 0.0], [10.0, 10.0], [0.0, 10.0]])
    item = Item((Orientation(0, 0.0, False, 0, (0.0, 0.0)),), tilts=True)  # no proof: no kernels
    problem = PlacementProblem((square,), (item,) * 3, 15.0, 0.0, 300.0, 15.0)
    solve(problem, after_iterations(1), 0, 1, lambda _: None)
