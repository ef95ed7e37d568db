"""The slow twin of placement: rectangles of whole numbers on a grid, every place of each tried.

Positions of whole numbers are enough. Any layout of such rectangles and obstacles stays one when
each piece in turn slides down and towards the start until something of whole numbers stops it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import count, product

import numpy as np

from marker.placement.problem.statement import Item, Orientation, PlacementProblem
from tests import shapes

UNIT_MM = 100.0

Cells = tuple[int, int, int, int]
"""A rectangle on the grid: x, y, along, across."""


@dataclass(frozen=True)
class Brick:
    """A rectangle to be placed. repeat, phase : where its positions must lie, 0 where free."""

    along: int
    across: int
    repeat: tuple[int, int] = (0, 0)
    phase: tuple[int, int] = (0, 0)

    def may_start(self, at: tuple[int, int]) -> bool:
        """Whether it is allowed there by its repeat."""
        axes = zip(at, self.repeat, self.phase, strict=True)
        return all(not repeat or (x - phase) % repeat == 0 for x, repeat, phase in axes)

    def turned(self) -> Brick:
        """A quarter turn of it, tied to the same positions."""
        return replace(self, along=self.across, across=self.along)


def shortest_strip(
    items: Sequence[Sequence[Brick]], width: int, obstacles: Sequence[Cells] = ()
) -> int:
    """Length of the shortest layout of items, each given by the ways it may lie."""
    area = sum(orientations[0].along * orientations[0].across for orientations in items)
    for length in count(-(-area // width)):
        if any(_fits(orientations, width, length, obstacles) for orientations in product(*items)):
            return length
    raise AssertionError


def _fits(bricks: Sequence[Brick], width: int, length: int, obstacles: Sequence[Cells]) -> bool:
    taken = np.zeros((length, width), dtype=bool)
    for x, y, a, b in obstacles:
        taken[x : x + a, y : y + b] = True

    def place(k: int) -> bool:
        if k == len(bricks):
            return True
        a, b = bricks[k].along, bricks[k].across
        for x, y in product(range(length - a + 1), range(width - b + 1)):
            spot = taken[x : x + a, y : y + b]
            if bricks[k].may_start((x, y)) and not spot.any():
                spot[:] = True
                if place(k + 1):
                    return True
                spot[:] = False
        return False

    return place(0)


def grid_problem(items: Sequence[Sequence[Brick]], width: int) -> PlacementProblem:
    """The same items for the product, a cell UNIT_MM wide."""
    outlines = {
        (brick.along, brick.across): shapes.rectangle(UNIT_MM * brick.along, UNIT_MM * brick.across)
        for orientations in items
        for brick in orientations
    }
    index = {size: k for k, size in enumerate(outlines)}
    across = UNIT_MM * width
    area = (
        sum(orientations[0].along * orientations[0].across for orientations in items) * UNIT_MM**2
    )
    return PlacementProblem(
        tuple(outlines.values()),
        tuple(_item(orientations, index) for orientations in items),
        across,
        0.0,
        area,
        across,
    )


def _item(orientations: Sequence[Brick], index: dict[tuple[int, int], int]) -> Item:
    repeat, phase = (
        (UNIT_MM * pair[0], UNIT_MM * pair[1])
        for pair in (orientations[0].repeat, orientations[0].phase)
    )
    return Item(
        tuple(
            Orientation(
                index[orientation.along, orientation.across], 90.0 * k, False, 0, (0.0, 0.0), phase
            )
            for k, orientation in enumerate(orientations)
        ),
        repeat=repeat,
    )
