"""Pages as a PDF: vectors true to scale, text that can be searched, fonts embedded."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from io import BytesIO
from typing import Any, cast

from reportlab import rl_config
from reportlab.lib.colors import HexColor
from reportlab.pdfgen.canvas import Canvas

from marker.canvas.fonts import MM_PER_PT, lettered, own_font
from marker.canvas.page import Clip, Colour, Page, Shape, Words, is_closed
from marker.geometry.arrays import FloatArray

CREATOR = "marker"
LAYER_TAG, PAGE_LAYER = "Layer", "page"
"""How a PDF of ours says what its lines are for: marked content (ISO 32000-1, 14.6) with a name."""

_LONGEST_PT = 14_400  # a page's side in its own units, ISO 32000-1, annex C.2
_ROUND_JOIN, _BUTT_CAP = 1, 0
_PAINT = {(True, True): "B*", (True, False): "f*", (False, True): "S", (False, False): "n"}
"""What paints a path, by whether it is filled (even-odd) and stroked: ISO 32000-1, 8.5.3."""


def pdf_bytes(
    pages: Iterable[Page],
    title: str = "",
    layers: Mapping[str, str] | None = None,
    subject: str = "",
) -> bytes:
    """The file; the same pages give the same bytes with the same version of reportlab.

    layers : name of shapes -> the layer that they are marked to lie on, for whoever reads the file;
    all else lies on `PAGE_LAYER`. None marks none. title, subject : of the document.

    A page with a side longer than 5.08 m counts in larger units (UserUnit), so that it still prints
    at full size.
    """
    content = BytesIO()
    first = cast(Any, own_font().fontName)  # the stubs take it for a number
    canvas = Canvas(content, pageCompression=1, invariant=1, initialFontName=first)
    canvas.setTitle(title)
    canvas.setSubject(subject)
    canvas.setAuthor("")
    canvas.setCreator(CREATOR)
    units = []
    texts: dict[tuple[str, bool, float], str] = {}
    for page in pages:
        unit = max(1, math.ceil(max(page.width, page.height) / MM_PER_PT / _LONGEST_PT - 1e-9))
        units.append(unit)
        _PdfPage(canvas, page, 1 / MM_PER_PT / unit, layers, texts).draw()
        with _binary():
            canvas.showPage()
    with _binary():
        canvas.save()
    pdf = content.getvalue()
    return _in_larger_units(pdf, units) if max(units, default=1) > 1 else pdf


class _PdfPage:
    """One page being drawn. share : page units to the mm. texts : of the document, as drawn before:
    figures and titles come again and again."""

    def __init__(
        self,
        canvas: Canvas,
        page: Page,
        share: float,
        layers: Mapping[str, str] | None,
        texts: dict[tuple[str, bool, float], str],
    ) -> None:
        self._canvas, self._page, self._share = canvas, page, share
        self._texts = texts
        self._layers, self._layer, self._next = layers, "", ""
        self._clip: Clip | None = None
        self._face: Colour = ""
        self._line: tuple[Colour, float, tuple[float, ...]] = ("", 0.0, ())

    def draw(self) -> None:
        canvas, share = self._canvas, self._share
        canvas.setPageSize((self._page.width * share, self._page.height * share))
        canvas.setLineJoin(_ROUND_JOIN)
        canvas.setLineCap(_BUTT_CAP)
        for mark in self._page.marks:
            self._mark(mark, mark.clip != self._clip)
            self._see(mark.clip)
            self._open()
            if isinstance(mark, Shape):
                self._shape(mark)
            else:
                self._words(mark)
        self._close()
        self._see(None)

    def _mark(self, mark: Shape | Words, moved: bool) -> None:
        """End the run of marks on one layer where the next lies on another, or is clipped
        otherwise."""
        if self._layers is None:
            return
        name = mark.name if isinstance(mark, Shape) else ""
        layer = self._layers.get(name, PAGE_LAYER)
        if layer != self._layer or moved:
            self._close()
            self._next = layer

    def _open(self) -> None:
        if self._layers is not None and self._layer != self._next:
            self._layer = self._next
            self._canvas.addLiteral(f"/{LAYER_TAG} <</Name ({self._layer})>> BDC")

    def _close(self) -> None:
        if self._layer:
            self._canvas.addLiteral("EMC")
        self._layer = ""

    def _see(self, clip: Clip | None) -> None:
        """Marks from here on are seen inside `clip` only."""
        if clip == self._clip:
            return
        canvas, share = self._canvas, self._share
        if self._clip is not None:
            canvas.restoreState()
            self._forget()
        if clip is not None:
            canvas.saveState()
            (x, y), (far_x, far_y) = clip.low, clip.high
            box = canvas.beginPath()
            box.rect(x * share, y * share, (far_x - x) * share, (far_y - y) * share)
            canvas.clipPath(box, stroke=0, fill=0)
        self._clip = clip

    def _forget(self) -> None:
        self._face, self._line = "", ("", 0.0, ())

    def _shape(self, shape: Shape) -> None:
        canvas, share = self._canvas, self._share
        if shape.face is not None:
            self._fill_in(shape.face)
        if shape.edge is not None:
            self._draw_in(shape.edge, shape.width, shape.dashes)
        path = " ".join(_path(run * share) for run in shape.runs)
        canvas.addLiteral(f"{path} {_PAINT[shape.face is not None, shape.edge is not None]}")

    def _words(self, words: Words) -> None:
        share = self._share
        self._fill_in(words.colour)
        turn = math.radians(words.angle_deg)
        cos, sin = math.cos(turn), math.sin(turn)
        x, y = words.at[0] * share, words.at[1] * share
        matrix = f"{cos:.6f} {sin:.6f} {-sin:.6f} {cos:.6f} {x:.4f} {y:.4f}"
        key = words.text, words.bold, words.size_pt * MM_PER_PT * share
        if key not in self._texts:
            self._texts[key] = self._text(*key)
        self._canvas.addLiteral(f"BT {matrix} Tm {self._texts[key]}")

    def _text(self, text: str, bold: bool, size: float) -> str:
        """What draws a text, from behind its place on."""
        drawn = self._canvas.beginText()
        for font, part in lettered(text, bold):
            drawn.setFont(font, size)
            drawn.textOut(part)
        _, _, after = str(drawn.getCode()).partition(" Tm ")
        return after

    def _fill_in(self, colour: Colour) -> None:
        if colour != self._face:
            self._canvas.setFillColor(HexColor(colour))
            self._face = colour

    def _draw_in(self, colour: Colour, width: float, dashes: tuple[float, ...]) -> None:
        if (colour, width, dashes) != self._line:
            self._canvas.setStrokeColor(HexColor(colour))
            self._canvas.setLineWidth(width * self._share)
            self._canvas.setDash([dash * self._share for dash in dashes])
            self._line = (colour, width, dashes)


def _path(run: FloatArray) -> str:
    """Operators of one run, (n, 2) in page units. Written here since reportlab formats each number
    by itself, which took a third of the time of a diagram."""
    closed = is_closed(run)
    points = run[:-1] if closed else run
    words = "%.4f %.4f m " + "%.4f %.4f l " * (len(points) - 1)
    return words % tuple(points.ravel().tolist()) + "h" * closed


@contextmanager
def _binary() -> Iterator[None]:
    """Streams are stored as they are: as letters they would be a quarter larger, and slower."""
    before = rl_config.useA85
    rl_config.useA85 = 0
    try:
        yield
    finally:
        rl_config.useA85 = before


def _in_larger_units(pdf: bytes, units: list[int]) -> bytes:
    from pypdf import PdfReader, PdfWriter
    from pypdf.generic import NameObject, NumberObject

    writer = PdfWriter(clone_from=PdfReader(BytesIO(pdf)))
    for page, unit in zip(writer.pages, units, strict=True):
        page[NameObject("/UserUnit")] = NumberObject(unit)
    content = BytesIO()
    writer.write(content)
    return content.getvalue()
