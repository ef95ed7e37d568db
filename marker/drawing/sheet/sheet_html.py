"""The cutting sheet as one HTML file that needs no other, for a screen or a browser's printer."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from html import escape

import numpy as np
import shapely

from marker.drawing.in_little import (
    AROUND,
    NUMBER_PT,
    NumberSpot,
    layout_words,
    thumbnail,
)
from marker.drawing.scene.spread_sketch import HEIGHT, SpreadSketch
from marker.drawing.sheet.cutting_sheet import CAUTIONS, BandTable, CuttingSheet, PieceRow
from marker.geometry.arrays import FloatArray

_THUMBNAIL = (26.0, 12.0)
_SKETCH = 60.0
_FIGURE_MM = NUMBER_PT * 25.4 / 72
_STYLE = """
@page { size: A4; margin: 12mm }
body { font: 10pt/1.35 "DejaVu Sans", Verdana, sans-serif; color: #111; max-width: 186mm;
  margin: 8mm auto; padding: 0 3mm }
@media print { body { margin: 0; padding: 0 } }
header { display: flex; justify-content: space-between; align-items: baseline;
  border-bottom: 2pt solid #111 }
h1 { font-size: 19pt; margin: 0 } h2 { font-size: 12pt; margin: 5mm 0 1mm; break-after: avoid }
h3 { font-size: 10pt; margin: 3mm 0 1mm; break-after: avoid }
dl { display: grid; grid-template-columns: repeat(4, 1fr); gap: 2mm 4mm; margin: 3mm 0 }
dl div { display: flex; flex-direction: column } dt, small { font-size: 7.5pt; color: #444 }
dd { margin: 0; font-weight: bold; font-size: 12pt } dl div:first-child dd { color: #9b2d20 }
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
    title = f"{scene.job_name}: cutting sheet, {scene.cloth_name}, size {sheet.sizes}"
    body = "\n".join(_body(sheet))
    return (
        '<!DOCTYPE html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{escape(title)}</title>\n<style>{_STYLE}</style>\n</head>\n"
        f"<body>\n{body}\n</body>\n</html>\n"
    )


def _body(sheet: CuttingSheet) -> Iterator[str]:
    scene = sheet.scene
    what = f"cutting sheet · {scene.cloth_name}, size {sheet.sizes}"
    yield f"<header><h1>{escape(scene.job_name)}</h1><span>{escape(what)}</span></header>"
    yield "<dl>"
    for fact in scene.facts:
        label, value, detail = map(escape, (fact.label, fact.value, fact.detail))
        yield f"<div><dt>{label}</dt><dd>{value}</dd><small>{detail}</small></div>"
    yield "</dl>"
    yield f"<p>To buy: {escape(sheet.buying)}</p>"
    yield _spread(sheet.sketch)
    yield _layout(sheet)
    yield "<h2>Order of cutting</h2><ol>"
    for number, step in enumerate(sheet.steps, start=1):
        yield f"<li><label>{_BOX}{number}. {escape(step)}</label></li>"
    yield f"</ol><h2>Pieces to tick: {escape(sheet.tally)}</h2>"
    titles = ("number", "drawing", "piece", "size", "to cut", "tick", "mark before lifting")
    yield _table("pieces", titles, map(_piece, sheet.rows))
    if sheet.bands:
        yield "<h2>Bands: marks and zones, from the cut end of each</h2>"
    for band in sheet.bands:
        yield from _band(band)
    yield "<footer>"
    yield from (f"<p>{escape(words)}</p>" for words in CAUTIONS)
    yield _bar()
    yield "</footer>"


def _table(kind: str, titles: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """A table of cells that are HTML already."""
    head = "".join(f"<th>{escape(title)}</th>" for title in titles)
    lines = ["<tr>" + "".join(f"<td>{cell}</td>" for cell in row) + "</tr>" for row in rows]
    body = "\n".join(lines)
    return f'<table class="{kind}"><thead><tr>{head}</tr></thead><tbody>\n{body}\n</tbody></table>'


def _piece(row: PieceRow) -> tuple[str, ...]:
    drawing = row.piece.drawing
    words = (row.numbers, drawing.name, drawing.size, row.count, row.transfer)
    numbers, name, size, count, transfer = map(escape, words)
    return (f"<b>{numbers}</b>", _thumbnail(row), f"<b>{name}</b>", size, count,
            _BOX * row.boxes, transfer)  # fmt: skip


def _band(band: BandTable) -> Iterator[str]:
    yield f"<section><h3>{escape(band.name)} <span>{escape(band.cut)}</span></h3><div>"
    for titles, rows in (
        (("mark at", "name", "meets on the garment"), band.marks),
        (("zone", "opening", "how"), band.zones),
    ):
        if rows:
            yield _table("band", titles, [[escape(cell) for cell in row] for row in rows])
    yield "</div></section>"


def _layout(sheet: CuttingSheet) -> str:
    """The layout in little; inside its group y points up, as on the cloth."""
    layout = sheet.picture
    width, height = layout.size
    size = (width + 2 * AROUND, height + 2 * AROUND)
    inner = [
        *(_shape(part, "#d3d0ca", 0.2) for part in layout.cloth),
        *(_shape(piece, "#fff", 0.25) for piece in layout.pieces),
        *(_number(spot) for spot in layout.numbers),
    ]
    words = layout_words(layout)
    return (
        f"<figure>{_svg(size, [_moved(AROUND, inner)], words)}"
        f"<figcaption><small>{words}</small></figcaption></figure>"
    )


def _number(spot: NumberSpot) -> str:
    x, y = spot.at
    leader = _run(np.array([spot.leader, spot.at]), "#111", 0.2) if spot.leader else ""
    return (
        f'{leader}<circle cx="{x:.2f}" cy="{y:.2f}" r="{spot.diameter / 2:.2f}" fill="#111"/>'
        f'<text transform="translate({x:.2f} {y - 0.36 * _FIGURE_MM:.2f}) scale(1 -1)" fill="#fff" '
        f'text-anchor="middle" font-weight="bold" font-size="{_FIGURE_MM:.2f}">{spot.number}</text>'
    )


def _thumbnail(row: PieceRow) -> str:
    small = thumbnail(row.piece.drawing, (_THUMBNAIL[0] - 0.6, _THUMBNAIL[1] - 0.6))
    inner = [_shape(small.outline, "#fff", 0.25)]
    if small.fold is not None:
        inner.append(_run(small.fold, "#111", 0.15, dashed=True))
    inner += [_run(tick, "#111", 0.3) for tick in small.notches]
    inner += [_run(run, "#9b2d20", 0.25) for run in small.grain]
    return _svg(_THUMBNAIL, [_moved(0.3, inner)],
                row.piece.drawing.name)  # fmt: skip


def _spread(sketch: SpreadSketch) -> str:
    """The cloth seen from one side, what lies where, and the words."""
    foot, apart = 6.0, 10.0
    inner = [_run(line * _SKETCH + np.array([apart, foot]), "#111", 0.5) for line in sketch.lines]
    inner += [
        f'<text transform="translate({apart + at * _SKETCH:.2f} 1.5) scale(1 -1)" '
        f'text-anchor="middle" font-size="2.6" fill="#444">{escape(name)}</text>'
        for at, name in sketch.names
    ]
    size = (_SKETCH + 2 * apart, foot + HEIGHT * _SKETCH + 1.0)
    words = f"Spread the cloth {sketch.words}."
    return (
        f'<figure class="spread">{_svg(size, inner, words)}<figcaption>{escape(words)}<br>'
        f"<small>On the left as seen from {escape(sketch.seen)}.</small></figcaption></figure>"
    )


def _bar() -> str:
    """10 cm in ten parts."""
    parts = [
        f'<rect x="{10 * k + 0.1}" y=".1" width="10" height="1.4" stroke="#111" stroke-width=".15" '
        f'fill="{"#111" if k % 2 == 0 else "#fff"}"/>'
        for k in range(10)
    ]
    return f"<p>{_svg((100.2, 1.6), parts, '10 cm')} <small>10 cm, printed at 100 %</small></p>"


def _svg(size: tuple[float, float], inner: Iterable[str], words: str) -> str:
    """A picture in mm, y up; `words` for those who cannot see it."""
    width, height = size
    return (
        f'<svg role="img" aria-label="{escape(words)}" width="{width:.2f}mm" '
        f'height="{height:.2f}mm" viewBox="0 0 {width:.2f} {height:.2f}">'
        f'<g transform="translate(0 {height:.2f}) scale(1 -1)">{"".join(inner)}</g></svg>'
    )


def _moved(by: float, inner: Iterable[str]) -> str:
    """Right and up."""
    return f'<g transform="translate({by} {by})">{"".join(inner)}</g>'


def _shape(region: shapely.Polygon, fill: str, width: float) -> str:
    rings = [region.exterior, *region.interiors]
    path = "".join(_path(shapely.get_coordinates(ring)[:-1]) + "Z" for ring in rings)
    return (
        f'<path d="{path}" fill="{fill}" fill-rule="evenodd" stroke="#111" stroke-width="{width}"/>'
    )


def _run(points: FloatArray, colour: str, width: float, dashed: bool = False) -> str:
    dashes = ' stroke-dasharray="1.6 .4 .3 .4"' if dashed else ""
    return (
        f'<path d="{_path(points)}" fill="none" stroke="{colour}" stroke-width="{width}"{dashes}/>'
    )


def _path(points: FloatArray) -> str:
    return "M" + "L".join(f"{x:.2f} {y:.2f}" for x, y in points)
