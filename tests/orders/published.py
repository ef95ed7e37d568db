"""Cut orders whose best plans are known from outside the project.

1 to 3 : demands of a published cut-order-planning lecture; the fewest lays of 1 and 2 were checked
exhaustively, 3 lies at the bound of 75 plies × 5 garments a lay. 4, 5 : CSPLib problem 002,
printing templates (its templates are markers, its pressings plies): cat food and herbs 2.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from marker.orders.order import EXACT, CutOrder, Limits
from marker.orders.planning import Aim


@dataclass(frozen=True)
class Published:
    """best : the least of what the aim minimises first."""

    name: str
    order: CutOrder
    limits: Limits
    aim: Aim
    best: int


def one_colour(wanted: dict[str, int], over_cut: Fraction | None = EXACT) -> CutOrder:
    return CutOrder({"": wanted}, over_cut)


def _labels(demand: list[int]) -> dict[str, int]:
    return {f"label {number}": wanted for number, wanted in enumerate(demand, 1)}


FIRST = one_colour({"10": 40, "12": 90, "14": 80, "16": 25, "18": 25})
SECOND = one_colour({"12": 100, "14": 160, "16": 120, "18": 60})
THIRD = one_colour({"S": 300, "M": 600, "L": 400})
CAT_FOOD = one_colour(_labels([250, 255, 260, 500, 500, 800, 1100]), None)
HERBS = one_colour(
    _labels([280] * 2 + [230] * 4 + [150] + [100] * 4 + [90] * 6 + [80] * 4 + [70] * 7 + [60] * 2),
    None,
)

PUBLISHED = (
    Published("lecture 1", FIRST, Limits(4, 50), Aim.FEWEST_LAYS, 2),
    Published("lecture 2", SECOND, Limits(4, 60), Aim.FEWEST_LAYS, 2),
    Published("lecture 3", THIRD, Limits(5, 75), Aim.FEWEST_LAYS, 4),
    Published("cat food, 1", CAT_FOOD, Limits(9, max_markers=1), Aim.FEWEST_PLIES, 550),
    Published("cat food, 2", CAT_FOOD, Limits(9, max_markers=2), Aim.FEWEST_PLIES, 418),
    Published("cat food, 3", CAT_FOOD, Limits(9, max_markers=3), Aim.FEWEST_PLIES, 408),
    Published("herbs, 1", HERBS, Limits(42, max_markers=1), Aim.FEWEST_PLIES, 115),
    Published("herbs, 2", HERBS, Limits(42, max_markers=2), Aim.FEWEST_PLIES, 87),
)
