"""What the commands say: the same facts as plain values for JSON and as lines for a person."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from typing import Any

from marker.cloth.buying import Purchase
from marker.cloth.fabric import Cloth
from marker.cloth.fixed_length import Answer, Fit, fit
from marker.cloth.spread import Spreading
from marker.job import Job
from marker.layout import CheckedLayout
from marker.layout.on_table import on_table
from marker.pattern.bands.strips import StripPlan, strip_plans
from marker.pattern.findings import pattern_findings
from marker.pattern.piece import CutPiece
from marker.pattern.seams.seam_report import seam_reports
from marker.pattern.stitching import edge_length_mm
from marker.planning.lay import Task
from marker.reports.by_size import by_size
from marker.reports.matches import match_facts, match_lines, matching_lines
from marker.reports.seams import finding_facts, finding_lines, seam_facts, seam_lines
from marker.units import inches, metric
from marker.words import counted

CAUTION = (
    "Shears, rotary blades and irons cut and burn: take the usual care, and let local rules and "
    "trained practice come first."
)

NO_SEAMS = "No seams to check: add a [[seam]] for edges that are sewn together."


def inventory(job: Job, work: Sequence[Task]) -> dict[str, Any]:
    """What a job cuts in each size, what is sewn to what, what does not meet; lengths in mm.

    work : one garment of each size.
    """
    sized = [job.in_size(size) for size in job.sizes]
    return {
        "name": job.name,
        "size": job.size,
        "sizes": list(job.sizes),
        "garments": len(job.garments),
        "findings": [finding_facts(found) for each in sized for found in pattern_findings(each)],
        "pieces": [_piece(piece) for task in work for piece in task.cut_pieces],
        "strips": [
            _strip(plan) | {"cloth": cloth.name, "size": each.size}
            for each in sized
            for cloth in each.cloths
            for plan in strip_plans(each, cloth)
        ],
        "seams": [seam_facts(report) for each in sized for report in seam_reports(each)],
        "matches": [found for each in sized for found in match_facts(each, work)],
        "edges": [edge for each in sized for edge in _edges(each)],
    }


def _edges(job: Job) -> Iterator[dict[str, Any]]:
    for piece in job.pieces:
        for edge in piece.edges:
            length = round(edge_length_mm(piece, edge), 2)
            yield {"piece": piece.name, "edge": edge, "size": job.size, "length_mm": length}


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


def layout_lines(checked: CheckedLayout, purchase: Purchase) -> Iterator[str]:
    """Length, utilisation, bound and what to buy, as lines for a person."""
    layout = checked.layout
    cloth = layout.cloth
    count = len(layout.placements)
    remnant = f", remnant '{cloth.remnant.name}'" if cloth.remnant else ""
    yield (
        f"{layout.job_name} on {cloth.name}{remnant}, {metric(cloth.usable_width_mm)} "
        f"({inches(cloth.usable_width_mm)}) of usable width, nap {cloth.nap.value}"
    )
    yield from _washing_lines(cloth)
    if layout.spread.spreading is not Spreading.OPEN:
        yield f"  spread {spread_line(checked)}"
    yield (
        f"  laid   {counted(count, 'piece')}, checked: complete, none overlapping, on grain, "
        "inside the cloth"
    )
    yield (
        f"  length {metric(layout.length_mm)} ({inches(layout.length_mm)}), utilisation "
        f"{100 * checked.utilisation:.1f} %; {layout.stopped_because} after {layout.seconds:.0f} s"
    )
    yield from matching_lines(layout)
    yield (
        f"  bound  no layout at this width can be shorter than "
        f"{metric(layout.length_lower_bound_mm)}, so at most {100 * gap(checked):.1f} % could "
        "still be saved"
    )
    fits = fit(layout.length_mm, layout.length_lower_bound_mm, cloth)
    yield f"  buy    {_purchase_line(purchase)}" if fits is None else f"  have   {fit_line(fits)}"


def fit_line(fits: Fit) -> str:
    """Whether it fits the cloth there is, by how much, and what is proven."""
    have = f"{metric(fits.have_mm)} ({inches(fits.have_mm)}), {metric(fits.needed_mm)} needed"
    by = f"{metric(abs(fits.spare_mm))} ({inches(abs(fits.spare_mm))})"
    if fits.answer is Answer.FITS:
        return f"{have}: it fits, {by} to spare"
    if fits.answer is Answer.IMPOSSIBLE:
        least = metric(fits.least_needed_mm)
        return f"{have}: short by {by}; impossible, no layout needs less than {least}"
    return f"{have}: short by {by}; none that fits was found, which does not prove there is none"


def leftover_lines(left: Sequence[dict[str, Any]]) -> Iterator[str]:
    """The remnants worth keeping, each with the largest rectangles in it, alike ones once, as two
    plies leave them; none without any."""
    alike = Counter(
        tuple((box["along_mm"], box["across_mm"]) for box in one["rectangles"]) for one in left
    )
    for sizes, count in alike.items():
        said = [
            f"{along / 10:.0f} × {across / 10:.0f} cm ({inches(along)} × {inches(across)})"
            for along, across in sizes
        ]
        remnants = "a remnant" if count == 1 else f"{count} remnants, each"
        yield f"  left   {remnants} with {', '.join(said)} (along × across)"


def _washing_lines(cloth: Cloth) -> Iterator[str]:
    """What washing does to cloth or pieces; nothing where no shrinkage is known."""
    left, growth = cloth.shrinkage.of_cloth, cloth.shrinkage.growth
    if left != (1.0, 1.0):
        yield (
            f"  washed before it is cut: {metric(cloth.width_mm)} wide becomes "
            f"{metric(cloth.width_mm * left[1])}, and 1 m of its length {metric(1000 * left[0])}"
        )
    if cloth.shrinkage.grows:
        yield (
            f"  washed after it is cut: pieces are {growth[0]:.4f} times as long along the cloth "
            f"and {growth[1]:.4f} times across it"
        )


def spread_line(checked: CheckedLayout) -> str:
    """How the cloth lies, what is cut at once, and which pieces are cut once more than wanted."""
    layout = checked.layout
    spread, cuts = layout.spread, len(on_table(checked))
    said = spread.spreading.value
    if spread.spreading.plies == 2:
        said += f": {metric(spread.two_ply_mm)} ({inches(spread.two_ply_mm)}) in two plies"
        beyond = layout.length_mm - spread.one_ply_from_mm
        if beyond > layout.cloth.gap_mm:
            said += f", then {metric(beyond)} ({inches(beyond)}) laid open"
    said += f"; {counted(cuts, 'outline')} to cut"
    names = Counter(spare.piece for spare in layout.spares)
    if names:
        spares = ", ".join(f"{count} {name}" for name, count in names.items())
        said += f", {counted(names.total(), 'spare')} ({spares})"
    return said


def gap(checked: CheckedLayout) -> float:
    """How much shorter a layout might still be: 1 - bound ÷ length."""
    return 1 - checked.layout.length_lower_bound_mm / checked.layout.length_mm


def _purchase_line(purchase: Purchase) -> str:
    price = f", {purchase.cost:.2f} {purchase.currency}" if purchase.cost is not None else ""
    repeat = f" + {metric(purchase.repeat_mm)} to whole repeats" if purchase.repeat_mm else ""
    washing = f" + {metric(purchase.shrinkage_mm)} lost in washing" if purchase.shrinkage_mm else ""
    return (
        f"{metric(purchase.buy_mm)} (by the yard {purchase.yards}){price}: layout "
        f"{metric(purchase.layout_mm)} + {metric(purchase.end_allowance_mm)} for the two ends"
        f"{repeat}{washing}, "
        f"sold in steps of {metric(purchase.step_mm)} ({inches(purchase.step_mm)})"
    )
