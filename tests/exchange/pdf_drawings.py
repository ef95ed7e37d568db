"""PDF files for the corpus, by reportlab, matplotlib and plain content streams."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import numpy as np
from matplotlib.figure import Figure
from matplotlib.patches import Polygon as Patch
from pypdf.generic import ArrayObject, DictionaryObject, FloatObject, NameObject
from reportlab.pdfgen.canvas import Canvas

from tests.exchange.pdf_files import A4, PT, PdfFolio, outline

MM = PT
Points = Sequence[tuple[float, float]]
SLEEVE = [(30.0, 40.0), (170.0, 50.0), (160.0, 240.0), (40.0, 230.0)]
CUFF = [(20.0, 245.0), (100.0, 250.0), (95.0, 285.0), (20.0, 280.0)]
SKIRT = [(12.0, 20.0), (470.0, 33.0), (420.0, 610.0), (230.0, 580.0), (40.0, 655.0)]
ONE, TWO, WIDE = [(140.0, 200.0)], [(140.0, 200.0), (80.0, 40.0)], [(458.0, 635.0)]
Draw = Callable[[Canvas], object]


def by_reportlab(*pages: Draw, size: tuple[float, float] = A4) -> Callable[[Path], object]:
    def made(path: Path) -> None:
        canvas = Canvas(str(path), pagesize=size)
        for draw in pages:
            draw(canvas)
            canvas.showPage()
        canvas.save()

    return made


def by_hand(content: str, **more: Any) -> Callable[[Path], object]:
    def made(path: Path) -> None:
        folio = PdfFolio()
        folio.page(content, **more)
        folio.save(path)

    return made


def by_matplotlib(*shapes: Points, texts: Sequence[tuple[float, float, str]] = ()) -> Any:
    def made(path: Path) -> None:
        figure = Figure(figsize=(210 / 25.4, 297 / 25.4))
        axes = figure.add_axes((0, 0, 1, 1))
        axes.set(xlim=(0, 210), ylim=(0, 297))
        axes.axis("off")
        for shape in shapes:
            axes.add_patch(Patch(np.array(shape), closed=True, fill=False))
        for x, y, words in texts:
            axes.text(x, y, words)
        figure.savefig(path)

    return made


def line(
    canvas: Canvas, points: Points, closed: bool = True, fill: int = 0, stroke: int = 1
) -> None:
    path = canvas.beginPath()
    path.moveTo(points[0][0] * MM, points[0][1] * MM)
    for x, y in points[1:]:
        path.lineTo(x * MM, y * MM)
    if closed:
        path.close()
    canvas.drawPath(path, stroke=stroke, fill=fill)


def box(x: float, y: float, across: float, up: float) -> list[tuple[float, float]]:
    return [(x, y), (x + across, y), (x + across, y + up), (x, y + up)]


def grown(points: Points, by: float) -> list[tuple[float, float]]:
    middle = np.mean(points, axis=0)
    return [(float(x), float(y)) for x, y in (np.array(points) - middle) * by + middle]


def all_of(*draws: Draw) -> Draw:
    return lambda canvas: [draw(canvas) for draw in draws]


def shape(points: Points, **more: Any) -> Draw:
    return lambda canvas: line(canvas, points, **more)


def text(x: float, y: float, words: str) -> Draw:
    return lambda canvas: canvas.drawString(x * MM, y * MM, words)


def ink(red: float, green: float, blue: float) -> Draw:
    return lambda canvas: canvas.setStrokeColorRGB(red, green, blue)


def dash(*lengths: float) -> Draw:
    return lambda canvas: canvas.setDash([length * MM for length in lengths])


def square(side: float, words: str = "", x: float = 70.0, y: float = 100.0) -> Draw:
    return all_of(shape(box(x, y, side, side)), text(x + 3, y + 3, words))


def curve(canvas: Canvas) -> None:
    """A circle of radius 80 mm, by reportlab's four curves."""
    canvas.circle(105 * MM, 150 * MM, 80 * MM)


def sides(canvas: Canvas) -> None:
    for one, other in zip(SLEEVE, [*SLEEVE[1:], SLEEVE[0]], strict=True):
        canvas.line(one[0] * MM, one[1] * MM, other[0] * MM, other[1] * MM)


def frame_and_title(canvas: Canvas) -> None:
    line(canvas, box(10, 10, 190, 277))
    canvas.drawString(15 * MM, 14 * MM, "page 1 of 1")


