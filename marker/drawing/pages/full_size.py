"""Full-size pages of a layout or of single pieces: what is printed, and on which pages."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from itertools import combinations

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from marker.canvas.fonts import MM_PER_PT, text_width
from marker.drawing.diagram.labels import Label, place_labels
from marker.drawing.diagram.sheets import Sheet
from marker.drawing.diagram.wording import FULL_SIZE, PROJECTED
from marker.drawing.pages.full_size_lines import NOTCH_MM, Stroke, strokes
from marker.drawing.pages.paper import Paper
from marker.drawing.pages.tiling import OVERLAP_MM, Tile, Tiling, tiling
from marker.drawing.scene.layout_scene import Scene
from marker.drawing.scene.piece_drawing import PieceDrawing
from marker.geometry.arrays import FloatArray
from marker.pattern.inner_marks import InnerMark, MarkKind

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
        found += _names(piece)
    return found


def _names(piece: PieceDrawing) -> list[MarkWords]:
    """The name of each mark inside, with its size where it lies elsewhere in each size."""
    own = {k: _named(mark, mark.name) for k, mark in enumerate(piece.inner_marks) if mark.name}
    sized: dict[int, list[MarkWords]] = {}
    for each in piece.in_all_sizes if piece.others else ():
        for k, mark in enumerate(each.inner_marks):
            if mark.name and mark.kind is not MarkKind.TEXT:
                sized.setdefault(k, []).append(_named(mark, f"{mark.name} {each.size}"))
    apart = {k: words for k, words in sized.items() if not _overlap(words)}
    said = [each for k, plain in own.items() for each in apart.get(k, [plain])]
    return list(own.values()) if _overlap(said) else said


def _overlap(words: Sequence[MarkWords]) -> bool:
    return any(a.intersects(b) for a, b in combinations([each.box for each in words], 2))


def _named(mark: InnerMark, text: str) -> MarkWords:
    x, y = mark.points[0]
    away = 0.0 if mark.kind is MarkKind.TEXT else _BESIDE_MARK_MM
    return MarkWords(text, (float(x) + away, float(y) + away))


def _marks(label: Label) -> Iterator[BaseGeometry]:
    """What a label covers: its text, its arrow, its leader."""
    yield label.box
    if label.arrow:
        yield shapely.LineString([label.arrow.tail, label.arrow.head])
    if label.leader:
        yield shapely.LineString([label.leader, label.spot.centre])
