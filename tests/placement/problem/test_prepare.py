"""From cut pieces to a problem and back: labels, allowed ways to lie, gaps, and what can't be."""

from __future__ import annotations

import numpy as np
import pytest
from shapely.geometry import Polygon

from marker.cloth.fabric import Nap
from marker.errors import CannotBeDone
from marker.geometry.arrays import FloatArray
from marker.pattern.piece import CutPiece
from marker.placement.problem.cuts import MOST_ITEMS, labels
from marker.placement.problem.orientations import SIMPLIFY_MM
from marker.placement.problem.prepare import placements
from marker.placement.problem.statement import Orientation, Position, strip_length
from tests.helpers import SIZE, cloth, cut_piece, laid_outline
from tests.placement.problems import on_cloth
from tests.shapes import CAST, rectangle

ELL = CAST["ell"] * 20
WIDE = cloth(1500)


def orientations(piece: CutPiece, nap: Nap = Nap.EITHER_WAY) -> tuple[Orientation, ...]:
    """The ways the piece's first copy may lie."""
    return on_cloth(labels([piece], [SIZE]), cloth(1500, nap)).items[0].orientations


def test_every_copy_of_every_garment_has_its_label() -> None:
    front = cut_piece("front", ELL)
    sleeve = cut_piece("sleeve", ELL, copies=2, mirrored_copies=1)
    found = labels([front, sleeve], [SIZE, SIZE])
    assert [(each.piece.name, each.garment, each.copy, each.mirrored) for each in found[:4]] == [
        ("front", 1, 1, False), ("sleeve", 1, 1, False), ("sleeve", 1, 2, False),
        ("sleeve", 1, 3, True),
    ]  # fmt: skip
    assert [each.garment for each in found] == [1] * 4 + [2] * 4


