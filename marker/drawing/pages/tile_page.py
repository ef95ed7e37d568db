"""One full-size page: the lines it shows, their labels, and how it joins its neighbours."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely

from marker.canvas.fonts import MM_PER_PT, text_width
from marker.canvas.lettering import FIGURE_RISE, shorten
from marker.canvas.page import Colour
from marker.canvas.pen import ACCENT, BLACK, DARK, GREY, PALE, Pen
from marker.drawing.diagram.piece_view import draw_label
from marker.drawing.pages.full_size import MARK_PT, FullSize, mark_words
from marker.drawing.pages.full_size_lines import BRACKET_MM
from marker.drawing.pages.tiling import EDGE_MM, NAME_MM, Join, Tile
from marker.drawing.signs import (
    CUT,
    FOLD,
    FOLD_DASHES,
    SIZE_DASHES,
    STITCH,
    STITCH_DASHES,
    draw_inner_mark,
)
from marker.drawing.size_names import draw_size_names, named_sizes
from marker.geometry.arrays import FloatArray

THICKER, PROJECTED_THICKER = 1.5, 6.0  # than on the diagram
GRID_MM = 100.0
_CROSS = 4.0  # arm of a join mark
JOIN_DASHES = (2.0, 1.5)
_SMALL, _WORDS_PT = 7.0, 6.0
TO_FOLD = "place on the fold"
_FOLD_MOST_PT = 18.0  # its letters stay between the edge and the sign
_SAMPLE_MM, _SIZE_APART_MM = 16.0, 4.0
_TOLD_APART_MM = 1.5  # lines of sizes that are nearer are not named there
LINE_STYLES: dict[str, tuple[float, Colour, Sequence[float] | None]] = {
    "cloth": (STITCH, DARK, None),
    "stitching": (STITCH, DARK, STITCH_DASHES),
    "fold": (FOLD, BLACK, FOLD_DASHES),
    "to fold": (CUT, BLACK, FOLD_DASHES),
    "bracket": (STITCH, BLACK, None),
    "notch": (CUT, BLACK, None),
    "cut": (CUT, BLACK, None),
}


def draw_tile(pen: Pen, full: FullSize, tile: Tile, page: str) -> None:
    """Everything on one page but the cover; `page` says which it is."""
    several = len(full.tiling.tiles) > 1
    if several and not full.carries_cover(tile):
        _draw_name(pen, full, tile)
    if full.paper.projected:
        _draw_grid(pen, full, tile)
    thicker = PROJECTED_THICKER if full.paper.projected else THICKER
    for stroke in full.strokes:
        width, colour, dashes = LINE_STYLES[stroke.kind]
        if stroke.dashes is not None:
            dashes = [dash / THICKER for dash in stroke.dashes]
        runs = stroke.within(np.array(tile.low), np.array(tile.high))
        pen.lines(
            [tile.to_paper(run) for run in runs],
            width * thicker,
            colour,
            [dash * thicker for dash in dashes] if dashes else None,
            # of several sizes no line may be taken for the piece, by whoever reads the file
            name=stroke.kind if stroke.dashes is None else "size",
        )
    _draw_inner_marks(pen, full, tile, thicker)
    _draw_words(pen, full, tile)
    _draw_sizes(pen, full, tile)
    _draw_labels(pen, full, tile)
    printed = {other.name for other in full.printed}
    for neighbour, join in full.tiling.joins(tile):
        if neighbour.name in printed:
            _draw_join(pen, tile, neighbour, join)
    _draw_edge_words(pen, full, tile, page)


def _draw_name(pen: Pen, full: FullSize, tile: Tile) -> None:
    """The page's name, large and pale under everything."""
    (x, y), _ = tile.to_paper(np.array(full.tiling.name_place(tile)))
    pen.text(x, y, tile.name, NAME_MM / FIGURE_RISE / MM_PER_PT, bold=True, colour=PALE)


