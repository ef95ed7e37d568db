"""What `marker check` says: what a job cuts, which seams meet, what is to correct."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from marker.job import Job
from marker.pattern.bands.strip_plan import StripPlan
from marker.pattern.pattern import Pattern
from marker.pattern.piece import CutPiece
from marker.pattern.seams.seam_report import seam_reports
from marker.pattern.stitching import edge_length_mm
from marker.planning.lay import Task
from marker.reports.by_size import by_size
from marker.reports.matches import match_facts, match_lines
from marker.reports.seams import finding_facts, finding_lines, seam_facts, seam_lines
from marker.units import inches, metric
from marker.words import counted

NO_SEAMS = "No seams to check: add a [[seam]] for edges that are sewn together."


def inventory(job: Job, work: Sequence[Task]) -> dict[str, Any]:
    """What a job cuts in each size, what is sewn to what, what does not meet; lengths in mm.

    work : one garment of each size.
    """
    return {
        "name": job.name,
        "size": job.size,
        "sizes": list(job.sizes),
        "garments": len(job.garments),
        "findings": [finding_facts(each) for size in job.sizes for each in job.findings(size)],
        "pieces": [_piece(piece) for task in work for piece in task.cut_pieces],
        "strips": [
            _strip(plan) | {"cloth": plan.cloth.name, "size": size}
            for size in job.sizes
            for plan in job.strip_plans(size)
        ],
        "seams": [seam_facts(report) for each in job.patterns for report in seam_reports(each)],
        "matches": [found for each in job.patterns for found in match_facts(each, work)],
        "edges": [edge for each in job.patterns for edge in _edges(each)],
    }


def _edges(pattern: Pattern) -> Iterator[dict[str, Any]]:
    for piece in pattern.pieces:
        for edge in piece.edges:
            length = round(edge_length_mm(piece, edge), 2)
            yield {"piece": piece.name, "edge": edge, "size": pattern.size, "length_mm": length}


def _piece(piece: CutPiece) -> dict[str, Any]:
    along, across = piece.outline.max(axis=0) - piece.outline.min(axis=0)
    return {
        "piece": piece.name,
        "size": piece.size,
        "cloth": piece.cloth,
        "cut": piece.copies + piece.mirrored_copies,
        "mirrored": piece.mirrored_copies,
        "on_fold": piece.fold_line is not None,
        "along_mm": round(float(along), 1),
        "across_mm": round(float(across), 1),
        "note": piece.note,
    }


def _strip(plan: StripPlan) -> dict[str, Any]:
    strip, band = plan.strip, plan.band
    length, width = plan.as_cut_mm
    return {
        "strip": strip.name,
        "finishes": strip.finishes,
        "opening_mm": None if band is None else round(band.opening.length_mm, 1),
        "cut_length_mm": round(length, 1),
        "width_mm": round(width, 1),
        "direction": strip.direction.value,
        "cut": strip.cut,
        "parts": plan.parts.count,
        "part_length_mm": round(plan.parts.length_mm * length / plan.cut_length_mm, 1),
    }


def inventory_lines(facts: dict[str, Any]) -> Iterator[str]:
    """An `inventory` as lines for a person."""
    sizes = facts["sizes"]
    said = f"sizes {', '.join(sizes)}" if len(sizes) > 1 else f"size {facts['size']}"
    yield f"{facts['name']}, {said}, {counted(facts['garments'], 'garment')}"
    yield ""
    yield "Cut for one garment (along × across the cloth, allowances included):"
    yield from by_size(facts["pieces"], sizes, _piece_lines)
    if facts["strips"]:
        yield ""
        yield "Strips:"
        yield from by_size(facts["strips"], sizes, _strip_lines)
    if facts["seams"]:
        yield ""
        yield "Seams, on the stitching line, folds opened:"
        yield from by_size(facts["seams"], sizes, seam_lines)
    if facts["matches"]:
        yield ""
        yield "Matches, and where in the repeat their first point lies:"
        yield from by_size(facts["matches"], sizes, match_lines)
    if facts["edges"]:
        yield ""
        yield "Edges, on the stitching line as drawn:"
        yield from by_size(facts["edges"], sizes, _edge_lines)
    yield ""
    if facts["findings"]:
        yield "To mend before cutting:"
        yield from by_size(facts["findings"], sizes, finding_lines)
    else:
        yield "Nothing to mend: all seams meet." if facts["seams"] else NO_SEAMS


def _piece_lines(piece: dict[str, Any]) -> Iterator[str]:
    hands = f", {piece['mirrored']} of them mirrored" if piece["mirrored"] else ""
    fold = ", opened from the fold" if piece["on_fold"] else ""
    note = f", {piece['note']}" if piece["note"] else ""
    size = f"{piece['along_mm'] / 10:.1f} × {piece['across_mm'] / 10:.1f} cm"
    yield f"{piece['cut']} {piece['piece']} ({piece['cloth']}), {size}{hands}{fold}{note}"


def _edge_lines(edge: dict[str, Any]) -> Iterator[str]:
    length = edge["length_mm"]
    yield f"{edge['piece']}.{edge['edge']}  {length / 10:.1f} cm ({inches(length)})"


def _strip_lines(strip: dict[str, Any]) -> Iterator[str]:
    cut, width = strip["cut_length_mm"], strip["width_mm"]
    size = f"{metric(cut)} × {metric(width)} ({inches(cut)} × {inches(width)})"
    opening = strip["opening_mm"]
    why = f", finishes {strip['finishes']}, {metric(opening)}" if opening else ""
    parts = ""
    if strip["parts"] > 1:
        parts = f", joined from {strip['parts']} parts of {metric(strip['part_length_mm'])}"
    yield f"{strip['cut']} {strip['strip']}, {size}, {strip['direction']}{why}{parts}"
