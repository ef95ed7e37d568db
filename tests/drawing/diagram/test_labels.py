"""Text stays within its piece, off every other text, and legible."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from itertools import combinations

import numpy as np
import pytest
import shapely

from marker.canvas.fonts import text_width
from marker.canvas.lettering import SMALLEST_PT, shorten
from marker.cloth.fabric import Nap
from marker.drawing.diagram.diagram import draw_diagram
from marker.drawing.diagram.labels import Label, place_labels
from marker.drawing.diagram.paper_piece import cut_polygon
from marker.drawing.diagram.sheets import Sheet, break_into_sheets
from marker.drawing.scene.layout_scene import Scene
from marker.layout import CheckedLayout
from marker.pattern.inner_marks import InnerMark, MarkKind
from tests.drawing.garments import (
    POCKET,
    Put,
    checked,
    choir_dresses,
    many,
    piece,
    scene_of,
    single,
    tiny,
)
from tests.shapes import polygon, rectangle

LAYOUTS: dict[str, Callable[[], CheckedLayout]] = {
    "one dress": lambda: choir_dresses(1, Nap.EITHER_WAY),
    "four dresses": lambda: choir_dresses(4),
    "sixty pieces": many,
    "one panel": single,
    "3 cm": tiny,
}


def labelled(layout: CheckedLayout) -> tuple[Scene, list[tuple[Sheet, tuple[Label, ...]]]]:
    scene = scene_of(layout)
    return scene, [(sheet, place_labels(scene, sheet)) for sheet in break_into_sheets(scene)]


@cache
def labelled_as(name: str) -> tuple[Scene, list[tuple[Sheet, tuple[Label, ...]]]]:
    return labelled(LAYOUTS[name]())


@pytest.mark.parametrize("name", LAYOUTS)
def test_text_is_inside_its_piece_or_on_a_leader(name: str) -> None:
    _, sheets = labelled_as(name)
    for sheet, labels in sheets:
        for label in labels:
            outline = cut_polygon(label.piece, sheet)
            if label.leader:
                assert not label.block.lines
                assert outline.boundary.distance(shapely.Point(label.leader)) < 0.01
                assert not outline.intersects(label.box)
            else:
                assert outline.contains(label.box)


@pytest.mark.parametrize("name", LAYOUTS)
def test_no_two_texts_meet_and_none_meets_an_arrow(name: str) -> None:
    _, sheets = labelled_as(name)
    for _, labels in sheets:
        marks = [label.box for label in labels]
        for one, other in combinations(marks, 2):
            assert not one.intersects(other)
        for label in labels:
            if label.arrow:
                shaft = shapely.LineString([label.arrow.tail, label.arrow.head])
                assert not any(shaft.intersects(box) for box in marks)


@pytest.mark.parametrize("name", LAYOUTS)
def test_every_piece_is_numbered_and_no_text_is_too_small(name: str) -> None:
    scene, sheets = labelled_as(name)
    labels = [label for _, group in sheets for label in group]
    assert {label.piece.number for label in labels} == {item.number for item in scene.pieces}
    sizes = [line.size_pt for label in labels for line in label.block.lines]
    assert min(sizes, default=SMALLEST_PT) >= SMALLEST_PT


@pytest.mark.parametrize("name", LAYOUTS)
def test_arrows_lie_along_the_grain_inside_the_piece(name: str) -> None:
    _, sheets = labelled_as(name)
    for sheet, labels in sheets:
        for label in labels:
            if label.arrow is None:
                assert label.piece.grain.goes_without_saying
                continue
            way = np.subtract(label.arrow.head, label.arrow.tail) / label.arrow.length
            assert way == pytest.approx(np.array(label.piece.grain.direction), abs=1e-6)
            shaft = shapely.LineString([label.arrow.tail, label.arrow.head])
            assert cut_polygon(label.piece, sheet).contains(shaft)


def words(layout: CheckedLayout) -> str:
    _, ((_, labels),) = labelled(layout)
    return " · ".join(line.text for label in labels for line in label.block.lines)


def test_a_roomy_piece_says_everything() -> None:
    outline = rectangle(400, 300)
    sleeve = piece("sleeve", outline, copies=1, mirrored_copies=1, note="ease the cap")
    puts = [Put(sleeve, 0, 0), Put(sleeve, 410, 125, mirrored=True, copy=2)]
    said = words(checked(puts))
    for part in ("sleeve", "size 38", "1 of 2", "2 of 2 · mirrored", "↦ 41.0  ↥ 33.5 cm"):
        assert part in said
    assert said.count("ease the cap") == 2


def test_a_thin_strip_is_lettered_along_its_length() -> None:
    _, ((_, (label,)),) = labelled(checked([Put(piece("belt", rectangle(50, 1400)), 0, 0)]))
    assert label.spot.angle_deg == 90.0
    assert len(label.block.lines) == 1


def test_a_slanting_strip_is_lettered_along_its_slant() -> None:
    corner = 1000 / 2**0.5
    slant = np.array([[0, 0], [corner, corner], [corner - 35.4, corner + 35.4], [-35.4, 35.4]])
    _, ((_, (label,)),) = labelled(checked([Put(piece("binding", slant), 0, 0)]))
    assert label.spot.angle_deg == pytest.approx(45.0, abs=0.1)
    assert label.block.lines


def test_a_3_cm_piece_where_nap_matters_keeps_its_arrow_and_moves_its_number_out() -> None:
    napped = piece("tab", rectangle(30, 30), turns=(0.0,))
    _, ((_, (label,)),) = labelled(
        checked(
            [
                Put(napped, 0, 600),
            ]
        )
    )
    assert label.leader
    assert label.arrow


def test_names_with_markup_signs_are_measured_as_written() -> None:
    assert text_width("$a_b$ & <c>", 6.0) > text_width("a_b", 6.0)
    assert shorten("left front facing", 10.0, 6.0).endswith("…")
    assert text_width(shorten("left front facing", 10.0, 6.0), 6.0) <= 10.0
    assert POCKET.name == shorten(POCKET.name, 40.0, 6.0)


def test_the_key_names_the_kinds_of_marks_that_are_drawn() -> None:
    spots = [InnerMark(MarkKind.BUTTON, polygon((40, 40))),
             InnerMark(MarkKind.PLACEMENT, polygon((60, 60), (200, 60)), "pocket"),
             InnerMark(MarkKind.TEXT, polygon((80, 90)), "this side up")]  # fmt: skip
    marked = piece("front", rectangle(400, 300), inner_marks=tuple(spots))
    (drawn,) = draw_diagram(scene_of(checked([Put(marked, 0, 0)])))
    assert {"button", "placement"} <= set(drawn.texts)
    (bare,) = draw_diagram(scene_of(checked([Put(piece("front", rectangle(400, 300)), 0, 0)])))
    assert not {"button", "placement", "text"} & set(bare.texts)
