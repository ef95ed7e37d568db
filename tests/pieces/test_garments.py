"""The shipped garments fit the body and themselves: seams, girths, notches, strips, folds."""

from __future__ import annotations

import numpy as np
import pytest
import shapely

from marker.geometry.arrays import FloatArray
from marker.pattern.piece import CutPiece
from marker.pattern.stitching import edge_line
from tests.pieces.garments import (
    GARMENTS,
    MATCHED,
    PIECES,
    SEWN,
    Matched,
    Sewn,
    job_of,
    length_of,
    piece_of,
)

# EN 13402 secondary sizes, size 38, from memory
BUST_MM, WAIST_MM, HIP_MM = 880, 720, 960


def cut(garment: str) -> tuple[CutPiece, ...]:
    job = job_of(garment)
    return job.cut_pieces(job.cloths[0])


@pytest.mark.parametrize(
    ("garment", "distinct", "copies"),
    [
        ("choir-dress", 7, 9),
        ("choir-robe", 4, 5),
        ("half-circle-skirt", 2, 3),
        ("shirt", 10, 20),
        ("pinafore", 9, 14),
    ],
)
def test_a_garment_has_all_its_pieces(garment: str, distinct: int, copies: int) -> None:
    pieces = cut(garment)
    assert len(pieces) == distinct
    assert sum(piece.copies + piece.mirrored_copies for piece in pieces) == copies


@pytest.mark.parametrize("garment", GARMENTS)
def test_a_garment_is_ordered_once_in_the_size_drawn(garment: str) -> None:
    assert job_of(garment).garments == ("38",)


@pytest.mark.parametrize("sewn", SEWN, ids=lambda sewn: f"{sewn.garment} {sewn.side[0]}")
def test_edges_sewn_together_are_equally_long_or_differ_by_their_ease(sewn: Sewn) -> None:
    difference = length_of(sewn.garment, *sewn.side) - length_of(sewn.garment, *sewn.other)
    assert difference == pytest.approx(sewn.ease_mm, abs=2)


@pytest.mark.parametrize("sewn", SEWN, ids=lambda sewn: f"{sewn.garment} {sewn.side[0]}")
def test_the_readme_states_each_seam_and_its_lengths(sewn: Sewn) -> None:
    readme = (PIECES / sewn.garment / "README.md").read_text(encoding="utf-8")
    sides = [f"{length_of(sewn.garment, *seams):.1f}" for seams in (sewn.side, sewn.other)]
    row = f"| {' + '.join(sewn.side)} | {' + '.join(sewn.other)} | {' | '.join(sides)} |"
    assert f"{row} {sewn.ease_mm:.0f} |" in readme


@pytest.mark.parametrize(
    "matched", MATCHED, ids=lambda matched: f"{matched.garment} {matched.seam}"
)
def test_notches_meet(matched: Matched) -> None:
    marks = notches(matched.garment, matched.seam)
    others = notches(matched.garment, matched.other)
    if matched.against:
        others = length_of(matched.garment, matched.other) - others
    assert len(marks) > 0
    assert all(np.abs(others - mark).min() < 1 for mark in marks)


def notches(garment: str, seam: str) -> FloatArray:
    """Distances along a 'piece.seam' of the notches on it, mm."""
    piece, name = seam.split(".")
    return np.array([n.at_mm for n in piece_of(garment, piece).notches if n.edge == name])


def half_width(garment: str, piece: str, seam: str, at_mm: float) -> float:
    """From the left edge of a half piece to the point `at_mm` along the seam, mm across."""
    drawn = piece_of(garment, piece)
    point = shapely.LineString(edge_line(drawn, seam)).interpolate(at_mm)
    return float(point.x - drawn.outline[:, 0].min())


@pytest.mark.parametrize(
    ("garment", "front", "back", "beyond_mm", "girth_mm"),
    [
        ("choir-dress", "bodice front", "bodice back", 0, BUST_MM),
        ("choir-robe", "front", "back", 0, BUST_MM + 280),
        ("pinafore", "bodice front", "bodice back", 0, BUST_MM + 60),
        ("shirt", "front", "back", 15, BUST_MM + 140),  # half the band lies beyond the front
    ],
)
def test_girth_at_the_underarm_is_bust_and_ease(
    garment: str, front: str, back: str, beyond_mm: float, girth_mm: float
) -> None:
    quarters = [half_width(garment, piece, "armhole", 0) for piece in (front, back)]
    assert 2 * (sum(quarters) + beyond_mm) == pytest.approx(girth_mm, abs=1)


@pytest.mark.parametrize(("garment", "ease_mm"), [("choir-dress", 20), ("pinafore", 60)])
def test_waist_seam_is_waist_and_ease(garment: str, ease_mm: float) -> None:
    girth = 2 * length_of(garment, "skirt front.waist", "skirt back.waist")
    assert girth == pytest.approx(WAIST_MM + ease_mm, abs=2)


