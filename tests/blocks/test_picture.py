"""The picture of a garment: whole pieces, apart from one another."""

from __future__ import annotations

from itertools import combinations

import pytest
import shapely

from marker.blocks.body import Body
from marker.blocks.catalogue import GARMENTS, picture_outlines
from marker.blocks.curve import points_on
from marker.blocks.garment import FOLD
from tests.blocks.drafted import block


@pytest.mark.parametrize("garment", GARMENTS)
def test_pieces_are_whole_and_apart(garment: str) -> None:
    """A half on the fold is there twice: twice its area, in one outline."""
    own = block(garment, Body.of_size("38"))
    shown = picture_outlines(own)
    outlines = [shapely.Polygon(each.outline) for each in shown]
    assert [each.name for each in shown] == [piece.name for piece in own.pieces]
    assert all(each.is_valid for each in outlines)
    for piece, outline in zip(own.pieces, outlines, strict=True):
        halves = 2 if FOLD in piece.edges else 1
        drawn = shapely.Polygon(points_on(piece.outline)).area
        assert outline.area == pytest.approx(halves * drawn, rel=1e-6)
    assert all(one.distance(two) == pytest.approx(60) or one.distance(two) > 60
               for one, two in combinations(outlines, 2))  # fmt: skip
