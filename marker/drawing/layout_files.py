"""The drawings of a layout, and of the lays of an order, by the names of their files."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from marker.canvas.rendering import rendered
from marker.canvas.to_pdf import pdf_bytes
from marker.cloth.buying import Purchase
from marker.drawing.diagram.diagram import draw_diagram, render_diagram
from marker.drawing.scene.layout_scene import Scene, build_scene
from marker.drawing.sheet.cutting_sheet import build_sheet
from marker.drawing.sheet.sewing import Sewing, sewing_of
from marker.drawing.sheet.sheet_html import sheet_html
from marker.drawing.sheet.sheet_pages import draw_sheet
from marker.job import Job
from marker.layout import CheckedLayout
from marker.planning.laid_cloth import LaidCloth

if TYPE_CHECKING:
    from marker.planning.laid_plan import LaidPlan
    from marker.reports.lays import SharedMarker


def render_cutting_sheet(
    scene: Scene,
    checked: CheckedLayout,
    purchase: Purchase,
    sewing: Sewing,
) -> dict[str, bytes]:
    """File name -> contents: 'cutting-sheet.pdf' and 'cutting-sheet.html'; see `build_sheet`.

    The same layout gives the same bytes with the same versions of the libraries.
    """
    sheet = build_sheet(scene, checked, purchase, sewing)
    return {
        "cutting-sheet.pdf": pdf_bytes(draw_sheet(sheet), f"{scene.job_name}: cutting sheet"),
        "cutting-sheet.html": sheet_html(sheet).encode(),
    }


def drawn_files(laid: LaidCloth, job: Job) -> dict[str, bytes]:
    """File name -> contents: the diagram and the cutting sheet of one cloth's layout."""
    scene = build_scene(laid.checked, laid.purchase, laid.leftovers, reader=job.making.reader)
    sewing = sewing_of(laid.checked, job)
    sheet = render_cutting_sheet(scene, laid.checked, laid.purchase, sewing)
    return render_diagram(scene) | sheet


def lay_files(plan: LaidPlan, shared: SharedMarker, job: Job) -> Iterator[tuple[str, bytes]]:
    """File name and contents of a marker's diagram, and of each lay that is cut by it."""
    # with these all that searches is loaded, and one layout is drawn without it
    from marker.drawing.scene.lay_scene import lay_scene
    from marker.drawing.sheet.lay_pages import lay_pdf
    from marker.drawing.sheet.lay_sheet import build_lay_sheet

    scene = lay_scene(shared, len(plan.lays))
    pages = draw_diagram(scene)
    title = f"{scene.job_name}: {scene.subtitle}"
    yield from rendered(f"marker-{shared.letter}-diagram", pages, title).items()
    ties = job.making.has_cords or any(
        not strip.strip.finishes and strip.cloth.name == plan.cloth.name
        for size in dict.fromkeys(shared.checked.garments)
        for strip in job.strip_plans(size)
    )
    for laid in shared.lays:
        sheet = build_lay_sheet(plan, shared, laid, scene, job.blade_reach_mm, ties=ties)
        yield f"lay-{laid.number}.pdf", lay_pdf(sheet, pages)
