"""Pieces as an SVG drawing by this project's convention (FORMATS.md, Pattern drawings).

One user unit is 1 mm. What a line is for says the layer that it lies on, a group at the top.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from xml.sax.saxutils import escape, quoteattr

from marker.exchange.cloth_facts import cloth_line
from marker.exchange.flat_piece import FlatPiece
from marker.exchange.label_place import Label, labels
from marker.exchange.laid_flat import Sheet, notch_ticks, unique_names
from marker.exchange.strokes import MARK_LAYERS, Layer
from marker.geometry.arrays import FloatArray
from marker.pattern.inner_marks import MarkKind
from marker.pattern.piece import Line

_LOOKS = {
    Layer.CUT: 'fill="none" stroke="#111111" stroke-width="0.6"',
    Layer.STITCHING: 'fill="none" stroke="#444444" stroke-width="0.4" stroke-dasharray="4 2.5"',
    Layer.FOLD: 'fill="none" stroke="#9b2d20" stroke-width="0.6" stroke-dasharray="14 3 3 3"',
    Layer.GRAIN: 'fill="none" stroke="#111111" stroke-width="0.5"',
    Layer.NOTCHES: 'fill="none" stroke="#111111" stroke-width="0.6"',
    Layer.INNER_TEXT: 'fill="#111111" font-family="sans-serif"',
    Layer.LABELS: 'fill="#111111" font-family="sans-serif"',
}
_LINES_INSIDE = 'fill="none" stroke="#8a8a8a" stroke-width="0.4" stroke-dasharray="6 3"'
_POINTS_INSIDE = 'fill="none" stroke="#111111" stroke-width="0.4"'
_LOOKS |= {
    layer: _POINTS_INSIDE if kind.is_point else _LINES_INSIDE
    for kind, layer in MARK_LAYERS.items()
    if kind is not MarkKind.TEXT
}
_ARROW = (
    '<defs><marker id="head" viewBox="0 0 10 10" refX="10" refY="5" markerWidth="8mm" '
    'markerHeight="8mm" markerUnits="userSpaceOnUse" orient="auto"><path d="M 0 2 L 10 5 L 0 8 Z" '
    'fill="#111111" stroke="none"/></marker></defs>'
).replace("8mm", "8")


def svg_text(sheet: Sheet) -> str:
    """The drawing; ids of the outlines as `piece_ids` says. The same sheet gives the same text."""
    width, height = _number(sheet.width_mm), _number(sheet.height_mm)
    return "\n".join(
        [
            '<?xml version="1.0" encoding="UTF-8"?>',
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}mm" height="{height}mm" '
            f'viewBox="0 0 {width} {height}">',
            f"<title>{escape(sheet.title)}</title>",
            *(f"<desc>{escape(cloth_line(facts))}</desc>" for facts in sheet.cloths),
            _ARROW,
            *([_cloth(width, height)] if sheet.cloth else []),
            *_groups(sheet),
            "</svg>",
            "",
        ]
    )


def piece_ids(pieces: Sequence[FlatPiece]) -> list[str]:
    """The id of each piece's outline in the drawing, made of its name."""
    plain = [re.sub(r"[^\w-]+", "-", piece.name.lower()).strip("-") or "piece" for piece in pieces]
    return [name.replace(" ", "-") for name in unique_names(plain)]


def stitching_id(own_id: str) -> str:
    """The id of a piece's stitching line, where its outline is the cut line."""
    return f"{own_id}-stitching"


def _cloth(width: str, height: str) -> str:
    return (
        f'<g id="cloth" fill="none" stroke="#8a8a8a" stroke-width="0.6">'
        f'<rect width="{width}" height="{height}"/></g>'
    )


def _groups(sheet: Sheet) -> Iterator[str]:
    ids = piece_ids(sheet.pieces)
    up = sheet.height_mm
    for layer, draw in _DRAWN.items():
        lines = [
            line
            for own_id, piece in zip(ids, sheet.pieces, strict=True)
            for line in draw(piece, own_id, up)
        ]
        if lines:
            yield f'<g id="{layer.replace(" ", "-")}" {_LOOKS[layer]}>'
            yield from lines
            yield "</g>"
    yield f'<g id="{Layer.LABELS}" {_LOOKS[Layer.LABELS]}>'
    for block in labels(sheet):
        yield from _label(block, up)
    yield "</g>"


