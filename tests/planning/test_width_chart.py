"""The printed chart's own spread, on which the width benchmark rests."""

from __future__ import annotations

import pytest

from marker.cloth.width_chart import WIDTHS_IN, chart, converted_yd
from tests.planning.width_chart import LEAST, MOST, chart_ratios


def test_the_charts_area_ratios_run_from_least_to_most() -> None:
    every = [ratio for column in chart_ratios() for ratio in column]
    assert (round(min(every), 2), round(max(every), 2)) == (LEAST, MOST)


def test_wider_cloth_needs_no_more_by_the_chart() -> None:
    assert all(len(row) == len(WIDTHS_IN) for row in chart())
    assert all(row == sorted(row, reverse=True) for row in chart())


@pytest.mark.parametrize(
    ("yards", "from_in", "to_in", "expected"),
    [
        (2.0, 36.0, 45.0, 1.625),  # a row as printed
        (2.125, 36.0, 45.0, 1.6875),  # half way between two rows
        (1.875, 53.0, 59.0, 1.75),
        (9.0, 36.0, 45.0, None),  # beyond its last row
        (2.0, 36.0, 72.0, None),  # a width without a column
    ],
)
def test_yards_of_one_width_in_another(
    yards: float, from_in: float, to_in: float, expected: float | None
) -> None:
    assert converted_yd(yards, from_in, to_in) == expected
