"""The printed chart's own spread, on which the width benchmark rests."""

from __future__ import annotations

from tests.planning.width_chart import LEAST, MOST, WIDTHS_IN, chart, chart_ratios


def test_the_charts_area_ratios_run_from_least_to_most() -> None:
    every = [ratio for column in chart_ratios() for ratio in column]
    assert (round(min(every), 2), round(max(every), 2)) == (LEAST, MOST)


def test_wider_cloth_needs_no_more_by_the_chart() -> None:
    assert all(len(row) == len(WIDTHS_IN) for row in chart())
    assert all(row == sorted(row, reverse=True) for row in chart())
