"""A flaw is hatched where it lies, and its name stands clear of the pieces."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely

from marker.canvas.page import Words
from marker.canvas.pen import Pen
from marker.cloth.stock import Flaw
from marker.drawing.diagram.diagram import draw_cloth
from marker.drawing.diagram.paper_piece import cut_polygon
from marker.drawing.diagram.sheets import PAPER, plan_pages
from marker.drawing.signs import hatching
from tests.drawing.garments import JERSEY, Put, checked, piece, scene_of
from tests.shapes import CAST, rectangle


@pytest.mark.parametrize("size", [40.0, 300.0])
def test_a_flaw_is_named_clear_of_the_pieces(size: float) -> None:
    stain = Flaw("tea stain", rectangle(size, size) + np.array([300.0, 500.0]))
    puts = [
        Put(piece("front", rectangle(280, 1200)), 0, 100),
        Put(piece("back", rectangle(280, 1200)), 620, 100),
    ]
    layout = checked(puts, replace(JERSEY, flaws=(stain,)))
    scene = scene_of(layout)
    sheet = plan_pages(scene)[0].sheet
    assert sheet is not None
    pen = Pen(PAPER)
    draw_cloth(pen, scene, sheet)
    (name,) = [
        mark for mark in pen.page.marks if isinstance(mark, Words) and mark.text == "tea stain"
    ]
    at = shapely.Point(name.at[0] + name.width / 2, name.at[1])
    assert all(cut_polygon(part, sheet).distance(at) > 1 for part in scene.pieces)
    region = shapely.Polygon(sheet.to_paper(stain.outline))
    assert region.contains(at) == (size > 100)
    assert region.distance(at) < 15


@pytest.mark.parametrize("name", sorted(CAST))
@pytest.mark.parametrize("slope", [1.0, -1.0])
def test_hatching_fills_any_shape_and_stays_inside(name: str, slope: float) -> None:
    region = shapely.Polygon(CAST[name] * 3)
    lines = [shapely.LineString(run) for run in hatching(region, 0.5, slope)]
    assert all(region.buffer(1e-6).covers(line) for line in lines)
    # lines at 45°, 0.5 apart along x, pass every area once in 0.5/√2 of their length (geometry)
    total = sum(line.length for line in lines)
    assert total * 0.5 / np.sqrt(2) == pytest.approx(region.area, rel=0.1)
