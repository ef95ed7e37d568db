"""Layouts of many different outlines, before the no-fit polygons of all pairs are made.

Convex hulls keep pieces apart while they are laid. Then those that came to lie near each other get
polygons, with which they are drawn together: a few thousand in place of hundreds of thousands.
"""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor

import numpy as np

from marker.placement.lp.compaction import CompactionParams, compact
from marker.placement.problem.statement import Arrangement, PlacementProblem, strip_length
from marker.placement.search.first_layouts import FirstLayoutParams, FirstLayouts
from marker.placement.search.state import Choices
from marker.placement.tables.no_fit_polygons import Abandoned, hulls_alone, polygons_near


class HullLayouts:
    """Layouts of ever more orderings."""

    def __init__(
        self,
        problem: PlacementProblem,
        flat: Choices,
        rng: np.random.Generator,
        params: FirstLayoutParams,
        compaction: CompactionParams,
    ) -> None:
        """flat : the problem's choices."""
        self._problem, self._compaction = problem, compaction
        self._layouts = FirstLayouts(problem, hulls_alone(problem), flat, rng, params)

    def laid(self, executor: ThreadPoolExecutor, is_late: Callable[[], bool]) -> Arrangement | None:
        """The shortest of the next batch, by hulls; None where it was late for all of them. The
        first of all is laid in any case."""
        made = self._layouts.made(self._layouts.laid, executor, is_late)
        return min(made, key=lambda each: strip_length(self._problem, each), default=None)

    def drawn_together(self, laid: Arrangement, is_late: Callable[[], bool]) -> Arrangement:
        """A layout with its pieces as near to each other as their outlines let them, or as they
        have come once it is late."""
        reach = self._compaction.reach * self._problem.width
        try:
            near = polygons_near(self._problem, laid, reach, is_late)
        except Abandoned:
            return laid
        return compact(self._problem, near, laid, self._compaction, is_late) or laid
