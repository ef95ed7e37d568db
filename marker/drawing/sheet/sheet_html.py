"""The cutting sheet as one HTML file that needs no other, for a screen or a browser's printer."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from html import escape

from marker.canvas.pen import DARK, Pen
from marker.canvas.to_svg import svg_picture
from marker.drawing.in_little import (
    AROUND,
    draw_sketch,
    draw_small_layout,
    draw_thumbnail,
    layout_words,
)
from marker.drawing.scene.spread_sketch import HEIGHT, SpreadSketch
from marker.drawing.sheet.cutting_sheet import BandTable, CuttingSheet, PieceRow
from marker.drawing.signs import check_bar, draw_bar
from marker.words import with_size

_THUMBNAIL = (26.0, 12.0)
_SKETCH = 60.0
_STYLE = """
@page { size: A4; margin: 12mm }
body { font: 10pt/1.35 "DejaVu Sans", Verdana, sans-serif; color: #111; max-width: 186mm;
  margin: 8mm auto; padding: 0 3mm }
@media print { body { margin: 0; padding: 0 } }
header { display: flex; justify-content: space-between; align-items: baseline;
  border-bottom: 2pt solid #111 }
h1 { font-size: 19pt; margin: 0 } h2 { font-size: 12pt; margin: 5mm 0 1mm; break-after: avoid }
h3 { font-size: 10pt; margin: 3mm 0 1mm; break-after: avoid }
dl { display: grid; grid-template-columns: repeat(4, 1fr) 32mm; gap: 2mm 4mm; margin: 3mm 0 }
dl div { display: flex; flex-direction: column } dt, small { font-size: 7.5pt; color: #444 }
dd { margin: 0; font-weight: bold; font-size: 12pt } dl div:first-child dd { color: #9b2d20 }
dl .swatch { border: .5pt dashed #444; min-height: 24mm; font-size: 7.5pt; color: #444;
  grid-column: 5; grid-row: 1 / span 2; justify-content: center; text-align: center }
table { border-collapse: collapse; width: 100%; font-size: 8.5pt }
th { text-align: left; font-weight: normal; color: #444 }
td, th { padding: .6mm 3mm .6mm 0; vertical-align: middle }
.pieces td { border-bottom: .3pt solid #8a8a8a; break-inside: avoid }
h3 span { font-weight: normal; font-size: 8.5pt }
section { break-inside: avoid } section div { display: flex; gap: 6mm; align-items: flex-start }
.band { font-size: 7.5pt; width: auto }
.band td, .band th { padding-top: .2mm; padding-bottom: .2mm }
tr, figure, li { break-inside: avoid } figure { margin: 2mm 0; text-align: center }
figure.spread { display: flex; gap: 8mm; align-items: center; text-align: left }
ol { list-style: none; padding: 0; margin: 0 } li { margin: 1mm 0 }
input { margin: 0 1mm 0 0; vertical-align: middle } footer { margin-top: 5mm; font-size: 8.5pt;
  border-top: .5pt solid #111 } footer p { margin: 1mm 0 }
svg { max-width: 100%; overflow: visible }
"""
_BOX = '<input type="checkbox" aria-label="done">'


def sheet_html(sheet: CuttingSheet) -> str:
    """The whole file as text."""
    scene = sheet.scene
    title = with_size(f"{scene.job_name}: cutting sheet, {scene.cloth_name}", sheet.sizes)
    body = "\n".join(_body(sheet))
    return (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{escape(title)}</title>\n<style>{_STYLE}</style>\n</head>\n"
        f"<body>\n{body}\n</body>\n</html>\n"
    )


def _body(sheet: CuttingSheet) -> Iterator[str]:
    scene = sheet.scene
    what = with_size(f"cutting sheet · {scene.cloth_name}", sheet.sizes)
    said = " · ".join(filter(None, [what, sheet.pattern]))
    yield f"<header><h1>{escape(scene.job_name)}</h1><span>{escape(said)}</span></header>"
    yield "<dl>"
    for fact in sheet.facts:
        label, value, detail = map(escape, (fact.label, fact.value, fact.detail))
        yield f"<div><dt>{label}</dt><dd>{value}</dd><small>{detail}</small></div>"
    yield '<div class="swatch">staple a swatch here, right side up</div></dl>'
    if sheet.buying:
        yield f"<p>To buy: {escape(sheet.buying)}</p>"
    if sheet.sketch:
        yield _spread(sheet.sketch)
    yield _layout(sheet)
    steps = (f"{number}. {words}" for number, words in enumerate(sheet.steps, start=1))
    yield from _ticks("Order of cutting", steps)
    yield f"<h2>Pieces: {escape(sheet.tally)}</h2>"
    if sheet.usual:
        yield f"<p>{escape(sheet.usual)}</p>"
    sized = ("size",) if any(row.piece.drawing.size_words for row in sheet.rows) else ()
    titles = ("number", "drawing", "piece", *sized, "cut", "tick", "hems, other allowances",
              "mark before lifting")  # fmt: skip
    yield _table("pieces", titles, (_piece(row, bool(sized)) for row in sheet.rows))
    if sheet.bands:
        yield "<h2>Bands: marks and sections from the cut end, unstretched</h2>"
    for band in sheet.bands:
        yield from _band(band)
    yield from _to_sew(sheet)
    yield "<footer>"
    yield from (f"<p>{escape(words)}</p>" for words in sheet.cautions)
    yield _bar()
    yield "</footer>"


def _to_sew(sheet: CuttingSheet) -> Iterator[str]:
    seams = (f"{number}. {seam.name}: {seam.words}" for number, seam in enumerate(sheet.seams, 1))
    yield from _ticks("Seams in order: stitching line, length once sewn", seams)
    yield from _ticks("Notions", sheet.making.notions)
    if sheet.making.notes:
        yield "<h2>Notes</h2>"
    yield from (f"<p>{escape(note)}</p>" for note in sheet.making.notes)


def _ticks(title: str, lines: Iterable[str]) -> Iterator[str]:
    """Lines to tick under a heading; nothing where there are none."""
    items = [f"<li><label>{_BOX}{escape(line)}</label></li>" for line in lines]
    if items:
        yield f"<h2>{escape(title)}</h2><ol>{''.join(items)}</ol>"


def _table(kind: str, titles: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """A table of cells that are HTML already."""
    head = "".join(f"<th>{escape(title)}</th>" for title in titles)
    lines = ["<tr>" + "".join(f"<td>{cell}</td>" for cell in row) + "</tr>" for row in rows]
    body = "\n".join(lines)
    return f'<table class="{kind}"><thead><tr>{head}</tr></thead><tbody>\n{body}\n</tbody></table>'


def _piece(row: PieceRow, sized: bool) -> tuple[str, ...]:
    drawing = row.piece.drawing
    words = (row.numbers, drawing.name, drawing.size, row.count, row.edges, row.transfer)
    numbers, name, size, count, edges, transfer = map(escape, words)
    return (f"<b>{numbers}</b>", _thumbnail(row), f"<b>{name}</b>", *[size] * sized, count,
            _BOX * row.boxes, edges, transfer)  # fmt: skip


def _band(band: BandTable) -> Iterator[str]:
    yield f"<section><h3>{escape(band.name)} <span>{escape(band.cut)}</span></h3><div>"
    for titles, rows in (
        (("", "mark at", "name", "meets on the garment"), band.marks),
        (("section", "how it is sewn"), band.sections),
    ):
        if rows:
            yield _table("band", titles, [[escape(cell) for cell in row] for row in rows])
    yield "</div></section>"


def _layout(sheet: CuttingSheet) -> str:
    """The layout in little."""
    layout = sheet.picture
    pen = Pen((layout.size[0] + 2 * AROUND, layout.size[1] + 2 * AROUND))
    draw_small_layout(pen.moved(AROUND, AROUND), layout)
    words = layout_words(layout)
    return (
        f"<figure>{svg_picture(pen.page, words)}"
        f"<figcaption><small>{escape(words)}</small></figcaption></figure>"
    )


def _thumbnail(row: PieceRow) -> str:
    pen = Pen(_THUMBNAIL)
    drawing = row.piece.drawing
    draw_thumbnail(pen.moved(0.3, 0.3), drawing, (_THUMBNAIL[0] - 0.6, _THUMBNAIL[1] - 0.6))
    return svg_picture(pen.page, drawing.name)


def _spread(sketch: SpreadSketch) -> str:
    """The cloth seen from one side, what lies where, and the words."""
    foot, apart = 6.0, 10.0
    pen = Pen((_SKETCH + 2 * apart, foot + HEIGHT * _SKETCH + 1.0))
    draw_sketch(pen.moved(apart, foot), sketch.lines, _SKETCH)
    for at, name in sketch.names:
        pen.text(apart + at * _SKETCH, 1.5, name, 7.4, align="center", colour=DARK)
    words = f"Spread the cloth {sketch.words}."
    picture = svg_picture(pen.page, words)
    return (
        f'<figure class="spread">{picture}<figcaption>{escape(words)}<br>'
        f"<small>On the left as seen from {escape(sketch.seen)}.</small></figcaption></figure>"
    )


def _bar() -> str:
    bar = check_bar()
    pen = Pen((bar.mm + 0.4, 2.0))
    draw_bar(pen.moved(0.2, 0.3), bar)
    picture = svg_picture(pen.page, str(bar))
    return f"<p>{picture} <small>{bar}, printed at 100 %</small></p>"
