"""How the cloth lies on the table, seen from one side, as lines in a box 1 wide and 0.12 high."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from marker.cloth.spread import Spread, Spreading
from marker.geometry.arrays import FloatArray
from marker.units import cut_length

HEIGHT = 0.12
_ARC = np.linspace(-np.pi / 2, np.pi / 2, 13)
_WORDS = {
    Spreading.OPEN: "open in one ply, right side up",
    Spreading.SLIT_OPEN: "slit along one crease and opened in one ply, right side up",
    Spreading.FOLDED_LENGTHWISE: "folded lengthwise, right sides together, selvage on selvage",
    Spreading.DOUBLE_FOLD: "with both selvages folded to the middle, right sides together",
    Spreading.FOLDED_CROSSWISE: "folded crosswise, right sides together, end on end",
    Spreading.CUT_AND_TURNED: "in two lengths, right sides together, the upper one turned round",
    Spreading.TUBE: "as the tube it is, flat",
}


@dataclass(frozen=True)
class SpreadSketch:
    """words : how to spread it. seen : from where the lines show it.

    lines : (n, 2) each. names : where along the box a selvage, an end or a fold lies.
    """

    words: str
    seen: str
    lines: tuple[FloatArray, ...]
    names: tuple[tuple[float, str], ...]


def spread_sketch(spread: Spread) -> SpreadSketch:
    """The sketch of any way to spread a cloth."""
    way = spread.spreading
    words = _WORDS[way]
    if way.plies == 2 and spread.two_ply_mm:
        words += f", {cut_length(spread.two_ply_mm)} of the table in two plies"
    lines, names = profile(way)
    seen = "the near edge of the cloth" if way.ends_meet else "the start of the cloth"
    return SpreadSketch(words, seen, lines, names)


def profile(way: Spreading) -> tuple[tuple[FloatArray, ...], tuple[tuple[float, str], ...]]:
    """Lines and names of the sketch."""
    match way:
        case Spreading.OPEN | Spreading.SLIT_OPEN:
            edge = "selvage" if way is Spreading.OPEN else "slit"
            return (_flat(0.0, 1.0, 0.0),), ((0.0, edge), (1.0, edge))
        case Spreading.FOLDED_LENGTHWISE | Spreading.FOLDED_CROSSWISE:
            edge = "ends" if way.ends_meet else "selvages"
            return (_hairpin(0.0),), ((0.0, edge), (1.0, "fold"))
        case Spreading.CUT_AND_TURNED:
            plies = (_flat(0.0, 1.0, 0.0), _flat(0.0, 1.0, HEIGHT))
            return plies, ((0.0, "ends"), (1.0, "ends"))
        case Spreading.DOUBLE_FOLD:
            half = _hairpin(0.51)
            halves = (half, half * [-1.0, 1.0] + [1.0, 0.0], _flat(0.49, 0.51, 0.0))
            return halves, ((0.0, "fold"), (0.5, "selvages"), (1.0, "fold"))
        case Spreading.TUBE:
            half = _hairpin(0.5)
            return (half, half * [-1.0, 1.0] + [1.0, 0.0]), ((0.0, "crease"), (1.0, "crease"))


def _flat(start: float, stop: float, at: float) -> FloatArray:
    return np.array([[start, at], [stop, at]])


def _hairpin(start: float) -> FloatArray:
    """Out along the table, round the fold at 1, and back above."""
    radius = HEIGHT / 2
    arc = np.column_stack([1.0 - radius + radius * np.cos(_ARC), radius + radius * np.sin(_ARC)])
    return np.vstack([[[start, 0.0]], arc, [[start, HEIGHT]]])
