"""A printed chart that converts yardages from one width of cloth to another.

Fabric-width conversion chart, credited to Rutgers Cooperative Extension from memory. Its area
ratios to the narrowest width run from 0.90 to 1.12: it is beside an estimate, never a bound.
"""

from __future__ import annotations

from fractions import Fraction

import numpy as np

WIDTHS_IN = (35.5, 39.0, 41.0, 44.5, 50.0, 53.0, 59.0, 66.0)
"""Width of each column; of the widths that share one, the middle."""

_HALF_COLUMN_IN = 1.5
_YARDS = """
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


def chart() -> list[list[float]]:
    """Yards, a row for each garment, a column for each width."""
    lines = _YARDS.strip().splitlines()
    return [[float(sum(map(Fraction, cell.split()))) for cell in row.split("|")] for row in lines]


def converted_yd(yards: float, from_in: float, to_in: float) -> float | None:
    """What the chart has in one width for so many yards in another, straight between its rows.

    None for a width that it has no column for, and for yards beyond that column.
    """
    own, other = _column(from_in), _column(to_in)
    if own is None or other is None or not own[0] <= yards <= own[-1]:
        return None
    # two rows may have the same yards in one width: the mean of what they have in the other
    steps = sorted(set(own))
    means = [np.mean([b for a, b in zip(own, other, strict=True) if a == step]) for step in steps]
    return float(np.interp(yards, steps, means))


def _column(width_in: float) -> list[float] | None:
    k = min(range(len(WIDTHS_IN)), key=lambda each: abs(WIDTHS_IN[each] - width_in))
    if abs(WIDTHS_IN[k] - width_in) > _HALF_COLUMN_IN:
        return None
    return [row[k] for row in chart()]
