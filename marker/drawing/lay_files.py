"""The drawings of the lays of an order, by the names of their files."""

from __future__ import annotations

from collections.abc import Iterator

from marker.canvas.rendering import rendered
from marker.drawing.diagram.diagram import draw_diagram
from marker.drawing.scene.lay_scene import lay_scene
from marker.drawing.sheet.lay_pages import lay_pdf
from marker.drawing.sheet.lay_sheet import build_lay_sheet
from marker.job import Job
from marker.planning.laid_plan import LaidPlan
from marker.reports.lays import SharedMarker


def lay_files(plan: LaidPlan, shared: SharedMarker, job: Job) -> Iterator[tuple[str, bytes]]:
    """File name and contents of a marker's diagram, and of each lay that is cut by it."""
    scene = lay_scene(shared, len(plan.lays))
    pages = draw_diagram(scene)
    title = f"{scene.job_name}: {scene.subtitle}"
    yield from rendered(f"marker-{shared.letter}-diagram", pages, title).items()
    ties = any(
        not strip.strip.finishes and strip.cloth.name == plan.cloth.name
        for size in dict.fromkeys(shared.checked.garments)
        for strip in job.strip_plans(size)
    )
    for laid in shared.lays:
        sheet = build_lay_sheet(plan, shared, laid, scene, job.blade_reach_mm, ties=ties)
        yield f"lay-{laid.number}.pdf", lay_pdf(sheet, pages)
