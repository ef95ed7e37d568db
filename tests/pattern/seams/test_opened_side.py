"""Sides that reach the fold: the whole opened edge, whatever half of it is listed."""

from __future__ import annotations

from dataclasses import replace

import pytest

from marker.errors import CannotBeDone
from marker.pattern.edge import Edge, EdgeRef, Notch, Stretch
from marker.pattern.finding import Finding
from marker.pattern.pattern import Pattern
from marker.pattern.piece import Line, Piece
from marker.pattern.seams.seam_report import SeamReport, seam_reports
from marker.pattern.seams.sewing import Seam, Side
from marker.pattern.seams.walk import Walk, walk
from tests.shapes import polygon, rectangle


def skirt(name: str = "skirt", short_mm: float = 0.0) -> Piece:
    """Half a skirt 300 wide at the waist, the fold at x = 0, with a dart cut out of the waist from
    180 to 210 mm off it. The waist is 'side part' and, to the fold, 'centre part'."""
    outline = polygon(
        (0, 0), (340, 0), (300 - short_mm, 600), (210, 600), (195, 480), (180, 600), (0, 600)
    )  # fmt: skip
    edges = {"side part": Edge(2, 3), "centre part": Edge(5, 6)}
    return Piece(name, "wool", outline, fold=Stretch(6, 0), line=Line.STITCHING, edges=edges)


def bodice() -> Piece:
    """Half a bodice, 270 wide at the waist, which ends on the fold."""
    edges = {"waist": Edge(0, 1)}
    return Piece(
        "bodice", "wool", rectangle(270, 400), fold=Stretch(3, 0), line=Line.STITCHING, edges=edges
    )


def refs(*texts: str) -> tuple[EdgeRef, ...]:
    found = []
    for text in texts:
        piece, edge = text.removesuffix(" reversed").split(".")
        found.append(EdgeRef(piece, edge, text.endswith(" reversed")))
    return tuple(found)


def walked(*texts: str, pieces: tuple[Piece, ...] = (skirt(), bodice())) -> Walk:
    return walk(pieces, refs(*texts))


def report(skirt_piece: Piece, *texts: str) -> SeamReport:
    sides = Side(refs("bodice.waist")), Side(refs(*texts))
    (found,) = seam_reports(
        Pattern("38", (skirt_piece, bodice()), seams=(Seam("waist", sides),))
    )  # fmt: skip
    return found


@pytest.mark.parametrize(
    "texts",
    [
        ("skirt.side part", "skirt.centre part"),
        ("skirt.centre part", "skirt.side part"),
        ("skirt.side part", "skirt.centre part", "skirt.side part reversed"),
    ],
)
def test_a_waist_in_two_parts_is_whole_on_both_halves(texts: tuple[str, ...]) -> None:
    """90 + 180 + 180 + 90 mm, whichever half is listed or both of them (arithmetic)."""
    found = walked(*texts)
    assert found.length_mm == pytest.approx(540)
    assert [leg.length_mm for leg in found.legs] == pytest.approx([90, 360, 90])
    assert report(skirt(), *texts).findings == ()


def test_the_remedy_counts_both_halves() -> None:
    """Each half 1.4 mm too short at the side: 2.8 mm in all, shared out by length, 2 to 1."""
    (finding,) = report(skirt(short_mm=1.4), "skirt.side part", "skirt.centre part").findings
    assert isinstance(finding, Finding)
    assert "2.8 mm too short" in finding.message
    assert finding.remedy == (
        "Lengthen skirt.centre part by 1.9 mm, 0.9 mm on the half drawn; "
        "lengthen skirt.side part by 0.9 mm, 0.5 mm on the half drawn"
    )


def test_a_notch_beside_the_dart_is_on_both_halves() -> None:
    """20 mm from the side: 20 and 520 mm along the opened waist."""
    notched = replace(skirt(), notches=(Notch("side part", 20, "hip"),))
    found = walked("skirt.side part", "skirt.centre part", pieces=(notched,))
    assert sorted(at for mark in found.marks for at in mark.at_mm) == pytest.approx([20, 520])


def test_two_pieces_on_the_fold_make_a_ring() -> None:
    """Each run of one piece is opened by itself: 540 mm in front and at the back."""
    both = (skirt("front"), skirt("back"))
    found = walked(
        "front.side part", "front.centre part", "back.centre part", "back.side part", pieces=both
    )
    assert [leg.length_mm for leg in found.legs] == pytest.approx([90, 360, 90, 90, 360, 90])
    assert [leg.ref.piece for leg in found.legs] == ["front"] * 3 + ["back"] * 3


def raglan(pair: bool, cut: int = 2) -> tuple[Piece, ...]:
    """Front and back necks on the fold, 100 and 80 mm on the half, and a sleeve's of 60 mm."""
    sleeve = Piece(
        "sleeve", "wool", rectangle(60, 500), cut=cut, pair=pair, line=Line.STITCHING,
        edges={"neck": Edge(2, 3)},
    )  # fmt: skip
    front, back = (
        Piece(name, "wool", rectangle(wide, 500), fold=Stretch(3, 0), line=Line.STITCHING,
              edges={"neck": Edge(2, 3)})
        for name, wide in (("front", 100), ("back", 80))
    )  # fmt: skip
    return front, sleeve, back


@pytest.mark.parametrize(
    "texts",
    [
        ("front.neck", "sleeve.neck", "back.neck"),
        ("front.neck", "sleeve.neck", "back.neck", "sleeve.neck reversed"),
    ],
)
def test_pieces_between_two_folds_are_on_both_sides(texts: tuple[str, ...]) -> None:
    found = walked(*texts, pieces=raglan(pair=True))
    assert [leg.length_mm for leg in found.legs] == pytest.approx([200, 60, 160, 60])
    assert [leg.ref.reversed for leg in found.legs] == [False, False, False, True]


def test_half_a_neck_up_to_the_centre_back_is_the_whole() -> None:
    found = walked("sleeve.neck", "back.neck", pieces=raglan(pair=True))
    assert [leg.length_mm for leg in found.legs] == pytest.approx([60, 160, 60])


def test_a_piece_cut_once_is_there_once() -> None:
    found = walked("sleeve.neck", "back.neck", pieces=raglan(pair=False, cut=1))
    assert found.length_mm == pytest.approx(220)


@pytest.mark.parametrize(
    ("texts", "problem"),
    [
        (
            ("front.neck", "sleeve.neck", "back.neck", "sleeve.neck", "sleeve.neck"),
            "more than once",
        ),
        (("sleeve.neck", "back.neck", "other.neck"), "either side"),
        (("single.neck", "sleeve.neck", "back.neck"), "cut once with pieces cut for both"),
    ],
)
def test_lists_that_may_be_read_in_two_ways(texts: tuple[str, ...], problem: str) -> None:
    front, sleeve, back = raglan(pair=True)
    others = (replace(sleeve, name="other"), replace(sleeve, name="single", cut=1, pair=False))
    with pytest.raises(CannotBeDone, match=problem) as refused:
        walked(*texts, pieces=(front, sleeve, back, *others))
    assert "List one half" in str(refused.value)