def _draw_grid(pen: Pen, full: FullSize, tile: Tile) -> None:
    """Lines every 10 cm from the start line and the near selvage, with their distances in cm."""
    (low_x, low_y), (high_x, high_y) = tile.low, tile.high
    xs = np.arange(0.0, full.scene.length_mm + GRID_MM, GRID_MM)
    ys = np.arange(0.0, full.scene.width_mm + GRID_MM, GRID_MM)
    top, right = min(ys[-1], high_y), min(xs[-1], high_x)
    xs, ys = xs[(xs >= low_x) & (xs <= high_x)], ys[(ys >= low_y) & (ys <= high_y)]
    foot, left = max(0.0, low_y), max(0.0, low_x)
    runs = [np.array([[x, foot], [x, top]]) for x in xs]
    runs += [np.array([[left, y], [right, y]]) for y in ys]
    pen.lines([tile.to_paper(run) for run in runs], 0.6, GREY, name="grid")
    for x in xs:
        at = tile.to_paper(np.array([[x, foot]]))[0]
        pen.text(at[0], at[1] - 9.0, f"{x / 10:.0f}", 20.0, colour=DARK, align="center")
    for y in ys:
        at = tile.to_paper(np.array([[left, y]]))[0]
        pen.text(at[0] - 2.0, at[1] - 2.5, f"{y / 10:.0f}", 20.0, colour=DARK, align="right")


def _draw_inner_marks(pen: Pen, full: FullSize, tile: Tile, thicker: float) -> None:
    """Darts, buttonholes, places of pockets and whatever else is marked inside the pieces."""
    window = shapely.box(*tile.to_paper(np.array([tile.low, tile.high])).ravel())
    for piece in (each for one in full.scene.pieces for each in one.in_all_sizes):
        for mark in piece.inner_marks:
            points = tile.to_paper(mark.points)
            if window.intersects(shapely.MultiPoint(points).convex_hull):
                draw_inner_mark(pen, mark.kind, points, window, thicker)


def _draw_words(pen: Pen, full: FullSize, tile: Tile) -> None:
    """Texts and names of marks, and at the fold what to do there."""
    low, high = tile.to_paper(np.array([tile.low, tile.high]))
    clipped = pen.enlarged(1.0, np.zeros(2), low, high)
    for words in mark_words(full.scene.pieces):
        x, y = tile.to_paper(np.array([words.at]))[0]
        clipped.text(x, y, words.text, MARK_PT)
    low, high = full.tiling.core(tile)
    for edge in (each.to_fold for each in full.scene.pieces if each.to_fold is not None):
        seen = shapely.clip_by_rect(shapely.LineString(edge), *low, *high)
        size = min(MARK_PT * full.sheet.scale, _FOLD_MOST_PT)
        if seen.length > text_width(TO_FOLD, size) + 2.0:
            middle = shapely.get_coordinates(seen.interpolate(0.5, normalized=True))
            _draw_fold_words(pen, tile.to_paper(middle)[0], edge, size)


def _draw_fold_words(pen: Pen, at: FloatArray, edge: FloatArray, size_pt: float) -> None:
    """'place on the fold' along the edge (2, 2), between it and the sign inside the piece."""
    way = (edge[1] - edge[0]) / np.hypot(*(edge[1] - edge[0]))
    middle = at + BRACKET_MM / 2 * np.array([way[1], -way[0]])
    reading = way if way[0] > 1e-9 or (abs(way[0]) <= 1e-9 and way[1] > 0) else -way
    half = FIGURE_RISE * size_pt * MM_PER_PT / 2
    base = middle - half * np.array([-reading[1], reading[0]])
    angle = float(np.degrees(np.arctan2(reading[1], reading[0])))
    pen.text(base[0], base[1], TO_FOLD, size_pt, angle=angle, align="center")


