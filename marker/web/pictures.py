"""What the page draws: pieces and figures as plain values, lengths in mm."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import Any

import numpy as np
import shapely
from shapely import Polygon

from marker.cloth.buying import Purchase
from marker.cloth.stock import Remnant
from marker.drawing.scene.piece_drawing import PieceDrawing
from marker.geometry.arrays import FloatArray
from marker.layout import CheckedLayout
from marker.units import System, shown

_PLACES = 2
_FINE_ENOUGH_MM = 2.0
"""How closely the middle of a piece, where its name stands, is found."""


def piece_picture(piece: PieceDrawing, across_mm: float = 0.0) -> dict[str, Any]:
    """A laid piece: its lines, its marks, and where its name has most room.

    across_mm : where its cloth begins across the table that is drawn.
    """
    by = np.array([0.0, across_mm])
    label, room = _roomiest(piece.outline + by)
    return {
        "number": piece.number,
        "name": piece.name,
        "size": piece.size,
        "copy_words": piece.copy_words,
        "outline_mm": points(piece.outline + by),
        "cutouts_mm": [points(hole + by) for hole in piece.cutouts],
        "stitching_mm": points(piece.stitching + by),
        "fold_line_mm": None if piece.fold_line is None else points(piece.fold_line + by),
        "notches": [
            {"point": (np.array(each.point) + by).tolist(), "inward": each.inward}
            for each in piece.notches
        ],
        "grain": {
            "direction": piece.grain.direction,
            "either_way": piece.grain.either_way,
            "nap": piece.grain.nap,
        },
        "label_mm": label,
        "label_room_mm": room,
    }


def layout_figures(checked: CheckedLayout, purchase: Purchase) -> dict[str, Any]:
    """What stands beside the picture of a layout on cloth that is bought, or lies there whole."""
    layout = checked.layout
    cost = None if purchase.cost is None else f"{purchase.cost:.2f} {purchase.currency}"
    return {
        "length_mm": layout.length_mm,
        "width_mm": layout.cloth.usable_width_mm,
        "bound_mm": layout.length_lower_bound_mm,
        "utilisation": checked.utilisation,
        "buy_text": bought(purchase),
        "buy_note": _other_way(purchase) if shown().both else "",
        "cost_text": cost,
        "remnants_text": None,
    }


def remnant_figures(every: Sequence[CheckedLayout], remnants: Sequence[Remnant]) -> dict[str, Any]:
    """The same for layouts on remnants: how many of them are used, and how much of these."""
    area = sum(remnant.area_mm2 for each in every for remnant in each.layout.cloth.remnants)
    return {
        "length_mm": sum(each.layout.length_mm for each in every),
        "utilisation": sum(each.piece_area_mm2 for each in every) / area,
        "buy_text": "nothing",
        "buy_note": "all of it comes from remnants",
        "cost_text": None,
        "remnants_text": f"{len(every)} of {len(remnants)}",
    }


def _other_way(purchase: Purchase) -> str:
    """The length to ask for in the system that does not lead."""
    return f"by the yard {purchase.yards}" if metric_leads() else purchase.metric


def bought(purchase: Purchase) -> str:
    """The length to ask for, in the system that leads."""
    return purchase.metric if metric_leads() else purchase.yards


def metric_leads() -> bool:
    """Whether metres come before yards."""
    return shown().lead is System.METRIC


def points(outline: FloatArray) -> list[list[float]]:
    """(n, 2) mm as JSON has it."""
    rounded: list[list[float]] = outline.round(_PLACES).tolist()
    return rounded


def _roomiest(outline: FloatArray) -> tuple[list[float], float]:
    """Centre and diameter of the largest circle within an outline; copies of a piece share it."""
    corner = outline.min(axis=0)
    (x, y), room = _circle((outline - corner).round(1).tobytes())
    return [round(x + corner[0], 1), round(y + corner[1], 1)], room


@lru_cache(maxsize=4096)
def _circle(ring: bytes) -> tuple[tuple[float, float], float]:
    whole = Polygon(np.frombuffer(ring).reshape(-1, 2))
    line = shapely.maximum_inscribed_circle(whole, tolerance=_FINE_ENOUGH_MM)
    (x, y), _ = line.coords
    return (float(x), float(y)), round(2 * float(line.length), 1)
