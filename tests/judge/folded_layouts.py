"""Random layouts on folded cloth that keep every rule, and ways to break one on purpose.

Everything is folded here by plain arithmetic of its own. The cloth is 1200 mm wide between the
selvages, and the second ply's point of (x, y) is written down for each spread.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely import Polygon
from shapely.affinity import translate
from shapely.ops import unary_union

from marker.cloth.fabric import Cloth
from marker.cloth.spread import Spread, Spreading, Tube
from marker.geometry.arrays import FloatArray
from marker.layout import Layout, Placement
from marker.pattern.piece import CutPiece
from tests.helpers import SIZE, cut_piece, layout
from tests.shapes import polygon

WIDTH, SELVAGE, CREASE, TWO_PLY = 1200.0, 20.0, 30.0, 700.0


@dataclass(frozen=True)
class Folding:
    """A spread of the tests' cloth. lanes : (low, high, y of the fold at its edge or None) of the
    upper ply. start : x of the upper ply. below : the place under (x, y) for a lane's fold."""

    spreading: Spreading
    cloth: Cloth
    lanes: tuple[tuple[float, float, float | None], ...]
    start: float
    below: Callable[[FloatArray, float | None], FloatArray]

    @property
    def one_ply_from(self) -> float:
        return TWO_PLY * (2 if self.spreading.ends_meet else 1)


def _over(points: FloatArray, fold: float | None) -> FloatArray:
    assert fold is not None
    return np.column_stack([points[:, 0], 2 * fold - points[:, 1]])


def _end_on_end(points: FloatArray, _: float | None) -> FloatArray:
    return np.column_stack([2 * TWO_PLY - points[:, 0], points[:, 1]])


def _turned(points: FloatArray, _: float | None) -> FloatArray:
    return np.column_stack([points[:, 0] + TWO_PLY, WIDTH - points[:, 1]])


_FLAT = Cloth("jersey", WIDTH + 2 * SELVAGE, selvage_mm=SELVAGE)
_TUBE = Cloth("jersey", WIDTH / 2, tube=Tube())
_CREASED = Cloth("jersey", WIDTH / 2, tube=Tube(CREASE))
FOLDINGS = (
    Folding(Spreading.FOLDED_LENGTHWISE, _FLAT, ((0, 600, 600),), 0.0, _over),
    # 1240 mm of cloth: a quarter of it, 310 mm, lies on the rest, its selvage 20 mm off the middle
    Folding(Spreading.DOUBLE_FOLD, _FLAT, ((290, 580, 290), (620, 910, 910)), 0.0, _over),
    Folding(Spreading.FOLDED_CROSSWISE, _FLAT, ((0, 1200, None),), TWO_PLY, _end_on_end),
    Folding(Spreading.CUT_AND_TURNED, _FLAT, ((0, 1200, None),), 0.0, _turned),
    Folding(Spreading.TUBE, _TUBE, ((0, 600, 600),), 0.0, _over),
    Folding(Spreading.TUBE, _CREASED, ((0, 285, 0), (315, 600, 600)), 0.0, _over),
)


@dataclass(frozen=True)
class FoldedCase:
    """A layout, the pieces it is judged against, and how its cloth is folded."""

    layout: Layout
    pieces: tuple[CutPiece, ...]
    folding: Folding


