"""Full-size pages of a layout or of single pieces: what is printed, and on which pages."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from marker.drawing.diagram.labels import Label, place_labels
from marker.drawing.diagram.sheets import Sheet
from marker.drawing.diagram.wording import FULL_SIZE, PROJECTED
from marker.drawing.pages.paper import Paper
from marker.drawing.pages.tiling import OVERLAP_MM, Tile, Tiling, tiling
from marker.drawing.scene.layout_scene import Scene
from marker.drawing.scene.piece_drawing import PieceDrawing, off_fold
from marker.drawing.scene.spread_cloth import Area, Ground
from marker.geometry.arrays import FloatArray

NOTCH_MM = 5.0


@dataclass(frozen=True)
class Stroke:
    """One kind of line, all over the cloth.

    kind : 'cut', 'stitching', 'fold', 'notch', or 'cloth' for its own edges.
    """

    kind: str
    lines: tuple[BaseGeometry, ...]

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
    """All lines, those of the cloth first, cut lines last."""
    return (
        Stroke("cloth", tuple(_cloth_edges(scene))),
        Stroke(
            "stitching",
            tuple(run for p in scene.pieces if len(p.stitching) for run in _runs(p.stitching, p)),
        ),
        Stroke(
            "fold",
            tuple(shapely.LineString(p.fold_line) for p in scene.pieces if p.fold_line is not None),
        ),
        Stroke(
            "notch",
            tuple(shapely.LineString(t) for p in scene.pieces for t in p.ticks(NOTCH_MM)),
        ),
        Stroke(
            "cut",
            tuple(
                run
                for p in scene.pieces
                for ring in (p.outline, *p.cutouts)
                for run in _runs(ring, p)
            ),
        ),
    )


def _cloth_edges(scene: Scene) -> Iterator[BaseGeometry]:
    """The cloth's outer edges, and inside them the usable width from the start to the end line."""
    grounds = (Ground.CLOTH, Ground.TWO_PLIES)
    cloth: Sequence[Area] = [area for area in scene.areas if area.ground in grounds]
    for area in cloth:
        yield shapely.box(*area.low, *area.high).exterior
        if (scene.end_mm, scene.selvage_mm) != (0.0, 0.0):
            yield shapely.box(0.0, 0.0, scene.length_mm, scene.width_mm).exterior


def _runs(ring: FloatArray, piece: PieceDrawing) -> list[BaseGeometry]:
    return [shapely.LineString(run) for run in off_fold(ring, piece.fold_y)]


COVER_MM = (186.0, 255.0)  # the test squares with the page map and the list of pieces
_COVER_APART = 12.0
PROJECTED_LARGER = 4  # words and arrows for a projector are so many times larger
_AROUND = 12.0  # shown around the pieces at least
_TEXT_OFF_JOIN = 1.0


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
            piece for piece in self.scene.pieces if shapely.Polygon(piece.outline).intersects(core)
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
    labels = place_labels(scene, sheet, lettering, _taken(tiles, sheet))
    return FullSize(title, scene, paper, tiles, sheet, labels, strokes(scene))


def _extent(scene: Scene, paper: Paper) -> tuple[FloatArray, FloatArray]:
    """Low and high corner of the cloth to be shown, the cover's place included."""
    ends, edges = max(scene.end_mm, _AROUND), max(scene.selvage_mm, _AROUND)
    low = np.array([-ends, -edges])
    high = np.array([scene.length_mm + ends, scene.width_mm + edges])
    if not paper.own_cover:
        low[0] -= COVER_MM[0] + _COVER_APART
        high[1] = max(high[1], low[1] + COVER_MM[1])
    return low, high


def _taken(tiles: Tiling, sheet: Sheet) -> BaseGeometry:
    """The strips along which pages overlap, and the pages' names, on the paper of `sheet`."""
    if len(tiles.tiles) == 1:
        return shapely.Polygon()
    names = [
        shapely.box(*sheet.to_paper(np.array(tiles.name_place(tile))).ravel())
        for tile in tiles.tiles
    ]
    lines = [
        shapely.LineString(sheet.to_paper(np.array([join.start, join.stop])))
        for tile in tiles.tiles
        for _, join in tiles.joins(tile)
    ]
    half = (OVERLAP_MM / 2 + _TEXT_OFF_JOIN) / sheet.scale
    strips = [line.buffer(half, cap_style="flat") for line in lines]
    return shapely.unary_union([*strips, *names])


def _marks(label: Label) -> Iterator[BaseGeometry]:
    """What a label covers: its text, its arrow, its leader."""
    yield label.box
    if label.arrow:
        yield shapely.LineString([label.arrow.tail, label.arrow.head])
    if label.leader:
        yield shapely.LineString([label.leader, label.spot.centre])
