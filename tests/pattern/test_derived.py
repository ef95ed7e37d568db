"""Linings, facings and interfacings that follow from a piece."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely

from marker.errors import CannotBeDone
from marker.pattern.allowances import cut_ring, stitching_ring
from marker.pattern.derived import derived, shortened
from marker.pattern.edge import Edge, Hem, HemKind, Notch
from marker.pattern.fullness import Dart
from marker.pattern.piece import INNER, Line, Piece, Recipe
from marker.pattern.stitching import edge_length_mm, edge_line
from tests.pattern.bands.openings import half

FRONT = replace(half("front", 100, 100), allowance_mm=10)  # a round neck of radius 100 on the fold
NECK = 100 * math.pi / 2


def area(piece: Piece) -> float:
    return float(shapely.Polygon(stitching_ring(piece).points).area)


@pytest.mark.parametrize("line", list(Line))
def test_a_lining_is_the_piece_less_its_hem(line: Line) -> None:
    """20 mm of the 400 mm wide hem are gone, and no more; whichever line of the piece was drawn."""
    base = FRONT
    if line is Line.CUT:
        ring = cut_ring(FRONT)
        edges = {
            name: replace(edge, start=ring.ends(edge).start, end=ring.ends(edge).end)
            for name, edge in FRONT.edges.items()
        }
        assert FRONT.fold is not None
        base = replace(
            FRONT, outline=ring.points, edges=edges, fold=ring.ends(FRONT.fold), line=line
        )
    lining = derived(base, Recipe("lining", "lining", "front", trims_mm={"waist": 20}))
    assert area(lining) == pytest.approx(area(FRONT) - 400 * 20, rel=1e-6)
    assert edge_length_mm(lining, "neck") == pytest.approx(NECK, abs=0.05)
    assert edge_length_mm(lining, "side") == pytest.approx(600 - 20)
    assert (lining.cloth, lining.line, lining.allowance_mm) == ("lining", Line.STITCHING, 0.0)
    assert lining.fold is not None


def test_it_has_hems_and_allowances_of_its_own() -> None:
    hem = Hem(HemKind.TURNED_TWICE, 10, 10)
    own = {"waist": Edge(0, 0, hem=hem), "neck": Edge(0, 0, allowance_mm=6)}
    lining = derived(FRONT, Recipe("lining", "lining", "front", allowance_mm=12, edges=own))
    assert (lining.edges["waist"].hem, lining.edges["neck"].allowance_mm) == (hem, 6)
    assert lining.edges["side"].allowance_mm is None
    assert cut_ring(lining).points[:, 1].min() == pytest.approx(-20)


def test_a_facing_follows_its_edge() -> None:
    """Within 60 mm of a neck of radius 100: a quarter of a ring (geometry), with the neck itself,
    as much of the shoulder, and an inner edge of radius 160."""
    facing = derived(FRONT, Recipe("facing", "jersey", "front", near=("neck",), within_mm=60))
    assert area(facing) == pytest.approx(math.pi * (160**2 - 100**2) / 4, rel=1e-3)
    assert set(facing.edges) == {"neck", "shoulder", INNER}
    assert edge_length_mm(facing, "neck") == pytest.approx(NECK, abs=0.05)
    assert edge_length_mm(facing, "shoulder") == pytest.approx(60, abs=0.05)
    assert edge_length_mm(facing, INNER) == pytest.approx(160 * math.pi / 2, abs=0.3)
    assert facing.fold is not None
    fold = facing.outline[[facing.fold.start, facing.fold.end]]
    assert np.ptp(fold[:, 1]) == pytest.approx(60, abs=0.05)


def test_interfacing_lies_inside_the_cut_line() -> None:
    """7 mm inside a cut line that is 10 mm outside the stitching line, and on the fold: source,
    shapely's buffer of the cut line, its half beyond the fold with it."""
    fusible = derived(
        FRONT, Recipe("interfacing", "fusible", "front", from_cut_line=True, trim_mm=7)
    )
    cut = shapely.Polygon(cut_ring(FRONT).points)
    mirrored = shapely.transform(cut, lambda points: points * (-1, 1))
    whole = cut.union(mirrored, grid_size=1e-6)
    wanted = whole.buffer(-7, join_style="mitre").intersection(shapely.box(0, -99, 999, 999))
    assert (shapely.Polygon(fusible.outline) ^ wanted).area < 20, "shapely rounds the neck a little"
    assert (fusible.line, fusible.allowance_mm) == (Line.CUT, 0.0)


def test_notches_and_darts_go_with_it() -> None:
    base = replace(
        FRONT, notches=(Notch("neck", 40, "a"), Notch("side", 200)),
        fullness=(Dart("waist", 150, 180, depth_mm=100),),
    )  # fmt: skip
    lining = derived(base, Recipe("lining", "lining", "front"))
    assert [notch.at_mm for notch in lining.notches] == pytest.approx([40, 200])
    assert lining.fullness == base.fullness
    facing = derived(base, Recipe("facing", "jersey", "front", near=("neck",), within_mm=60))
    (kept,) = facing.notches
    assert (kept.edge, kept.name, facing.fullness) == ("neck", "a", ())
    assert kept.at_mm == pytest.approx(40, abs=0.01)


def test_a_skirt_is_shortened_at_its_hem() -> None:
    """30 mm of a hem of 400 are gone; notches stay where they were on the cloth."""
    base = replace(FRONT, notches=(Notch("side", 200), Notch("neck", 40)))
    shorter = shortened(base, "waist", 30)
    assert area(shorter) == pytest.approx(area(FRONT) - 400 * 30, rel=1e-6)
    assert [notch.at_mm for notch in shorter.notches] == pytest.approx([170, 40])
    assert shorter.shortened_mm == {"waist": 30}
    assert edge_length_mm(shorter, "neck") == pytest.approx(NECK, abs=0.05)


def test_it_is_cut_as_the_piece_unless_it_says_otherwise() -> None:
    sleeve = Piece("sleeve", "jersey", FRONT.outline, cut=2, pair=True, edges=FRONT.edges)
    same = derived(sleeve, Recipe("a", "lining", "sleeve"))
    other = derived(sleeve, Recipe("b", "lining", "sleeve", cut=1, pair=False, turns=(0.0, 90.0)))
    assert (same.cut, same.pair, same.turns) == (2, True, sleeve.turns)
    assert (other.cut, other.pair, other.turns) == (1, False, (0.0, 90.0))


def test_edges_drawn_clockwise_keep_their_first_corner() -> None:
    turned = replace(FRONT, drawn_clockwise=True)
    lining = derived(turned, Recipe("lining", "lining", "front", trim_mm=1))
    assert np.hypot(*(edge_line(lining, "side")[0] - edge_line(turned, "side")[0])) < 3


@pytest.mark.parametrize(
    ("recipe", "problem"),
    [
        (Recipe("a", "lining", "front", trim_mm=300), "no stitching line fits"),
        (Recipe("a", "lining", "front", near=("side", "neck"), within_mm=5), "not one part"),
    ],
)
def test_what_cannot_be_derived(recipe: Recipe, problem: str) -> None:
    with pytest.raises(CannotBeDone, match=problem):
        derived(FRONT, recipe)
