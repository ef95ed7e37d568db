"""Darts, pleats and gathers: taken in along the walk, marked on the cloth, graded."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from marker.cloth.behaviour import Cut, Shrinkage
from marker.cloth.fabric import Cloth
from marker.errors import CannotBeDone
from marker.geometry.arrays import FloatArray
from marker.job import Job
from marker.pattern.bands.opening_line import measured
from marker.pattern.bands.strip import CutLength, Strip
from marker.pattern.edge import Edge, EdgeRef, Notch, Stretch
from marker.pattern.fullness import Dart, Gather, Pleat, PleatKind, TakenIn
from marker.pattern.grading import carried
from marker.pattern.inner_marks import Hand, InnerMark, MarkKind
from marker.pattern.pattern import Pattern
from marker.pattern.piece import CutPiece, Line, Piece
from marker.pattern.seams.seam_report import seam_reports
from marker.pattern.seams.sewing import Opening, Seam, Side
from marker.pattern.seams.walk import walk
from tests.shapes import polygon, rectangle

WIDE, HIGH = 300.0, 600.0
CLOTH = Cloth("wool", 1500)
DART = Dart("waist", 135, 165, depth_mm=120)


def skirt(*fullness: TakenIn, fold: bool = False, **changes: object) -> Piece:
    """A panel 300 wide and 600 high, its waist along the top from right to left; the fold, if it
    has one, is its left side."""
    edges = {"hem": Edge(0, 1), "side": Edge(1, 2), "waist": Edge(2, 3)}
    piece = Piece(
        "skirt", "wool", rectangle(WIDE, HIGH), line=Line.STITCHING, allowance_mm=10, edges=edges,
        fullness=fullness, fold=Stretch(3, 0) if fold else None,
    )  # fmt: skip
    return replace(piece, **changes)  # type: ignore[arg-type]


def cut(piece: Piece, cloth: Cloth = CLOTH) -> CutPiece:
    job = Job("choir skirt", "38", (Pattern("38", (piece,)),), (cloth,), {"38": 1})
    return job.cut_pieces(cloth)[0]


def waist(piece: Piece) -> float:
    return walk([piece], [EdgeRef("skirt", "waist")]).length_mm


@pytest.mark.parametrize(
    ("taken", "sewn"),
    [
        (DART, 300 - 30),
        (Dart("waist", 270, 300, depth_mm=100), 300 - 30),
        (Pleat("waist", 40, 80, PleatKind.BOX, 150), 300 - 40),
        (Gather("waist", 50, 250, into_mm=120), 300 - 200 + 120),
    ],
)
@pytest.mark.parametrize("fold", [False, True])
def test_the_walk_leaves_out_what_is_taken_in(taken: TakenIn, sewn: float, fold: bool) -> None:
    """From leg to leg; on the fold both halves are sewn (arithmetic)."""
    assert waist(skirt(taken, fold=fold)) == pytest.approx(sewn * (2 if fold else 1))


def test_places_behind_a_dart_come_nearer_on_the_walk() -> None:
    """The waist runs from right to left: a notch 200 mm along it lies 30 mm nearer. The other
    way round it stands 100 mm from the far end, where no dart is between."""
    piece = skirt(DART, notches=(Notch("waist", 200, "hip"), Notch("waist", 100)))
    forward = walk([piece], [EdgeRef("skirt", "waist")])
    assert sorted(at for mark in forward.marks for at in mark.at_mm) == pytest.approx([100, 170])
    back = walk([piece], [EdgeRef("skirt", "waist", reversed=True)])
    assert sorted(at for mark in back.marks for at in mark.at_mm) == pytest.approx([100, 170])
    (leg,) = forward.legs
    assert [leg.drawn_at(at) for at in (100, 170)] == pytest.approx([100, 200])


def test_a_dart_counts_on_every_edge_that_runs_over_it() -> None:
    """The top edge, and the waist that is its left half."""
    outline = polygon((0, 0), (300, 0), (300, 600), (150, 600), (0, 600))
    edges = {"top": Edge(2, 4), "waist": Edge(3, 4)}
    piece = skirt(Dart("top", 200, 230, depth_mm=90), outline=outline, edges=edges)
    lengths = [walk([piece], [EdgeRef("skirt", name)]).length_mm for name in ("top", "waist")]
    assert lengths == pytest.approx([270, 120])


def test_a_waist_with_a_dart_meets_its_waistband() -> None:
    """Two halves of 300 mm with a dart of 30 mm each, on a band of 540 mm between its joins."""
    band = Strip("waistband", "wool", 60, CutLength(560), join_allowance_mm=10)
    sides = Side((EdgeRef("skirt", "waist"),)), Side((EdgeRef("waistband", "long edge"),))
    pattern = Pattern("38", (skirt(DART, fold=True),), (band,), (Seam("waist", sides),))
    (report,) = seam_reports(pattern)
    assert [side.sewn_mm for side in report.sides] == pytest.approx([540, 540])
    assert report.findings == ()


def test_nothing_is_taken_in_twice_or_beyond_the_edge() -> None:
    with pytest.raises(CannotBeDone, match=r"the gather of edge 'waist' begins 15 cm from"):
        waist(skirt(DART, Gather("waist", 150, 250, into_mm=50)))
    with pytest.raises(CannotBeDone, match="only 30 cm long"):
        waist(skirt(Dart("waist", 280, 310, depth_mm=90)))


def of_kind(piece: CutPiece, kind: MarkKind) -> list[FloatArray]:
    return [mark.points for mark in piece.inner_marks if mark.kind is kind]


def test_a_dart_is_drawn_from_leg_to_tip_on_both_halves() -> None:
    """Grain up is +x on the cloth and right is -y: from the hem's cut line the tip lies
    10 + 600 - 120 mm along, and 150 mm either side of the fold."""
    piece = cut(skirt(DART, fold=True))
    tips = np.array(sorted(tuple(points[1]) for points in of_kind(piece, MarkKind.DART)))
    assert tips == pytest.approx(polygon((490, 160), (490, 460)))
    feet = sorted(points[k][1] for points in of_kind(piece, MarkKind.DART) for k in (0, 2))
    assert feet == pytest.approx([145, 175, 445, 475])
    notched = sorted(float(y) for x, y in piece.notches if x > 600)
    assert notched == pytest.approx(feet), "its legs have notches on the cut line"


def test_half_a_dart_at_the_fold_runs_along_it() -> None:
    piece = cut(skirt(Dart("waist", 280, 300, depth_mm=90), fold=True))
    assert piece.fold_line is not None
    for points in of_kind(piece, MarkKind.DART):
        assert points[1] == pytest.approx([10 + 600 - 90, piece.fold_line[0, 1]])


def test_pleats_and_gathers_are_drawn() -> None:
    knife = Pleat("waist", 40, 80, PleatKind.KNIFE, 150)
    piece = cut(skirt(knife, Gather("waist", 100, 250, into_mm=60)))
    assert [np.ptp(line[:, 0]) for line in of_kind(piece, MarkKind.PLEAT)] == pytest.approx(
        [150] * 2
    )
    (gathered,) = of_kind(piece, MarkKind.GATHER)
    assert np.ptp(gathered[:, 1]) == pytest.approx(150)


def test_marks_shrink_with_their_piece() -> None:
    """Cut before washing that takes 5 % along and 2 % across: finished ÷ (1 - share)."""
    washed = Cloth("wool", 1500, shrinkage=Shrinkage(0.05, 0.02, Cut.BEFORE_WASHING))
    hole = InnerMark(MarkKind.DRILL_HOLE, np.array([[100.0, 200.0]]))
    (point,) = of_kind(cut(skirt(inner_marks=(hole,)), washed), MarkKind.DRILL_HOLE)
    assert point[0] == pytest.approx([(10 + 200) / 0.95, (10 + 300 - 100) / 0.98])


@pytest.mark.parametrize(
    ("hand", "across"), [(Hand.BOTH, [110, 510]), (Hand.DRAWN, [110]), (Hand.MIRRORED, [510])]
)
def test_a_mark_is_on_the_halves_that_have_it(hand: Hand, across: list[float]) -> None:
    """200 mm to the right of the fold, which lies 10 + 300 mm from either side."""
    mark = InnerMark(MarkKind.BUTTON, np.array([[200.0, 300.0]]), hand=hand)
    points = of_kind(cut(skirt(fold=True, inner_marks=(mark,))), MarkKind.BUTTON)
    assert sorted(float(point[0, 1]) for point in points) == pytest.approx(across)


def test_a_line_on_the_fold_is_there_once() -> None:
    roll = InnerMark(MarkKind.ROLL_LINE, polygon((0, 100), (0, 500)))
    assert len(cut(skirt(fold=True, inner_marks=(roll,))).inner_marks) == 1


def test_marks_of_a_piece_cut_in_two_lie_on_their_part() -> None:
    line = InnerMark(MarkKind.LINE, polygon((100, 100), (100, 500)))
    hole = InnerMark(MarkKind.DRILL_HOLE, polygon((100, 100)))
    piece = skirt(inner_marks=(line, hole), pieced_mm=10.0)
    job = Job("choir skirt", "38", (Pattern("38", (piece,)),), (CLOTH,), {"38": 1})
    first, second = job.cut_pieces(CLOTH)
    assert [mark.kind for mark in first.inner_marks] == [MarkKind.LINE, MarkKind.DRILL_HOLE]
    assert [mark.kind for mark in second.inner_marks] == [MarkKind.LINE]
    assert np.ptp(second.inner_marks[0].points[:, 0]) == pytest.approx(200)


def test_a_dart_sewn_together_turns_the_edge_about_its_tip() -> None:
    """A straight waist closed over a dart as wide as 2w and h deep turns by 2·atan(w ÷ h).

    The part beyond the dart, turned about the tip until the legs meet, is where the walk goes on.
    """
    plain, darted = (
        measured([piece], Opening("waist", (EdgeRef("skirt", "waist"),), closed=False))
        for piece in (skirt(), skirt(DART))
    )
    turn = 2 * math.atan(15 / 120)
    assert darted.turn_rad - plain.turn_rad == pytest.approx(turn)
    tip, leg = np.array([150.0, 480.0]), np.array([135.0, 600.0])  # the far leg and the corner
    to_leg = np.array([165.0, 600.0]) - tip
    angle = math.atan2(to_leg[1], to_leg[0]) - math.atan2(*(leg - tip)[::-1])
    assert abs(angle) == pytest.approx(turn)


@given(
    outline=st.integers(3, 12),
    seed=st.integers(0, 10_000),
    matrix=st.lists(st.floats(-2, 2), min_size=4, max_size=4),
)
def test_points_inside_are_carried_as_any_affine_map_says(
    outline: int, seed: int, matrix: list[float]
) -> None:
    """Mean value coordinates reproduce linear maps (Hormann & Floater 2006)."""
    rng = np.random.default_rng(seed)
    angles = np.sort(rng.uniform(0, 2 * np.pi, outline))
    ring = np.column_stack([np.cos(angles), np.sin(angles)]) * rng.uniform(50, 300, (outline, 1))
    inside = shapely.Polygon(ring).representative_point()
    if shapely.Polygon(ring).area < 100 or not shapely.Polygon(ring).is_valid:
        return
    point = np.array([[inside.x, inside.y]])
    moved = carried(point, ring, ring @ np.reshape(matrix, (2, 2)) + [7, -3])
    assert moved == pytest.approx(point @ np.reshape(matrix, (2, 2)) + [7, -3], abs=1e-6)


def test_points_on_the_outline_move_with_it() -> None:
    square, wider = rectangle(100, 100), rectangle(140, 100)
    on_it = polygon((100, 100), (50, 0))
    assert carried(on_it, square, wider) == pytest.approx(polygon((140, 100), (70, 0)))


def test_what_is_taken_in_keeps_its_share_of_a_longer_edge() -> None:
    """A waist of 300 mm becomes 360: a dart keeps its intake, a gather grows with the edge."""
    dart, gather = DART.at_share(1.2), Gather("waist", 200, 260, into_mm=40).at_share(1.2)
    assert (dart.start_mm, dart.end_mm) == pytest.approx((165, 195))
    assert (gather.start_mm, gather.end_mm, gather.sewn_mm) == pytest.approx((240, 312, 48))
