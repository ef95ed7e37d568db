"""Shapes by formula, their corners and areas by school geometry."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

from marker.geometry.outline import polyline_length, signed_area, stretch_points
from tests.jobfile.writer import only_piece


def test_rectangle(tmp_path: Path) -> None:
    piece = only_piece(tmp_path, 'shape = { kind = "rectangle", width = 30, height = "4 cm" }')
    assert piece.outline.tolist() == [[0, 0], [30, 0], [30, 40], [0, 40]]


def test_trapezoid(tmp_path: Path) -> None:
    shape = 'shape = { kind = "trapezoid", bottom = 60, top = 40, height = 50 }'
    piece = only_piece(tmp_path, shape)
    assert piece.outline.tolist() == [[0, 0], [60, 0], [50, 50], [10, 50]]


def test_triangle(tmp_path: Path) -> None:
    piece = only_piece(tmp_path, 'shape = { kind = "triangle", base = 20, height = 30 }')
    assert piece.outline.tolist() == [[0, 0], [20, 0], [10, 30]]


def ring(angle: float) -> str:
    radii = 'inner_radius = "11 cm", outer_radius = "70 cm"'
    return f'shape = {{ kind = "ring sector", {radii}, angle = {angle} }}'


@pytest.mark.parametrize("angle", [30, 90, 180, 270, 350])
def test_ring_sector(angle: float, tmp_path: Path) -> None:
    edges = "edges = { waist = [4, 1], hem = [2, 3] }"
    piece = only_piece(tmp_path, ring(angle), edges, 'flatten = "0.01 mm"')
    turn = math.radians(angle)
    assert signed_area(piece.outline) == pytest.approx(turn / 2 * (700**2 - 110**2), rel=1e-4)
    for edge, radius, ends in (("waist", 110, (turn, 0)), ("hem", 700, (0, turn))):
        along = stretch_points(piece.outline, piece.edges[edge].start, piece.edges[edge].end)
        assert polyline_length(along) == pytest.approx(turn * radius, rel=1e-4)
        for point, at in zip((along[0], along[-1]), ends, strict=True):
            np.testing.assert_allclose(point, (radius * math.cos(at), radius * math.sin(at)))


def test_full_ring_has_a_hole_and_one_corner(tmp_path: Path) -> None:
    piece = only_piece(tmp_path, ring(360), "edges = { hem = [1, 1] }")
    (hole,) = piece.cutouts
    assert signed_area(piece.outline) == pytest.approx(math.pi * 700**2, rel=1e-3)
    assert abs(signed_area(hole)) == pytest.approx(math.pi * 110**2, rel=2e-3)


def test_chords_of_a_shape_keep_its_flatten(tmp_path: Path) -> None:
    outline = only_piece(tmp_path, ring(180), 'flatten = "0.5 mm"').outline
    middles = (outline + np.roll(outline, -1, axis=0)) / 2
    radii = np.hypot(middles[:, 0], middles[:, 1])
    assert radii[radii > 600].min() >= 699.5 - 1e-9
