"""The drawings: drafted again byte for byte, square where sewn, smooth, apart on the sheet.

svgelements, an outside SVG library, reads the drawings here, not the project's own reader.
"""

from __future__ import annotations

import importlib
from functools import cache
from itertools import combinations

import numpy as np
import pytest
import shapely
import svgelements

from marker.geometry.arrays import FloatArray
from marker.pattern.piece import Piece
from tests.pieces.garments import GARMENTS, PIECES, drawing_of, job_of

PX_PER_MM = 96 / 25.4  # CSS pixels, the unit svgelements answers in
CHORDS = 400

# corners where a right angle is drafted, so that the edge runs on without a kink when sewn
SQUARE = {
    ("choir-dress", "bodice-front"): (1, 2, 3, 4, 5, 6),
    ("choir-dress", "bodice-back"): (1, 2, 3, 4, 5, 6),
    ("choir-dress", "skirt-front"): (1, 2, 4, 5),
    ("choir-dress", "skirt-back"): (1, 2, 4, 5),
    ("choir-robe", "front"): (1, 2, 3, 4),
    ("choir-robe", "back"): (1, 2, 3, 4, 5, 6),
    ("shirt", "front"): (1, 4, 5, 6, 7),
    ("shirt", "back"): (1, 4, 6),
    ("shirt", "sleeve"): (3, 5),
    ("shirt", "yoke"): (1, 3, 4, 5),
    ("shirt", "collar"): (1, 4),
    ("shirt", "collar-stand"): (1, 4),
    ("pinafore", "bodice-front"): (1, 2, 3, 4, 5),
    ("pinafore", "bodice-back"): (1, 2, 3, 4, 5),
    ("pinafore", "front-facing"): (1, 2, 3, 4, 5),
    ("pinafore", "back-facing"): (1, 2, 3, 4, 5),
    ("pinafore", "skirt-front"): (1, 2, 4, 5),
    ("pinafore", "skirt-back"): (1, 2, 4, 5),
}
# the first of two edges that run on smoothly: a side over the hip or waist, a cap over the crown
JOINED = [
    ("choir-dress", "skirt-front", 2),
    ("choir-dress", "skirt-back", 2),
    ("pinafore", "skirt-front", 2),
    ("pinafore", "skirt-back", 2),
    ("shirt", "front", 2),
    ("shirt", "back", 2),
    ("shirt", "sleeve", 3),
]


@cache
def drawn(garment: str) -> dict[str, list[FloatArray]]:
    """Each piece's edges as (k, 2) points in mm, y down, by the id of its path."""
    sheet = svgelements.SVG.parse(str(drawing_of(garment)))
    paths = (element for element in sheet.elements() if isinstance(element, svgelements.Path))
    return {path.id: [_points(edge) for edge in path[1:]] for path in paths if path.id}


def drawn_pieces(garment: str) -> list[Piece]:
    """The job's pieces but for those that follow from others."""
    return [piece for piece in job_of(garment).pattern.pieces if piece.recipe is None]


def _points(edge: svgelements.PathSegment) -> FloatArray:
    steps = CHORDS + 1 if isinstance(edge, svgelements.CubicBezier) else 2
    points = [edge.point(t) for t in np.linspace(0, 1, steps)]
    return np.array([(point.x, point.y) for point in points]) / PX_PER_MM


def turns_deg(points: FloatArray) -> FloatArray:
    """How far each chord turns from the one before it, degrees, left negative."""
    steps = np.diff(points, axis=0)
    directions = np.degrees(np.arctan2(steps[:, 1], steps[:, 0]))
    return np.asarray((np.diff(directions) + 180) % 360 - 180)


def corner_deg(edges: list[FloatArray], corner: int) -> float:
    """Angle inside the piece at a corner counted from 1, degrees."""
    before, after = edges[corner - 2], edges[corner - 1]
    turn = turns_deg(np.array([before[-2], before[-1], after[1]]))[0]
    return float(180 - abs(turn))


def outline(edges: list[FloatArray]) -> shapely.Polygon:
    return shapely.Polygon(np.concatenate([edge[:-1] for edge in edges]))


@pytest.mark.parametrize("garment", GARMENTS)
def test_the_drawing_is_the_draft(garment: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Every file that draft.py makes, byte for byte; it makes all drawings there are."""
    monkeypatch.syspath_prepend(str(PIECES))
    redrawn = importlib.import_module("redraw").drafted(garment)
    folder = PIECES / garment
    assert redrawn == {name: (folder / name).read_text(encoding="utf-8") for name in redrawn}
    assert {path.name for path in folder.glob("*.svg")} <= set(redrawn)


@pytest.mark.parametrize("garment", GARMENTS)
def test_every_piece_drawn_is_in_the_job(garment: str) -> None:
    names = {piece.name.replace(" ", "-") for piece in drawn_pieces(garment)}
    assert set(drawn(garment)) == names


@pytest.mark.parametrize("garment", GARMENTS)
def test_job_and_drawing_agree(garment: str) -> None:
    """Perimeter and area, measured again along the curves svgelements reads."""
    for piece in drawn_pieces(garment):
        edges = drawn(garment)[piece.name.replace(" ", "-")]
        around = shapely.LinearRing(np.concatenate([edge[:-1] for edge in edges]))
        own = shapely.LinearRing(piece.outline)
        assert own.length == pytest.approx(around.length, abs=0.5)
        assert shapely.Polygon(own).area == pytest.approx(shapely.Polygon(around).area, rel=1e-3)


@pytest.mark.parametrize(("garment", "piece"), SQUARE)
def test_corners_are_square(garment: str, piece: str) -> None:
    edges = drawn(garment)[piece]
    for corner in SQUARE[garment, piece]:
        assert corner_deg(edges, corner) == pytest.approx(90, abs=3), corner


@pytest.mark.parametrize("garment", GARMENTS)
def test_curves_have_no_kink(garment: str) -> None:
    for piece, edges in drawn(garment).items():
        for edge in (edge for edge in edges if len(edge) > 2):
            assert np.abs(turns_deg(edge)).max() < 5, piece


@pytest.mark.parametrize(("garment", "piece", "edge"), JOINED)
def test_edges_of_one_seam_run_into_each_other(garment: str, piece: str, edge: int) -> None:
    assert corner_deg(drawn(garment)[piece], edge + 1) == pytest.approx(180, abs=5)


@pytest.mark.parametrize("garment", GARMENTS)
def test_no_corner_is_a_sliver(garment: str) -> None:
    for piece, edges in drawn(garment).items():
        angles = [corner_deg(edges, corner) for corner in range(1, len(edges) + 1)]
        assert min(angles) > 45, piece


@pytest.mark.parametrize("garment", GARMENTS)
def test_pieces_lie_apart_on_the_sheet(garment: str) -> None:
    outlines = [outline(edges) for edges in drawn(garment).values()]
    assert all(one.is_valid for one in outlines)
    assert all(one.distance(other) > 20 for one, other in combinations(outlines, 2))
    sheet = svgelements.SVG.parse(str(drawing_of(garment)))
    page = shapely.box(0, 0, sheet.width / PX_PER_MM, sheet.height / PX_PER_MM)
    assert all(page.contains(one) for one in outlines)
