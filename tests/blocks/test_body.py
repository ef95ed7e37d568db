"""The body's measures against the size table."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from marker.blocks.body import MEASURES, SIZES, Body, contradictions

# EN 13402-3, secondary women's sizes, from memory
EN_13402 = {"34": (800, 640, 880), "38": (880, 720, 960), "46": (1040, 880, 1120),
            "48": (1100, 940, 1170)}  # fmt: skip


@pytest.mark.parametrize("size", EN_13402)
def test_sizes_are_those_of_the_table(size: str) -> None:
    body = Body.of_size(size)
    assert (body.bust, body.waist, body.hip) == pytest.approx(EN_13402[size])


@given(st.sampled_from(("bust", "waist", "hip")), st.floats(600, 1600))
def test_every_usual_body_is_one(girth: str, mm: float) -> None:
    """Within what a body can have, and no measure against another."""
    low, high = {"bust": (600, 1600), "waist": (560, 1450), "hip": (655, 1600)}[girth]
    body = Body.like({girth: min(max(mm, low), high)})
    own = {name: getattr(body, name) for name in MEASURES}
    assert all(each.low_mm <= own[name] <= each.high_mm for name, each in MEASURES.items())
    assert list(contradictions(own)) == []


def test_a_measure_given_stays_as_given() -> None:
    body = Body.like({"waist": 740.0, "arm": 550.0})
    assert (body.waist, body.arm) == (740, 550)
    assert body.bust == pytest.approx(900)  # half way from size 38 to size 40


def test_measures_grow_with_the_size() -> None:
    growing = [name for name in MEASURES if name != "height"]
    for smaller, larger in pairwise(SIZES):
        before, after = Body.of_size(smaller), Body.of_size(larger)
        assert all(getattr(before, name) < getattr(after, name) for name in growing)


def test_what_no_body_has_together() -> None:
    (found,) = contradictions({"waist": 1000.0, "hip": 600.0})
    assert found[:2] == ("waist", "hip")
    assert found[2] <= 720 * 600 / 960 <= found[3]
