"""What a trajectory shortens: a whole strip, or a window of one between what lies beside it."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from marker.geometry.arrays import IntArray
from marker.placement.lp.compaction import CompactionParams, FarEnd, compact_window
from marker.placement.problem.statement import (
    Arrangement,
    Obstacle,
    PlacementProblem,
    Position,
    laid,
    strip_length,
)
from marker.placement.search.state import Choices, choices
from marker.placement.tables.no_fit_polygons import NoFitPolygons


@dataclass(frozen=True)
class Subproblem:
    """Items that are drawn together, and what lies around them.

    problem : its obstacles are those of the strip, or the other items that a window's could meet.
    choices : of the problem's items. length : mm, margins included, at which the obstacles lie as
    they do. hung : (m,) which of them move with the far end.
    """

    problem: PlacementProblem
    choices: Choices
    length: float
    hung: NDArray[np.bool_]

    def at(self, length: float) -> PlacementProblem:
        """The problem where the far end lies there, mm."""
        if not self.hung.any():
            return self.problem
        by = length - self.length
        moved = tuple(
            replace(each, x=each.x + by) if hung else each
            for each, hung in zip(self.problem.obstacles, self.hung, strict=True)
        )
        return replace(self.problem, obstacles=moved)

    def length_of(self, start: Arrangement) -> float:
        """Length of a layout to start from, mm, without margins."""
        if self.hung.any():
            return self.length - 2 * self.problem.margin
        return strip_length(self.problem, start)

    def drawn_together(
        self,
        arrangement: Arrangement,
        target: float,
        hopeless: float,
        polygons: NoFitPolygons,
        params: CompactionParams,
    ) -> tuple[Arrangement, float] | None:
        """What compaction makes of an arrangement that was pressed to a length of `target`, and how
        long that is without margins, mm."""
        far_end = FarEnd(target, self.hung)
        problem = self.at(target)
        found = compact_window(problem, polygons, arrangement, far_end, hopeless, params)
        if found is None or self.hung.any():
            return found
        return found[0], strip_length(problem, found[0])


def whole(problem: PlacementProblem, flat: Choices) -> Subproblem:
    """The whole strip. flat : the problem's choices."""
    return Subproblem(problem, flat, np.inf, np.zeros(len(problem.obstacles), dtype=np.bool_))


class Window:
    """A window of a layout: the items whose middle lies in it.

    inside, beyond : numbers of these, and of those past its end. start : where it begins, mm.
    arrangement, subproblem : as it is, seen from there.
    """

    def __init__(
        self, problem: PlacementProblem, arrangement: Arrangement, low: float, high: float
    ) -> None:
        shape, low_ends = laid(problem, arrangement)
        extent = np.array([problem.extent(each) for each in range(len(problem.shapes))])[shape]
        far_ends = low_ends + extent
        middle = low_ends[:, 0] + extent[:, 0] / 2
        within = (middle >= low) & (middle < high)
        self.inside: IntArray = np.flatnonzero(within)
        self.beyond: IntArray = np.flatnonzero(middle >= high)
        # room for items to reach in between what lies around them
        room = float(extent[:, 0].max()) / 2
        self.start = max(float(low_ends[within, 0].min()) - room, 0.0)
        end = float(far_ends[within, 0].max())
        reached = min(end + room, float(far_ends[:, 0].max()))
        if (middle[low_ends[:, 0] < reached] >= high).any():
            end = reached
        around = np.flatnonzero(~within & (low_ends[:, 0] < end) & (far_ends[:, 0] > self.start))
        items = tuple(problem.items[k] for k in self.inside)
        part = replace(
            problem,
            items=items,
            obstacles=tuple(
                Obstacle(int(shape[k]), float(low_ends[k, 0]) - self.start, float(low_ends[k, 1]))
                for k in around
            ),
            least_length=0.0,
        )
        self.subproblem = Subproblem(part, choices(part), end - self.start, middle[around] >= high)
        self.arrangement = tuple(self._seen(arrangement[k]) for k in self.inside)

    def _seen(self, position: Position) -> Position:
        return Position(position.x - self.start, position.y, position.orientation)

    def merged(self, arrangement: Arrangement, part: Arrangement, length: float) -> Arrangement:
        """A layout with this of the window in it, whose length without margins is `length`, mm."""
        by = length + 2 * self.subproblem.problem.margin - self.subproblem.length
        moved = list(arrangement)
        for k in self.beyond:
            each = arrangement[k]
            moved[k] = Position(each.x + by, each.y, each.orientation)
        for k, each in zip(self.inside, part, strict=True):
            moved[k] = Position(each.x + self.start, each.y, each.orientation)
        return tuple(moved)
