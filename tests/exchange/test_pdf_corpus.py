"""PDF files of many makes, by reportlab, matplotlib and plain content streams: each read with the
measures that it was written with, or refused."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from matplotlib.figure import Figure
from matplotlib.patches import Polygon as Patch
from pypdf.generic import ArrayObject, DictionaryObject, FloatObject, NameObject, NumberObject
from reportlab.pdfgen.canvas import Canvas

from marker.exchange.pdf.pdf_file import Pick
from tests.exchange.corpus import Case, check
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
    by the box of a form that all place, or by its own crop box; the pages' widths differ by up to
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


SHAPES: dict[str, Case] = {
    "reportlab": Case(by_reportlab(shape(SLEEVE)), ONE),
    "matplotlib": Case(by_matplotlib(SLEEVE), ONE),
    "content": Case(by_hand(outline(SLEEVE)), ONE),
    "two pieces": Case(by_reportlab(all_of(shape(SLEEVE), shape(CUFF))), TWO),
    "two pages": Case(by_reportlab(shape(SLEEVE), shape(CUFF)), TWO),
    "a circle of curves": Case(by_reportlab(curve), [(160.0, 160.0)], area_mm2=math.pi * 6400),
    "four lines": Case(by_reportlab(sides), ONE),
    "a rectangle": Case(by_hand(f"{30 * PT} {40 * PT} {140 * PT} {200 * PT} re S"), ONE),
    "filled and stroked": Case(by_reportlab(shape(SLEEVE, fill=1)), ONE),
    "filled alone": Case(by_reportlab(shape(SLEEVE, fill=1, stroke=0)),
                         refused="no drawn line in it .*filled"),
    "drawn open, then closed by its ends": Case(
        by_reportlab(shape([*SLEEVE, SLEEVE[0]], closed=False)), ONE
    ),
    "a turned page": Case(by_hand(outline(SLEEVE), more={"/Rotate": NumberObject(90)}),
                          [(200.0, 140.0)]),
    "in larger units": Case(
        by_hand(outline(SLEEVE, PT / 2), more={"/UserUnit": FloatObject(2)}), ONE
    ),
    "within a form": Case(
        in_a_form, ONE,
    ),
    "told another unit": Case(by_reportlab(shape(SLEEVE)), [(280.0, 400.0)], unit_mm=25.4 / 36),
    "with its name": Case(
        by_matplotlib(SLEEVE, texts=[(80, 120, "sleeve")]), ONE, names=["sleeve"]
    ),
}  # fmt: skip
TWICE: dict[str, Case] = {
    "the same path": Case(by_reportlab(all_of(shape(SLEEVE), shape(SLEEVE))), ONE, says=["twice"]),
    "fill, then stroke": Case(
        by_reportlab(all_of(shape(SLEEVE, fill=1, stroke=0), shape(SLEEVE))), ONE
    ),
    "a white halo": Case(
        by_reportlab(all_of(ink(1, 1, 1), shape(SLEEVE), ink(0, 0, 0), shape(SLEEVE))), ONE
    ),
    "as lines and as a path": Case(by_reportlab(all_of(sides, shape(SLEEVE))), ONE),
    "0.05 mm apart": Case(
        by_reportlab(all_of(shape(SLEEVE), shape([(x + 0.05, y) for x, y in SLEEVE]))), ONE
    ),
}
SQUARES: dict[str, Case] = {
    "10 cm, true": Case(by_reportlab(all_of(shape(SLEEVE), square(100, "10 cm"))), ONE,
                        says=["as it should"]),
    "1 in beside": Case(by_reportlab(all_of(shape(SLEEVE), square(25.4, "1 in", 5, 5))), ONE),
    "5 cm without a word": Case(by_reportlab(all_of(shape(SLEEVE), square(50, "", 10, 245))), ONE),
} | {
    f"10 cm at {share} %": Case(
        by_reportlab(all_of(shape(SLEEVE), square(share, "test square 10 cm", 55, 60))),
        refused=f"{share:.2f} % of that.*--units",
    )
    for share in (99.0, 97.0, 94.0, 104.35)
} | {
    "over the edge of two pages": Case(
        tiles([SKIRT, box(465, 300, 94, 94)]),
        refused="94.00 % of that",
    ),
    "over the edge of two pages, true": Case(tiles([SKIRT, box(465, 300, 100, 100)]), WIDE,
                                             says=["as it should"]),
}  # fmt: skip
FRAMES: dict[str, Case] = {
    "a border": Case(
        by_reportlab(all_of(frame_and_title, shape(SLEEVE), shape(CUFF))),
        TWO,
        says=["frames around pieces"],
    ),
    "a border around one": Case(by_reportlab(all_of(frame_and_title, shape(SLEEVE))), ONE),
    "the edge of the page": Case(
        by_reportlab(all_of(shape(box(0, 0, 209.9, 297)), shape(SLEEVE))), ONE
    ),
    "a white background": Case(
        by_reportlab(all_of(shape(box(0, 0, 210, 297), fill=1, stroke=0), shape(SLEEVE))), ONE
    ),
    "a map of pages": Case(
        by_reportlab(shape(SLEEVE), page_map), ONE, says=["cells of a map of pages"]
    ),
    "a border on each page": Case(
        by_reportlab(all_of(frame_and_title, shape(SLEEVE)), all_of(frame_and_title, shape(CUFF))),
        TWO,
    ),
    "a border in another colour around one": Case(
        by_reportlab(all_of(ink(0.6, 0.6, 0.6), frame_and_title, ink(0, 0, 0), shape(SLEEVE))), ONE
    ),
}
LOOKS: dict[str, Case] = {
    "sizes by colour": Case(
        by_reportlab(all_of(ink(1, 0, 0), shape(SLEEVE), ink(0, 0, 1), shape(grown(SLEEVE, 1.05)))),
        refused=r"several colours lie in one another.*#ff0000 \(1 outlines\).*--colour",
    ),
    "one size by its colour": Case(
        by_reportlab(all_of(ink(1, 0, 0), shape(SLEEVE), ink(0, 0, 1), shape(grown(SLEEVE, 1.05)))),
        ONE, pick=Pick(colours=("#ff0000",)),
    ),
    "sizes by dashes": Case(
        by_reportlab(all_of(shape(SLEEVE), dash(3, 2), shape(grown(SLEEVE, 0.95)))),
        refused=r"kinds of dashes lie in one another.*3-2 \(1 outlines\).*--dashes",
    ),
    "one size by its dashes": Case(
        by_reportlab(all_of(shape(SLEEVE), dash(3, 2), shape(grown(SLEEVE, 0.95)))), ONE,
        pick=Pick(dashes=("none",)),
    ),
    "colours side by side": Case(
        by_reportlab(all_of(ink(1, 0, 0), shape(SLEEVE), ink(0, 0, 1), shape(CUFF))), TWO
    ),
    "a small mark of another colour": Case(
        by_reportlab(all_of(shape(SLEEVE), ink(0, 0, 1), shape(box(80, 120, 20, 12)))), ONE
    ),
    "sizes on layers": Case(
        on_layers([("36", outline(SLEEVE)), ("38", outline(grown(SLEEVE, 1.05)))]),
        refused=r"several layers.*--layer",
    ),
    "one size on its layer": Case(
        on_layers([("36", outline(SLEEVE)), ("38", outline(grown(SLEEVE, 1.05)))]), ONE,
        pick=Pick(layers=("36",)),
    ),
    "layers by their names": Case(
        on_layers([("cut line", outline(SLEEVE)), ("stitching line", outline(grown(SLEEVE, 0.9))),
                   ("frame", outline(box(5, 5, 200, 285)))]), ONE, sewn=1,
    ),
    "a layer that is switched off": Case(
        on_layers([("36", outline(SLEEVE)), ("38", outline(grown(SLEEVE, 1.05)))], off=["38"]), ONE
    ),
}  # fmt: skip
TILES: dict[str, Case] = {
    f"by {how}{words}": Case(
        tiles([SKIRT], how=how, wobble=wobble), WIDE, says=["which join"], within_mm=0.15
    )
    for how in ("clip", "form", "crop")
    for wobble, words in ((0.0, ""), (0.001, ", widths a little different"))
} | {
    "with a logo on each page": Case(
        tiles([SKIRT], also=outline([(30.0, 25.0), (45.0, 25.0), (45.0, 40.0)])),
        WIDE,
        within_mm=0.15,
    ),
    "with page numbers": Case(
        tiles([SKIRT], window=(180.0, 260.0), clear=12.0), WIDE, within_mm=0.15
    ),
}
BANDS: dict[str, Case] = {
    f"{width} mm wide": Case(by_hand(band(SLEEVE, width)), ONE, says=["middle line"])
    for width in (0.2, 0.5, 1.0)
} | {
    "four thin shapes": Case(
        by_hand("".join(thin(a, b, 0.5) for a, b in zip(SLEEVE, [*SLEEVE[1:], SLEEVE[0]],
                                                        strict=True))), ONE,
    ),
    "a frame of 12 mm is no line": Case(by_hand(band(SLEEVE, 12.0)), refused="no drawn line"),
}  # fmt: skip
HERE, THERE = f"BT /F 12 Tf {40 * PT} {80 * PT} Td", f"BT /F 12 Tf {130 * PT} {80 * PT} Td"
MATRIX = "1 0 0 1"
LABELS = {
    "labels moved to": f"{HERE} (front) Tj {90 * PT} 0 Td (back) Tj ET",
    "labels a wide gap apart": f"{HERE} [(front) -18000 (back)] TJ ET",
    "labels by matrix": f"BT /F 12 Tf {MATRIX} {40 * PT} {80 * PT} Tm (front) Tj "
    f"{MATRIX} {130 * PT} {80 * PT} Tm (back) Tj ET",
    "names in parts": f"{HERE} (fr) Tj [(o) 20 (nt)] TJ ET {THERE} (ba) Tj (ck) Tj ET",
    "lines below one another": f"{HERE} 14 TL (front) Tj T* (cut 2) Tj ET "
    f"{THERE} (page 3 of 4) Tj 0 -14 Td (back) Tj ET",
}
TEXTS = {
    name: Case(
        with_text(outline(box(20, 30, 80, 100)) + outline(box(110, 30, 80, 100)) + words),
        [(80.0, 100.0)] * 2,
        names=["front", "back"],
    )
    for name, words in LABELS.items()
}
CASES = {
    f"{kind}: {name}": case
    for kind, cases in (
        ("shapes", SHAPES), ("twice", TWICE), ("squares", SQUARES), ("frames", FRAMES),
        ("looks", LOOKS), ("tiles", TILES), ("bands", BANDS), ("texts", TEXTS),
    )
    for name, case in cases.items()
}  # fmt: skip


@pytest.mark.parametrize("name", CASES)
def test_a_pdf_file_is_read_as_it_was_meant(name: str, tmp_path: Path) -> None:
    path = tmp_path / "choir.pdf"
    CASES[name].drawing(path)
    check(CASES[name], [path])


def test_there_are_as_many_as_are_said() -> None:
    assert len(CASES) >= 60