def _draw_sizes(pen: Pen, full: FullSize, tile: Tile) -> None:
    """Each size named where its line is seen apart from others, and in the margin its line."""
    nested = [piece for piece in full.pieces_on(tile) if piece.others]
    if not nested:
        return
    window = shapely.box(*tile.to_paper(np.array(full.tiling.core(tile))).ravel()).buffer(-5.0)
    taken = [shapely.transform(label.box, full.sheet.to_cloth) for label in full.labels]
    free = window.difference(shapely.transform(shapely.union_all(taken), tile.to_paper).buffer(2.0))
    larger = full.sheet.scale
    for piece in nested:
        lines = {each.size: tile.to_paper(each.outline) for each in piece.in_all_sizes}
        others = [e.outline for p in nested if p is not piece for e in p.in_all_sizes]
        room = free.difference(
            shapely.union_all([shapely.Polygon(tile.to_paper(outline)) for outline in others])
        )
        names = named_sizes(lines, room, MARK_PT * larger, _TOLD_APART_MM)
        draw_size_names(pen, names, MARK_PT * larger)


def _draw_labels(pen: Pen, full: FullSize, tile: Tile) -> None:
    low, high = tile.to_paper(np.array([tile.low, tile.high]))
    corner = tile.to_paper(full.sheet.to_cloth(np.zeros((1, 2))))[0]
    enlarged = pen.enlarged(full.sheet.scale, corner, low, high)
    for label in full.labels:
        if full.shows(label, tile):
            draw_label(enlarged, label)


def _draw_join(pen: Pen, tile: Tile, neighbour: Tile, join: Join) -> None:
    """The line to trim to, its two crosses, and in the margin what joins there."""
    ends = tile.to_paper(np.array([join.start, join.stop]))
    pen.lines([ends], 0.2, DARK, JOIN_DASHES, name="join")
    for mark in tile.to_paper(join.marks):
        pen.lines(cross(mark), 0.3, ACCENT, name="join mark")
        _draw_neighbour(pen, tile, neighbour, mark)


def cross(at: FloatArray, arm: float = _CROSS) -> list[FloatArray]:
    """Two strokes that cross at a point (2,), each twice `arm` long."""
    arms = np.array([[[-arm, 0.0], [arm, 0.0]], [[0.0, -arm], [0.0, arm]]])
    return list(at + arms)


def _draw_neighbour(pen: Pen, tile: Tile, neighbour: Tile, mark: FloatArray) -> None:
    """The neighbour's name in the bare margin beside a mark."""
    x, y = mark
    if neighbour.column != tile.column:
        right = neighbour.column > tile.column
        x = pen.width - EDGE_MM + 2.5 if right else EDGE_MM - 2.5
        pen.text(x, y, neighbour.name, _SMALL, bold=True, angle=90, align="center", colour=ACCENT)
        return
    above = neighbour.row < tile.row
    y = pen.height - EDGE_MM + 1.0 if above else EDGE_MM - 3.0
    pen.text(x, y, neighbour.name, _SMALL, bold=True, align="center", colour=ACCENT)


def _draw_edge_words(pen: Pen, full: FullSize, tile: Tile, page: str) -> None:
    """What this page is of, in the margin at its foot."""
    pieces = [f"{piece.number}  {piece.name}" for piece in full.pieces_on(tile)]
    words = " · ".join([tile.name, page, full.scene.job_name, full.title, ", ".join(pieces)])
    right = _draw_size_key(pen, full)
    words = shorten(words, right - EDGE_MM, _WORDS_PT)
    pen.text(EDGE_MM, EDGE_MM - 5.6, words, _WORDS_PT, colour=DARK)


def _draw_size_key(pen: Pen, full: FullSize) -> float:
    """In the margin at the foot the line of each nested size; where it begins."""
    x, y = pen.width - EDGE_MM, EDGE_MM - 5.6
    for size, dashes in reversed(size_lines(full)):
        x -= _SAMPLE_MM
        sample = np.array([[x, y + 0.8], [x + _SAMPLE_MM, y + 0.8]])
        pen.lines([sample], CUT * THICKER, BLACK, dashes)
        x -= 1.0
        pen.text(x, y, size, _SMALL, bold=True, align="right")
        x -= text_width(size, _SMALL, bold=True) + _SIZE_APART_MM
    return x


def size_lines(full: FullSize) -> list[tuple[str, tuple[float, ...]]]:
    """Each nested size and the dashes of its line; none where sizes are not nested."""
    return list(zip(full.scene.sizes, SIZE_DASHES, strict=False))
