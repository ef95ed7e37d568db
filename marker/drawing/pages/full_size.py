"""Full-size pages of a layout or of single pieces: what is printed, and on which pages."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from marker.canvas.fonts import MM_PER_PT, text_width
from marker.drawing.diagram.labels import Label, place_labels
from marker.drawing.diagram.sheets import Sheet
from marker.drawing.diagram.wording import FULL_SIZE, PROJECTED
from marker.drawing.pages.paper import Paper
from marker.drawing.pages.tiling import OVERLAP_MM, Tile, Tiling, tiling
from marker.drawing.scene.layout_scene import Scene
from marker.drawing.scene.piece_drawing import PieceDrawing, off_fold
from marker.drawing.scene.spread_cloth import Area, Ground
from marker.drawing.signs import SIZE_DASHES
from marker.geometry.arrays import FloatArray
from marker.pattern.inner_marks import MarkKind

NOTCH_MM = 5.0
BRACKET_MM = 9.0  # from the edge to place on the fold to the sign beside it
_BRACKET_ENDS_MM, _BARB_MM = 15.0, 3.0


@dataclass(frozen=True)
class Stroke:
    """One kind of line, all over the cloth.

    kind : 'cut', 'stitching', 'fold', 'notch', 'to fold' for the edge to place on the fold and
        'bracket' for the sign at it, or 'cloth' for the cloth's own edges.
    dashes : by which a size is told from others; None where one size is drawn.
    """

    kind: str
    lines: tuple[BaseGeometry, ...]
    dashes: tuple[float, ...] | None = None

    def within(self, low: FloatArray, high: FloatArray) -> list[FloatArray]:
        """What a rectangle shows of it, as polylines; one that was not cut ends where it began."""
        found: list[FloatArray] = []
        for part in shapely.clip_by_rect(list(self.lines), *low, *high):
            merged = shapely.line_merge(part)
            found += [
                shapely.get_coordinates(run) for run in shapely.get_parts(merged) if run.length > 0
            ]
        return found


def strokes(scene: Scene) -> tuple[Stroke, ...]:
    """All lines that there are, those of the cloth first, cut lines last."""
    every = [each for piece in scene.pieces for each in piece.in_all_sizes]
    stitched = [] if scene.sizes else [p for p in scene.pieces if len(p.stitching)]
    to_fold = [each.to_fold for each in every if each.to_fold is not None]
    folds = [p.fold_line for p in every if p.fold_line is not None]
    by_size = ([p for p in every if p.size == size] for size in scene.sizes)
    cut = [Stroke("cut", tuple(_cut_runs(pieces)), dashes)
           for pieces, dashes in zip(by_size, SIZE_DASHES, strict=False)]  # fmt: skip
    found = (
        Stroke("cloth", tuple(_cloth_edges(scene))),
        Stroke("stitching", tuple(run for p in stitched for run in _runs(p.stitching, p))),
        Stroke("fold", tuple(_apart(folds))),
        Stroke("to fold", tuple(_apart(to_fold))),
        Stroke("bracket", tuple(line for piece in scene.pieces for line in _brackets(piece))),
        Stroke(
            "notch", tuple(shapely.LineString(tick) for p in every for tick in p.ticks(NOTCH_MM))
        ),
        *(cut if scene.sizes else [Stroke("cut", tuple(_cut_runs(every)))]),
    )
    return tuple(stroke for stroke in found if stroke.lines)


def _cloth_edges(scene: Scene) -> Iterator[BaseGeometry]:
    """The cloth's outer edges, and inside them the usable width from the start to the end line."""
    grounds = (Ground.CLOTH, Ground.TWO_PLIES)
    cloth: Sequence[Area] = [area for area in scene.areas if area.ground in grounds]
    for area in cloth:
        yield shapely.box(*area.low, *area.high).exterior
        if (scene.end_mm, scene.selvage_mm) != (0.0, 0.0):
            yield shapely.box(0.0, 0.0, scene.length_mm, scene.width_mm).exterior


def _cut_runs(pieces: Sequence[PieceDrawing]) -> Iterator[BaseGeometry]:
    for piece in pieces:
        for ring in (piece.outline, *piece.cutouts):
            yield from _runs(ring, piece)


def _runs(ring: FloatArray, piece: PieceDrawing) -> list[BaseGeometry]:
    return [shapely.LineString(run) for run in off_fold(ring, piece.uncut)]


