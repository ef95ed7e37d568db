"""What to buy: steps of the shop, yards, cost."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from marker.cloth.behaviour import Cut, Shrinkage
from marker.cloth.buying import purchase, whole_repeats_mm
from marker.cloth.fabric import Cloth, Price
from marker.cloth.repeat import Bars, Repeat

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
    assert bought.yards == text


@pytest.mark.parametrize(
    ("step_mm", "buy_mm"), [(100, 1500), (250, 1500), (500, 1500), (EIGHTH_YARD, 13 * EIGHTH_YARD)]
)
def test_selling_steps(step_mm: float, buy_mm: float) -> None:
    """Shops sell by 1/8 yd, 0.1 m, some by 0.25 or 0.5 m (common practice, no source)."""
    assert purchase(1405, cloth(step_mm)).buy_mm == pytest.approx(buy_mm)


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
    assert purchase(914.4, cloth(EIGHTH_YARD)).metric == "92 cm"


@pytest.mark.parametrize(
    ("length_mm", "share", "needed_mm"),
    [
        (3 * 914.4, 0.05, 3 * 914.4 / 0.95),  # 3 yd at 5 % -> 3.158 yd, not 3.15 (arithmetic)
        (1000.0, 0.08, 1000 / 0.92),  # 1 m at 8 % -> 1.087 m (arithmetic)
        (1000.0, -0.02, 1000 / 1.02),  # it grows: less will do
    ],
)
@pytest.mark.parametrize("end_mm", [0.0, 20.0])
def test_cloth_washed_first_is_bought_longer(
    length_mm: float, share: float, needed_mm: float, end_mm: float
) -> None:
    """Length to buy = length on the table ÷ (1 - share); ends are on the table, too."""
    washed = replace(cloth(EIGHTH_YARD, end_mm), shrinkage=Shrinkage(share, 0.03))
    bought = purchase(length_mm - 2 * end_mm, washed)
    assert bought.needed_mm == pytest.approx(needed_mm)
    assert bought.shrinkage_mm == pytest.approx(needed_mm - length_mm)


def test_published_shrinkage_figures() -> None:
    """3 yd at 5 % need 3.158 yd and 1 m at 8 % needs 1.087 m (arithmetic)."""
    washed = replace(cloth(1.0), shrinkage=Shrinkage(0.05))
    assert purchase(3 * 914.4, washed).needed_mm / 914.4 == pytest.approx(3.158, abs=5e-4)
    washed = replace(cloth(1.0), shrinkage=Shrinkage(0.08))
    assert purchase(1000, washed).needed_mm == pytest.approx(1087, abs=0.5)


def test_cloth_washed_after_cutting_is_bought_as_laid() -> None:
    unwashed = replace(cloth(100), shrinkage=Shrinkage(0.05, 0.03, Cut.BEFORE_WASHING))
    assert purchase(1400, unwashed) == purchase(1400, cloth(100))


def test_plies_one_behind_the_other_are_whole_repeats() -> None:
    """96 in at a repeat of 27 in -> 108 in (common practice, no source)."""
    checked = replace(cloth(25.4), repeat=Repeat(along=Bars(27 * 25.4)))
    assert whole_repeats_mm(96 * 25.4, checked) == pytest.approx(108 * 25.4)
    assert whole_repeats_mm(108 * 25.4, checked) == pytest.approx(108 * 25.4)
    assert whole_repeats_mm(96 * 25.4, cloth(25.4)) == 96 * 25.4


def test_a_layout_tied_to_the_repeat_takes_one_more_at_worst() -> None:
    """Cut anywhere, its start lies up to one repeat on: 96 in + 27 in; cut in its place, 96 in."""
    checked = replace(cloth(25.4), repeat=Repeat(along=Bars(27 * 25.4)))
    bought = purchase(96 * 25.4, checked, tied_along=True)
    assert bought.buy_mm == pytest.approx((96 + 27) * 25.4)
    assert bought.cut_in_place_mm == pytest.approx(96 * 25.4)
    assert purchase(96 * 25.4, checked) == purchase(96 * 25.4, cloth(25.4)), "nothing is tied"
    striped = replace(cloth(25.4), repeat=Repeat(across=Bars(90)))
    assert purchase(96 * 25.4, striped, tied_along=True) == purchase(96 * 25.4, cloth(25.4))


@given(
    length=st.floats(1, 1e5),
    every=st.floats(5, 1000),
    step=st.floats(10, 1000),
    end=st.floats(0, 100),
    share=st.floats(-0.2, 0.6),
)
def test_enough_is_bought_and_less_than_a_step_too_much(
    length: float, every: float, step: float, end: float, share: float
) -> None:
    repeat = Repeat(along=Bars(every))
    washed = replace(cloth(step, end), shrinkage=Shrinkage(share), repeat=repeat)
    bought = purchase(length, washed, tied_along=True)
    assert bought.needed_mm * (1 - share) == pytest.approx(length + 2 * end + bought.repeat_mm)
    assert bought.repeat_mm == pytest.approx(every)
    in_place = bought.cut_in_place_mm * (1 - share)
    assert in_place >= length + 2 * end - 1e-4
    assert -1e-5 <= bought.buy_mm - bought.needed_mm < step
    assert sum(bought.addends.values()) == pytest.approx(bought.buy_mm, abs=1e-5)
    assert bought.buy_mm - step < bought.needed_mm
    assert bought.needed_mm - (bought.buy_mm - step) == pytest.approx(bought.short_by_mm, abs=1e-5)
