"""The widths in which cloth is sold."""

from __future__ import annotations

from dataclasses import replace

from marker.cloth.fabric import Cloth

_INCH = 25.4
# common practice, no source
FLAT_WIDTHS_MM = tuple(_INCH * inches for inches in (36, 42, 45, 48, 54, 60, 72))
TUBE_WIDTHS_MM = tuple(_INCH * inches for inches in (28, 30, 32, 34))
_ALIKE_MM = 1.5 * _INCH


def usual_widths(own_mm: float, tube: bool) -> tuple[float, ...]:
    """The trade's widths and a cloth's own, in place of one nearly as wide; mm, narrowest first."""
    trade = TUBE_WIDTHS_MM if tube else FLAT_WIDTHS_MM
    nearest = min(trade, key=lambda width: abs(width - own_mm))
    kept = {width for width in trade if width != nearest or abs(width - own_mm) > _ALIKE_MM}
    return tuple(sorted({*kept, own_mm}))


def as_sold(cloth: Cloth, width_mm: float | None = None) -> Cloth:
    """The cloth as a shop has it, of this width or its own: without the flaws and the length of a
    piece at home."""
    width = width_mm or cloth.width_mm
    return replace(cloth, width_mm=width, flaws=(), have_mm=None)
