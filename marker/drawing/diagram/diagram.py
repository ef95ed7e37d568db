"""The cutting diagram: A4 sheets to a stated scale, as PDF, SVG and PNG."""

from __future__ import annotations

from marker.canvas.page import Page
from marker.canvas.pen import Pen
from marker.canvas.rendering import rendered
from marker.drawing.diagram.cloth_view import draw_cloth
from marker.drawing.diagram.position_list import draw_list
from marker.drawing.diagram.sheets import PAPER, plan_pages
from marker.drawing.diagram.title_block import PageNumber, draw_title_block, draw_title_column
from marker.drawing.scene.layout_scene import Scene


def render_diagram(scene: Scene) -> dict[str, bytes]:
    """File name -> contents: 'diagram.pdf' with all pages, and each page as SVG and PNG.

    One page: 'diagram.svg', 'diagram.png'; several: 'diagram-1.svg', 'diagram-1.png', ...
    The same scene gives the same bytes with the same versions of the libraries.
    """
    return rendered("diagram", draw_diagram(scene), f"{scene.job_name}: cutting diagram")


def draw_diagram(scene: Scene) -> list[Page]:
    """All pages."""
    pages = plan_pages(scene)
    drawn = []
    for number, page in enumerate(pages, start=1):
        pen = Pen(PAPER)
        name = PageNumber(number, len(pages))
        if page.sheet:
            draw_cloth(pen, scene, page.sheet)
        if page.sheet and page.beside is not None:
            draw_title_column(pen, scene, page.sheet, page.columns[0], name)
        else:
            for column in page.columns:
                draw_list(pen, column)
            draw_title_block(pen, scene, page.sheet, name)
        drawn.append(pen.page)
    return drawn
