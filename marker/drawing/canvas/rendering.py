"""Drawn pages as PDF, SVG and PNG."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from contextlib import contextmanager
from io import BytesIO
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from marker.drawing.canvas.pen import Pen

PNG_DPI = 200
_SETTINGS: Any = {
    "pdf.fonttype": 42,  # TrueType, embedded
    "svg.fonttype": "path",
    "svg.hashsalt": "marker",
    "text.hinting": "none",
    "path.simplify": False,
}


def rendered(stem: str, draw: Callable[[], Sequence[Pen]]) -> dict[str, bytes]:
    """File name -> contents: '<stem>.pdf' with all pages, and each page as SVG and PNG.

    One page: '<stem>.svg', '<stem>.png'; several: '<stem>-1.svg', '<stem>-1.png', ...
    draw : makes the pages; called under this module's settings. The same pages give the same bytes
        with the same version of matplotlib.
    """
    with _settings():
        pages = draw()
        files = {f"{stem}.pdf": _pdf(pages)}
        for k, page in enumerate(pages, start=1):
            name = stem if len(pages) == 1 else f"{stem}-{k}"
            files[f"{name}.svg"] = _svg(page)
            files[f"{name}.png"] = _png(page)
    return files


def rendered_pdf(draw: Callable[[], Iterable[Pen]]) -> bytes:
    """All pages as one PDF, each drawn when the one before is done; `draw` as for `rendered`."""
    with _settings():
        return _pdf(draw())


@contextmanager
def _settings() -> Iterator[None]:
    import matplotlib

    with matplotlib.rc_context():
        matplotlib.rcdefaults()
        matplotlib.rcParams.update(_SETTINGS)
        yield


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


def _pdf(pages: Iterable[Pen]) -> bytes:
    from matplotlib.backends.backend_pdf import FigureCanvasPdf, PdfPages

    content = BytesIO()
    with PdfPages(content, metadata={"CreationDate": None}) as document:
        for page in pages:
            canvas: Any = FigureCanvasPdf(page.figure)
            canvas.print_pdf(document)
    return content.getvalue()
