"""Every piece that was read of pattern files, on as few pages as can be read. An eye can so compare
it with the pattern: shape, name, grain, fold, notches, stitching line, width and height.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import chain

import numpy as np
import shapely

from marker.canvas.fonts import text_width
from marker.canvas.lettering import shorten
from marker.canvas.page import Page
from marker.canvas.pen import ACCENT, BLACK, DARK, PALE, Pen
from marker.canvas.to_pdf import pdf_bytes
from marker.drawing.diagram.sheets import MARGIN, PAPER, SCALES
from marker.drawing.scene.piece_drawing import Grain
from marker.drawing.signs import (
    CUT,
    FOLD_DASHES,
    STITCH,
    STITCH_DASHES,
    Shaft,
    draw_grain,
    draw_inner_mark,
)
from marker.geometry.arrays import FloatArray
from marker.pattern.inner_marks import InnerMark
from marker.units import cut_lengths

_ON_A_PAGE = 20  # pieces
_SCALES = (1, 2, 3, 4, *SCALES)
_HEAD = MARGIN + 9.0
_NAME_PT, _WORDS_PT, _LINE = 8.0, 6.0, 2.9
_BESIDE, _APART = 5.0, 5.0  # left of and below a piece, for its measures; between two
_DIMENSION, _END = 0.12, 1.0
_FOLD = 0.6
_NOTCH_MM = 1.6
_LEAST_WIDTH = 34.0
_KEY = "heavy broken line: fold · short dashes: stitching line · arrow: grain · ticks: notches"


@dataclass(frozen=True, eq=False)
class ReadPiece:
    """One piece as it was read, mm, y up.

    words : what is said of it below its name. outline : (n, 2). cutouts : outlines of holes.
    stitching : (m, 2), (0, 2) for none. grain, fold : (2, 2), None where none was drawn.
    notches : (k, 2) on the outline. marks : inside it.
    """

    name: str
    words: tuple[str, ...]
    outline: FloatArray
    cutouts: Sequence[FloatArray]
    stitching: FloatArray
    grain: FloatArray | None
    fold: FloatArray | None
    notches: FloatArray
    marks: Sequence[InnerMark]

    @property
    def extent(self) -> FloatArray:
        """Width and height, (2,)."""
        return np.asarray(np.ptp(self.outline, axis=0))


def render_read(title: str, said: Sequence[str], pieces: Sequence[ReadPiece]) -> bytes:
    """The pages as a PDF; arguments as for `draw_read`."""
    return pdf_bytes(draw_read(title, said, pieces), f"{title}: pieces as they were read")


def draw_read(title: str, said: Sequence[str], pieces: Sequence[ReadPiece]) -> list[Page]:
    """The pages. said : of the scale, such as what a test square measures."""
    scale, pages = _arranged(pieces)
    drawn = []
    for number, placed in enumerate(pages, start=1):
        pen = Pen(PAPER)
        at = f"1 : {scale:g}" + (f" · page {number} of {len(pages)}" if len(pages) > 1 else "")
        _draw_head(pen, f"{title}: pieces as they were read", "; ".join(said), at)
        for piece, corner in placed:
            _draw_piece(pen, piece, corner, scale)
        drawn.append(pen.page)
    return drawn


def _arranged(
    pieces: Sequence[ReadPiece],
) -> tuple[float, list[list[tuple[ReadPiece, FloatArray]]]]:
    """The largest scale at which they fit the pages that so many need; on each page its pieces,
    with the lower left corner of each outline."""
    most = math.ceil(len(pieces) / _ON_A_PAGE)
    tallest = sorted(pieces, key=lambda piece: -float(piece.extent[1]))
    for scale in chain(_SCALES, range(60, 100_000, 20)):
        pages = _in_rows(tallest, scale)
        if pages is not None and len(pages) <= most:
            return scale, pages
    raise AssertionError("pieces have a largest extent")


def _in_rows(
    pieces: Sequence[ReadPiece], scale: float
) -> list[list[tuple[ReadPiece, FloatArray]]] | None:
    """Row by row, page after page; None where a piece is larger than a page."""
    right, foot = PAPER[0] - MARGIN, MARGIN
    pages: list[list[tuple[ReadPiece, FloatArray]]] = [[]]
    left, top, deep = MARGIN, PAPER[1] - _HEAD, 0.0
    for piece in pieces:
        wide, high = _box(piece, scale)
        if left > MARGIN and left + wide > right:
            left, top, deep = MARGIN, top - deep - _APART, 0.0
        if pages[-1] and top - high < foot:
            pages.append([])
            left, top, deep = MARGIN, PAPER[1] - _HEAD, 0.0
        if left + wide > right or top - high < foot:
            return None
        corner = np.array([left + _BESIDE, top - high + _below(piece)])
        pages[-1].append((piece, corner))
        left, deep = left + wide + _APART, max(deep, high)
    return pages


def _below(piece: ReadPiece) -> float:
    """Room below a piece: its width, its name, and what is said of it."""
    return _BESIDE + _LINE * (1.3 + len(piece.words))


def _box(piece: ReadPiece, scale: float) -> tuple[float, float]:
    """Room that a piece takes on paper, with what stands beside and below it."""
    wide, high = (piece.extent / scale).tolist()
    words = max(text_width(word, _WORDS_PT) for word in piece.words)
    name = min(text_width(piece.name, _NAME_PT, bold=True), 2 * _LEAST_WIDTH)
    upright = text_width(cut_lengths(float(piece.extent[1])), _WORDS_PT)
    return _BESIDE + max(wide, words, name), _below(piece) + max(high, upright)


def _draw_head(pen: Pen, title: str, said: str, at: str) -> None:
    right, base = PAPER[0] - MARGIN, PAPER[1] - MARGIN - 3.0
    room = right - MARGIN - text_width(at, 7.0, bold=True) - 4.0
    pen.text(MARGIN, base, shorten(title, room, 9.0, bold=True), 9.0, bold=True)
    pen.text(right, base, at, 7.0, bold=True, align="right")
    pen.text(right, base - 3.6, _KEY, 6.0, colour=DARK, align="right")
    room = right - MARGIN - text_width(_KEY, 6.0) - 4.0
    pen.text(MARGIN, base - 3.6, shorten(said, room, 6.5), 6.5, colour=DARK)


def _draw_piece(pen: Pen, piece: ReadPiece, corner: FloatArray, scale: float) -> None:
    low = piece.outline.min(axis=0)

    def on_paper(points: FloatArray) -> FloatArray:
        return np.asarray((points - low) / scale + corner)

    outline = on_paper(piece.outline)
    holes = [on_paper(hole) for hole in piece.cutouts]
    whole = shapely.Polygon(outline, holes)
    pen = pen.on(piece.name)
    pen.fill(whole, PALE, BLACK, CUT, name="outline")
    if len(piece.stitching):
        sewn = on_paper(np.vstack([piece.stitching, piece.stitching[:1]]))
        pen.lines([sewn], STITCH, BLACK, STITCH_DASHES, name="stitching")
    for mark in piece.marks:
        draw_inner_mark(pen, mark.kind, on_paper(mark.points), whole)
    if piece.fold is not None:
        pen.lines([on_paper(piece.fold)], _FOLD, ACCENT, FOLD_DASHES, name="fold")
    if len(piece.notches):
        pen.lines(_ticks(whole, on_paper(piece.notches)), CUT, BLACK, name="notch")
    if piece.grain is not None:
        tail, head = on_paper(piece.grain)
        _draw_arrow(pen, tail, head)
    _draw_measures(pen, piece, outline)
    _draw_words(pen, piece, corner, float(np.ptp(outline[:, 0])))


def _ticks(whole: shapely.Polygon, notches: FloatArray) -> list[FloatArray]:
    """A short line into the piece at each notch."""
    inside = whole.buffer(-_NOTCH_MM)
    ticks = []
    for notch in notches:
        at = shapely.Point(notch)
        line = shapely.shortest_line(at, inside if not inside.is_empty else whole.centroid)
        end = shapely.get_coordinates(line)[1]
        long = max(float(np.hypot(*(end - notch))), 1e-9)
        ticks.append(np.array([notch, notch + (end - notch) * min(1.0, _NOTCH_MM / long)]))
    return ticks


def _draw_arrow(pen: Pen, tail: FloatArray, head: FloatArray) -> None:
    way = head - tail
    long = float(np.hypot(*way))
    if long > 0:
        x, y = (way / long).tolist()
        ends = (float(tail[0]), float(tail[1])), (float(head[0]), float(head[1]))
        draw_grain(pen, Shaft(*ends), Grain((x, y), either_way=False, nap=False))


def _draw_measures(pen: Pen, piece: ReadPiece, outline: FloatArray) -> None:
    """Width below and height to the left, each with its line."""
    (left, foot), (right, top) = outline.min(axis=0), outline.max(axis=0)
    across, up = piece.extent.tolist()
    y, x = foot - 1.5, left - 1.5
    ends = [np.array([[e, y - _END / 2], [e, y + _END / 2]]) for e in (left, right)]
    ends += [np.array([[x - _END / 2, e], [x + _END / 2, e]]) for e in (foot, top)]
    lines = [np.array([[left, y], [right, y]]), np.array([[x, foot], [x, top]])]
    pen.lines([*lines, *ends], _DIMENSION, DARK, name="measure")
    pen.text(left, y - 2.6, cut_lengths(across), _WORDS_PT)
    pen.text(x - 0.9, foot, cut_lengths(up), _WORDS_PT, angle=90.0)


def _draw_words(pen: Pen, piece: ReadPiece, corner: FloatArray, wide: float) -> None:
    left, base = float(corner[0]), float(corner[1]) - _BESIDE - 2.2
    room = max(wide, 2 * _LEAST_WIDTH)
    pen.text(left, base, shorten(piece.name, room, _NAME_PT, bold=True), _NAME_PT, bold=True)
    for number, words in enumerate(piece.words, start=1):
        pen.text(left, base - _LINE * number, words, _WORDS_PT, colour=DARK)
