"""Pieces pinned where they lie, while all others are laid around them."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace

from marker.placement.problem.statement import (
    Arrangement,
    Item,
    Obstacle,
    PlacementProblem,
)


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