def _outline(line: Line) -> Callable[[FlatPiece, str, float], Iterator[str]]:
    def draw(piece: FlatPiece, own_id: str, up: float) -> Iterator[str]:
        if piece.line is line:
            data = " ".join(_ring(ring, up) for ring in (piece.outline, *piece.cutouts))
            title = f"<title>{escape(piece.name)}</title>"
            yield f"<path id={quoteattr(own_id)} d={quoteattr(data)}>{title}</path>"
        elif line is Line.STITCHING and len(piece.stitching):
            own = quoteattr(stitching_id(own_id))
            yield f'<path id={own} d="{_ring(piece.stitching, up)}"/>'

    return draw


def _fold(piece: FlatPiece, _id: str, up: float) -> Iterator[str]:
    if piece.fold is not None:
        yield f'<path d="{_run(piece.fold, up)}"/>'


def _grain(piece: FlatPiece, _id: str, up: float) -> Iterator[str]:
    if piece.grain is not None:
        yield f'<path d="{_run(piece.grain, up)}" marker-end="url(#head)"/>'


def _notches(piece: FlatPiece, _id: str, up: float) -> Iterator[str]:
    for tick in notch_ticks(piece):
        yield f'<path d="{_run(tick, up)}"/>'


def _marks(kind: MarkKind) -> Callable[[FlatPiece, str, float], Iterator[str]]:
    def draw(piece: FlatPiece, _id: str, up: float) -> Iterator[str]:
        for mark in piece.inner_marks:
            if mark.kind is not kind:
                continue
            x, y = (_number(each) for each in (mark.points[0, 0], up - mark.points[0, 1]))
            title = f"<title>{escape(mark.name)}</title>" if mark.name else ""
            if kind is MarkKind.TEXT:
                yield f'<text x="{x}" y="{y}" font-size="5">{escape(mark.name)}</text>'
            elif kind.is_point:
                yield f'<circle cx="{x}" cy="{y}" r="1">{title}</circle>'
            else:
                yield f'<path d="{_run(mark.points, up)}">{title}</path>'

    return draw


def _label(block: Label, up: float) -> Iterator[str]:
    x, y = block.centre[0], up - block.centre[1]
    turn = f' transform="rotate({-block.angle_deg:g} {_number(x)} {_number(y)})"'
    size = f'font-size="{_number(block.size_mm)}" text-anchor="middle"'
    yield f"<text {size}{turn if block.angle_deg else ''}>"
    for line in block.lines:
        at = f'x="{_number(x + line.right_mm)}" y="{_number(y - line.up_mm)}"'
        yield f"<tspan {at}>{escape(line.text)}</tspan>"
    yield "</text>"
    if block.leader is not None:
        looks = 'fill="none" stroke="#111111" stroke-width="0.3"'
        yield f'<path d="{_run(block.leader, up)}" {looks}/>'


_DRAWN: dict[Layer, Callable[[FlatPiece, str, float], Iterator[str]]] = {
    Layer.CUT: _outline(Line.CUT),
    Layer.STITCHING: _outline(Line.STITCHING),
    Layer.FOLD: _fold,
    Layer.GRAIN: _grain,
    Layer.NOTCHES: _notches,
} | {layer: _marks(kind) for kind, layer in MARK_LAYERS.items()}


def _ring(points: FloatArray, up: float) -> str:
    return _run(points, up) + " Z"


def _run(points: FloatArray, up: float) -> str:
    return "M " + " L ".join(f"{_number(x)} {_number(up - y)}" for x, y in points)


def _number(value: float) -> str:
    """A length to 0.0001 mm, without needless zeros."""
    return f"{round(float(value), 4) + 0.0:.4f}".rstrip("0").rstrip(".")