def test_more_pieces_than_can_be_laid_are_refused_before_they_are_made() -> None:
    button = cut_piece("button stand", ELL, copies=MOST_ITEMS // 2)
    assert len(labels([button], [SIZE, SIZE])) == MOST_ITEMS
    many = cut_piece("button stand", ELL, copies=10**12)
    with pytest.raises(CannotBeDone, match=r"more than the 2000 .* several jobs"):
        labels([many], [SIZE])


@pytest.mark.parametrize(
    ("nap", "turns", "tolerance", "rotations"),
    [
        (Nap.EITHER_WAY, (0.0, 180.0), 0.0, [0, 180]),
        (Nap.EITHER_WAY, (0.0, 90.0, 180.0, 270.0), 0.0, [0, 90, 180, 270]),
        (Nap.EITHER_WAY, (45.0,), 0.0, [45]),
        (Nap.EITHER_WAY, (0.0,), 3.0, [0, 3, 357]),
        (Nap.ONE_WAY, (0.0, 180.0), 0.0, [0]),
        (Nap.ONE_WAY, (0.0, 90.0, 180.0, 270.0), 0.0, [0, 90]),
        (Nap.ONE_WAY, (0.0, 180.0), 2.0, [0, 2, 358]),
        (Nap.ONE_WAY_PER_GARMENT, (0.0, 180.0), 2.0, [0, 2, 358, 180, 182, 178]),
    ],
)
def test_turns_under_each_nap(
    nap: Nap, turns: tuple[float, ...], tolerance: float, rotations: list[float]
) -> None:
    piece = cut_piece("front", ELL, turns=turns, grain_tolerance_deg=tolerance)
    found = orientations(piece, nap)
    assert [orientation.rotation_deg for orientation in found] == rotations
    for orientation in found:
        ends = {(orientation.rotation_deg + leeway) % 360 for leeway in orientation.leeway}
        assert any(ends == {(turn - tolerance) % 360, (turn + tolerance) % 360} for turn in turns)
    if nap is Nap.ONE_WAY_PER_GARMENT:
        assert [orientation.direction for orientation in found] == [0, 0, 0, 1, 1, 1]
    else:
        assert {orientation.direction for orientation in found} == {0}


def test_ways_that_look_the_same_are_one() -> None:
    assert len(orientations(cut_piece("belt", rectangle(300, 50)))) == 1
    both = orientations(cut_piece("belt", rectangle(300, 50)), Nap.ONE_WAY_PER_GARMENT)
    assert [(orientation.shape, orientation.direction) for orientation in both] == [(0, 0), (0, 1)]
    assert len(orientations(cut_piece("patch", rectangle(50, 50), turns=(0.0, 90.0)))) == 1


def test_turns_too_wide_for_the_cloth_are_left_out() -> None:
    piece = cut_piece("belt", rectangle(300, 50), turns=(0.0, 90.0))
    problem = on_cloth(labels([piece], [SIZE]), cloth(200))
    assert [orientation.rotation_deg for orientation in problem.items[0].orientations] == [0]


def test_garments_are_groups_only_where_they_have_a_choice() -> None:
    free, bound = cut_piece("front", ELL), cut_piece("back", ELL, turns=(0.0,))
    either = cloth(1500, Nap.ONE_WAY_PER_GARMENT)
    grouped = on_cloth(labels([free], [SIZE] * 2), either)
    assert [item.group for item in grouped.items] == [1, 2]
    held = on_cloth(labels([free, bound], [SIZE]), either)
    assert [item.group for item in held.items] == [-1, -1]
    assert [len(item.orientations) for item in held.items] == [1, 1]
    assert {item.group for item in on_cloth(labels([free], [SIZE]), WIDE).items} == {-1}


def test_pieces_that_point_opposite_ways_cannot_share_a_garment() -> None:
    pieces = [cut_piece("front", ELL, turns=(0.0,)), cut_piece("back", ELL, turns=(180.0,))]
    with pytest.raises(CannotBeDone, match="front can lie along it only and back turned back"):
        on_cloth(labels(pieces, [SIZE]), cloth(1500, Nap.ONE_WAY_PER_GARMENT))


def test_too_wide_says_how_much_and_what_would_do() -> None:
    pieces = [cut_piece("front", rectangle(100, 1620.3)), cut_piece("back", ELL)]
    with pytest.raises(CannotBeDone) as refused:
        on_cloth(labels(pieces, [SIZE]), WIDE)
    said = str(refused.value)
    assert "front needs 162.1 cm (63 13/16 in)" in said
    assert "12.1 cm more than the 150 cm" in said
    assert "usable width of 162.1 cm" in said
    assert "back" not in said


@pytest.mark.parametrize("gap", [0.0, 3.0, 20.0])
@pytest.mark.parametrize("outline", [CAST["triangle"] * 20, CAST["needle"] * 20, CAST["star"] * 20])
def test_a_position_at_the_start_lies_at_the_cloths_edges(outline: FloatArray, gap: float) -> None:
    """However sharp its corners, a piece at (0, 0) touches start and selvage; length is true."""
    piece = cut_piece(
        "gusset", outline, turns=(0.0, 90.0, 180.0), grain_tolerance_deg=4.0, mirrored_copies=1
    )
    items = labels([piece], [SIZE])
    problem = on_cloth(items, cloth(1500, gap_mm=gap))
    assert problem.width == 1500 + gap
    for orientation in range(len(problem.items[0].orientations)):
        at = tuple(Position(500.0 * k, 0.0, orientation) for k in range(2))
        laid = placements(problem, items, at)
        assert laid[0].outline_mm.min(axis=0) == pytest.approx([0, 0], abs=1e-9)
        last = max(float(each.outline_mm[:, 0].max()) for each in laid)
        assert strip_length(problem, at) == pytest.approx(last)
        for each in laid:
            turned = laid_outline(outline, each.rotation_deg, each.mirrored)
            assert each.outline_mm == pytest.approx(turned + np.array([each.x_mm, each.y_mm]))
    assert [each.mirrored for each in items] == [False, True]


def test_shapes_hold_the_piece_and_half_the_gap() -> None:
    """Every shape contains its outline grown by half the gap, and not much more."""
    angles = np.linspace(0, np.pi, 120)
    piece = cut_piece("collar", 200 * np.column_stack([np.cos(angles), np.sin(angles)]))
    problem = on_cloth(labels([piece], [SIZE]), cloth(1500, gap_mm=6))
    for orientation in problem.items[0].orientations:
        shape = Polygon(problem.shapes[orientation.shape])
        true = laid_outline(piece.outline, orientation.rotation_deg, False) + orientation.shift
        grown = Polygon(true + problem.margin).buffer(3.0)
        assert len(shape.exterior.coords) < 60
        assert grown.difference(shape).area < 1e-6
        assert shape.hausdorff_distance(grown) < 3.0 + 2 * SIMPLIFY_MM
    assert problem.area == pytest.approx(Polygon(piece.outline).area)


def test_cut_outs_are_no_area() -> None:
    hole = rectangle(50, 50) + 20
    piece = cut_piece("yoke", rectangle(100, 200), cutouts=(hole,), copies=2)
    assert on_cloth(labels([piece], [SIZE]), WIDE).area == 2 * (20000 - 2500)
