"""Symmetries of a placement problem: items that are interchangeable, reflections of the strip."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from shapely.geometry import Polygon

from marker.geometry.arrays import FloatArray
from marker.placement.problem.statement import ANY_LANE, Item, Orientation, PlacementProblem

_SAME_MM = 1e-4

Keys = frozenset[tuple[int, int]]
"""(shape, direction) of an item's orientations; direction 0 where the item has no group."""

Ties = tuple[tuple[float, ...], ...]
"""Repeat of an item, phases and lanes of its orientations; empty where it is free of both."""


@dataclass(frozen=True)
class Reflection:
    """A motion that maps the strip onto itself and the set of items too.

    along, across : whether it turns the strip end for end, side for side.
    partner : the shape that each shape becomes.
    """

    along: bool
    across: bool
    partner: tuple[int, ...]


def kinds(
    problem: PlacementProblem, items: Sequence[int]
) -> dict[tuple[Keys, int, Ties], list[int]]:
    """Items by kind: those of one kind can change places without anybody noticing."""
    found: dict[tuple[Keys, int, Ties], list[int]] = {}
    for item in items:
        group = problem.items[item].group
        keys = frozenset(_key(each, group) for each in problem.items[item].orientations)
        found.setdefault((keys, group, _ties(problem.items[item])), []).append(item)
    return found


def reflections(problem: PlacementProblem, items: Sequence[int]) -> Iterator[Reflection]:
    """The half turn and the two reflections of the strip, those that map the items' kinds onto
    each other. Turning end for end reverses the direction of every group. With obstacles, items
    tied to a repeat or lanes, none is looked for."""
    of_kind = kinds(problem, items)
    if problem.obstacles or any(ties for _, _, ties in of_kind):
        return
    for along, across in ((True, True), (False, True), (True, False)):
        partner = _partners(problem, along, across)

        def image(keys: Keys, group: int, flip: bool = along, to: list[int] = partner) -> Keys:
            turned = flip and group >= 0
            return frozenset(
                (to[shape], 1 - direction if turned else direction) for shape, direction in keys
            )

        images = [
            ((image(keys, group), group, ties), len(members))
            for (keys, group, ties), members in of_kind.items()
        ]
        if all(len(of_kind.get(kind, ())) == count for kind, count in images):
            yield Reflection(along, across, tuple(partner))


def orbit(
    problem: PlacementProblem, items: Sequence[int], first: int, motions: Sequence[Reflection]
) -> list[int]:
    """All items of the kind of item `first`, and all those of the kinds that these motions make of
    it, one after another."""
    shapes: set[int] = set()
    images = {orientation.shape for orientation in problem.items[first].orientations}
    while not images <= shapes:
        shapes |= images
        images = {motion.partner[shape] for motion in motions for shape in shapes}
    group = problem.items[first].group
    return [
        item
        for item in items
        if problem.items[item].group == group
        and all(orientation.shape in shapes for orientation in problem.items[item].orientations)
    ]


def same_outline(one: FloatArray, other: FloatArray) -> bool:
    """Whether two outlines hold the same, however many points each takes. (n, 2), (m, 2) mm, the
    corners of their bounding boxes at the origin."""
    if np.abs(one.max(axis=0) - other.max(axis=0)).max() >= _SAME_MM:
        return False
    first, second = Polygon(one), Polygon(other)
    return bool(
        abs(first.area - second.area) < _SAME_MM * (first.length + second.length)
        and first.buffer(_SAME_MM).contains(second)
        and second.buffer(_SAME_MM).contains(first)
    )


def _ties(item: Item) -> Ties:
    if not any(item.repeat) and all(
        orientation.lane == ANY_LANE for orientation in item.orientations
    ):
        return ()
    return (
        item.repeat,
        *(
            (orientation.shape, *orientation.phase, *orientation.lane)
            for orientation in item.orientations
        ),
    )


def _key(orientation: Orientation, group: int) -> tuple[int, int]:
    return orientation.shape, orientation.direction if group >= 0 else 0


def _partners(problem: PlacementProblem, along: bool, across: bool) -> list[int]:
    """For each shape the one that its reflection is, -1 if none."""
    sign = np.array([-1.0 if along else 1.0, -1.0 if across else 1.0])
    images = [shape * sign for shape in problem.shapes]
    return [
        next(
            (
                k
                for k, other in enumerate(problem.shapes)
                if same_outline(other, image - image.min(axis=0))
            ),
            -1,
        )
        for image in images
    ]