def _apart(lines: Sequence[FloatArray]) -> list[BaseGeometry]:
    """Lines (2, 2), what lies on one another once, so that no dashes fill the gaps of others."""
    if not lines:
        return []
    return list(shapely.get_parts(shapely.line_merge(shapely.union_all(
        [shapely.LineString(line) for line in lines]
    ))))  # fmt: skip


def _length(line: FloatArray) -> float:
    return float(np.hypot(*(line[1] - line[0])))


def _brackets(piece: PieceDrawing) -> Iterator[BaseGeometry]:
    """The sign at the longest of its sizes' edges to place on the fold."""
    edges = [each.to_fold for each in piece.in_all_sizes if each.to_fold is not None]
    if edges:
        yield from _bracket(max(edges, key=_length))


def _bracket(edge: FloatArray) -> Iterator[BaseGeometry]:
    """The sign of an edge (2, 2) to place on the fold: a line beside it, bent to it at both ends,
    with arrow heads. The piece lies below the edge, or to its right as it is walked."""
    along = (edge[1] - edge[0]) / _length(edge)
    inward = np.array([along[1], -along[0]])
    short = min(_BRACKET_ENDS_MM, _length(edge) / 4)
    feet = np.array([edge[0] + short * along, edge[1] - short * along])
    heads = feet + BRACKET_MM * inward
    yield shapely.LineString([feet[0], heads[0], heads[1], feet[1]])
    for foot in feet:
        barbs = [foot + _BARB_MM * (inward + side * along / 2) for side in (-1, 1)]
        yield shapely.LineString([barbs[0], foot, barbs[1]])


COVER_MM = (186.0, 255.0)  # the test squares with the page map and the list of pieces
_COVER_APART = 12.0
PROJECTED_LARGER = 4  # words and arrows for a projector are so many times larger
_AROUND = 12.0  # shown around the pieces at least
_TEXT_OFF_JOIN = 1.0
_CLEAR_MM = 2.0
MARK_PT = 9.0
_BESIDE_MARK_MM = 1.5
_LETTER_MIDDLE = np.array([0.9, 0.9])  # of a letter, from its corner


@dataclass(frozen=True)
class FullSize:
    """What is printed of one scene.

    title : what it is, in words.
    sheet : the paper on which the labels were placed; they are drawn `sheet.scale` times larger.
    """

    title: str
    scene: Scene
    paper: Paper
    tiling: Tiling
    sheet: Sheet
    labels: tuple[Label, ...]
    strokes: tuple[Stroke, ...]

    @cached_property
    def printed(self) -> tuple[Tile, ...]:
        """Pages that carry anything of a piece, were it only its inside, or the cover."""
        return tuple(tile for tile in self.tiling.tiles if self._carries(tile))

    @property
    def empty(self) -> tuple[Tile, ...]:
        """Pages left out."""
        names = {tile.name for tile in self.printed}
        return tuple(tile for tile in self.tiling.tiles if tile.name not in names)

    @property
    def pages(self) -> int:
        """Pages of the PDF, the cover counted."""
        return len(self.printed) + self.paper.own_cover

    def carries_cover(self, tile: Tile) -> bool:
        """The test squares stand on this page, left of the cloth."""
        return not self.paper.own_cover and (tile.row, tile.column) == (0, 0)

    def shows(self, label: Label, tile: Tile) -> bool:
        """Some of a label lies in the tile's window."""
        return self._touches(label, np.array([tile.low, tile.high]))

    def pieces_on(self, tile: Tile) -> list[PieceDrawing]:
        """Pieces that lie on a page once it is trimmed."""
        core = shapely.box(*np.ravel(self.tiling.core(tile)))
        return [
            piece
            for piece in self.scene.pieces
            if any(shapely.Polygon(each.outline).intersects(core) for each in piece.in_all_sizes)
        ]

    def _touches(self, label: Label, corners: FloatArray) -> bool:
        shown = shapely.box(*self.sheet.to_paper(corners).ravel())
        return any(mark.intersects(shown) for mark in _marks(label))

    def _carries(self, tile: Tile) -> bool:
        core = self.tiling.core(tile)
        return (
            self.carries_cover(tile)
            or bool(self.pieces_on(tile))
            or any(self._touches(label, np.array(core)) for label in self.labels)
        )


