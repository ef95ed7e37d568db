"""How far the printed chart of widths strays from equal area."""

from __future__ import annotations

from marker.cloth.width_chart import WIDTHS_IN, chart

LEAST, MOST = 0.90, 1.12
"""Its area ratios to the narrowest width: it sometimes promises less cloth than equal area, so it
is a band for a sweep, never a bound."""


def chart_ratios() -> list[list[float]]:
    """For each width, every garment's area ÷ its area at the narrowest width."""
    narrowest = WIDTHS_IN[0]
    return [
        [row[k] * width / (row[0] * narrowest) for row in chart()]
        for k, width in enumerate(WIDTHS_IN)
    ]
