"""The drawings of one cloth's layout, by the names of their files."""

from __future__ import annotations

from marker.drawing.diagram.diagram import render_diagram
from marker.drawing.scene.layout_scene import build_scene
from marker.drawing.sheet.sheet_files import render_cutting_sheet
from marker.job import Job
from marker.layout import CheckedLayout
from marker.pattern.bands.strip_plan import StripPlan
from marker.planning.laid_cloth import LaidCloth


def drawn_files(laid: LaidCloth, job: Job) -> dict[str, bytes]:
    """File name -> contents: the diagram and the cutting sheet of one cloth's layout."""
    scene = build_scene(laid.checked, laid.purchase, laid.leftovers)
    strips = _strips_on(laid.checked, job)
    sheet = render_cutting_sheet(scene, laid.checked, laid.purchase, strips)
    return render_diagram(scene) | sheet


def _strips_on(checked: CheckedLayout, job: Job) -> list[tuple[str, StripPlan]]:
    """Size and plan of the strips that lie on this cloth, or on this remnant of it; planned for
    the whole cloth."""
    laid = {(placement.size, placement.piece) for placement in checked.layout.placements}
    return [
        (size, plan)
        for size in job.order
        for plan in job.strip_plans(size)
        if plan.cloth.name == checked.layout.cloth.name and (size, plan.strip.name) in laid
    ]
