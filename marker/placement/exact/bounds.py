"""Lower bounds on the length, each proven by a sentence, and what they are proven of.

Shapes are as large as the search needs them; cores are no larger than the truth. So every
arrangement of the problem is one of its relaxation, which has cores in place of shapes, with the
same length.

Lines along the cloth bound it, too: what surely covers a line lies side by side on it. Two pieces
never share a place of a line, so the stretches of it that they cover add up to no more than the
length used. A piece on the fold needs its length of that fold; a piece too wide to lie beside
another covers the middle of the cloth wherever it lies.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from math import inf

import numpy as np

from marker.geometry.arrays import FloatArray
from marker.placement.exact.symmetry import same_outline
from marker.placement.problem.statement import (
    ANY_LANE,
    Arrangement,
    Item,
    Obstacle,
    Orientation,
    PlacementProblem,
    Position,
    spans,
)
from marker.tolerances import HAIR_MM

_LIKE_MM = 0.1  # sides of two bounding boxes that differ by more are of other outlines


@dataclass(frozen=True)
class Relaxation:
    """Cores on the cloth, and how they lie within the shapes.

    problem : its shapes are the cores, its strip the usable cloth; it knows no gap.
    gap : mm, what two cores keep between them.
    items : the original's index of each item; an item without a core is left out.
    orientations : for each item the original's index of each of its orientations.
    stand_in : for each item, by the original's index, the orientation that is or stands for it.
        Cores that look alike are one, as those of a rectangle and its half turn.
    offset : for each shape, where its corner is seen from the position in the original.
    """

    problem: PlacementProblem
    gap: float
    items: tuple[int, ...]
    orientations: tuple[tuple[int, ...], ...]
    stand_in: tuple[dict[int, int], ...]
    offset: tuple[FloatArray, ...]

    def relaxed(self, arrangement: Arrangement) -> Arrangement:
        """The arrangement in the relaxation's terms; a tilted item lies as its core does."""
        found = []
        for item, stand_in, known in zip(
            self.items, self.stand_in, self.problem.items, strict=True
        ):
            at = arrangement[item]
            orientation = stand_in.get(at.orientation, 0)
            dx, dy = self.offset[known.orientations[orientation].shape]
            found.append(Position(at.x + float(dx), at.y + float(dy), orientation))
        return tuple(found)

    def restored(self, arrangement: Arrangement, positions: Sequence[Position]) -> Arrangement:
        """An original arrangement with the relaxation's positions for the items it holds."""
        every = list(arrangement)
        for k, position in enumerate(positions):
            dx, dy = self.offset[self.problem.items[k].orientations[position.orientation].shape]
            every[self.items[k]] = Position(
                position.x - float(dx),
                position.y - float(dy),
                self.orientations[k][position.orientation],
            )
        return tuple(every)


def relax(problem: PlacementProblem) -> Relaxation:
    """The relaxation of a problem."""
    index: dict[int, int] = {}
    shapes: list[FloatArray] = []
    offset: list[FloatArray] = []
    sides = np.empty((len(problem.shapes), 2))
    for shape in range(len(problem.shapes)):
        core = problem.core(shape)
        if len(core):
            corner = core.min(axis=0)
            within = corner - problem.margin
            within = np.where(np.abs(within) < HAIR_MM, 0.0, within)
            side = core.max(axis=0) - corner
            off = np.abs(sides[: len(shapes)] - side).max(axis=1, initial=0.0)
            index[shape] = next(
                (
                    k
                    for k in np.flatnonzero(off < _LIKE_MM).tolist()
                    if same_outline(shapes[k], core - corner) and (offset[k] == within).all()
                ),
                len(shapes),
            )
            if index[shape] == len(shapes):
                sides[len(shapes)] = side
                shapes.append(core - corner)
                offset.append(within)
    stand_ins = {k: _stand_in(item, index) for k, item in enumerate(problem.items)}
    held = [k for k, stand_in in stand_ins.items() if stand_in]
    orientations = [tuple(dict.fromkeys(stand_ins[k].values())) for k in held]
    items = [
        _of_cores(problem, problem.items[k], some, index, offset)
        for k, some in zip(held, orientations, strict=True)
    ]
    obstacles = [
        Obstacle(index[each.shape], *(np.array([each.x, each.y]) + offset[index[each.shape]]))
        for each in problem.obstacles
        if each.shape in index
    ]
    cores = replace(
        problem, shapes=tuple(shapes), items=tuple(items), width=problem.usable_width,
        margin=0.0, obstacles=tuple(obstacles), cores=(),
    )  # fmt: skip
    stand_in = tuple(
        {of: some.index(by) for of, by in stand_ins[k].items()}
        for k, some in zip(held, orientations, strict=True)
    )
    return Relaxation(
        cores, 2 * problem.margin, tuple(held), tuple(orientations), stand_in, tuple(offset)
    )


def _stand_in(item: Item, index: Mapping[int, int]) -> dict[int, int]:
    """For each orientation of an item that has a core the first one of which the relaxation knows
    no difference."""
    first: dict[tuple[object, ...], int] = {}
    found = {}
    for k, each in enumerate(item.orientations):
        if each.shape in index:
            direction = each.direction if item.group >= 0 else 0
            known = index[each.shape], direction, each.phase, each.lane, each.leeway
            found[k] = first.setdefault(known, k)
    return found


