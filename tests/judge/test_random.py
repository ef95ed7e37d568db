"""The judge against a slow check that looks at every pair, on 200 random layouts."""

from __future__ import annotations

import math
from collections import Counter
from itertools import combinations

import numpy as np
import pytest
from shapely import Polygon

from marker.cloth.fabric import Nap
from marker.judge import check, findings
from marker.layout import CheckedLayout, Placement
from marker.pattern.piece import CutPiece
from tests.random_layouts import SPOILS, Case, sound_case, spoiled

_NEAR_MM = 1e-3
_SHARED_MM2 = 1e-4


def _rebuilt(piece: CutPiece, placement: Placement) -> list[tuple[float, float]]:
    turn = math.radians(placement.rotation_deg)
    points = []
    for x, drawn_y in piece.outline:
        y = -drawn_y if placement.mirrored else drawn_y
        points.append(
            (
                x * math.cos(turn) - y * math.sin(turn) + placement.x_mm,
                x * math.sin(turn) + y * math.cos(turn) + placement.y_mm,
            )
        )
    return points


def _slow_codes(case: Case) -> set[str]:
    """Rules broken, each looked at in the plainest way; pieces of one size, all known."""
    on, placements = case.layout.cloth, case.layout.placements
    by_name = {piece.name: piece for piece in case.pieces}
    outlines = [_rebuilt(by_name[laid.piece], laid) for laid in placements]
    codes = set()
    for a, b in combinations([Polygon(points) for points in outlines], 2):
        if a.intersection(b).area > _SHARED_MM2:
            codes.add("overlap")
        elif a.distance(b) < on.gap_mm - 0.1:
            codes.add("gap too small")
    for x, y in (point for points in outlines for point in points):
        if x < -_NEAR_MM or not -_NEAR_MM <= y <= on.usable_width_mm + _NEAR_MM:
            codes.add("off the cloth")
    for garment in range(1, len(case.garments) + 1):
        own = [laid for laid in placements if laid.garment == garment]
        hands = Counter((laid.piece, laid.mirrored) for laid in own)
        for piece in case.pieces:
            plain, mirrored = hands[piece.name, False], hands[piece.name, True]
            if plain + mirrored < piece.copies + piece.mirrored_copies:
                codes.add("missing copy")
            elif mirrored != piece.mirrored_copies:
                codes.add("wrong hand")
        backward = {(laid.rotation_deg + 5) % 360 >= 180 for laid in own}
        if on.nap is Nap.ONE_WAY and True in backward:
            codes.add("against the nap")
        if on.nap is Nap.ONE_WAY_PER_GARMENT and len(backward) > 1:
            codes.add("against the nap")
    return codes


def _codes(case: Case) -> set[str]:
    return {str(found.code) for found in findings(case.layout, case.pieces, case.garments)}


@pytest.mark.parametrize("seed", range(100))
def test_sound_random_layout_passes_both(seed: int) -> None:
    case = sound_case(np.random.default_rng(seed), gap=3.0 * (seed % 4 == 0))
    assert _slow_codes(case) == set()
    checked = check(case.layout, case.pieces, case.garments)
    assert isinstance(checked, CheckedLayout)
    assert checked.utilisation <= 1


@pytest.mark.parametrize("seed", range(100, 200))
def test_spoiled_random_layout_fails_both_alike(seed: int) -> None:
    rng = np.random.default_rng(seed)
    spoil = SPOILS[seed % len(SPOILS)]
    nap = None
    if spoil == "against the nap":
        nap = (Nap.ONE_WAY, Nap.ONE_WAY_PER_GARMENT)[seed // len(SPOILS) % 2]
    case = spoiled(sound_case(rng, nap), spoil, rng)
    codes = _codes(case)
    assert spoil in codes
    assert codes == _slow_codes(case)
