"""The cutting sheet as files."""

from __future__ import annotations

from marker.canvas.to_pdf import pdf_bytes
from marker.cloth.buying import Purchase
from marker.drawing.scene.layout_scene import Scene
from marker.drawing.sheet.cutting_sheet import build_sheet
from marker.drawing.sheet.sewing import Sewing
from marker.drawing.sheet.sheet_html import sheet_html
from marker.drawing.sheet.sheet_pages import draw_sheet
from marker.layout import CheckedLayout


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
