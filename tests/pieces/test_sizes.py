"""The shipped garments in all their sizes: girths, seams, rules against a draft of each size."""

from __future__ import annotations

import importlib.util
import sys
from itertools import pairwise
from types import ModuleType

import numpy as np
import pytest
import shapely

from marker.pattern.stitching import edge_line
from tests.pieces.garments import PIECES, SEWN, Sewn, drawing_of, job_of, length_of, piece_of

# EN 13402 secondary sizes, from memory: bust, waist, hip in mm, 40 mm a size up to size 44
EN_13402 = {
    "34": (800, 640, 880),
    "36": (840, 680, 920),
    "38": (880, 720, 960),
    "40": (920, 760, 1000),
    "42": (960, 800, 1040),
    "44": (1000, 840, 1080),
}


def half_width(garment: str, piece: str, edge: str, at_mm: float, size: str) -> float:
    """From the fold or left edge of a piece to the place `at_mm` along its edge, across."""
    drawn = piece_of(garment, piece, size)
    point = shapely.LineString(edge_line(drawn, edge)).interpolate(at_mm)
    return float(point.x - drawn.outline[:, 0].min())


# what stretch saves of 60, 70 and 105 mm of ease, 0.068 of the girth, rounded to 5 mm (arithmetic)
DRESS_EASE = {
    "34": (5, 25, 45),
    "36": (5, 25, 40),
    "38": (0, 20, 40),
    "40": (-5, 20, 35),
    "42": (-5, 15, 35),
    "44": (-10, 15, 30),
}


@pytest.mark.parametrize("size", EN_13402)
def test_the_dress_reproduces_the_girths_of_its_sizes(size: str) -> None:
    bust, waist, hip = (
        girth + ease for girth, ease in zip(EN_13402[size], DRESS_EASE[size], strict=True)
    )
    bodices, skirts = ("bodice front", "bodice back"), ("skirt front", "skirt back")
    assert 2 * sum(
        half_width("choir-dress", piece, "armhole", 0, size) for piece in bodices
    ) == pytest.approx(bust, abs=1)
    girth = 2 * length_of("choir-dress", *(f"{skirt}.waist" for skirt in skirts), size=size)
    assert girth == pytest.approx(waist, abs=1)
    marks = [piece_of("choir-dress", skirt, size).notches[0].at_mm for skirt in skirts]
    at_hip = [
        half_width("choir-dress", skirt, "side", at, size)
        for skirt, at in zip(skirts, marks, strict=True)
    ]
    assert 2 * sum(at_hip) == pytest.approx(hip, abs=1)


@pytest.mark.parametrize("size", job_of("shirt").sizes)
def test_the_shirt_graded_by_rules_reproduces_the_girths_of_its_sizes(size: str) -> None:
    """Bust with 140, hip with 80 mm of ease; half the band, 15 mm, lies beyond the front."""
    bust, _, hip = EN_13402[size]
    for edge, girth in (("armhole", bust + 140), ("side", hip + 80)):
        quarters = [half_width("shirt", piece, edge, 0, size) for piece in ("front", "back")]
        assert 2 * (sum(quarters) + 15) == pytest.approx(girth, abs=1)


@pytest.mark.parametrize("sewn", SEWN, ids=lambda sewn: f"{sewn.garment} {sewn.side[0]}")
def test_seams_that_match_in_the_sample_match_in_every_size(sewn: Sewn) -> None:
    def difference(size: str) -> float:
        lengths = (length_of(sewn.garment, *side, size=size) for side in (sewn.side, sewn.other))
        first, second = lengths
        return first - second

    for size in job_of(sewn.garment).sizes:
        assert difference(size) == pytest.approx(difference("38"), abs=1), size


def test_sizes_follow_one_another() -> None:
    for garment in ("choir-dress", "shirt"):
        for smaller, larger in pairwise(job_of(garment).sizes):
            assert _area(garment, smaller) < _area(garment, larger)


def _area(garment: str, size: str) -> float:
    return sum(
        shapely.Polygon(piece.outline).area for piece in job_of(garment).in_size(size).pieces
    )


@pytest.fixture
def shirt_draft(monkeypatch: pytest.MonkeyPatch) -> ModuleType:
    """The module that drafts the shirt."""
    monkeypatch.syspath_prepend(str(PIECES))
    spec = importlib.util.spec_from_file_location("shirt_draft", PIECES / "shirt" / "draft.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    monkeypatch.setitem(sys.modules, "shirt_draft", module)
    spec.loader.exec_module(module)
    return module


def test_what_the_rules_make_is_what_is_drafted_for_each_size(shirt_draft: ModuleType) -> None:
    """Corners to 0.02 mm, for the rules give hundredths. Curves, fitted again, within 4.5 mm three
    sizes away and 2 mm in the next, though a draft shapes each size's curves by itself."""
    for size in job_of("shirt").sizes:
        near = abs(shirt_draft.SIZES.index(size) - shirt_draft.SIZES.index("38")) <= 1
        for draft, sample in zip(shirt_draft.drafts(size), shirt_draft.drafts(), strict=True):
            piece = piece_of("shirt", draft.name, size)
            # drawings have their own origins: put the sample's first corner on its draft
            own = piece_of("shirt", draft.name).outline
            own_box = np.array([own[:, 0].min(), own[:, 1].max()])
            moved = piece.outline - own_box + [sample.corner.real, -sample.corner.imag]
            points = [edge.at(t) for edge in draft.outline for t in np.linspace(0, 1, 60)]
            drafted = shapely.LinearRing([(p.real, -p.imag) for p in points])
            ring = shapely.LinearRing(moved)
            assert shapely.hausdorff_distance(drafted, ring, 0.02) < (2.0 if near else 4.5)


def test_the_sample_size_is_as_drawn() -> None:
    for garment in ("choir-dress", "shirt"):
        job = job_of(garment)
        assert drawing_of(garment).exists()
        for piece, own in zip(job.pattern.pieces, job.in_size("38").pieces, strict=True):
            assert np.array_equal(piece.outline, own.outline)
