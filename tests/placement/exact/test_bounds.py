"""Bounds of pieces that keep a gap, have many points or may tilt, against geometry and layouts."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from shapely import affinity
from shapely.geometry import Polygon

from marker.geometry.arrays import FloatArray
from marker.pattern.piece import CutPiece
from marker.placement.exact.bounds import relax
from marker.placement.exact.proof import Proof, prove
from marker.placement.exact.questions import Allowance
from marker.placement.problem import statement
from marker.placement.problem.cuts import labels
from marker.placement.problem.prepare import with_obstacles
from marker.placement.problem.statement import Obstacle, PlacementProblem
from marker.placement.tables.no_fit_polygons import no_fit_polygons
from marker.tolerances import PROVEN_WITHIN_MM
from tests import shapes
from tests.helpers import SIZE, cloth, cut_piece
from tests.placement.problems import in_a_row, on_cloth

EFFORT = 0.6


def laid(pieces: list[CutPiece], width: float, gap: float = 0.0) -> PlacementProblem:
    """The pieces on a cloth of that width."""
    return on_cloth(labels(pieces, [SIZE]), cloth(width, gap_mm=gap))


def proof_of(given: PlacementProblem) -> Proof:
    """Proof from all pieces in a row."""
    return prove(given, no_fit_polygons(given), in_a_row(given), Allowance(None, EFFORT, 1, 2))


def disc(radius: float, corners: int = 120) -> FloatArray:
    """A regular polygon with all corners on the circle, the first at angle 0."""
    angles = 2 * np.pi * np.arange(corners) / corners
    return radius * np.column_stack((np.cos(angles), np.sin(angles)))


# Two discs on opposite edges: centres 2r + gap apart, W - 2r of it across; geometry. Chords of
# 3° cut 0.07 mm off the radius, simplified outlines 0.5 mm at most beyond the outline.
@pytest.mark.parametrize("gap", [0.0, 4.0, 20.0])
def test_two_discs_that_keep_a_gap(gap: float) -> None:
    radius, width = 200.0, 600.0
    optimum = 2 * radius + float(np.sqrt((2 * radius + gap) ** 2 - (width - 2 * radius) ** 2))
    proof = proof_of(laid([cut_piece("pocket", disc(radius), copies=2)], width, gap))
    assert optimum - PROVEN_WITHIN_MM - 1.0 <= proof.bound <= optimum + 1e-6


# One corner to the other is nearer than box to box: squares on edge pass one another as soon as
# their nearest points keep the gap. Brute force on a grid of places.
def test_a_gap_goes_round_corners() -> None:
    side, gap, width = 100.0, 30.0, 215.0
    given = laid([cut_piece("patch", shapes.rectangle(side, side), copies=2)], width, gap)
    up = width - 2 * side  # 15 mm between them across, so that along they need the rest
    optimum = 2 * side + float(np.sqrt(gap**2 - up**2))
    assert optimum - PROVEN_WITHIN_MM - 0.1 <= proof_of(given).bound <= optimum + 1e-6


# A mouth of 8 mm, closed by gaps of 10 mm: the room behind it still holds a piece.
def test_room_behind_a_mouth_narrower_than_the_gap_counts() -> None:
    cave = shapes.polygon(
        (0, 0), (300, 0), (300, 300), (0, 300), (0, 154), (50, 154), (50, 250), (250, 250),
        (250, 50), (50, 50), (50, 146), (0, 146),
    )  # fmt: skip
    given = laid(
        [cut_piece("frame", cave, turns=(0.0,)), cut_piece("peg", shapes.SQUARE * 15)], 300.0, 10.0
    )
    assert proof_of(given).bound <= 300.0 + 1e-6


def test_outlines_of_many_points_are_proven_as_they_are() -> None:
    given = laid([cut_piece("pocket", disc(200.0, 720), copies=2)], 600.0)
    assert len(given.shapes[0]) < 720
    optimum = 400.0 + float(np.sqrt(400.0**2 - 200.0**2))
    assert optimum - PROVEN_WITHIN_MM - 0.1 <= proof_of(given).bound <= optimum + 1e-6


# No tilt lays them side by side: across, each takes at least 600 · cos 2° - 300 · sin 2° where its
# middle is, geometry; so one lies beyond the other.
def test_tilting_does_not_undo_what_keeps_pieces_apart() -> None:
    panel = cut_piece("panel", shapes.rectangle(300, 600), grain_tolerance_deg=2.0, copies=2)
    proof = proof_of(laid([panel], 1000.0))
    assert 2 * (300 - 600 * np.sin(np.radians(2.0))) - 5.0 <= proof.bound <= 600.0 + 1e-6


def test_there_and_back_again() -> None:
    given = laid([cut_piece("front", shapes.ELL * 30, copies=2)], 900.0, 7.0)
    start = in_a_row(given)
    relaxation = relax(given)
    assert relaxation.gap == 7.0
    assert relaxation.problem.extent(0) == pytest.approx(Polygon(shapes.ELL * 30).bounds[2:])
    assert relaxation.restored(start, relaxation.relaxed(start)) == start


def test_obstacles_and_ties_stay_where_cores_tell_where_they_are() -> None:
    upright, tilting = (
        laid([cut_piece("front", shapes.ELL * 30, grain_tolerance_deg=limit)], 900.0, 7.0)
        for limit in (0.0, 3.0)
    )
    for given, repeat in ((upright, (64.0, 0.0)), (tilting, (0.0, 0.0))):
        tied = tuple(replace(item, repeat=(64.0, 0.0)) for item in given.items)
        flaw = Obstacle(0, 250.0, 40.0)
        relaxed = relax(replace(given, items=tied, obstacles=(flaw,))).problem
        assert relaxed.items[0].repeat == repeat
        core = given.core(0) + np.array([flaw.x, flaw.y]) - given.margin
        (kept,) = relaxed.obstacles
        assert relaxed.shapes[kept.shape] + np.array([kept.x, kept.y]) == pytest.approx(core)


# Half of the gap of 20 mm is all that a piece keeps from a flaw: 50 mm fit before one at 60 mm.
def test_a_flaw_is_owed_half_the_gap() -> None:
    bare = laid([cut_piece("patch", shapes.rectangle(50, 100), turns=(0.0,))], 100.0, 20.0)
    for start, optimum in ((60.0, 50.0), (59.0, 59.0 + 100.0 + 10.0 + 50.0)):
        flaw = shapes.rectangle(100, 100) + np.array([start, 0.0])
        given = with_obstacles(bare, [flaw])
        row = statement.in_a_row(given)
        proof = prove(given, no_fit_polygons(given), row, Allowance(None, EFFORT, 1, 2))
        assert proof.bound <= optimum + 1e-6
        assert proof.bound >= 50.0 - 1e-6


def test_pieces_that_may_turn_until_nothing_is_sure_leave_the_area() -> None:
    needle = shapes.polygon((0, 0), (800, 0), (400, 4))
    given = laid([cut_piece("dart", needle, grain_tolerance_deg=60.0, copies=2)], 1000.0)
    assert proof_of(given).bound == pytest.approx(2 * 800 * 4 / 2 / 1000)


@pytest.mark.parametrize(("seed", "gap"), [(0, 0.0), (1, 12.0)])
def test_bound_stays_below_every_tilted_layout(seed: int, gap: float) -> None:
    rng = np.random.default_rng(seed)
    cast = [shapes.TRIANGLE, shapes.ELL, shapes.CUP, shapes.NOTCHED, shapes.HALF_DISC]
    pieces = [
        cut_piece(f"piece {k}", cast[kind] * float(rng.uniform(20, 45)), grain_tolerance_deg=6.0)
        for k, kind in enumerate(rng.integers(0, len(cast), 3))
    ]
    proof = proof_of(laid(pieces, 620.0, gap))
    assert proof.bound <= min(_tilted_length(pieces, 620.0, gap, rng) for _ in range(20))


def _tilted_length(
    pieces: list[CutPiece], width: float, gap: float, rng: np.random.Generator
) -> float:
    """Length of a layout of pieces in random order, tilt and height, each as near the start as
    steps of 5 mm allow."""
    placed: list[Polygon] = []
    for k in rng.permutation(len(pieces)).tolist():
        turn = float(rng.choice([0.0, 180.0]) + rng.uniform(-6.0, 6.0))
        solid = affinity.rotate(Polygon(pieces[k].outline), turn, origin=(0, 0))
        low_x, low_y, _, high_y = solid.bounds
        y = float(rng.choice([0.0, 0.5, 1.0])) * (width - (high_y - low_y))
        solid = affinity.translate(solid, -low_x, y - low_y)
        while any(solid.distance(other) < gap or solid.overlaps(other) for other in placed):
            solid = affinity.translate(solid, 5.0)
        placed.append(solid)
    return max(float(solid.bounds[2]) for solid in placed)
