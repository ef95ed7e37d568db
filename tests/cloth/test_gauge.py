"""Gauge readings against published ones."""

from __future__ import annotations

import pytest

from marker.cloth.behaviour import Direction, Gauge
from marker.cloth.fabric import Cloth

INCH = 25.4


@pytest.mark.parametrize(
    ("reading", "percent"), [(5, 25), (6, 50), (7, 75), (8, 100), (4.75, 18.75), (5.375, 34.375)]
)
def test_four_inches_stretched_to_a_reading(reading: float, percent: float) -> None:
    """Utah State University Extension, sewing with knits: 4 in to 5 in is 25 % and so on. Stable
    knits reach at most 4 3/4 in, moderate ones about 5 3/8 in, which it calls 35 %."""
    gauge = Gauge({Direction.CROSSGRAIN: reading * INCH})
    assert 100 * (gauge.stretch(Direction.CROSSGRAIN) or 0) == pytest.approx(percent)


def test_any_gauge_length_will_do() -> None:
    gauge = Gauge({Direction.BIAS: 150}, gauge_mm=100)
    assert gauge.stretch(Direction.BIAS) == pytest.approx(0.5)


def test_a_direction_not_measured_is_not_known() -> None:
    assert Gauge({Direction.CROSSGRAIN: 120}).stretch(Direction.LENGTHGRAIN) is None
    assert Cloth("poplin", 1500).stretch(Direction.CROSSGRAIN) is None


@pytest.mark.parametrize(
    ("across", "along", "greatest"),
    [(150, 120, "crossgrain"), (120, 150, "lengthgrain"), (120, 120, "crossgrain")],
)
def test_greatest_stretch(across: float, along: float, greatest: str) -> None:
    gauge = Gauge({Direction.CROSSGRAIN: across, Direction.LENGTHGRAIN: along})
    assert gauge.greatest == greatest
