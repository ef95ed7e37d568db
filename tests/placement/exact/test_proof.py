"""Proven bounds against known optima, brute force and any arrangement found by other means."""

from __future__ import annotations

import os
from pathlib import Path

import numpy as np
import pytest

from marker.geometry.arrays import FloatArray
from marker.placement.exact import bounds
from marker.placement.exact.proof import Proof, prove
from marker.placement.exact.questions import Allowance
from marker.placement.problem.statement import Arrangement, PlacementProblem, strip_length
from marker.placement.tables.no_fit_polygons import no_fit_polygons
from marker.tolerances import PROVEN_WITHIN_MM
from tests import shapes
from tests.placement.exact.grid import UNIT_MM, Brick, grid_problem, shortest_strip
from tests.placement.problems import greedy, in_a_row, overlap, problem, published

_AT_HOME = Path(__file__).parents[4] / "shared" / "instances"
SMALL = Path(os.environ.get("MARKER_INSTANCES", _AT_HOME)) / "small"
EFFORT = 3.0
INCH = 25.4


def proof_of(given: PlacementProblem, effort: float = EFFORT) -> Proof:
    """Proof from the worst start, all items in a row, by effort alone on two workers."""
    return prove(given, no_fit_polygons(given), in_a_row(given), Allowance(None, effort, 1, 2))


def best_length(given: PlacementProblem, proof: Proof) -> float:
    """Length of the best arrangement known, after checking that it is one."""
    arrangement = in_a_row(given) if proof.arrangement is None else proof.arrangement
    assert overlap(given, arrangement) < 1e-6
    return strip_length(given, arrangement)


# Optimal lengths: Alvarez-Valdes, Martinez & Tamarit, International Journal of Production
# Economics 145, 2013, 463-477, and later exact studies, as told in the instances' README.
@pytest.mark.parametrize(
    ("name", "optimum"),
    [
        ("three", 6.0),
        ("shapes4_small", 24.0),
        ("fu5_r0", 17.889),
        ("fu6_r0", 23.0),
        ("fu7_r0", 24.0),
        ("fu8_r0", 24.0),
    ],
)
def test_published_optimum_is_proven(name: str, optimum: float) -> None:
    path = SMALL / f"{name}.json"
    if not path.exists():
        pytest.skip(f"no instance {path}")
    given, scale = published(path)
    proof = proof_of(given)
    rounded = 0.0005 * scale  # the optimum is given to three decimals
    assert proof.bound <= optimum * scale + rounded
    assert proof.optimal
    assert proof.bound >= optimum * scale - PROVEN_WITHIN_MM - rounded
    assert best_length(given, proof) == pytest.approx(
        optimum * scale, abs=PROVEN_WITHIN_MM + rounded
    )


# Half circle skirts, waist 28 in in all and 24 in long, straight edges on opposite selvages:
# length 2R + √(4R² - 45²), geometry. Chords of 1.5° lie 0.062 mm inside each of the two arcs.
def test_half_circle_skirts_are_proven_shortest() -> None:
    inner = 28.0 / (2 * np.pi) * INCH
    outer = inner + 24.0 * INCH
    half_ring = np.concatenate([_arc(outer, 0.0, 180.0), _arc(inner, 180.0, 0.0)])
    given = problem([half_ring, half_ring], 45 * INCH, (0.0, 180.0))
    optimum = float(2 * outer + np.sqrt(4 * outer**2 - (45 * INCH) ** 2))
    assert optimum / INCH == pytest.approx(91.76, abs=0.005)
    proof = proof_of(given)
    assert proof.bound <= optimum + 1e-6
    assert proof.bound >= optimum - PROVEN_WITHIN_MM - 0.13
    assert proof.optimal


# One way, the second one's corner touches the first one's arc as high up as the width allows:
# 3R + √(R² - (45 in - R)²), geometry; shorter than end to end, 4R = 113.83 in.
def test_half_circle_skirts_one_way_are_staggered() -> None:
    outer = (28.0 / (2 * np.pi) + 24.0) * INCH
    half_disc = _arc(outer, 0.0, 180.0)
    optimum = 3 * outer + float(np.sqrt(outer**2 - (45 * INCH - outer) ** 2))
    assert optimum < 4 * outer
    proof = proof_of(problem([half_disc, half_disc], 45 * INCH))
    assert optimum - 0.3 - PROVEN_WITHIN_MM <= proof.bound <= optimum + 1e-6


@pytest.mark.parametrize("seed", range(6))
def test_rectangles_match_brute_force(seed: int) -> None:
    rng = np.random.default_rng(seed)
    sizes = [(int(a), int(b)) for a, b in rng.integers(2, 6, (int(rng.integers(2, 5)), 2))]
    sizes[-1] = sizes[0]  # equals, so that symmetry is broken among them, too
    width = 7
    bricks = [Brick(a, b) for a, b in sizes]
    items = [(brick, brick.turned()) if seed % 2 else (brick,) for brick in bricks]
    given = grid_problem(items, width)
    optimum = UNIT_MM * shortest_strip(items, width)
    proof = proof_of(given)
    assert optimum - PROVEN_WITHIN_MM - 1e-6 <= proof.bound <= optimum + 1e-6
    assert best_length(given, proof) == pytest.approx(optimum, abs=PROVEN_WITHIN_MM)


