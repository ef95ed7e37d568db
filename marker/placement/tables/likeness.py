"""Shapes that are one another's images under quarter turns and reflections."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from marker.geometry.arrays import FloatArray

_SAME_MM = 0.002
"""Corners of an image may miss by this much: outlines are rounded to half of it."""


class Moves(NamedTuple):
    """x and y are exchanged, if `turned`; then the one, the other or both are mirrored.

    The eight of them are the quarter turns, with and without a reflection.
    """

    turned: bool
    flipped_x: bool
    flipped_y: bool

    def then(self, before: Moves) -> Moves:
        """These after others."""
        flips = before.flipped_x, before.flipped_y
        along, across = reversed(flips) if self.turned else flips
        return Moves(
            self.turned != before.turned, self.flipped_x != along, self.flipped_y != across
        )

    def back(self) -> Moves:
        """What undoes these."""
        flips = self.flipped_x, self.flipped_y
        along, across = reversed(flips) if self.turned else flips
        return Moves(self.turned, along, across)


NONE = Moves(False, False, False)
EVERY = [
    Moves(turned, flipped_x, flipped_y)
    for turned in (False, True)
    for flipped_x in (False, True)
    for flipped_y in (False, True)
]


class Look(NamedTuple):
    """A shape as the image of another. base : number of that."""

    base: int
    moves: Moves


def looks(shapes: Sequence[FloatArray]) -> list[Look]:
    """How each shape is seen: as itself, or as an image of one before it."""
    found: list[Look] = []
    bases: dict[int, list[int]] = {}
    sides = np.sort([shape.max(axis=0) for shape in shapes]) if len(shapes) else np.empty((0, 2))
    for number, shape in enumerate(shapes):
        known = bases.setdefault(len(shape), [])
        off = np.abs(sides[known] - sides[number]).max(axis=1, initial=0.0)
        look = next(
            (
                Look(known[k], moves)
                for k in np.flatnonzero(off <= 2 * _SAME_MM)  # the others are of another size
                for moves in EVERY
                if _same(seen_as(shapes[known[k]], moves), shape)
            ),
            Look(number, NONE),
        )
        if look.base == number:
            known.append(number)
        found.append(look)
    return found


def seen_as(shape: FloatArray, moves: Moves) -> FloatArray:
    """The image of a shape, counter-clockwise, the corner of its bounding box at the origin.

    shape : (n, 2), counter-clockwise, the corner of its bounding box at the origin.
    """
    image = shape[:, ::-1] if moves.turned else shape
    flipped = np.array([moves.flipped_x, moves.flipped_y])
    image = np.where(flipped, image.max(axis=0) - image, image)
    reversed_ = sum(moves) % 2 == 1  # each of the three turns the outline the other way round
    return np.asarray(image[::-1] if reversed_ else image)


def _same(one: FloatArray, other: FloatArray) -> bool:
    """Whether two outlines of as many points are the same from some point on."""
    if np.abs(one.max(axis=0) - other.max(axis=0)).max() > _SAME_MM:
        return False
    starts = np.flatnonzero(np.abs(other - one[0]).max(axis=1) <= _SAME_MM)
    return any(
        bool(np.abs(np.roll(other, -int(start), axis=0) - one).max() <= _SAME_MM)
        for start in starts
    )
