"""The scene says of each piece what the layout and the pattern say."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely

from marker.cloth.behaviour import Shrinkage
from marker.cloth.fabric import Nap
from marker.drawing.scene.layout_scene import Scene, build_scene
from marker.drawing.scene.spread_cloth import Ground
from marker.geometry.outline import inward_at
from marker.units import Show, System, show_lengths
from tests.drawing.garments import (
    JERSEY,
    POCKET,
    Put,
    bought,
    checked,
    choir_dresses,
    piece,
    scene_of,
)
from tests.shapes import CAST, polygon, rectangle


def scene(nap: Nap = Nap.ONE_WAY_PER_GARMENT) -> Scene:
    return scene_of(choir_dresses(2, nap))


def test_numbers_run_along_the_cloth() -> None:
    pieces = scene().pieces
    assert [item.number for item in pieces] == list(range(1, len(pieces) + 1))
    corners = [tuple(item.outline.min(axis=0)) for item in pieces]
    assert sorted(corners) == corners


@pytest.mark.parametrize("hair", [-5e-5, 5e-5])
def test_numbers_stay_where_pieces_lie_a_hair_apart_and_are_drawn_finer(hair: float) -> None:
    """Diagram, pages and moves by hand name a piece by one number."""
    low, high = piece("low", rectangle(100, 60)), piece("high", rectangle(100, 60))
    layout = checked([Put(low, 0.0, 0.0), Put(high, hair, 100.0)])
    finer = [replace(low, outline=polygon((hair, 0), (100, 0), (100, 60), (hair, 60))), high]
    drawn = [scene_of(layout), build_scene(layout, bought(layout), patterns=finer)]
    for each in drawn:
        assert [item.name for item in each.pieces] == ["low", "high"]


def test_every_copy_is_drawn_once_and_mirrored_ones_say_so() -> None:
    sleeves = [item for item in scene().pieces if item.name == "sleeve"]
    said = sorted((item.garment, item.copy, item.copies, item.mirrored) for item in sleeves)
    assert said == [(1, 1, 2, False), (1, 2, 2, True), (2, 1, 2, False), (2, 2, 2, True)]


def test_inner_lines_move_with_the_piece() -> None:
    for item in scene().pieces:
        outline = shapely.Polygon(item.outline)
        if len(item.stitching):
            assert outline.contains(shapely.Polygon(item.stitching).buffer(-1))
        for notch in item.notches:
            assert outline.boundary.distance(shapely.Point(notch.point)) < 0.01
            tip = np.array(notch.point) + 3 * np.array(notch.inward)
            assert outline.contains(shapely.Point(tip))
        if item.fold_line is not None:
            assert outline.buffer(0.01).contains(shapely.LineString(item.fold_line))


@pytest.mark.parametrize("name", sorted(CAST))
@pytest.mark.parametrize("hand", [1, -1])
def test_inward_is_into_the_piece_whichever_way_the_outline_runs(name: str, hand: int) -> None:
    outline = CAST[name][::hand]
    for start, end in zip(outline, np.roll(outline, -1, axis=0), strict=True):
        middle = (start + end) / 2
        tip = middle + 0.01 * np.array(inward_at(outline, middle))
        assert shapely.Polygon(outline).contains(shapely.Point(tip))


def test_grain_arrows_point_as_laid() -> None:
    for item in scene().pieces:
        way = 1.0 if item.garment == 1 else -1.0
        assert item.grain.direction == pytest.approx((way, 0.0), abs=1e-9)
        assert item.grain.nap
        assert not item.grain.either_way


def test_without_nap_a_piece_may_go_either_way_unless_its_turns_forbid() -> None:
    free = scene(Nap.EITHER_WAY).pieces[0]
    one_way = piece("print", rectangle(100, 60), turns=(0.0,))
    layout = checked([Put(one_way, 0, 0)])
    (bound,) = scene_of(layout).pieces
    assert free.grain.either_way
    assert not bound.grain.either_way
    assert not bound.grain.nap


def test_cloth_reaches_past_the_pieces_by_ends_and_selvages() -> None:
    layout = checked([Put(POCKET, 0, 0)])
    areas = scene_of(layout).areas
    (cloth,) = [area for area in areas if area.ground is Ground.CLOTH]
    assert (cloth.low, cloth.high) == ((-20.0, -10.0), (50.0, 1490.0))
    ends = [area for area in areas if area.ground is Ground.END]
    selvages = [area for area in areas if area.ground is Ground.SELVAGE]
    assert (len(ends), len(selvages)) == (2, 2)


def test_title_figures() -> None:
    """By hand: 30 mm used and 2 × 20 mm of ends, sold by 10 cm at 14.90 EUR a metre.

    70 mm are 0.077 yd, so 1/8 yd (1 yd = 0.9144 m, NIST SP 811); 900 mm² of 30 × 1480 are 2.0 %.
    """
    layout = checked([Put(POCKET, 0, 0)])
    facts = {fact.label: fact for fact in scene_of(layout).facts}
    assert facts["to buy"].value == "10 cm"
    assert facts["to buy"].detail == "by the yard: 1/8 yd"
    assert facts["length used"].value == "30 mm"
    assert facts["usable width"].value == "1.48 m"
    assert facts["share of the cloth used"].value == "2 %"
    assert facts["price"].value == "1.49 EUR"


def test_title_figures_of_washed_cloth_are_those_of_the_sum_and_have_room() -> None:
    """By hand: 70 mm on the table ÷ 0.95 are 73.68 mm, so 4 mm of the 100 bought are lost."""
    cloth = replace(JERSEY, shrinkage=Shrinkage(0.05, 0.02))
    facts = {fact.label: fact for fact in scene_of(checked([Put(POCKET, 0, 0)], cloth)).facts}
    assert facts["length used"].detail == "+ 44 mm: ends, washing"
    assert facts["usable width"].detail == "of 1.50 m, washed"


def test_cloth_without_selvages_is_not_told_wider_than_it_is() -> None:
    """90 cm are 35.433 in: 35 7/16 to the sixteenth, 35 3/8 to the eighth."""
    cloth = replace(JERSEY, width_mm=900.0, selvage_mm=0.0)
    with show_lengths(Show(System.IMPERIAL, both=False)):
        facts = {fact.label: fact for fact in scene_of(checked([Put(POCKET, 0, 0)], cloth)).facts}
    assert facts["usable width"].value == "35 7/16 in"
    assert facts["usable width"].detail == "of 35 7/16 in"


@pytest.mark.parametrize(("rotation", "way"), [(0.0, 1.0), (90.0, 1.0), (180.0, -1.0)])
def test_a_bias_strip_on_napped_cloth_shows_the_nap_along_the_cloth(
    rotation: float, way: float
) -> None:
    outline = polygon((30, 0), (400, 370), (370, 400), (0, 30))
    binding = piece("neck binding", outline, turns=(0.0, 90.0, 180.0, 270.0))
    cloth = replace(JERSEY, nap=Nap.ONE_WAY_PER_GARMENT)
    (item,) = scene_of(checked([Put(binding, 0, 0, rotation)], cloth)).pieces
    assert item.grain.nap
    assert item.grain.direction == pytest.approx((way, 0.0), abs=1e-9)
    tail, head = item.grain_line
    assert head[1] == pytest.approx(tail[1])
    assert (head[0] - tail[0]) * way > 0
    assert shapely.Polygon(item.outline).buffer(0.01).contains(shapely.LineString(item.grain_line))


def test_the_arrow_of_a_piece_that_only_lies_across_the_cloth_says_nothing_of_the_nap() -> None:
    yoke = piece("yoke", rectangle(300, 100), turns=(90.0,))
    cloth = replace(JERSEY, nap=Nap.ONE_WAY)
    (item,) = scene_of(checked([Put(yoke, 0, 0, 90.0)], cloth)).pieces
    assert item.grain.direction == pytest.approx((0.0, 1.0), abs=1e-9)
    assert not item.grain.nap