def folded_case(rng: np.random.Generator, folding: Folding) -> FoldedCase:
    """Boxes of 130 × 130 mm in every lane, each with a piece cut as a pair or with a spare. Where
    there is a fold, one piece on it; behind the two plies one piece in one ply."""
    pieces: list[CutPiece] = []
    wanted: list[Placement] = []
    spares: list[Placement] = []
    for low, high, fold in folding.lanes:
        bottom, top = (low + 140, high) if fold == low else (low, high - 140)
        for x, y in ((5.0, bottom + 1), (140.0, min(bottom + 3, top - 131)), (300.0, bottom)):
            outline = _star(rng)
            spare = bool(rng.random() < 0.4)
            name = f"piece {len(pieces)}"
            piece = cut_piece(name, outline, copies=1, mirrored_copies=0 if spare else 1)
            pieces.append(piece)
            seen = _laid(piece, np.array([folding.start + x, y]))
            under = _image(seen, folding, fold)
            wanted.append(seen)
            (spares if spare else wanted).append(under if spare else replace(under, copy=2))
        if fold is not None:
            pieces.append(_on_fold(f"on fold {len(pieces)}", rng))
            wanted.append(_laid(pieces[-1], np.array([folding.start + 450.0, fold])))
    single = cut_piece("single", _star(rng))
    pieces.append(single)
    wanted.append(_laid(single, np.array([folding.one_ply_from + 1.0, 40.0])))
    found = replace(layout(wanted, folding.cloth), spares=tuple(spares), spread=_spread(folding))
    return FoldedCase(found, tuple(pieces), folding)


def _spread(folding: Folding) -> Spread:
    return Spread(folding.spreading, TWO_PLY)


def _star(rng: np.random.Generator) -> FloatArray:
    """An outline unlike its mirror image in a box of 120 mm, its lower left corner at 0, 0."""
    angles = (np.arange(7) + rng.uniform(0.1, 0.8, 7)) * 2 * np.pi / 7
    radii = rng.uniform(25, 58, 7)
    points = np.column_stack([radii * np.cos(angles), radii * np.sin(angles)])
    return np.asarray(points - points.min(axis=0))


def _on_fold(name: str, rng: np.random.Generator) -> CutPiece:
    """A piece symmetric about y = 0, its fold line, up to 100 mm to either side."""
    x1, x2, y1, y2 = rng.uniform([10, 90, 40, 40], [60, 160, 100, 100]).tolist()
    ring = polygon((0, 0), (x1, -y1), (x2, -y2), (160, 0), (x2, y2), (x1, y1))
    return replace(cut_piece(name, ring), fold_line=polygon((0, 0), (160, 0)))


def _laid(piece: CutPiece, at: FloatArray) -> Placement:
    """The piece unturned, its own origin at `at`."""
    x, y = at.tolist()
    return Placement(piece.name, SIZE, 1, 1, 0.0, False, x, y, piece.outline + at)


def _image(seen: Placement, folding: Folding, fold: float | None) -> Placement:
    """What comes of the ply below: every point where it lies, the other hand."""
    outline = folding.below(seen.outline_mm, fold)
    origin = folding.below(np.array([[seen.x_mm, seen.y_mm]]), fold)[0]
    turn = 180.0 if folding.spreading is Spreading.FOLDED_CROSSWISE else 0.0
    return replace(
        seen, rotation_deg=turn, mirrored=True, x_mm=float(origin[0]), y_mm=float(origin[1]),
        outline_mm=outline,
    )  # fmt: skip


def covered_alike(case: FoldedCase, rng: np.random.Generator, points: int = 400) -> bool:
    """Whether random points of the upper ply and those below them are covered alike; points within
    0.05 mm of an edge are passed over. Slow, and knows nothing of pieces."""
    folding = case.folding
    shapes = [Polygon(p.outline_mm) for p in (*case.layout.placements, *case.layout.spares)]
    if folding.cloth.tube:
        shapes += [translate(shape, 0.0, turn) for shape in shapes for turn in (-WIDTH, WIDTH)]
    whole = unary_union(shapes)
    for low, high, fold in folding.lanes:
        seen = rng.uniform([folding.start, low], [folding.start + TWO_PLY, high], (points, 2))
        both = [shapely.points(seen), shapely.points(folding.below(seen, fold))]
        clear = np.min([shapely.distance(whole.boundary, each) for each in both], axis=0) > 0.05
        above, below = (np.asarray(shapely.contains(whole, each))[clear] for each in both)
        if (above != below).any():
            return False
    return True
