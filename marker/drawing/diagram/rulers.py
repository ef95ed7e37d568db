"""Rulers around the cloth: the units that lead along the near edge and the start, the others, if
they are shown, opposite."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from marker.canvas.fonts import MM_PER_PT
from marker.canvas.lettering import FIGURE_RISE
from marker.canvas.pen import BLACK, DARK, Pen
from marker.drawing.diagram.sheets import Sheet
from marker.units import System, shown

_SIZE = 5.5
_CLOSEST = 0.9  # two ticks, paper mm
_FIGURE_CLOSEST = 5.0
_RISE = FIGURE_RISE / 2 * _SIZE * MM_PER_PT  # half a figure's height, to centre it on its tick


@dataclass(frozen=True)
class Unit:
    """A ruler's unit. steps : tick spacings to choose from; figures : spacings of numbers."""

    name: str
    mm: float
    steps: tuple[int, ...]
    figures: tuple[int, ...]


CM = Unit("cm", 10.0, (1, 5, 10, 50), (10, 20, 50, 100))
INCH = Unit("in", 25.4, (1, 3, 6, 12), (6, 12, 36, 72))
_UNITS = {System.METRIC: CM, System.IMPERIAL: INCH}


@dataclass(frozen=True)
class _Mark:
    at: float
    length: float
    figure: str


def draw_rulers(pen: Pen, sheet: Sheet, width_mm: float, length_mm: float) -> None:
    """All four, 0 at the start line and at the inner edge of the near selvage.

    width_mm, length_mm : usable width and length of cloth covered by pieces.
    """
    near, far = sheet.y(-sheet.near_mm), sheet.y(width_mm + sheet.near_mm)
    left, right = sheet.x(sheet.start_mm), sheet.x(sheet.end_mm)
    span = (max(0.0, sheet.start_mm), min(length_mm, sheet.end_mm))
    unit = _UNITS[shown().lead]
    opposite = _UNITS[shown().lead.other] if shown().both else unit
    _along(pen, _marks(unit, span, sheet.scale), sheet.x, near, -1.0)
    _along(pen, _marks(opposite, span, sheet.scale), sheet.x, far, 1.0)
    _across(pen, _marks(unit, (0.0, width_mm), sheet.scale), sheet.y, left, -1.0)
    _across(pen, _marks(opposite, (0.0, width_mm), sheet.scale), sheet.y, right, 1.0)
    pen.text(left - 2.5, near - 4.6, unit.name, _SIZE, bold=True, align="right")
    pen.text(right + 1.0, far + 2.9, opposite.name, _SIZE, bold=True)


def _marks(unit: Unit, span: tuple[float, float], scale: int) -> list[_Mark]:
    """Ticks within a span of cloth mm: long ones with figures, the rest by rank."""
    step = _first_wide_enough(unit.steps, unit, scale, _CLOSEST)
    figure = _first_wide_enough(unit.figures, unit, scale, _FIGURE_CLOSEST)
    middle = figure // 2
    first, last = (math.ceil(span[0] / unit.mm - 1e-9), math.floor(span[1] / unit.mm + 1e-9))
    marks = []
    for k in range(first, last + 1):
        if k % step and k % figure:
            continue
        length = 2.2 if k % figure == 0 else 1.6 if k % middle == 0 else 0.9
        marks.append(_Mark(k * unit.mm, length, str(k) if k % figure == 0 else ""))
    return marks


def _first_wide_enough(spacings: tuple[int, ...], unit: Unit, scale: int, least: float) -> int:
    wide = [spacing for spacing in spacings if spacing * unit.mm / scale >= least]
    return wide[0] if wide else spacings[-1]


def _along(
    pen: Pen, marks: list[_Mark], paper: Callable[[float], float], edge: float, out: float
) -> None:
    base = edge + out * 0.6
    for rank in (0.9, 1.6, 2.2):
        ticks = [
            np.array([[paper(mark.at), base], [paper(mark.at), base + out * mark.length]])
            for mark in marks
            if mark.length == rank
        ]
        pen.lines(ticks, 0.1 + 0.04 * rank, DARK)
    for mark in filter(lambda mark: mark.figure, marks):
        y = base + out * 2.8 - (2 * _RISE if out < 0 else 0.0)
        pen.text(paper(mark.at), y, mark.figure, _SIZE, align="center", bold=mark.figure == "0")


def _across(
    pen: Pen, marks: list[_Mark], paper: Callable[[float], float], edge: float, out: float
) -> None:
    base = edge + out * 0.6
    ticks = [
        np.array([[base, paper(mark.at)], [base + out * mark.length, paper(mark.at)]])
        for mark in marks
    ]
    pen.lines(ticks, 0.16, BLACK)
    for mark in filter(lambda mark: mark.figure, marks):
        x, align = base + out * 2.7, "right" if out < 0 else "left"
        pen.text(x, paper(mark.at) - _RISE, mark.figure, _SIZE, align=align)
