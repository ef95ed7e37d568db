"""What symmetry leaves out is never the shortest: cells on a grid, every place of each tried.

Positions of whole cells are enough. In a layout whose positions add up to the least, whole cells
stop every group of pieces that move together, along the strip and across it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from itertools import count, product

import numpy as np
import pytest
from shapely import unary_union
from shapely.geometry import Polygon, box
from shapely.geometry.polygon import orient

from marker.geometry.arrays import FloatArray
from marker.placement.exact.bounds import relax
from marker.placement.exact.proof import Proof, prove
from marker.placement.exact.questions import Allowance
from marker.placement.exact.symmetry import reflections
from marker.placement.problem.statement import PlacementProblem
from marker.placement.tables.no_fit_polygons import no_fit_polygons
from marker.tolerances import PROVEN_WITHIN_MM
from tests import shapes
from tests.placement.problems import in_a_row, problem

UNIT_MM = 100.0

Cells = frozenset[tuple[int, int]]

CAST = {
    "tee": ((0, 0), (0, 1), (0, 2), (1, 1)),  # its own mirror image across the strip
    "ell": ((0, 0), (1, 0), (2, 0), (2, 1)),
    "jay": ((0, 1), (1, 1), (2, 1), (2, 0)),  # the mirror image of an ell across the strip
    "cup": ((0, 0), (0, 1), (1, 0), (0, 2), (1, 2)),
    "ess": ((0, 0), (1, 0), (1, 1), (2, 1)),  # its own half turn
    "bar": ((0, 0), (1, 0), (2, 0)),
}


def outline(cells: Cells) -> FloatArray:
    """The border of cells, counter-clockwise, mm."""
    union = unary_union([box(x, y, x + 1, y + 1) for x, y in cells])
    assert isinstance(union, Polygon)
    return np.array(orient(union).exterior.coords)[:-1] * UNIT_MM


def turned(cells: Cells) -> Cells:
    """Half a turn."""
    far_x, far_y = (max(cell[axis] for cell in cells) for axis in (0, 1))
    return frozenset((far_x - x, far_y - y) for x, y in cells)


def places(cells: Cells, width: int, length: int) -> Iterator[Cells]:
    """Everywhere on a strip."""
    far_x, far_y = (max(cell[axis] for cell in cells) for axis in (0, 1))
    for dx, dy in product(range(length - far_x), range(width - far_y)):
        yield frozenset((x + dx, y + dy) for x, y in cells)


def shortest(pieces: Sequence[Cells], width: int, grouped: bool) -> int:
    """Length of the shortest strip that holds all; grouped: all turned or none."""
    ways = [(False,) * len(pieces), (True,) * len(pieces)]
    if not grouped:
        ways = list(product((False, True), repeat=len(pieces)))

    def fits(left: Sequence[Cells], taken: Cells, length: int) -> bool:
        return not left or any(
            fits(left[1:], taken | here, length)
            for here in places(left[0], width, length)
            if not taken & here
        )

    for length in count(-(-sum(map(len, pieces)) // width)):
        for way in ways:
            laid = [turned(c) if back else c for c, back in zip(pieces, way, strict=True)]
            if fits(laid, frozenset(), length):
                return length
    raise AssertionError


def proof_of(given: PlacementProblem) -> Proof:
    """Proof from all items in a row."""
    return prove(given, no_fit_polygons(given), in_a_row(given), Allowance(None, 2.0, 1, 2))


@pytest.mark.parametrize(
    ("names", "width"),
    [
        ("tee ell jay", 4),
        ("tee ell jay bar", 4),
        ("cup ell jay", 3),
        ("tee tee", 3),
        ("tee tee cup", 4),
        ("ell jay ell jay", 4),
        ("ess tee bar bar", 3),
        ("cup tee bar", 4),
        ("ell ell ess", 3),
    ],
)
@pytest.mark.parametrize("grouped", [False, True])
def test_no_shortest_strip_is_left_out(names: str, width: int, grouped: bool) -> None:
    pieces = [frozenset(CAST[name]) for name in names.split()]
    optimum = UNIT_MM * shortest(pieces, width, grouped)
    given = problem(
        [outline(cells) for cells in pieces],
        width * UNIT_MM,
        (0.0, 180.0),
        1 if grouped else -1,
    )
    proof = proof_of(given)
    assert optimum - PROVEN_WITHIN_MM - 1e-6 <= proof.bound <= optimum + 1e-6


def test_motions_of_the_strip_that_pieces_allow() -> None:
    def motions(names: str) -> list[tuple[bool, bool]]:
        outlines = [outline(frozenset(CAST[name])) for name in names.split()]
        given = relax(problem(outlines, 500.0, (0.0, 180.0))).problem
        every = reflections(given, range(len(given.items)))
        return [(each.along, each.across) for each in every]

    assert motions("tee ell jay bar") == [(True, True), (False, True), (True, False)]
    assert motions("tee ell") == [(True, True)]


# A corner in the middle of an edge, as where a piece was opened from its fold, changes no outline.
def test_a_rectangle_of_many_corners_is_its_own_half_turn() -> None:
    rectangle = shapes.polygon((0, 0), (140, 0), (674, 0), (674, 40), (674, 80), (0, 80))
    given = problem([rectangle, shapes.ELL * 30], 500.0, (0.0, 180.0))
    relaxation = relax(given)
    assert [len(item.orientations) for item in relaxation.problem.items] == [1, 2]
    assert [len(item.orientations) for item in given.items] == [2, 2]
    lying = tuple(replace(position, orientation=1) for position in in_a_row(given))
    assert [position.orientation for position in relaxation.relaxed(lying)] == [0, 1]
    back = relaxation.restored(lying, relaxation.relaxed(lying))
    assert [position.orientation for position in back] == [0, 1]
