"""Whether a layout fits the length there is, each addend of a purchase counted."""

from __future__ import annotations

import pytest

from marker.cloth.behaviour import Cut, Shrinkage
from marker.cloth.buying import Answer, fit, needed_mm, room_mm
from marker.cloth.fabric import Cloth

ENDS = Cloth("jersey", 1500.0, end_allowance_mm=20.0, have_mm=2300.0)
WASHED = Cloth(
    "jersey", 1500.0, end_allowance_mm=20.0, have_mm=2300.0,
    shrinkage=Shrinkage(0.05, 0.03, Cut.AFTER_WASHING),
)  # fmt: skip


@pytest.mark.parametrize(
    ("length", "bound", "answer", "spare"),
    [
        (2260.0, 2000.0, Answer.FITS, 0.0),
        (2260.01, 2000.0, Answer.FITS, -0.01),
        (2300.0, 2250.0, Answer.NOT_FOUND, -40.0),
        (2300.0, 2261.0, Answer.IMPOSSIBLE, -40.0),
        (1000.0, 1000.0, Answer.FITS, 1260.0),
    ],
)
def test_two_ends_of_2_cm_leave_2260_of_2300(
    length: float, bound: float, answer: Answer, spare: float
) -> None:
    found = fit(length, bound, ENDS)
    assert found is not None
    assert found.answer is answer
    assert found.spare_mm == pytest.approx(spare)


def test_cloth_that_is_bought_fits_whatever_is_laid() -> None:
    assert fit(5000.0, 5000.0, Cloth("jersey", 1500.0)) is None
    assert room_mm(Cloth("jersey", 1500.0)) == float("inf")


def test_the_room_is_what_is_left_after_washing_and_ends() -> None:
    """2.30 m at 5 % shrink to 2.185 m, two ends of 2 cm leave 2.145 m (arithmetic)."""
    assert room_mm(ENDS) == pytest.approx(2260.0)
    assert room_mm(WASHED) == pytest.approx(2145.0)
    assert needed_mm(room_mm(WASHED), WASHED) == pytest.approx(2300.0)
