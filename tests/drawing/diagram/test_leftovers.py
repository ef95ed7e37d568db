"""Rectangles left over lie beside the pieces, and what a remnant lacks stays white."""

from __future__ import annotations

from dataclasses import replace

import pytest
import shapely

from marker.canvas.page import Shape
from marker.canvas.pen import Pen
from marker.cloth.stock import Remnant
from marker.drawing.diagram.cloth_lines import draw_lacking, draw_leftovers
from marker.drawing.diagram.diagram import draw_cloth, draw_diagram
from marker.drawing.diagram.key import NO_CLOTH
from marker.drawing.diagram.sheets import PAPER, plan_pages
from marker.drawing.scene.layout_scene import build_scene
from marker.layout.bought import leftovers
from tests.drawing.garments import JERSEY, Put, bought, checked, piece, scene_of
from tests.shapes import polygon, rectangle

ELL = polygon((0, 0), (900, 0), (900, 400), (300, 400), (300, 700), (0, 700))


def test_a_rectangle_left_over_is_drawn_with_its_size() -> None:
    layout = checked([Put(piece("front", rectangle(500, 1000)), 0, 0)], JERSEY)
    scene = build_scene(layout, bought(layout), leftovers(layout, bought(layout)))
    sheet = plan_pages(scene)[0].sheet
    assert sheet is not None
    pen = Pen(PAPER)
    draw_leftovers(pen, scene, sheet)
    first = shapely.box(*scene.spare_boxes[0].ravel())
    assert first.intersection(shapely.box(0, 0, 500, 1000)).area < 1
    assert pen.page.texts == ["56 cm × 48 cm left"]


def test_what_a_remnant_lacks_is_white() -> None:
    on = replace(JERSEY, selvage_mm=0.0, end_allowance_mm=0.0).on(Remnant("ell", ELL))
    layout = checked([Put(piece("front", rectangle(250, 600)), 0, 0)], on)
    scene = scene_of(layout)
    assert (scene.length_mm, scene.width_mm) == (900, 700)
    assert scene.cloth_name == "jersey: ell"
    sheet = plan_pages(scene)[0].sheet
    assert sheet is not None
    pen = Pen(PAPER)
    draw_lacking(pen, scene, sheet)
    shape = pen.page.marks[0]
    assert isinstance(shape, Shape)
    area = shapely.Polygon(shape.runs[0]).area * sheet.scale**2
    assert area == pytest.approx(600 * 300, rel=1e-6)
    assert shape.face == "#ffffff"
    (page,) = draw_diagram(scene)
    assert NO_CLOTH in page.texts
    assert "selvage" not in " ".join(page.texts), "what is left over may have none"


@pytest.mark.parametrize(("have", "short"), [(600.0, False), (500.0, True)])
def test_where_the_cloth_ends_too_early_is_said(have: float, short: bool) -> None:
    """A piece of 500 and two ends of 20 on 600 or 500 mm."""
    on = replace(JERSEY, have_mm=have)
    layout = checked([Put(piece("front", rectangle(500, 1000)), 0, 0)], on)
    scene = scene_of(layout)
    sheet = plan_pages(scene)[0].sheet
    assert sheet is not None
    pen = Pen(PAPER)
    draw_cloth(pen, scene, sheet)
    words = pen.page.texts
    assert ("THE CLOTH ENDS HERE" in words) is short
    facts = {fact.label: fact for fact in scene.facts}
    assert facts["there is"].detail.endswith("short by 40 mm" if short else "60 mm to spare")
    assert facts["needed, ends included"].value == "54 cm"
