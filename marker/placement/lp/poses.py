"""A layout whose outlines are being turned: each has a rotation of its own."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from marker.geometry import polygons
from marker.geometry.arrays import FloatArray
from marker.geometry.minkowski import edges_of_sum, sliding, standing
from marker.placement.problem.orientations import oriented
from marker.placement.problem.statement import (
    ANY_LANE,
    Arrangement,
    Item,
    Orientation,
    PlacementProblem,
    Position,
    laid,
)
from marker.placement.tables.no_fit_polygons import NoFitPolygons, polygons_of
from marker.tolerances import HAIR_MM


class Pose:
    """One outline in one rotation, ready for no-fit polygons; the same only as itself.

    item, orientation : what it is of and how that lies; None of an obstacle.
    """

    def __init__(
        self, shape: FloatArray, item: Item | None, orientation: Orientation | None
    ) -> None:
        self.shape, self.item, self.orientation = shape, item, orientation
        self.size: FloatArray = shape.max(axis=0)
        self.standing, self.sliding = standing(shape), sliding(shape)

    @property
    def leeway(self) -> tuple[float, float]:
        """Degrees that it may be turned, least and greatest. What is tied to a repeat may not
        turn at all: its pattern would run askew."""
        if self.item is None or self.orientation is None or self.item.outlines is None:
            return 0.0, 0.0
        return (0.0, 0.0) if any(self.item.repeat) else self.orientation.leeway

    def may_move(self, axis: int) -> bool:
        """Whether its position on this axis is free: not that of an obstacle, nor one tied to a
        repeat."""
        return self.item is not None and not self.item.repeat[axis]

    def lane(self, width: float) -> tuple[float, float]:
        """Where it must stay across a strip of this width."""
        low, high = self.orientation.lane if self.orientation else ANY_LANE
        return low, min(high, width)

    def turned(self, degrees: float, margin: float, at: FloatArray) -> tuple[Pose, FloatArray]:
        """It, turned counter-clockwise about the middle of its bounding box, which starts at `at`,
        (2,); and where the bounding box then starts. margin : half the gap."""
        assert self.orientation is not None
        assert self.item is not None
        assert self.item.outlines is not None  # without, there is no leeway
        orientation, middle = self.orientation, at + self.size / 2
        rotation = (orientation.rotation_deg + degrees) % 360
        shape, low = oriented(self.item.outlines, rotation, orientation.mirrored, margin)
        origin = at + np.array(orientation.shift) + margin
        origin = middle + polygons.turned(origin - middle, degrees, False)
        shift = (-float(low[0]) - margin, -float(low[1]) - margin)
        back, on = orientation.leeway
        leeway = min(back - degrees, 0.0), max(on - degrees, 0.0)
        turned = replace(orientation, rotation_deg=rotation, shift=shift, leeway=leeway)
        return Pose(shape, self.item, turned), origin + low


@dataclass(frozen=True)
class PosedLayout:
    """Poses of all items, then of the obstacles.

    at : (k, 2) mm, where their bounding boxes start. items : how many of them are items.
    """

    poses: tuple[Pose, ...]
    at: FloatArray
    items: int

    @property
    def size(self) -> FloatArray:
        """Bounding boxes, (k, 2)."""
        return np.array([pose.size for pose in self.poses])

    @property
    def end(self) -> float:
        """Where the last item ends."""
        return float((self.at + self.size)[: self.items, 0].max())

    def near(self, reach: float) -> list[tuple[int, int]]:
        """Pairs a < b, at least one of them an item, that could meet if each moved by `reach`."""
        reach += HAIR_MM  # sums of the same numbers elsewhere may round another way
        low, high = self.at - reach, self.at + self.size + reach
        apart = (low[:, None] > high[None, :]).any(axis=2)
        pairs = np.argwhere(~(apart | apart.T)).tolist()
        return [(a, b) for a, b in pairs if a < b and a < self.items]


class PosePolygons:
    """No-fit polygons of poses, each made once."""

    def __init__(self) -> None:
        self._edges: dict[tuple[Pose, Pose], FloatArray] = {}

    def near(self, layout: PosedLayout, reach: float) -> NoFitPolygons:
        """Those of all pairs that could meet, by their numbers in the layout."""
        found = {}
        for a, b in layout.near(reach):
            key = layout.poses[a], layout.poses[b]
            if key not in self._edges:
                self._edges[key] = edges_of_sum(key[0].standing, key[1].sliding)
            found[a, b] = self._edges[key]
        return polygons_of(found, layout.size)

    def keep(self, layout: PosedLayout) -> None:
        """Forget those of other poses."""
        poses = set(layout.poses)
        self._edges = {pair: e for pair, e in self._edges.items() if poses.issuperset(pair)}


def posed(problem: PlacementProblem, arrangement: Arrangement) -> PosedLayout:
    """The arrangement as poses."""
    shape, at = laid(problem, arrangement)
    orientations = [
        (item, item.orientations[position.orientation])
        for item, position in zip(problem.items, arrangement, strict=True)
    ]
    shapes = [problem.shapes[each] for each in shape]
    obstacles = [(None, None)] * len(problem.obstacles)
    every = zip(shapes, (*orientations, *obstacles), strict=True)
    return PosedLayout(tuple(Pose(shape, *of) for shape, of in every), at, len(orientations))


def arranged(
    problem: PlacementProblem, arrangement: Arrangement, layout: PosedLayout
) -> tuple[PlacementProblem, Arrangement]:
    """The layout that `arrangement` has become, in the terms of a problem that has the orientations
    needed besides its own, behind these."""
    shapes, items, positions = list(problem.shapes), list(problem.items), []
    for k, old in enumerate(arrangement):
        pose, number = layout.poses[k], old.orientation
        orientation = items[k].orientations[number]
        if pose.orientation is not None and pose.orientation is not orientation:
            number = len(items[k].orientations)
            orientations = (*items[k].orientations, replace(pose.orientation, shape=len(shapes)))
            items[k] = replace(items[k], orientations=orientations)
            shapes.append(pose.shape)
        x, y = layout.at[k].tolist()
        positions.append(Position(x, y, number))
    cores = problem.cores
    if cores:  # one orientation of a piece that may tilt stands for all of them
        cores += (np.empty((0, 2)),) * (len(shapes) - len(problem.shapes))
    extended = replace(problem, shapes=tuple(shapes), items=tuple(items), cores=cores)
    return extended, tuple(positions)
