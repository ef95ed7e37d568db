"""Random layouts that keep every rule, and ways to break one rule on purpose."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from shapely import Polygon

from marker.cloth.fabric import Cloth, Nap
from marker.geometry.arrays import FloatArray
from marker.layout import Layout, Placement
from marker.pattern.piece import CutPiece
from tests.helpers import SIZE, cloth, cut_piece, layout, place
from tests.shapes import CAST

SPOILS = ("overlap", "off the cloth", "against the nap", "missing copy", "wrong hand")
SPOILED_BY_MM = 0.2
_TURNS = ((0.0,), (0.0, 180.0), (0.0, 90.0, 180.0, 270.0))


@dataclass(frozen=True)
class Case:
    """A layout and what it is judged against."""

    layout: Layout
    pieces: tuple[CutPiece, ...]
    garments: tuple[str, ...]


def sound_case(rng: np.random.Generator, nap: Nap | None = None, gap: float = 0.0) -> Case:
    """Rows of pieces slid along the cloth until they touch; the rows' boxes touch too.

    With a gap, the pieces' boxes keep it instead. A nap given can be broken: every piece may
    turn round.
    """
    pieces = tuple(_random_piece(f"piece {k}", rng, nap) for k in range(rng.integers(2, 5)))
    garments = (SIZE,) * int(rng.integers(1, 4))
    chosen = nap or list(Nap)[rng.integers(3)]
    placements, height = _rows(_turned_copies(pieces, len(garments), chosen, rng), gap, rng)
    slack = float(rng.choice([0.0, 25.0]))
    return Case(layout(placements, cloth(height + slack, chosen, gap)), pieces, garments)


def _random_piece(name: str, rng: np.random.Generator, nap: Nap | None) -> CutPiece:
    """One of the cast or a star-shaped polygon, 40 to 400 mm long."""
    if rng.random() < 0.6:
        shape = list(CAST.values())[rng.integers(len(CAST))]
    else:
        corners = int(rng.integers(5, 15))
        angles = (np.arange(corners) + rng.uniform(0, 0.9, corners)) * 2 * np.pi / corners
        radii = rng.uniform(2, 5, corners)
        shape = np.column_stack((radii * np.cos(angles), radii * np.sin(angles)))
    return cut_piece(
        name,
        shape * rng.uniform(4, 40),
        turns=(0.0, 180.0) if nap else _TURNS[rng.integers(3)],
        grain_tolerance_deg=float(rng.choice([0.0, 2.0])),
        copies=int(rng.integers(1, 3)),
        mirrored_copies=int(rng.integers(0, 3)),
    )


def _turned_copies(
    pieces: Sequence[CutPiece], garments: int, nap: Nap, rng: np.random.Generator
) -> list[Placement]:
    """Every copy of every garment in random order, turned as grain and nap allow, unplaced."""
    copies = []
    for garment in range(1, garments + 1):
        backward = nap is Nap.ONE_WAY_PER_GARMENT and all(180.0 in p.turns for p in pieces)
        backward = backward and bool(rng.random() < 0.5)
        for piece in pieces:
            turns = [t for t in piece.turns if nap is Nap.EITHER_WAY or (t >= 180) == backward]
            for copy in range(piece.copies + piece.mirrored_copies):
                tilt = piece.grain_tolerance_deg * rng.uniform(-1, 1)
                laid = place(
                    piece,
                    0,
                    0,
                    rotation_deg=turns[rng.integers(len(turns))] + tilt,
                    mirrored=copy >= piece.copies,
                    garment=garment,
                    copy=copy + 1,
                )
                copies.append(laid)
    return [copies[k] for k in rng.permutation(len(copies))]


def _rows(
    copies: Sequence[Placement], gap: float, rng: np.random.Generator
) -> tuple[list[Placement], float]:
    """Placements in rows, and the height of all rows."""
    placements: list[Placement] = []
    row: list[Placement] = []
    y = top = 0.0
    for unplaced in copies:
        if row and rng.random() < 0.25:
            row, y = [], top + gap
        laid = moved(unplaced, 0.0, y - unplaced.outline_mm[:, 1].min())
        laid = moved(laid, _slide([item.outline_mm for item in row], laid.outline_mm, gap), 0.0)
        row.append(laid)
        placements.append(laid)
        top = max(top, float(laid.outline_mm[:, 1].max()))
    return placements, top


def _slide(row: Sequence[FloatArray], outline: FloatArray, gap: float) -> float:
    """Move along x that brings an outline into touch with the row, or its box to the gap."""
    to_end = -float(outline[:, 0].min())
    if gap and row:
        return max(float(done[:, 0].max()) for done in row) + gap + to_end
    return max([to_end, *(_touch(done, outline) for done in row)])


def _touch(done: FloatArray, outline: FloatArray) -> float:
    """Least move along x that brings an outline beside the one done; looks at every corner's y."""
    ys = np.concatenate((done[:, 1], outline[:, 1]))
    moves = _right(done, ys) + _right(outline * [-1, 1], ys)
    return float(moves.max())


