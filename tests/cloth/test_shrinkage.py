"""Shrinkage: shares from a test square, and who makes up for them, the cloth or the pieces."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from marker.cloth.behaviour import Cut, Shrinkage, lost
from marker.cloth.fabric import Cloth

POPLIN = Cloth("poplin", 1500, selvage_mm=10)
SHARES = st.floats(-0.2, 0.6)


def test_a_test_square() -> None:
    """Dimensional change % = 100 (B - A) ÷ A, here -4 % (AATCC TM135; ISO 5077)."""
    assert lost(250, 240) == pytest.approx(0.04)
    assert lost(10 * 25.4, 9.5 * 25.4) == pytest.approx(0.05)  # marks in any length
    assert lost(250, 255) == pytest.approx(-0.02)


def test_washed_first_the_cloth_is_narrower_and_pieces_stay() -> None:
    """Its width × (1 - share); the selvages are lost from what is left."""
    washed = replace(POPLIN, shrinkage=Shrinkage(0.05, 0.03))
    assert washed.usable_width_mm == pytest.approx(1500 * 0.97 - 20)
    assert washed.width_for_pattern_mm == washed.usable_width_mm
    assert washed.shrinkage.growth == (1, 1)


def test_cut_unwashed_the_pieces_grow_and_the_cloth_stays() -> None:
    unwashed = replace(POPLIN, shrinkage=Shrinkage(0.05, 0.03, Cut.BEFORE_WASHING))
    assert unwashed.usable_width_mm == 1480
    assert unwashed.shrinkage.growth == pytest.approx((1 / 0.95, 1 / 0.97))
    assert unwashed.width_for_pattern_mm == pytest.approx(1480 * 0.97)


@given(along=SHARES, across=SHARES, cut=st.sampled_from(Cut))
def test_cloth_or_pieces_make_up_for_it_never_both(along: float, across: float, cut: Cut) -> None:
    shrinkage = Shrinkage(along, across, cut)
    assert (1.0, 1.0) in (shrinkage.of_cloth, shrinkage.growth)
    left = 1 - along, 1 - across
    made_up = zip(shrinkage.of_cloth, shrinkage.growth, left, strict=True)
    assert all(cloth / piece == pytest.approx(share) for cloth, piece, share in made_up)
