"""Walking edges: folds count twice, marks lie where they are sewn."""

from __future__ import annotations

from dataclasses import replace

import pytest

from marker.errors import CannotBeDone
from marker.pattern.edge import Edge, EdgeRef, Notch, Stretch
from marker.pattern.piece import Line, Piece
from marker.pattern.seams.sewing import Opening, Place, Spot
from marker.pattern.seams.walk import opening_points, walk
from tests.shapes import rectangle

# rectangle 300 × 500 with its left edge on the fold: `top` runs to the fold, `hem` away from it
FRONT = Piece(
    "front",
    "jersey",
    rectangle(300, 500),
    fold=Stretch(3, 0),
    line=Line.STITCHING,
    edges={"hem": Edge(0, 1), "side": Edge(1, 2), "top": Edge(2, 3), "round": Edge(1, 3)},
    notches=(Notch("top", 100, "shoulder"), Notch("side", 120)),
)
BACK = replace(FRONT, name="back", fold=None)


def ref(text: str) -> EdgeRef:
    piece, edge = text.split(".")
    return EdgeRef(piece, edge.removesuffix(" reversed"), edge.endswith(" reversed"))


@pytest.mark.parametrize(
    ("edges", "length", "joints"),
    [
        (["front.top"], 600, ()),
        (["front.hem"], 600, ()),
        (["front.side"], 500, ()),
        (["front.round"], 1600, ()),
        (["back.top"], 300, ()),
        (["front.top", "back.top", "back.side"], 1400, (600, 900)),
        (["back.side", "back.side"], 1000, (500,)),
    ],
)
def test_an_edge_that_ends_on_the_fold_counts_for_both_halves(
    edges: list[str], length: float, joints: tuple[float, ...]
) -> None:
    found = walk([FRONT, BACK], [ref(edge) for edge in edges])
    assert found.length_mm == length
    assert found.joints_mm == joints


@pytest.mark.parametrize(
    ("edge", "places"),
    [
        ("front.top", (100, 500)),
        ("front.top reversed", (100, 500)),
        ("back.top", (100,)),
        ("back.top reversed", (200,)),
        ("back.side", (120,)),
    ],
)
def test_marks_lie_on_each_half(edge: str, places: tuple[float, ...]) -> None:
    (mark,) = walk([FRONT, BACK], [ref(edge)]).marks
    assert mark.at_mm == pytest.approx(places)


def test_a_notch_is_met_on_every_edge_that_passes_it() -> None:
    marks = walk([BACK], [ref("back.round")]).marks
    assert [(mark.name, mark.at_mm) for mark in marks] == [("shoulder", (600,)), ("", (120,))]


def test_an_outline_drawn_clockwise_is_walked_as_written() -> None:
    """The same edge, written from its other corner: its notch counts from there."""
    (mark,) = walk([replace(BACK, drawn_clockwise=True)], [ref("back.top")]).marks
    assert mark.at_mm == pytest.approx((100,))
    turned = replace(FRONT, drawn_clockwise=True)
    (mark,) = walk([turned], [ref("front.top")]).marks
    assert mark.at_mm == pytest.approx((200, 400))


def test_points_of_an_opening() -> None:
    points = {
        "centre front": Place(ref("front.top"), Spot.FOLD),
        "side": Place(ref("front.top"), Spot.START),
        "shoulder": Place(ref("front.top"), "shoulder"),
        "quarter": Place(ref("front.top"), Spot.MIDDLE),
        "back": Place(ref("back.top"), 30.0),
        "back end": Place(ref("back.top"), Spot.END),
    }
    opening = Opening("neck", (ref("front.top"), ref("back.top reversed")), points=points)
    assert opening_points([FRONT, BACK], opening) == {
        "centre front": (300,),
        "side": (0, 600),
        "shoulder": (100, 500),
        "quarter": (150, 450),
        "back": (870,),
        "back end": (600,),
    }


@pytest.mark.parametrize(
    ("edge", "said"),
    [
        ("sleeve.top", r"no piece 'sleeve'.*front"),
        ("front.neck", r"no edge 'neck'.*hem, side, top, round"),
    ],
)
def test_unknown_names_are_answered_with_the_known_ones(edge: str, said: str) -> None:
    with pytest.raises(CannotBeDone, match=said):
        walk([FRONT], [ref(edge)])