def _right(outline: FloatArray, ys: FloatArray) -> FloatArray:
    """Rightmost x of an outline on the horizontal line at each y, -inf where it misses."""
    y = ys[:, None]
    (x0, y0), (x1, y1) = outline.T, np.roll(outline, -1, axis=0).T
    met = (np.minimum(y0, y1) <= y) & (y <= np.maximum(y0, y1)) & (y0 != y1)
    slope = (x1 - x0) / np.where(y0 == y1, 1, y1 - y0)
    rightmost: FloatArray = np.where(met, x0 + slope * (y - y0), -np.inf).max(axis=1)
    return rightmost


def moved(placement: Placement, dx: float, dy: float) -> Placement:
    """The placement moved by (dx, dy) mm."""
    return replace(
        placement,
        x_mm=placement.x_mm + dx,
        y_mm=placement.y_mm + dy,
        outline_mm=placement.outline_mm + np.array([dx, dy]),
    )


def spoiled(case: Case, spoil: str, rng: np.random.Generator) -> Case:
    """The case with one rule broken, its claimed length kept true."""
    placements, on = list(case.layout.placements), case.layout.cloth
    k = int(rng.integers(len(placements)))
    if spoil == "overlap":
        k = best_push(placements)
        placements[k] = moved(placements[k], -SPOILED_BY_MM, 0)
    elif spoil == "off the cloth":
        placements, on = _off_cloth(placements, on, rng)
    elif spoil == "missing copy":
        del placements[k]
    else:
        nap = spoil == "against the nap"
        placements[k] = _again(placements[k], case.pieces, 180.0 * nap, not nap)
    return replace(case, layout=layout(placements, on))


def best_push(placements: Sequence[Placement]) -> int:
    """The piece that laps its neighbours most when pushed to the starting end, not over it."""

    def lapped(k: int) -> float:
        pushed = Polygon(moved(placements[k], -SPOILED_BY_MM, 0).outline_mm)
        others = (Polygon(p.outline_mm) for j, p in enumerate(placements) if j != k)
        return float(sum(pushed.intersection(other).area for other in others))

    inner = [k for k, p in enumerate(placements) if p.outline_mm[:, 0].min() >= SPOILED_BY_MM]
    return max(inner, key=lapped)


def _off_cloth(
    placements: list[Placement], on: Cloth, rng: np.random.Generator
) -> tuple[list[Placement], Cloth]:
    """Everything moved over one edge of the cloth, so that nothing else changes."""
    side = rng.integers(3)
    if side == 0:
        return [moved(p, -SPOILED_BY_MM, 0) for p in placements], on
    if side == 1:
        return [moved(p, 0, -SPOILED_BY_MM) for p in placements], on
    top = max(float(p.outline_mm[:, 1].max()) for p in placements)
    return placements, replace(on, width_mm=top - SPOILED_BY_MM)


def _again(
    placement: Placement, pieces: Sequence[CutPiece], turn_deg: float, flip: bool
) -> Placement:
    """The same copy in the same corner, turned further or in its other hand."""
    piece = next(p for p in pieces if p.name == placement.piece)
    x, y = placement.outline_mm.min(axis=0)
    return place(
        piece,
        x,
        y,
        rotation_deg=placement.rotation_deg + turn_deg,
        mirrored=placement.mirrored != flip,
        garment=placement.garment,
        copy=placement.copy,
    )