def test_the_dress_at_its_hip_notches_is_hip_and_ease() -> None:
    panels = "skirt front", "skirt back"
    marks = [notches("choir-dress", f"{panel}.side")[0] for panel in panels]
    quarters = [
        half_width("choir-dress", panel, "side", at)
        for panel, at in zip(panels, marks, strict=True)
    ]
    assert 2 * sum(quarters) == pytest.approx(HIP_MM + 40, abs=1)


def test_the_half_circle_skirt_is_half_a_circle() -> None:
    """Waist 72 cm and 1 of ease: radius 730 ÷ π, in two quarters; the hem 600 mm outside."""
    assert length_of("half-circle-skirt", "skirt.waist") == pytest.approx(365, abs=0.5)
    hem = np.pi / 2 * (730 / np.pi + 600)
    assert length_of("half-circle-skirt", "skirt.hem") == pytest.approx(hem, abs=0.5)


def test_the_robes_neck_is_a_v_that_its_band_closes_to_where_it_is_finished() -> None:
    """Drawn where the band is sewn on, its straight side as long as √(w² + d²)."""
    front = piece_of("choir-robe", "front")
    neck = edge_line(front, "neck")
    assert len(neck) == 2
    width, depth = np.abs(neck[1] - neck[0])
    assert length_of("choir-robe", "front.neck") == pytest.approx(np.hypot(width, depth))


def test_shirt_at_its_waist_notches_is_waist_and_ease() -> None:
    quarters = [half_width("shirt", piece, "side", 200) for piece in ("front", "back")]
    assert 2 * (sum(quarters) + 15) == pytest.approx(WAIST_MM + 260, abs=1)


def test_shirt_at_the_head_of_its_side_slit_is_hip_and_ease() -> None:
    quarters = [half_width("shirt", piece, "side", 0) for piece in ("front", "back")]
    assert 2 * (sum(quarters) + 15) == pytest.approx(HIP_MM + 80, abs=1)


def test_measures_are_those_of_real_garments() -> None:
    """Ranges are common practice, no source."""
    dress_armhole = length_of("choir-dress", "bodice front.armhole", "bodice back.armhole")
    shirt_armhole = length_of("shirt", "front.armhole", "back.armhole", "yoke.armhole")
    assert 420 < dress_armhole < 480
    assert 420 < shirt_armhole < 480
    neck = 2 * (length_of("shirt", "collar stand.neck") - 15)  # from centre front to centre front
    assert 370 < neck < 420
    sleeve = np.ptp(piece_of("shirt", "sleeve").outline, axis=0)
    assert 340 < sleeve[0] < 390
    assert sleeve[1] + 60 == pytest.approx(600, abs=1)  # with the cuff's depth


def test_bindings_are_cut_to_their_openings() -> None:
    """Both join allowances of a ring are 10 mm."""
    neck = 2 * length_of("choir-dress", "bodice front.neck", "bodice back.neck")
    armhole = length_of("choir-dress", "bodice front.armhole", "bodice back.armhole")
    lengths = {piece.name: np.ptp(piece.outline, axis=0).max() for piece in cut("choir-dress")}
    assert lengths["neck binding"] == pytest.approx(0.85 * neck + 20, abs=0.1)
    assert lengths["armhole binding"] == pytest.approx(0.91 * armhole + 20, abs=0.1)
    assert lengths["belt"] == pytest.approx(520)


def reflected(outline: FloatArray, line: FloatArray) -> FloatArray:
    """(n, 2) outline reflected in the line through two points."""
    along = (line[1] - line[0]) / np.hypot(*(line[1] - line[0]))
    away = outline - line[0]
    return np.asarray(line[0] + 2 * np.outer(away @ along, along) - away)


@pytest.mark.parametrize("garment", GARMENTS)
def test_pieces_cut_on_the_fold_are_symmetric(garment: str) -> None:
    folded = [(piece, piece.fold_line) for piece in cut(garment) if piece.fold_line is not None]
    assert len(folded) >= (0 if garment == "half-circle-skirt" else 2)
    for piece, fold_line in folded:
        whole = shapely.Polygon(piece.outline)
        other = shapely.Polygon(reflected(piece.outline, fold_line))
        assert whole.symmetric_difference(other).area < 1, piece.name


@pytest.mark.parametrize("garment", GARMENTS)
def test_no_piece_is_wider_than_its_cloth_or_thinner_than_a_seam(garment: str) -> None:
    for piece in cut(garment):
        assert np.ptp(piece.outline[:, 1]) < job_of(garment).cloths[0].usable_width_mm
        inside = shapely.Polygon(piece.outline).buffer(-20)
        assert isinstance(inside, shapely.Polygon), piece.name
        assert not inside.is_empty, piece.name


@pytest.mark.parametrize("garment", ["pinafore", "choir-dress"])
def test_pile_and_knits_lie_one_way(garment: str) -> None:
    assert job_of(garment).cloths[0].nap == "one way"


def test_every_garment_folder_is_tested() -> None:
    assert tuple(sorted(path.parent.name for path in PIECES.glob("*/job.toml"))) == GARMENTS