def _of_cores(
    problem: PlacementProblem,
    item: Item,
    kept: Sequence[int],
    index: dict[int, int],
    offset: Sequence[FloatArray],
) -> Item:
    """The item with its cores, each in its lane; one that may tilt is free of its repeat, for its
    core does not tell where the tied point lies."""
    orientations = [item.orientations[k] for k in kept]
    tilts = any(offset[index[orientation.shape]].any() for orientation in orientations)
    return replace(
        item,
        orientations=tuple(
            replace(
                orientation,
                shape=index[orientation.shape],
                lane=_lane_of_core(problem, orientation),
            )
            for orientation in orientations
        ),
        repeat=(0.0, 0.0) if tilts else item.repeat,
    )


def _lane_of_core(problem: PlacementProblem, orientation: Orientation) -> tuple[float, float]:
    """Where a core may lie across the usable cloth. It is as far from the lane's edges as it lies
    from those of its shape, or, where it stands for all tilts, anywhere in the lane."""
    if orientation.lane == ANY_LANE:
        return ANY_LANE
    low, high = orientation.lane
    shape, core = problem.shapes[orientation.shape], problem.core(orientation.shape)
    inside = 0.0, 0.0
    if orientation.leeway == (0.0, 0.0):
        inside = float(core[:, 1].min()), float((shape[:, 1].max() - core[:, 1]).min())
    low, high = low + inside[0] - problem.margin, high - inside[1] - problem.margin
    return max(low, 0.0), high


def simple(problem: PlacementProblem) -> float:
    """The largest of four lengths, mm.

    The farthest that an item reaches by itself in its best orientation: it must lie somewhere. The
    area of all items, each with a strip of the gap's width along its length, ÷ usable width and a
    gap. Where several lie beside one another at one place along the cloth, a gap lies between
    each two. What lies side by side along one line. And what is used anyhow, by pieces that are
    laid for good.
    """
    relaxation = relax(problem)
    cores, gap = relaxation.problem, relaxation.gap
    ends = [
        min(_first_end(cores, item, orientation) for orientation in item.orientations)
        for item in cores.items
    ]
    lengths = [
        min(cores.extent(orientation.shape)[0] for orientation in item.orientations)
        for item in cores.items
    ]
    area = problem.area + gap * sum(lengths)
    across = area / (problem.usable_width + gap)
    return max(across, along_lines(cores, gap), *ends, problem.least_length)


def _first_end(problem: PlacementProblem, item: Item, orientation: Orientation) -> float:
    """Where an item ends in the first position that its repeat allows it."""
    along, _ = spans(problem, item, orientation, inf)
    return along.low + problem.extent(orientation.shape)[0]


LINES = 49
"""Lines looked at, evenly across the cloth; two more lie just inside its edges, where folds are."""

EDGE_MM = 0.01


def along_lines(cores: PlacementProblem, gap: float) -> float:
    """Lower bound on the length of a relaxation, mm. gap : what two cores keep between them."""
    width = cores.width
    inner = np.linspace(0.0, width, LINES + 2)[1:-1]
    heights = np.array([EDGE_MM, *inner, width - EDGE_MM])
    covered, pieces = np.zeros(len(heights)), np.zeros(len(heights))
    surely = lru_cache(maxsize=None)(lambda *key: _surely_covered(cores.shapes[key[0]], *key[1:]))

    def least(orientation: Orientation, low: float, high: float) -> FloatArray:
        if high - low > np.ptp(cores.shapes[orientation.shape][:, 1]):
            return np.zeros(len(heights))  # it can pass by every line
        return np.array([surely(orientation.shape, y - high, y - low) for y in heights])

    for item in cores.items:
        chords = np.full(len(heights), np.inf)
        for orientation in item.orientations:
            _, across = spans(cores, item, orientation, np.inf)
            chords = np.minimum(chords, least(orientation, across.low, across.high))
        covered += chords
        pieces += chords > 0
    return float(np.max(covered + gap * np.maximum(pieces - 1, 0), initial=0.0))


def _surely_covered(shape: FloatArray, low: float, high: float) -> float:
    """The least length of any line between two heights of a shape, mm, within it; 0 where one of
    the lines misses it.

    A line is meant just above its height, so that pieces which meet along it are not both on it. A
    shape's length of a line changes evenly between the heights of its corners: the least one is at
    a corner, just above or below it, or at an end.
    """
    corners = np.unique(shape[:, 1])
    if low < corners[0] or high > corners[-1] or high < low:
        return 0.0
    inside = corners[(corners > low) & (corners < high)]
    lengths = [_length(shape, y, above) for y in inside for above in (False, True)]
    lengths += [_length(shape, low, True), _length(shape, high, True)]
    if low < high:
        lengths.append(_length(shape, high, False))
    return min(lengths)


def _length(shape: FloatArray, height: float, above: bool) -> float:
    """Length of a line within a shape, mm, just above a height or just below it."""
    start, end = shape, np.roll(shape, -1, axis=0)
    low, high = np.minimum(start[:, 1], end[:, 1]), np.maximum(start[:, 1], end[:, 1])
    crosses = (low <= height) & (height < high) if above else (low < height) & (height <= high)
    a, b = start[crosses], end[crosses]
    x = np.sort(a[:, 0] + (height - a[:, 1]) * (b[:, 0] - a[:, 0]) / (b[:, 1] - a[:, 1]))
    return float((x[1::2] - x[::2]).sum())
