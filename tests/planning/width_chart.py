"""A printed chart that converts yardages from one width of cloth to another.

Fabric-width conversion chart, credited to Rutgers Cooperative Extension from memory. Of the widths
that share a column the middle is taken.
"""

from __future__ import annotations

from fractions import Fraction

WIDTHS_IN = (35.5, 39.0, 41.0, 44.5, 50.0, 53.0, 59.0, 66.0)
YARDS = """
1 3/4 | 1 1/2 | 1 1/2 | 1 3/8 | 1 1/4 | 1 1/8 | 1     | 7/8
2     | 1 3/4 | 1 3/4 | 1 5/8 | 1 1/2 | 1 3/8 | 1 1/4 | 1 1/8
2 1/4 | 2     | 2     | 1 3/4 | 1 5/8 | 1 1/2 | 1 3/8 | 1 1/4
2 1/2 | 2 1/4 | 2 1/4 | 2 1/8 | 1 3/4 | 1 3/4 | 1 5/8 | 1 1/2
2 7/8 | 2 1/2 | 2 1/2 | 2 1/4 | 2     | 1 7/8 | 1 3/4 | 1 5/8
3 1/8 | 2 3/4 | 2 3/4 | 2 1/2 | 2 1/4 | 2     | 1 7/8 | 1 3/4
3 3/8 | 3     | 2 7/8 | 2 3/4 | 2 3/8 | 2 1/4 | 2     | 1 7/8
3 3/4 | 3 1/4 | 3 1/8 | 2 7/8 | 2 5/8 | 2 3/8 | 2 1/4 | 2 1/8
4 1/4 | 3 1/2 | 3 3/8 | 3 1/8 | 2 3/4 | 2 5/8 | 2 3/8 | 2 1/4
4 1/2 | 3 3/4 | 3 5/8 | 3 3/8 | 3     | 2 3/4 | 2 5/8 | 2 1/2
4 3/4 | 4     | 3 7/8 | 3 5/8 | 3 1/4 | 2 7/8 | 2 3/4 | 2 5/8
5     | 4 1/4 | 4 1/8 | 3 7/8 | 3 3/8 | 3 1/8 | 2 7/8 | 2 3/4
"""
LEAST, MOST = 0.90, 1.12
"""Its area ratios to the narrowest width: it sometimes promises less cloth than equal area, so it
is a band for a sweep, never a bound."""


def chart() -> list[list[float]]:
    """Yards, a row for each garment, a column for each width."""
    lines = YARDS.strip().splitlines()
    return [[float(sum(map(Fraction, cell.split()))) for cell in row.split("|")] for row in lines]


def chart_ratios() -> list[list[float]]:
    """For each width, every garment's area ÷ its area at the narrowest width."""
    narrowest = WIDTHS_IN[0]
    return [
        [row[k] * width / (row[0] * narrowest) for row in chart()]
        for k, width in enumerate(WIDTHS_IN)
    ]
