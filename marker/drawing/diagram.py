"""The cutting diagram: A4 sheets to a stated scale, as PDF, SVG and PNG."""

from __future__ import annotations

from collections.abc import Sequence
from io import BytesIO
from typing import TYPE_CHECKING, Any

from marker.cloth.buying import Purchase
from marker.drawing.pages import plan_pages
from marker.drawing.scene import Scene, build_scene
from marker.layout import CheckedLayout

if TYPE_CHECKING:
    from marker.drawing.pen import Pen

PNG_DPI = 200
_SETTINGS: Any = {
    "pdf.fonttype": 42,  # TrueType, embedded
    "svg.fonttype": "path",
    "svg.hashsalt": "marker",
    "text.hinting": "none",
    "path.simplify": False,
}


def render_diagram(checked: CheckedLayout, purchase: Purchase) -> dict[str, bytes]:
    """File name -> contents: 'diagram.pdf' with all pages, and each page as SVG and PNG.

    One page: 'diagram.svg', 'diagram.png'; several: 'diagram-1.svg', 'diagram-1.png', ...
    The same layout and purchase give the same bytes with the same version of matplotlib.
    """
    import matplotlib

    with matplotlib.rc_context():
        matplotlib.rcdefaults()
        matplotlib.rcParams.update(_SETTINGS)
        pages = _draw_pages(build_scene(checked, purchase))
        files = {"diagram.pdf": _pdf(pages)}
        for k, page in enumerate(pages, start=1):
            stem = "diagram" if len(pages) == 1 else f"diagram-{k}"
            files[f"{stem}.svg"] = _svg(page)
            files[f"{stem}.png"] = _png(page)
    return files


def _draw_pages(scene: Scene) -> list[Pen]:
    # matplotlib is slow to load, and most commands draw nothing
    from marker.drawing.cloth_view import draw_cloth
    from marker.drawing.pen import Pen
    from marker.drawing.position_list import draw_list
    from marker.drawing.title_block import draw_title_block

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


def _svg(page: Pen) -> bytes:
    from matplotlib.backends.backend_svg import FigureCanvasSVG

    content = BytesIO()
    canvas: Any = FigureCanvasSVG(page.figure)  # the print methods carry no types
    canvas.print_svg(content, metadata={"Date": None})
    return content.getvalue()


def _png(page: Pen) -> bytes:
    from matplotlib.backends.backend_agg import FigureCanvasAgg

    content = BytesIO()
    page.figure.set_dpi(PNG_DPI)
    canvas: Any = FigureCanvasAgg(page.figure)  # the print methods carry no types
    canvas.print_png(content)
    return content.getvalue()


def _pdf(pages: Sequence[Pen]) -> bytes:
    from matplotlib.backends.backend_pdf import FigureCanvasPdf, PdfPages

    content = BytesIO()
    with PdfPages(content, metadata={"CreationDate": None}) as document:
        for page in pages:
            canvas: Any = FigureCanvasPdf(page.figure)
            canvas.print_pdf(document)
    return content.getvalue()
