"""The cutting diagram: A4 sheets to a stated scale, as PDF, SVG and PNG."""

from __future__ import annotations

from typing import TYPE_CHECKING

from marker.drawing.canvas.rendering import rendered
from marker.drawing.diagram.pages import plan_pages
from marker.drawing.diagram.scene import Scene

if TYPE_CHECKING:
    from marker.drawing.canvas.pen import Pen


def render_diagram(scene: Scene) -> dict[str, bytes]:
    """File name -> contents: 'diagram.pdf' with all pages, and each page as SVG and PNG.

    One page: 'diagram.svg', 'diagram.png'; several: 'diagram-1.svg', 'diagram-1.png', ...
    The same scene gives the same bytes with the same version of matplotlib.
    """
    return rendered("diagram", lambda: draw_diagram(scene))


def draw_diagram(scene: Scene) -> list[Pen]:
    """All pages."""
    # matplotlib is slow to load, and most commands draw nothing
    from marker.drawing.canvas.pen import Pen
    from marker.drawing.diagram.cloth_view import draw_cloth
    from marker.drawing.diagram.position_list import draw_list
    from marker.drawing.diagram.title_block import draw_title_block

    pages = plan_pages(scene)
    drawn = []
    for number, page in enumerate(pages, start=1):
        pen = Pen()
        if page.sheet:
            draw_cloth(pen, scene, page.sheet)
        for column in page.columns:
            draw_list(pen, column)
        draw_title_block(pen, scene, page.sheet, number, len(pages))
        drawn.append(pen)
    return drawn
