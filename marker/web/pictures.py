"""What the page draws: patterns, laid pieces and figures as plain values, lengths in mm."""

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
from marker.geometry.outline import polyline_length
from marker.job import Job, Reader
from marker.layout import CheckedLayout
from marker.layout.bought import purchase_for
from marker.pattern.bands.opening_line import measured
from marker.pattern.edge import Edge
from marker.pattern.piece import Piece
from marker.pattern.seams.seam_report import SeamReport, SideReport, seam_reports
from marker.pattern.sewn_edges import taken_in_marks
from marker.pattern.stitching import edge_line, notch_point, square_out
from marker.reports.yardage import is_least
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
        "in_full": _in_full(piece),
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


def _in_full(piece: PieceDrawing) -> str:
    """Its name, with its size and garment where there are several."""
    number = f"garment {piece.garment}" if piece.garment else ""
    return ", ".join(filter(None, [piece.name, piece.size_words, number]))


def layout_figures(checked: CheckedLayout, reader: Reader) -> dict[str, Any]:
    """What stands beside the picture of a layout on cloth that is bought, or lies there whole. What
    is proven is told as cloth to buy; a cutting room is told the length as well."""
    layout, purchase = checked.layout, purchase_for(checked)
    bound = layout.length_lower_bound_mm
    least = purchase_for(checked, bound)
    cost = None if purchase.cost is None else f"{purchase.cost:.2f} {purchase.currency}"
    return {
        "length_mm": layout.length_mm,
        "width_mm": layout.cloth.usable_width_mm,
        "bound_mm": bound if reader is Reader.CUTTING_ROOM else None,
        "least_text": _bought(least) if bound else None,
        "is_least": is_least(purchase, least),
        "utilisation": checked.utilisation,
        "buy_text": _bought(purchase),
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
    return f"by the yard {purchase.yards}" if _metric_leads() else purchase.metric


def _bought(purchase: Purchase) -> str:
    """The length to ask for, in the system that leads."""
    return purchase.metric if _metric_leads() else purchase.yards


def _metric_leads() -> bool:
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


def pattern_picture(job: Job, size: str) -> dict[str, Any]:
    """Pieces, seams, openings and bands of one size of a job."""
    pattern = job.in_size(size)
    return {
        "size": size,
        "sizes": list(job.sizes),
        "pieces": [_piece(piece) for piece in pattern.pieces],
        "seams": [_seam(report) for report in seam_reports(pattern)],
        "openings": [
            {
                "name": opening.name,
                "edges": [str(ref) for ref in opening.edges],
                "length_mm": measured(pattern.pieces, opening).length_mm,
            }
            for opening in pattern.openings
        ],
        "bands": [
            {
                "name": plan.strip.name,
                "length_mm": plan.as_cut_mm[0],
                "width_mm": plan.as_cut_mm[1],
                "parts": plan.parts.count,
                "finishes": plan.strip.finishes or None,
            }
            for plan in job.strip_plans(size)
        ],
    }


def _piece(piece: Piece) -> dict[str, Any]:
    fold = piece.fold
    return {
        "name": piece.name,
        "cloth": piece.cloth,
        "cut": piece.cut,
        "pair": piece.pair,
        "follows": piece.recipe is not None,
        "outline_mm": points(piece.outline),
        "cutouts_mm": [points(hole) for hole in piece.cutouts],
        "fold_mm": None if fold is None else points(piece.outline[[fold.start, fold.end]]),
        "corners_mm": points(piece.corners),
        "grain_deg": piece.grain_deg,
        "edges": [_edge(piece, name, edge) for name, edge in piece.edges.items()],
        "notches": [
            {
                "edge": notch.edge,
                "at_mm": notch.at_mm,
                "point": notch_point(piece, notch).tolist(),
                "inward": (-square_out(piece, notch)).tolist(),
            }
            for notch in piece.notches
        ],
        "inside_mm": [
            {"line": points(mark.points), "name": mark.name}
            for mark in (*taken_in_marks(piece), *piece.inner_marks)
        ],
    }


def _edge(piece: Piece, name: str, edge: Edge) -> dict[str, Any]:
    """Drawn along the stitching line, as it is measured."""
    line = edge_line(piece, name)
    allowance = piece.allowance_mm if edge.allowance_mm is None else edge.allowance_mm
    return {
        "name": name,
        "line_mm": points(line),
        "length_mm": polyline_length(line),
        "allowance_mm": allowance if edge.hem is None else edge.hem.allowance_mm,
        "hem": edge.hem and edge.hem.kind.value,
    }


def _seam(report: SeamReport) -> dict[str, Any]:
    return {
        "name": report.seam.name,
        "meets": not report.findings,
        "sides": [_side(side, report.seam.tolerance_mm) for side in report.sides],
        "findings": [f"{found.message}. {found.remedy}." for found in report.findings],
    }


def _side(side: SideReport, tolerance_mm: float) -> dict[str, Any]:
    return {
        "edges": [str(leg.ref) for leg in side.walk.legs],
        "length_mm": side.walk.length_mm,
        "ease_mm": side.side.ease_mm,
        "off_mm": side.difference_mm if abs(side.difference_mm) > tolerance_mm else 0.0,
    }
