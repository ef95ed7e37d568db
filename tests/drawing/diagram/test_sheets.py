"""Scales, breaks over sheets, and where the list goes."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from marker.drawing.diagram.diagram import draw_diagram
from marker.drawing.diagram.sheets import (
    HEAD,
    MARGIN,
    OVERLAP_MM,
    PAPER,
    SCALES,
    TITLE_HEIGHT,
    break_into_sheets,
    largest_scale,
    plan_pages,
)
from marker.drawing.scene.layout_scene import Scene
from tests.drawing.garments import (
    BELT,
    JERSEY,
    Put,
    checked,
    choir_dresses,
    piece,
    scene_of,
    single,
)
from tests.shapes import rectangle


def scene_of_length(length_mm: float) -> Scene:
    layout = checked([Put(piece("runner", rectangle(length_mm, 300)), 0.0, 0.0)])
    return scene_of(layout)


def test_paper_is_a4_landscape() -> None:
    """ISO 216: A4 is 210 × 297 mm."""
    assert PAPER == (297.0, 210.0)


@pytest.mark.parametrize(
    ("least", "scale"), [(0.1, 5), (5, 5), (5.01, 6), (9.9, 10), (19, 20), (51, 100)]
)
def test_scale_is_the_next_stated_one(least: float, scale: int) -> None:
    assert largest_scale(least) == scale


@pytest.mark.parametrize("length", [50.0, 900.0, 1600.0, 3000.0, 4000.0, 4200.0, 12000.0])
def test_windows_cover_the_cloth_overlap_and_stay_on_the_paper(length: float) -> None:
    scene = scene_of_length(length)
    sheets = break_into_sheets(scene)
    assert sheets[0].start_mm == pytest.approx(-scene.end_mm)
    assert sheets[-1].end_mm == pytest.approx(length + scene.end_mm)
    for before, after in pairwise(sheets):
        assert before.end_mm - after.start_mm == pytest.approx(OVERLAP_MM)
    for sheet in sheets:
        assert sheet.scale in SCALES
        assert sheet.x(sheet.end_mm) <= PAPER[0] - MARGIN
        assert sheet.y(JERSEY.width_mm) <= PAPER[1] - MARGIN
        assert sheet.y(-JERSEY.selvage_mm) >= MARGIN + TITLE_HEIGHT


def test_four_metres_at_150_cm_take_two_sheets_at_1_to_10() -> None:
    """By hand: 150 cm take 150 mm of the 210; 4.04 m take 404 mm of at most 2 × 258, less 10."""
    sheets = break_into_sheets(scene_of_length(4000.0))
    assert [(one.number, one.count, one.scale) for one in sheets] == [(1, 2, 10), (2, 2, 10)]


def test_a_narrow_short_cloth_is_drawn_larger() -> None:
    layout = single()
    (sheet,) = break_into_sheets(scene_of(layout))
    assert sheet.scale == 5


def test_a_metre_of_cloth_is_a_metre_over_the_scale() -> None:
    for sheet in break_into_sheets(scene_of_length(4200.0)):
        ends = sheet.to_paper(np.array([[250.0, 10.0], [1250.0, 10.0]]))
        assert math.dist(*ends) == pytest.approx(1000 / sheet.scale, abs=1e-9)


@pytest.mark.parametrize(("garments", "own_pages"), [(1, 0), (4, 1)])
def test_list_stands_beside_the_cloth_or_on_its_own_page(garments: int, own_pages: int) -> None:
    layout = choir_dresses(garments)
    scene = scene_of(layout)
    pages = plan_pages(scene)
    listed = [item for page in pages for column in page.columns for item in column.pieces]
    assert listed == list(scene.pieces)
    assert sum(page.sheet is None for page in pages) == own_pages


def test_a_long_note_is_listed_whole_below_its_piece() -> None:
    note = "joined from 4 parts, 81 cm each; 20 mm lost in each straight join, pressed open twice"
    note = "; ".join([note] * 3)
    puts = [Put(replace(BELT, note=note, copies=3), 60.0 * k, 0.0, copy=k + 1) for k in range(3)]
    scene = scene_of(checked(puts))
    (column,) = plan_pages(scene)[0].columns
    assert column.rows > len(scene.pieces)
    said = [text for page in draw_diagram(scene) for text in page.texts]
    lines = column.note_lines(scene.pieces[0])
    assert len(lines) > 1
    assert " ".join(lines) == note
    assert all(said.count(line) == 3 for line in lines)


def test_the_list_stands_over_a_low_cloth_that_leaves_room_there() -> None:
    """3 m of a cloth 60 cm wide take the width of the page and a third of its height."""
    sash = piece("sash", rectangle(1450, 60), copies=2)
    puts = [Put(sash, 1500.0 * k, 100.0 * k, copy=k + 1) for k in range(2)]
    scene = scene_of(checked(puts, replace(JERSEY, width_mm=600.0)))
    (only,) = plan_pages(scene)
    assert only.sheet is not None
    cloth = only.sheet.y(scene.width_mm + scene.selvage_mm)
    assert [piece for column in only.columns for piece in column.pieces] == list(scene.pieces)
    assert all(column.top - HEAD - column.rows * column.row > cloth for column in only.columns)


@pytest.mark.parametrize("length_mm", range(600, 2900, 230))
@pytest.mark.parametrize("width_mm", [1100.0, 1500.0, 1600.0])
def test_a_short_list_takes_no_page_of_its_own(length_mm: float, width_mm: float) -> None:
    panel = piece("panel", rectangle(float(length_mm), 200), copies=5)
    puts = [Put(panel, 0.0, 205.0 * k, copy=k + 1) for k in range(5)]
    pages = plan_pages(scene_of(checked(puts, replace(JERSEY, width_mm=width_mm))))
    assert len(pages) == 1
    assert sum(len(column.pieces) for column in pages[0].columns) == 5