def plan_full_size(scene: Scene, paper: Paper, title: str) -> FullSize:
    """The fewest pages of this paper, and the labels of the pieces on them."""
    low, high = _extent(scene, paper)
    tiles = tiling(low, high, paper)
    sheet = Sheet(
        number=1,
        count=1,
        scale=PROJECTED_LARGER if paper.projected else 1,
        start_mm=-scene.end_mm,
        end_mm=scene.length_mm + scene.end_mm,
        near_mm=scene.selvage_mm,
    )
    lettering = PROJECTED if paper.projected else FULL_SIZE
    lines = strokes(scene)
    labels = place_labels(scene, sheet, lettering, _taken(tiles, sheet, scene, lines))
    return FullSize(title, scene, paper, tiles, sheet, labels, lines)


def pages_with_pieces(scene: Scene, paper: Paper) -> int:
    """How many pages of this paper the pieces lie on, for a choice between scenes."""
    grid = tiling(*_extent(scene, paper), paper)
    outlines = [each.outline for piece in scene.pieces for each in piece.in_all_sizes]
    covered = shapely.union_all([shapely.Polygon(outline) for outline in outlines])
    cores = [shapely.box(*np.ravel(grid.core(tile))) for tile in grid.tiles]
    return int(shapely.intersects(covered, cores).sum())


def _extent(scene: Scene, paper: Paper) -> tuple[FloatArray, FloatArray]:
    """Low and high corner of the cloth to be shown, the cover's place included."""
    ends, edges = max(scene.end_mm, _AROUND), max(scene.selvage_mm, _AROUND)
    low = np.array([-ends, -edges])
    high = np.array([scene.length_mm + ends, scene.width_mm + edges])
    if not paper.own_cover:
        low[0] -= COVER_MM[0] + _COVER_APART
        high[1] = max(high[1], low[1] + COVER_MM[1])
    return low, high


def _taken(tiles: Tiling, sheet: Sheet, scene: Scene, lines: Sequence[Stroke]) -> BaseGeometry:
    """What no label may cover, on the paper of `sheet`: the strips along which pages overlap, the
    pages' names, the sign at a fold, what is written beside marks, other sizes."""
    cloth = [line for each in lines if each.kind == "bracket" for line in each.lines]
    cloth += [shapely.LinearRing(other.outline) for piece in scene.pieces for other in piece.others]
    covered: list[BaseGeometry] = [line.buffer(_CLEAR_MM) for line in cloth]
    covered += [words.box for words in mark_words(scene.pieces)]
    half = OVERLAP_MM / 2 + _TEXT_OFF_JOIN
    if len(tiles.tiles) > 1:
        covered += [shapely.box(*np.ravel(tiles.name_place(tile))) for tile in tiles.tiles]
        covered += [
            shapely.LineString([join.start, join.stop]).buffer(half, cap_style="flat")
            for tile in tiles.tiles
            for _, join in tiles.joins(tile)
        ]
    return shapely.transform(shapely.union_all(covered), sheet.to_paper)


@dataclass(frozen=True)
class MarkWords:
    """What is written at a mark inside a piece: a text, or the mark's name. at : its first letter,
    mm of cloth."""

    text: str
    at: tuple[float, float]

    @property
    def box(self) -> BaseGeometry:
        """What it covers."""
        x, y = self.at
        wide, high = text_width(self.text, MARK_PT), MARK_PT * MM_PER_PT
        return shapely.box(x - 1.0, y - 1.0, x + wide + 1.0, y + high)


def mark_words(pieces: Sequence[PieceDrawing]) -> list[MarkWords]:
    """The words at all marks of these pieces that have any, and the letters of band marks."""
    found = []
    for piece in pieces:
        for notch in piece.notches:
            if notch.letter:
                inward = (NOTCH_MM + 2 * _BESIDE_MARK_MM) * np.array(notch.inward)
                x, y = np.array(notch.point) + inward - _LETTER_MIDDLE
                found.append(MarkWords(notch.letter, (float(x), float(y))))
        for mark in piece.inner_marks:
            if mark.name:
                x, y = mark.points[0]
                away = 0.0 if mark.kind is MarkKind.TEXT else _BESIDE_MARK_MM
                found.append(MarkWords(mark.name, (float(x) + away, float(y) + away)))
    return found


def _marks(label: Label) -> Iterator[BaseGeometry]:
    """What a label covers: its text, its arrow, its leader."""
    yield label.box
    if label.arrow:
        yield shapely.LineString([label.arrow.tail, label.arrow.head])
    if label.leader:
        yield shapely.LineString([label.leader, label.spot.centre])
