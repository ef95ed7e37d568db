"""What to buy for a checked layout."""

from __future__ import annotations

from marker.cloth.buying import Purchase, purchase
from marker.layout import CheckedLayout
from marker.pattern.repeats.match import tied_along


def is_tied_along(checked: CheckedLayout) -> bool:
    """Whether it must start in a certain place of the cloth's repeat along it."""
    return any(tied_along(piece.matches) for piece in checked.cut_pieces)


def purchase_for(checked: CheckedLayout, length_mm: float | None = None) -> Purchase:
    """What to buy for it, or for another length of the same pieces."""
    layout = checked.layout
    length = layout.length_mm if length_mm is None else length_mm
    return purchase(length, layout.cloth, is_tied_along(checked))
