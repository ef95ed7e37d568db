"""A layout laid before, in the terms of its problem, and pieces pinned where they lie."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from marker.errors import CannotBeDone
from marker.layout import Layout, Placement
from marker.placement.problem.cuts import Cut
from marker.placement.problem.cutting_plans import table_start, upper_label
from marker.placement.problem.orientations import oriented
from marker.placement.problem.prepare import Stretch
from marker.placement.problem.statement import (
    Arrangement,
    Item,
    Obstacle,
    Orientation,
    PlacementProblem,
    Position,
    spans,
)
from marker.tolerances import JUDGED_MM

_SAME_DEG = 1e-3  # layouts are stored to four decimals

_ByCopy = Mapping[tuple[int, str, int], Sequence[Placement]]


def as_laid(stretch: Stretch, layout: Layout) -> tuple[PlacementProblem, Arrangement]:
    """A layout as an arrangement of a stretch's problem, which gets further orientations behind its
    own for pieces that are tilted within their grain tolerance.

    layout : all that is cut from the stretch, and nothing else. Raises CannotBeDone for a piece
    that it does not lay, or lays where the problem does not let it lie.
    """
    by_copy = defaultdict(list)
    for each in (*layout.placements, *layout.spares):
        by_copy[each.garment, each.piece, each.copy].append(each)
    origin = table_start(layout.spread, stretch.table), stretch.table.start_mm
    problem, arrangement = stretch.problem, []
    for number, cut in enumerate(stretch.cuts):
        seen = [_moved(each, origin) for each in _copies(cut, by_copy)]
        if not seen:
            raise CannotBeDone(f"the layout does not lay {_name(cut)}. Lay the job anew.")
        found = next(_positions(problem, cut, problem.items[number], seen), None)
        if found is None:
            problem = _with_tilts(problem, number, seen)
            found = next(_positions(problem, cut, problem.items[number], seen), None)
        if found is None:
            raise CannotBeDone(
                f"{_name(cut)} lies where the job no longer lets it lie. Lay the job anew, or undo "
                f"what was changed in it."
            )
        arrangement.append(found)
    return problem, tuple(arrangement)


def _copies(cut: Cut, by_copy: _ByCopy) -> list[Placement]:
    """All that comes of a cut."""
    labels = [label for label in (cut.label, cut.twin) if label is not None]
    return [
        placement
        for label in labels
        for placement in by_copy.get((label.garment, label.piece.name, label.copy), ())
    ]


def _name(cut: Cut) -> str:
    label = cut.label
    return f"{label.piece.name} {label.piece.size}, garment {label.garment}, copy {label.copy},"


def _moved(placement: Placement, origin: tuple[float, float]) -> Placement:
    """Seen from where the table begins."""
    return replace(placement, x_mm=placement.x_mm - origin[0], y_mm=placement.y_mm - origin[1])


def _positions(
    problem: PlacementProblem, cut: Cut, item: Item, seen: Sequence[Placement]
) -> Iterator[Position]:
    """Every position of an item that gives one of the placements, as the one on the upper ply."""
    for number, orientation in enumerate(item.orientations):
        upper = upper_label(cut, orientation)
        for each in seen:
            same_hand = each.mirrored == orientation.mirrored
            wanted = each.copy == upper.copy or cut.spare
            if same_hand and wanted and _apart(each, orientation) <= _SAME_DEG:
                x, y = each.x_mm - orientation.shift[0], each.y_mm - orientation.shift[1]
                both = zip(spans(problem, item, orientation, np.inf), (x, y), strict=True)
                if all(low - JUDGED_MM <= at <= high + JUDGED_MM for (low, high, _), at in both):
                    yield Position(x, y, number)


def _apart(placement: Placement, orientation: Orientation) -> float:
    """Degrees between how a piece lies and an orientation."""
    return abs((placement.rotation_deg - orientation.rotation_deg + 180) % 360 - 180)


def _with_tilts(
    problem: PlacementProblem, number: int, seen: Sequence[Placement]
) -> PlacementProblem:
    """The problem with further orientations of an item, turned as it is seen, within the leeway of
    its own ones."""
    item = problem.items[number]
    if item.outlines is None:
        return problem
    shapes, made = list(problem.shapes), []
    for each in seen:
        for own in item.orientations:
            turn = (each.rotation_deg - own.rotation_deg + 180) % 360 - 180
            low, high = own.leeway
            inside = low - _SAME_DEG <= turn <= high + _SAME_DEG
            if inside and own.mirrored == each.mirrored:
                gap = problem.margin
                shape, corner = oriented(item.outlines, each.rotation_deg, each.mirrored, gap)
                leeway = min(low - turn, 0.0), max(high - turn, 0.0)
                shift = (-float(corner[0]) - gap, -float(corner[1]) - gap)
                made.append(
                    replace(
                        own, shape=len(shapes), rotation_deg=each.rotation_deg, shift=shift,
                        leeway=leeway,
                    )
                )  # fmt: skip
                shapes.append(shape)
                break
    items = list(problem.items)
    items[number] = replace(item, orientations=(*item.orientations, *made))
    cores = problem.cores and problem.cores + (np.empty((0, 2)),) * len(made)
    return replace(problem, shapes=tuple(shapes), items=tuple(items), cores=cores)


@dataclass(frozen=True)
class Pinned:
    """A problem with some items laid for good. rest : what is still to be laid, around them.

    arrangement : of the whole, from which the pinned positions come. free : the whole's index of
    each item of the rest. orientations : for each of these the whole's index of each orientation.
    """

    whole: PlacementProblem
    rest: PlacementProblem
    arrangement: Arrangement
    free: tuple[int, ...]
    orientations: tuple[tuple[int, ...], ...]

    def restored(
        self, rest: PlacementProblem, arrangement: Arrangement
    ) -> tuple[PlacementProblem, Arrangement]:
        """The whole with the rest laid like this; further orientations of the rest's items come
        behind the whole's own.

        rest : as it was, or with further shapes and orientations behind its own.
        """
        items, every = list(self.whole.items), list(self.arrangement)
        known = len(self.rest.shapes)
        for k, number, position in zip(range(len(self.free)), self.free, arrangement, strict=True):
            own, given = self.orientations[k], rest.items[k].orientations
            further = given[len(own) :]
            count = len(items[number].orientations)
            index = (*own, *range(count, count + len(further)))
            items[number] = replace(
                items[number], orientations=(*items[number].orientations, *further)
            )
            every[number] = replace(position, orientation=index[position.orientation])
        assert known == len(self.whole.shapes)
        whole = replace(self.whole, shapes=rest.shapes, items=tuple(items), cores=rest.cores)
        return whole, tuple(every)


def pinned(problem: PlacementProblem, arrangement: Arrangement, pins: Collection[int]) -> Pinned:
    """The problem of laying all other items around some that stay where they lie.

    pins : numbers of items. Items that share a direction with a pinned one keep that.
    """
    held = {
        problem.items[k].group: problem.items[k].orientations[arrangement[k].orientation].direction
        for k in pins
        if problem.items[k].group >= 0
    }
    free = tuple(k for k in range(len(problem.items)) if k not in set(pins))
    kept = tuple(_kept(problem.items[k], held) for k in free)
    obstacles = list(problem.obstacles)
    ends = [problem.least_length]
    for k in sorted(set(pins)):
        at = arrangement[k]
        shape = problem.items[k].orientations[at.orientation].shape
        obstacles.append(Obstacle(shape, at.x, at.y))
        ends.append(at.x + problem.extent(shape)[0] - 2 * problem.margin)
    rest = replace(
        problem,
        items=tuple(_of(problem.items[k], own, held) for k, own in zip(free, kept, strict=True)),
        obstacles=tuple(obstacles),
        least_length=max(ends),
    )
    return Pinned(problem, rest, arrangement, free, kept)


def _kept(item: Item, held: Mapping[int, int]) -> tuple[int, ...]:
    """Which orientations of an item point the way that its group is held to."""
    ways = enumerate(item.orientations)
    return tuple(k for k, each in ways if held.get(item.group, each.direction) == each.direction)


def _of(item: Item, kept: Sequence[int], held: Mapping[int, int]) -> Item:
    """The item in these orientations, of no group where that is held already."""
    group = -1 if item.group in held else item.group
    return replace(item, orientations=tuple(item.orientations[k] for k in kept), group=group)
