"""Drawn pages as files: PDF, SVG and PNG."""

from __future__ import annotations

from collections.abc import Sequence
from io import BytesIO

from marker.canvas.page import Page
from marker.canvas.to_pdf import pdf_bytes
from marker.canvas.to_svg import svg_text

PNG_DPI = 200
_COLOURS = 64  # enough for the few that are drawn in and their soft edges
_COMPRESSED = 4  # of 9; the usual 6 takes half as long again and saves a twentieth


def rendered(stem: str, pages: Sequence[Page], title: str = "") -> dict[str, bytes]:
    """File name -> contents: '<stem>.pdf' with all pages, and each page as SVG and PNG.

    One page: '<stem>.svg', '<stem>.png'; several: '<stem>-1.svg', '<stem>-1.png', ... The same
    pages give the same bytes with the same versions of the libraries.
    """
    pdf = pdf_bytes(pages, title)
    files = {f"{stem}.pdf": pdf}
    for k, (page, png) in enumerate(zip(pages, png_of(pdf), strict=True), start=1):
        name = stem if len(pages) == 1 else f"{stem}-{k}"
        files[f"{name}.svg"] = svg_text(page).encode()
        files[f"{name}.png"] = png
    return files


def png_of(pdf: bytes, dpi: float = PNG_DPI) -> list[bytes]:
    """Every page of a PDF as a picture, so that both show the same."""
    import pypdfium2
    from PIL import Image

    pictures = []
    with pypdfium2.PdfDocument(pdf) as document:
        for page in document:
            content = BytesIO()
            image = page.render(scale=dpi / 72).to_pil()
            few = image.quantize(_COLOURS, Image.Quantize.FASTOCTREE, dither=Image.Dither.NONE)
            few.save(content, "PNG", dpi=(dpi, dpi), compress_level=_COMPRESSED)
            pictures.append(content.getvalue())
    return pictures
