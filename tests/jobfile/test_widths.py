"""Widths on the command line, some with a price of their own."""

from __future__ import annotations

import pytest

from marker.cloth.buying import usual_widths
from marker.cloth.fabric import Cloth, Price
from marker.errors import FaultyInput
from marker.jobfile.option_texts import read_widths

JERSEY = Cloth("jersey", 1500, selvage_mm=10, price=Price(14.9, 1000, "EUR"))
INCH = 25.4


def test_widths_and_prices() -> None:
    found = read_widths("--widths", "110cm, 60 in=18.5,140 cm = 0", JERSEY)
    assert [each.width_mm for each in found] == pytest.approx([1100, 1524, 1400])
    assert [each.price and each.price.amount for each in found] == [14.9, 18.5, 0]
    assert all(each.price and each.price.per_mm == 1000 for each in found)
    assert {each.name for each in found} == {"jersey"}


@pytest.mark.parametrize(
    ("text", "problem", "remedy"),
    [
        ("110", "no unit", "110cm,150cm"),
        ("", "not a length", "110cm,150cm"),
        ("110cm,,140cm", "not a length", "110cm,150cm"),
        ("0cm", "not above 0", "Check"),
        ("-3 in", "not above 0", "Check"),
        ("30 m", "more than 10 m", "Check"),
        ("45 ft", "more than 32.8 ft", "Check"),
        ("2 cm", "between the selvages", "wider"),
        ("110cm,1100 mm", "twice", "once"),
        ("110cm=-1", "no price", "12.50"),
        ("110cm=nan", "no price", "12.50"),
        ("110cm=9 EUR", "no price", "no currency"),
        (",".join(f"{90 + k}cm" for k in range(21)), "too many", "at most 20"),
    ],
)
def test_faults(text: str, problem: str, remedy: str) -> None:
    with pytest.raises(FaultyInput) as found:
        read_widths("--widths", text, JERSEY)
    (fault,) = found.value.faults
    assert "--widths" in fault.place
    assert problem in fault.problem
    assert remedy in fault.remedy


def test_every_fault_is_told() -> None:
    with pytest.raises(FaultyInput) as found:
        read_widths("--widths", "110,120,130cm", JERSEY)
    assert len(found.value.faults) == 2


def test_a_price_needs_one_in_the_job() -> None:
    with pytest.raises(FaultyInput, match="jersey has none in the job"):
        read_widths("--widths", "110cm=12", Cloth("jersey", 1500))


def test_the_usual_widths_hold_the_cloths_own() -> None:
    """36 to 72 in (common practice, no source): 59 in takes the place of 60, 80 in is another."""
    trade = [36, 42, 45, 48, 54, 60, 72]
    assert usual_widths(1500, tube=False) == pytest.approx(
        [1500 if width == 60 else width * INCH for width in trade]
    )
    assert usual_widths(80 * INCH, tube=False)[-1] == pytest.approx(80 * INCH)
    assert len(usual_widths(80 * INCH, tube=False)) == 8
    assert usual_widths(30 * INCH, tube=True) == pytest.approx([w * INCH for w in (28, 30, 32, 34)])
