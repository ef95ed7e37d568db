"""A pattern as the page draws it: pieces with their edges, and what is sewn to what; mm."""

from __future__ import annotations

from typing import Any

from marker.geometry.outline import polyline_length
from marker.job import Job
from marker.pattern.bands.opening_line import measured
from marker.pattern.edge import Edge
from marker.pattern.piece import Piece
from marker.pattern.seams.seam_report import SeamReport, SideReport, seam_reports
from marker.pattern.sewn_edges import taken_in_marks
from marker.pattern.stitching import edge_line, notch_point, square_out
from marker.web.pictures import points


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
