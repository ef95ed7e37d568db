"""The drawings of one cloth's layout, by the names of their files."""

from __future__ import annotations

from marker.drawing.diagram.diagram import render_diagram
from marker.drawing.scene.layout_scene import build_scene
from marker.drawing.sheet.sewing import sewing_of
from marker.drawing.sheet.sheet_files import render_cutting_sheet
from marker.job import Job
from marker.planning.laid_cloth import LaidCloth


def drawn_files(laid: LaidCloth, job: Job) -> dict[str, bytes]:
    """File name -> contents: the diagram and the cutting sheet of one cloth's layout."""
    scene = build_scene(laid.checked, laid.purchase, laid.leftovers, reader=job.making.reader)
    sewing = sewing_of(laid.checked, job)
    sheet = render_cutting_sheet(scene, laid.checked, laid.purchase, sewing)
    return render_diagram(scene) | sheet
