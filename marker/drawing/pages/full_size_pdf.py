"""Full-size pages as one PDF true to scale."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from marker.canvas.page import Page
from marker.canvas.pen import Pen
from marker.canvas.to_pdf import pdf_bytes
from marker.drawing.pages.cover import draw_cover, draw_projector_cover
from marker.drawing.pages.full_size import FullSize
from marker.drawing.pages.tile_page import draw_tile
from marker.drawing.pages.tiling import EDGE_MM

_LAYERS = {
    "cut": "cut line",
    "stitching": "stitching line",
    "fold": "fold line",
    "notch": "notches",
    "grain": "grain line",
}
"""What our own import calls the lines of these kinds."""


def render_full_size(planned: Sequence[FullSize]) -> bytes:
    """The PDF, one after another; the same scenes and paper give the same bytes."""
    return pdf_bytes(draw_full_size(planned), f"{planned[0].scene.job_name}: full size", _LAYERS)


def draw_full_size(planned: Sequence[FullSize]) -> Iterator[Page]:
    """All pages, one after another."""
    count = sum(full.pages for full in planned)
    page = 0
    for full in planned:
        if full.paper.own_cover:
            page += 1
            pen = Pen((full.paper.width_mm, full.paper.height_mm))
            draw_cover(pen, full, EDGE_MM, pen.height - EDGE_MM)
            yield pen.page
        for tile in full.printed:
            page += 1
            pen = Pen(tile.paper)
            draw_tile(pen, full, tile, f"page {page} of {count}")
            if full.carries_cover(tile):
                corner = (EDGE_MM + 2.0, pen.height - EDGE_MM - 2.0)
                if full.paper.projected:
                    draw_projector_cover(pen, full, *corner)
                else:
                    draw_cover(pen, full, *corner)
            yield pen.page
