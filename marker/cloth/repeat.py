"""The cloth's own pattern: how often it comes again along and across, and a border print."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import StrEnum


class Axis(StrEnum):
    """ALONG the cloth's length: bars that run across it. ACROSS: stripes that run along it."""

    ALONG = "along"
    ACROSS = "across"


@dataclass(frozen=True)
class Bars:
    """The pattern on one axis.

    every_mm : it comes again after this length.
    begins_mm : where a repeat begins, from the start of the layout or from the near selvage's inner
        edge.
    even : read backwards from where it begins it is the same; else the cloth has one way only.
    fixed : whether it is known where on the cloth it begins. Else, along the cloth, the start line
        may be laid on any place of the repeat, and `begins_mm` says on which it was laid.
    """

    every_mm: float
    begins_mm: float = 0.0
    even: bool = True
    fixed: bool = True

    def seen_from(self, start_mm: float) -> Bars:
        """The same pattern, its places counted from another one."""
        return replace(self, begins_mm=(self.begins_mm - start_mm) % self.every_mm)

    def place(self, at_mm: float) -> float:
        """Where within the repeat a place of the cloth lies, from 0 to below `every_mm`."""
        return (at_mm - self.begins_mm) % self.every_mm

    def apart(self, a_mm: float, b_mm: float) -> float:
        """How far `a_mm` lies beyond `b_mm` in the repeat, at most half of it either way."""
        half = self.every_mm / 2
        return (a_mm - b_mm + half) % self.every_mm - half


@dataclass(frozen=True)
class Repeat:
    """Stripes have one axis, plaids both."""

    along: Bars | None = None
    across: Bars | None = None

    def on(self, axis: Axis) -> Bars | None:
        """The pattern on one axis, None where the cloth looks the same all over."""
        return self.along if axis is Axis.ALONG else self.across

    @property
    def axes(self) -> tuple[Axis, ...]:
        """Those on which the cloth repeats."""
        return tuple(axis for axis in Axis if self.on(axis))

    @property
    def one_way(self) -> bool:
        """A piece turned end for end shows another pattern: an axis is uneven."""
        return any(bars is not None and not bars.even for bars in (self.along, self.across))


class Side(StrEnum):
    """An edge of the cloth: NEAR, from which places across it are measured, or FAR."""

    NEAR = "near"
    FAR = "far"


@dataclass(frozen=True)
class Border:
    """A border print along one edge of the cloth.

    line_mm : from that side's selvage, its inner edge, to the line on which edges of pieces lie.
    """

    side: Side
    line_mm: float

    def across_mm(self, usable_width_mm: float) -> float:
        """The line from the near selvage's inner edge, mm."""
        return self.line_mm if self.side is Side.NEAR else usable_width_mm - self.line_mm
