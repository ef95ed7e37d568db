"""What to buy: steps of the shop, yards, cost."""

from __future__ import annotations

import json
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from marker.cloth.buying import purchase
from marker.cloth.fabric import Cloth, Price

EIGHTH_YARD = 914.4 / 8


def cloth(step_mm: float, end_mm: float = 0.0, price: Price | None = None) -> Cloth:
    return Cloth("jersey", 1500, end_allowance_mm=end_mm, sold_by_mm=step_mm, price=price)


@pytest.mark.parametrize(
    ("inches", "eighths"),
    [
        (2 * (28 / (2 * math.pi) + 24), 13),  # full circle, 60 in cloth: 56.91 in -> 1 5/8 yd
        (91.76, 21),  # two halves on opposite selvages, 45 in cloth -> 2 5/8 yd
        (113.83, 26),  # two halves end to end -> 3 1/4 yd
    ],
)
def test_circle_skirts_in_eighths_of_a_yard(inches: float, eighths: int) -> None:
    """Waist 28 in, length 24 in: radii W/2π and W/2π + 24, arithmetic anyone can redo."""
    bought = purchase(inches * 25.4, cloth(EIGHTH_YARD))
    assert bought.buy_mm == pytest.approx(eighths * EIGHTH_YARD)
    whole, rest = divmod(eighths, 8)
    text = {5: f"{whole} 5/8 yd", 2: f"{whole} 1/4 yd"}[rest]
    assert bought.as_dict()["buy_text_yards"] == text


@pytest.mark.parametrize(
    ("step_mm", "buy_mm"), [(100, 1500), (250, 1500), (500, 1500), (EIGHTH_YARD, 13 * EIGHTH_YARD)]
)
def test_selling_steps(step_mm: float, buy_mm: float) -> None:
    """Shops sell by 1/8 yd, 0.1 m, some by 0.25 or 0.5 m (common practice, no source)."""
    assert purchase(1405, cloth(step_mm)).buy_mm == pytest.approx(buy_mm)


def test_each_addend_is_shown() -> None:
    bought = purchase(1405, cloth(100, end_mm=20, price=Price(14.90, 1000, "EUR")))
    assert bought.as_dict() == {
        "layout_mm": 1405,
        "end_allowance_mm": 40,
        "needed_mm": 1445,
        "step_mm": 100,
        "buy_mm": 1500,
        "cost": 22.35,
        "currency": "EUR",
        "buy_text_metric": "1.50 m",
        "buy_text_yards": "1 5/8 yd",
    }
    assert json.loads(json.dumps(bought.as_dict())) == bought.as_dict()


def test_price_by_the_yard() -> None:
    bought = purchase(1400, cloth(EIGHTH_YARD, price=Price(8.0, 914.4, "USD")))
    assert bought.cost == 13.00  # 13 eighths of a yard at 8 a yard


def test_without_a_price_there_is_no_cost() -> None:
    bought = purchase(1400, cloth(100))
    assert bought.cost is None
    assert bought.currency is None


@pytest.mark.parametrize(
    ("step_mm", "text"),
    [(2 * EIGHTH_YARD, "2 yd"), (EIGHTH_YARD, "1 7/8 yd"), (914.4, "2 yd"), (100, "1 7/8 yd")],
)
def test_yards_are_those_that_the_shop_sells(step_mm: float, text: str) -> None:
    """64 in is 1.78 yd: by the quarter or the whole yard nobody sells 1 7/8 yd of it."""
    assert purchase(64 * 25.4, cloth(step_mm)).yards == text


def test_metric_text_never_promises_less_than_is_bought() -> None:
    assert purchase(914.4, cloth(EIGHTH_YARD)).as_dict()["buy_text_metric"] == "92 cm"


@given(length=st.floats(1, 1e5), step=st.floats(10, 1000), end=st.floats(0, 100))
def test_enough_is_bought_and_less_than_a_step_too_much(
    length: float, step: float, end: float
) -> None:
    bought = purchase(length, cloth(step, end))
    assert bought.needed_mm == pytest.approx(length + 2 * end)
    assert -1e-5 <= bought.buy_mm - bought.needed_mm < step
