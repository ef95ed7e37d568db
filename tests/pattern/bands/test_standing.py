"""Bands that stand up from their opening: waistbands, cuffs and collar stands."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from marker.cloth.fabric import Cloth
from marker.job import Job
from marker.pattern.bands.band_findings import band_findings
from marker.pattern.bands.strip import (
    CutLength,
    Fold,
    Interfacing,
    Lap,
    LapKind,
    Lies,
    ShorterBy,
    Strip,
)
from marker.pattern.bands.strip_plan import StripPlan, strip_plans
from marker.pattern.edge import Edge, EdgeRef, Stretch
from marker.pattern.pattern import Pattern
from marker.pattern.piece import Line, Piece
from marker.pattern.seams.sewing import Opening, Place, Spot
from tests.pattern.bands.openings import JERSEY
from tests.shapes import polygon

FUSIBLE = Cloth("fusible", 900)
FLARED = polygon((0, 0), (208, 22.5), (175, 600), (0, 590))
"""Half a skirt, its waist 175 mm wide and rising to the side, to which it is square."""

WAIST = float(np.hypot(175, 10))
WAISTBAND = Strip(
    "waistband", "jersey", 100, ShorterBy(0), finishes="waist", fold=Fold.SINGLE, finished_mm=40,
    lies=Lies.STANDING, start_lap=Lap(LapKind.OVER, 15), end_lap=Lap(LapKind.UNDER, 30),
    interfacing=Interfacing("fusible", 7),
)  # fmt: skip


def plans(strip: Strip) -> tuple[StripPlan, ...]:
    return strip_plans(pattern(strip), [JERSEY, FUSIBLE])


def pattern(strip: Strip) -> Pattern:
    edges = {"waist": Edge(2, 3)}
    pieces = tuple(
        Piece(name, "jersey", FLARED, fold=Stretch(3, 0), line=Line.STITCHING, edges=edges)
        for name in ("front", "back")
    )
    walked = tuple(EdgeRef(name, "waist") for name in ("front", "back"))
    points = {"centre front": Place(walked[0], Spot.FOLD)}
    opening = Opening("waist", walked, closed=False, points=points)
    return Pattern("38", pieces, (strip,), openings=(opening,))


def test_its_laps_lengthen_it_and_move_its_marks() -> None:
    """Four half waists, 15 + 30 mm of laps, and an allowance of 10 mm at either end. The centre
    front lies half a waist in from the first end of the opening (arithmetic)."""
    band = plans(WAISTBAND)[0]
    assert band.cut_length_mm == pytest.approx(4 * WAIST + 15 + 30 + 20)
    assert band.band is not None
    assert band.band.seam_mm == pytest.approx(4 * WAIST)
    assert band.seam_start_mm == pytest.approx(10 + 15)
    (front,) = [mark for mark in band.band.marks if "centre front" in mark.names]
    assert band.seam_start_mm + front.band_mm == pytest.approx(10 + 15 + WAIST)
    (cut,) = Job("skirt", "38", (pattern(WAISTBAND),), (JERSEY, FUSIBLE), {"38": 1}).cut_pieces(
        JERSEY
    )[2:]
    along = sorted({round(float(y), 3) for y in cut.notches[:, 1]})
    assert along == pytest.approx([25 + k * WAIST for k in range(5)], abs=1e-3)


def test_nobody_is_told_to_make_a_standing_band_shorter() -> None:
    """Lying flat, 40 mm inside a waist that turns by 4·atan(10 ÷ 175), it would ripple on a cloth
    that does not ease in."""
    firm = replace(JERSEY, eases_in=0.0)
    flat, standing = (
        strip_plans(pattern(replace(WAISTBAND, lies=lies)), [firm, FUSIBLE])[0] for lies in Lies
    )
    assert [found.code for found in band_findings(flat)] == ["band-ripples"]
    assert band_findings(standing) == ()


def test_its_interfacing_is_cut_smaller_all_round() -> None:
    """7 mm off each side, 3 mm within an allowance of 10."""
    band, stiffening = plans(WAISTBAND)
    assert (stiffening.strip.name, stiffening.cloth) == ("waistband interfacing", FUSIBLE)
    assert stiffening.cut_length_mm == pytest.approx(band.cut_length_mm - 14)
    assert stiffening.strip.width_mm == pytest.approx(100 - 14)
    job = Job("skirt", "38", (pattern(WAISTBAND),), (JERSEY, FUSIBLE), {"38": 1})
    assert [piece.name for piece in job.cut_pieces(FUSIBLE)] == ["waistband interfacing"]
    assert job.pattern.cloth_names == {"jersey", "fusible"}


def test_interfacing_of_a_belt_of_given_length() -> None:
    belt = Strip("belt", "jersey", 60, CutLength(900), interfacing=Interfacing("fusible", 5))
    band, stiffening = strip_plans(Pattern("38", (), (belt,)), [JERSEY, FUSIBLE])
    assert (stiffening.cut_length_mm, stiffening.strip.width_mm) == pytest.approx((890, 50))
    assert band.band is None
