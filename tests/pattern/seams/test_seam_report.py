"""The seam report: what meets, what does not, and the edit that trues it."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from marker.cloth.fabric import Cloth
from marker.job import Job
from marker.pattern.bands.strip import CutLength, Strip
from marker.pattern.edge import Edge, EdgeRef, Notch, Stretch
from marker.pattern.finding import Finding, Severity
from marker.pattern.pattern import Pattern
from marker.pattern.piece import Line, Piece
from marker.pattern.seams.seam_report import seam_report, seam_reports
from marker.pattern.seams.sewing import Seam, Side
from tests.shapes import polygon, rectangle


def panel(name: str, width: float, *notches: float, fold: bool = False) -> Piece:
    """A rectangle whose `top` runs to its left edge, the fold if there is one."""
    return Piece(
        name,
        "jersey",
        rectangle(width, 400),
        fold=Stretch(3, 0) if fold else None,
        line=Line.STITCHING,
        edges={"top": Edge(2, 3), "hem": Edge(0, 1)},
        notches=tuple(Notch("top", at) for at in notches),
    )


def side(*edges: str, ease: float = 0) -> Side:
    refs = []
    for edge in edges:
        piece, name = edge.split(".")
        refs.append(EdgeRef(piece, name.removesuffix(" reversed"), name.endswith(" reversed")))
    return Side(tuple(refs), ease)


def found(pieces: list[Piece], *sides: Side, tolerance: float = 2) -> tuple[Finding, ...]:
    return seam_report(pieces, Seam("waist", sides, tolerance), "38").findings


def only(findings: tuple[Finding, ...]) -> Finding:
    assert len(findings) == 1, findings
    return findings[0]


@pytest.mark.parametrize(("back", "clear"), [(300, True), (302, True), (297.9, False)])
def test_sides_may_differ_by_the_tolerance(back: float, clear: bool) -> None:
    pieces = [panel("front", 300), panel("back", back)]
    assert (found(pieces, side("front.top"), side("back.top")) == ()) is clear
    assert found(pieces, side("front.top"), side("back.top"), tolerance=2.2) == ()


def test_a_skirt_too_long_in_the_waist_is_shortened_where_it_is_too_long() -> None:
    """The half skirt front is 3 mm too wide, 6 mm opened; its back fits the bodice back."""
    pieces = [
        panel("bodice front", 200, fold=True),
        panel("bodice back", 180, fold=True),
        panel("skirt front", 203, fold=True),
        panel("skirt back", 180, fold=True),
    ]
    sides = side("bodice front.top", "bodice back.top"), side("skirt front.top", "skirt back.top")
    finding = only(found(pieces, *sides))
    assert (finding.code, finding.severity, finding.piece, finding.seam, finding.size) == (
        "seam-length", Severity.ERROR, "skirt front", "waist", "38"
    )  # fmt: skip
    assert finding.remedy == "Shorten skirt front.top by 6 mm, 3 mm on the half drawn"
    assert "6 mm too long (tolerance 2 mm)" in finding.message
    assert "skirt front.top + skirt back.top measures 76.6 cm" in finding.message


def test_sides_of_unlike_make_up_share_the_difference_by_length() -> None:
    pieces = [panel("band", 590), panel("front", 400), panel("back", 200)]
    finding = only(found(pieces, side("band.top"), side("front.top", "back.top")))
    assert finding.remedy == "Shorten front.top by 6.7 mm; shorten back.top by 3.3 mm"


def test_an_edge_sewn_twice_is_changed_once() -> None:
    pieces = [panel("band", 620), panel("front", 300)]
    finding = only(found(pieces, side("band.top"), side("front.top", "front.top")))
    assert finding.remedy == "Lengthen front.top by 10 mm (each of 2)"


def test_a_pair_listed_once_where_both_are_sewn_is_to_be_listed_twice() -> None:
    yoke, back = panel("yoke", 400), replace(panel("back", 200), cut=2, pair=True)
    remedy = only(found([yoke, back], side("yoke.top"), side("back.top"))).remedy
    said, _, otherwise = remedy.partition(". Otherwise ")
    assert said == "If both copies are sewn there, list 'back.top', 'back.top reversed'"
    assert otherwise == "lengthen back.top by 20 cm"
    both = side("back.top", "back.top reversed")
    assert found([yoke, back], side("yoke.top"), both) == ()
    turned = only(found([yoke, back], side("back.top"), side("yoke.top"))).remedy
    assert turned == f"{said}. Otherwise shorten yoke.top by 20 cm"
    single = panel("back", 200)
    assert only(found([yoke, single], side("yoke.top"), side("back.top"))).remedy == (
        "Lengthen back.top by 20 cm"
    )


def test_three_ways_the_odd_one_out_is_named() -> None:
    pieces = [panel("bodice", 310), panel("belt", 300), panel("skirt", 300)]
    sides = side("bodice.top"), side("belt.top"), side("skirt.top")
    assert only(found(pieces, *sides)).remedy == "Shorten bodice.top by 10 mm"
    pieces[0], pieces[2] = panel("bodice", 300), panel("skirt", 290)
    assert only(found(pieces, *sides)).remedy == "Lengthen skirt.top by 10 mm"


def test_planned_ease_is_no_mismatch() -> None:
    pieces = [panel("armhole", 300), panel("cap", 312)]
    assert found(pieces, side("armhole.top"), side("cap.top", ease=12)) == ()
    finding = only(found(pieces, side("armhole.top"), side("cap.top", ease=20)))
    assert finding.remedy == "Lengthen cap.top by 8 mm"
    assert "31.2 cm with 20 mm eased in" in finding.message
    stretched = found(pieces, side("cap.top"), side("armhole.top", ease=-12))
    assert stretched == ()


def test_joints_that_miss_each_other_are_told_apart_from_lengths() -> None:
    pieces = [panel("a", 300), panel("b", 200), panel("c", 310), panel("d", 190)]
    finding = only(found(pieces, side("a.top", "b.top"), side("c.top", "d.top")))
    assert (finding.code, finding.severity) == ("seam-joint", Severity.WARNING)
    assert finding.remedy == "Shorten c.top by 10 mm; lengthen d.top by 10 mm"


@pytest.mark.parametrize(
    ("front", "back", "remedy"),
    [
        ((100,), (108,), "Move the notch of back.top by 8 mm, to 10 cm from the edge's"),
        ((100, 200), (100, 208), "Move the notch of back.top by 8 mm, to 20 cm from"),
        ((100, 200), (100,), "Add its partner there, or leave it out"),
        ((100,), (100, 200), "Add its partner there, or leave it out"),
    ],
)  # fmt: skip
@pytest.mark.parametrize("fold", [False, True])
def test_notches_meet_or_are_moved(
    front: tuple[float, ...], back: tuple[float, ...], remedy: str, fold: bool
) -> None:
    """One finding for one notch, also where it stands on both halves."""
    pieces = [panel("front", 300, *front, fold=fold), panel("back", 300, *back, fold=fold)]
    finding = only(found(pieces, side("front.top"), side("back.top")))
    assert finding.code == "seam-notch"
    assert finding.remedy.startswith(remedy)
    assert finding.severity is (Severity.ERROR if "Move" in remedy else Severity.WARNING)


def test_notches_are_walked_from_the_end_that_is_sewn_first() -> None:
    pieces = [panel("front", 300, 100), panel("back", 300, 200)]
    assert found(pieces, side("front.top"), side("back.top reversed")) == ()
    finding = only(found(pieces, side("front.top"), side("back.top")))
    assert "by 10 cm, to 10 cm" in finding.remedy


def test_a_notch_may_meet_a_joint_and_sides_without_notches_ask_for_none() -> None:
    pieces = [panel("front", 150, 40), panel("back", 150), panel("sleeve", 300, 40, 150)]
    assert found(pieces, side("front.top", "back.top"), side("sleeve.top")) == ()
    assert found(pieces, side("back.top", "back.top"), side("sleeve.top")) == ()


def test_double_notches_are_met_in_order_whatever_the_ease() -> None:
    """Walked from the other end both sides agree; from this end each is 10 late."""
    pieces = [panel("armhole", 300, 200, 210), panel("cap", 310, 210, 220)]
    assert found(pieces, side("armhole.top"), side("cap.top", ease=10)) == ()


def test_a_length_mismatch_does_not_also_blame_the_notches() -> None:
    pieces = [panel("front", 300, 100, 200), panel("back", 310, 105, 210)]
    assert only(found(pieces, side("front.top"), side("back.top"))).code == "seam-length"


@given(
    length=st.floats(100, 600), ease=st.floats(0, 30), share=st.floats(0, 1), at=st.floats(0.1, 0.9)
)
def test_a_notch_meets_wherever_the_ease_is_sewn_in(
    length: float, ease: float, share: float, at: float
) -> None:
    pieces = [
        panel("front", length, at * length),
        panel("cap", length + ease, at * length + share * ease),
    ]
    assert found(pieces, side("front.top"), side("cap.top", ease=ease)) == ()


@given(
    widths=st.lists(st.floats(100, 400), min_size=1, max_size=3),
    off=st.floats(-40, 40),
    folds=st.booleans(),
)
def test_the_edit_trues_the_seam(widths: list[float], off: float, folds: bool) -> None:
    """Carrying out the edit as it is written makes the finding go away."""
    own = [panel(f"own {i}", width, fold=folds) for i, width in enumerate(widths)]
    theirs = [panel(f"their {i}", width, fold=folds) for i, width in enumerate(widths)]
    own[0] = panel("own 0", widths[0] + off, fold=folds)
    sides = [side(*(f"{piece.name}.top" for piece in pieces)) for pieces in (theirs, own)]
    findings = found([*own, *theirs], *sides)
    if abs(off) * (1 + folds) <= 2:
        assert findings == ()
        return
    remedy = only(findings).remedy
    by = float(remedy.split(" by ")[1].split(" ")[0])
    drawn = (by * 10 if " cm" in remedy.split(",")[0] else by) / (1 + folds)
    mended = panel("own 0", widths[0] + off + (-drawn if off > 0 else drawn), fold=folds)
    assert found([mended, *own[1:], *theirs], *sides) == ()


def test_a_belt_of_given_length_is_a_side_too() -> None:
    """Three ways: its long edge is the cut length less the allowances of both ends."""
    pieces = (panel("bodice", 300), panel("skirt", 300))
    belt = Strip("belt", "jersey", 60, CutLength(326), join_allowance_mm=10)
    seam = Seam("waist", (side("bodice.top"), side("belt.long edge"), side("skirt.top")))
    job = Job(
        "dress",
        "38",
        (Pattern("38", pieces, (belt,), (seam,)),),
        (Cloth("jersey", 1500),),
        {"38": 1},
    )
    (report,) = seam_reports(job.pattern)
    assert only(report.findings).remedy == "Shorten belt.long edge by 6 mm"


def test_two_alike_that_should_be_left_and_right() -> None:
    sleeve = Piece("sleeve", "jersey", polygon((0, 0), (300, 0), (280, 400), (60, 420)), cut=2)
    cuff = Piece("cuff", "jersey", polygon((0, 0), (200, 0), (170, 80), (30, 80)), cut=2)
    job = Job("shirt", "38", (Pattern("38", (sleeve, cuff)),), (Cloth("jersey", 1500),), {"38": 1})
    finding = only(job.findings("38"))
    assert (finding.code, finding.piece) == ("one-hand", "sleeve")
    assert "pair = true" in finding.remedy
    paired = job.with_pieces(lambda each: replace(each, pair=True) if each == sleeve else each)
    assert paired.findings("38") == ()
