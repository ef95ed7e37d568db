"""What the page draws: pieces and figures as plain values, lengths in mm."""

from __future__ import annotations

from collections.abc import Iterable
from functools import lru_cache
from typing import Any

import numpy as np
import shapely
from shapely import Polygon

from marker.cloth.buying import Purchase
from marker.drawing.scene.piece_drawing import PieceDrawing
from marker.geometry.arrays import FloatArray
from marker.layout import CheckedLayout
from marker.units import System, shown

_PLACES = 2
_FINE_ENOUGH_MM = 2.0
"""How closely the middle of a piece, where its name stands, is found."""


def piece_picture(piece: PieceDrawing, pinned: bool) -> dict[str, Any]:
    """A laid piece: its lines, its marks, and where its name has most room."""
    label, room = _roomiest(piece.outline)
    return {
        "number": piece.number,
        "key": f"{piece.name}, {piece.size}, {piece.garment or 1}, {piece.copy}",
        "name": piece.name,
        "size": piece.size,
        "copy_words": piece.copy_words,
        "pinned": pinned,
        "outline_mm": points(piece.outline),
        "cutouts_mm": [points(hole) for hole in piece.cutouts],
        "stitching_mm": points(piece.stitching),
        "fold_line_mm": None if piece.fold_line is None else points(piece.fold_line),
        "notches": [{"point": each.point, "inward": each.inward} for each in piece.notches],
        "grain": {
            "direction": piece.grain.direction,
            "either_way": piece.grain.either_way,
            "nap": piece.grain.nap,
        },
        "label_mm": label,
        "label_room_mm": room,
    }


def layout_figures(checked: CheckedLayout, purchase: Purchase) -> dict[str, Any]:
    """What stands beside the picture of a layout."""
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


def drawn_pieces(pieces: Iterable[PieceDrawing], pinned: set[int]) -> list[dict[str, Any]]:
    """All pieces of a scene, in the order of their numbers."""
    return [piece_picture(piece, piece.number in pinned) for piece in pieces]


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