@pytest.mark.parametrize("seed", range(4))
def test_bound_stays_below_every_arrangement(seed: int) -> None:
    rng = np.random.default_rng(seed)
    cast = [shapes.TRIANGLE, shapes.ELL, shapes.CUP, shapes.NOTCHED, shapes.STAR, shapes.HALF_DISC]
    chosen = [cast[k] * float(rng.uniform(20, 45)) for k in rng.integers(0, len(cast), 3)]
    chosen.append(chosen[0])
    given = problem(chosen, 620.0, (0.0, 180.0))
    proof = proof_of(given, effort=0.2)
    tried = [strip_length(given, greedy(given, rng, 5.0)) for _ in range(30)]
    assert proof.bound <= min(tried)
    assert proof.bound <= best_length(given, proof) + 1e-6


# A piece that fits a mouthless pocket exactly leaves one single place to it.
def test_a_piece_that_fits_a_pocket_exactly_may_lie_there() -> None:
    ring = shapes.polygon(
        (0, 0), (300, 0), (300, 300), (0, 300), (0, 200), (200, 200), (200, 100), (0, 100)
    )
    peg = shapes.rectangle(200, 100)
    proof = proof_of(problem([ring, peg], 300.0))
    assert proof.bound <= 300.0 + 1e-6
    assert proof.optimal


def test_items_of_a_group_share_one_direction() -> None:
    right_angled = shapes.polygon((0, 0), (400, 0), (0, 300))
    free = problem([right_angled, right_angled], 300.0, (0.0, 180.0))
    grouped = problem([right_angled, right_angled], 300.0, (0.0, 180.0), group=1)
    assert best_length(free, proof_of(free)) == pytest.approx(400.0, abs=PROVEN_WITHIN_MM)
    proof = proof_of(grouped)
    assert 800.0 - PROVEN_WITHIN_MM <= proof.bound <= 800.0 + 1e-6


def test_a_shorter_arrangement_of_a_group_keeps_one_direction() -> None:
    flag = shapes.polygon((0, 0), (300, 0), (300, 100), (100, 250), (0, 250))
    given = problem([flag, flag, flag], 520.0, (0.0, 180.0), group=1)
    arrangement = proof_of(given).arrangement
    assert arrangement is not None
    assert len({position.orientation for position in arrangement}) == 1
    assert overlap(given, arrangement) < 1e-6


# Two of the five large squares fit side by side, so that three columns of them are the least; the
# small ones fit beside those. Of all 20 the exact model is asked of 16 at most.
def test_a_job_too_large_is_bounded_by_its_largest_pieces() -> None:
    given = problem([shapes.rectangle(450, 450)] * 5 + [shapes.rectangle(50, 50)] * 15, 1000.0)
    proof = proof_of(given)
    assert bounds.simple(given) < 1060.0
    assert 1350.0 - PROVEN_WITHIN_MM <= proof.bound <= 1350.0 + 1e-6
    assert proof.arrangement is None


@pytest.mark.parametrize("seed", range(2))
def test_no_bound_is_above_a_strip_cut_by_straight_cuts(seed: int) -> None:
    """A strip cut into 18 rectangles from edge to edge, each of which then loses a little: they
    still fit where they were."""
    rng = np.random.default_rng(seed)
    width, length = 600.0, 1000.0
    parts = [(length, width)]
    while len(parts) < 18:
        a, b = parts.pop(int(np.argmax([a * b for a, b in parts])))
        cut = float(rng.uniform(0.3, 0.7))
        parts += [(a * cut, b), (a * (1 - cut), b)] if a > b else [(a, b * cut), (a, b * (1 - cut))]
    outlines = [
        shapes.rectangle(a * rng.uniform(0.8, 1), b * rng.uniform(0.8, 1)) for a, b in parts
    ]
    proof = proof_of(problem(outlines, width), effort=0.5)
    assert proof.bound <= length + 1e-6


def test_effort_alone_gives_the_same_proof_each_time() -> None:
    given = problem([shapes.ELL * 30, shapes.STAR * 30, shapes.CUP * 30], 500.0, (0.0, 180.0))
    assert proof_of(given, 0.4) == proof_of(given, 0.4)


def test_progress_tells_of_every_rise_and_every_shorter_arrangement() -> None:
    given = problem([shapes.SQUARE * 30, shapes.TRIANGLE * 30, shapes.ELL * 30], 620.0)
    told: list[tuple[float, Arrangement | None]] = []
    start = in_a_row(given)
    allowance = Allowance(None, EFFORT, 1, 2)
    proof = prove(given, no_fit_polygons(given), start, allowance, lambda *news: told.append(news))
    risen = [bound for bound, _ in told]
    assert risen == sorted(risen)
    assert risen[-1] == proof.bound
    assert [shorter for _, shorter in told if shorter is not None][-1] == proof.arrangement


def _arc(radius: float, first_deg: float, last_deg: float) -> FloatArray:
    angles = np.radians(np.linspace(first_deg, last_deg, 121))
    return radius * np.column_stack((np.cos(angles), np.sin(angles)))