def page_map(canvas: Canvas) -> None:
    for k in range(12):
        line(canvas, box(120 + 15 * (k % 4), 20 + 21 * (k // 4), 15, 21))
        canvas.drawString((122 + 15 * (k % 4)) * MM, (25 + 21 * (k // 4)) * MM, f"{k + 1}")


def tiles(
    shapes: Sequence[Points],
    *,
    window: tuple[float, float] = (170.0, 250.0),
    clear: float = 20.0,
    how: str = "clip",
    wobble: float = 0.0,
    also: str = "",
) -> Callable[[Path], object]:
    """A drawing over as many pages as it takes. how : each page shows its part by a clipping path,
    by the box of a form that all place, or by its own crop box. The pages' widths differ by up to
    `wobble` points."""

    def made(path: Path) -> None:
        folio = PdfFolio()
        across, up = np.ceil(np.max([np.max(s, axis=0) for s in shapes], axis=0) / window).astype(
            int
        )
        for number, (row, column) in enumerate(np.ndindex(up, across)):
            x, y = clear - column * window[0], clear - (up - 1 - row) * window[1]
            drawn = "".join(outline([(a + x, b + y) for a, b in s]) for s in shapes)
            frame = " ".join(f"{side * PT}" for side in (clear, clear, *window))
            size = (A4[0] + wobble * (number % 3), A4[1] - wobble * (number % 2))
            if how == "clip":
                folio.page(f"q {frame} re W n {drawn} Q {also}", size)
            elif how == "form":
                form = folio.form(drawn, [1, 0, 0, 1, 0, 0], {})
                corners = (clear, clear, clear + window[0], clear + window[1])
                form.get_object()[NameObject("/BBox")] = ArrayObject(
                    [FloatObject(corner * PT) for corner in corners]
                )
                folio.page(f"/whole Do {also}", size, forms={"whole": form})
            else:
                width = window[0] * PT + wobble * (number % 3)
                corners = (clear * PT, clear * PT, clear * PT + width, (clear + window[1]) * PT)
                crop = ArrayObject([FloatObject(corner) for corner in corners])
                folio.page(drawn + also, (2000.0, 2000.0), more={"/CropBox": crop})
        folio.save(path)

    return made


def band(points: Points, width: float) -> str:
    """The outline of a line that closes, as programs write that turn strokes into shapes."""
    import shapely

    whole = shapely.Polygon(points)
    outer = shapely.get_coordinates(whole.buffer(width / 2, join_style="mitre").exterior)[:-1]
    inner = shapely.get_coordinates(whole.buffer(-width / 2, join_style="mitre").exterior)[:-1]
    rings = [outline([(x, y) for x, y in ring.tolist()]) for ring in (outer, inner)]
    return "".join(ring.replace(" s\n", " h\n") for ring in rings) + "f*\n"


def thin(one: tuple[float, float], other: tuple[float, float], width: float) -> str:
    """The outline of a straight line."""
    way = np.subtract(other, one) / math.dist(one, other)
    side = np.array([-way[1], way[0]]) * width / 2
    corners = (one + side, other + side, other - side, one - side)
    return outline([(float(x), float(y)) for x, y in corners]).replace(" s\n", " f\n")


FONT = DictionaryObject({NameObject("/Type"): NameObject("/Font"),
                         NameObject("/Subtype"): NameObject("/Type1"),
                         NameObject("/BaseFont"): NameObject("/Helvetica")})  # fmt: skip


def in_a_form(path: Path) -> None:
    folio = PdfFolio()
    form = folio.form(outline(SLEEVE), [1, 0, 0, 1, 0, 0], {})
    folio.page("/f Do", forms={"f": form})
    folio.save(path)


def with_text(content: str) -> Callable[[Path], object]:
    def made(path: Path) -> None:
        folio = PdfFolio()
        folio.page(content)
        page = folio.writer.pages[0]
        resources: Any = page["/Resources"]
        resources[NameObject("/Font")] = DictionaryObject({NameObject("/F"): FONT})
        folio.save(path)

    return made


def on_layers(
    drawn: Sequence[tuple[str, str]], off: Sequence[str] = ()
) -> Callable[[Path], object]:
    def made(path: Path) -> None:
        folio = PdfFolio()
        groups = {f"l{k}": folio.layer(name) for k, (name, _) in enumerate(drawn)}
        content = "".join(f"/OC /l{k} BDC {what} EMC\n" for k, (_, what) in enumerate(drawn))
        folio.page(content, layers=groups)
        folio.switch_off([groups[f"l{k}"] for k, (name, _) in enumerate(drawn) if name in off])
        folio.save(path)

    return made
