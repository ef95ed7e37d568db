"""Pieces by themselves, one drawing for all copies: to be printed and pinned on, or ticked off."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from marker.cloth.buying import Purchase
from marker.cloth.fabric import Nap
from marker.drawing.scene.layout_scene import Scene, build_scene
from marker.drawing.scene.piece_drawing import PieceDrawing, piece_drawing
from marker.layout import CheckedLayout, Placement
from marker.pattern.piece import CutPiece


@dataclass(frozen=True)
class SinglePiece:
    """One piece in one size.

    drawing : unturned, grain along +x, its box starting at (0, 0), its number the first of its
        copies. Pieces on the fold are whole, as they are laid; the fold is drawn.
    laid : its outlines on the table; two copies may come of one.
    count, mirrored : copies to be cut, and how many of them are.
    """

    drawing: PieceDrawing
    laid: tuple[PieceDrawing, ...]
    count: int
    mirrored: int


def single_pieces(checked: CheckedLayout, scene: Scene) -> list[SinglePiece]:
    """Every piece of every size that is laid in `scene`, in the pattern's order."""
    nap = checked.layout.cloth.nap is not Nap.EITHER_WAY
    found = []
    for pattern in checked.cut_pieces:
        drawing = piece_drawing(_flat(pattern), pattern, nap, several=False)
        like = (drawing.name, drawing.size)
        laid = tuple(each for each in scene.pieces if (each.name, each.size) == like)
        copies = [
            place
            for place in checked.layout.placements
            if (place.piece, place.size) == (pattern.name, pattern.size)
        ]
        if copies:
            mirrored = sum(place.mirrored for place in copies)
            cut = f"cut {len(copies)}" + (f" · {mirrored} of them mirrored" if mirrored else "")
            numbered = replace(drawing, number=laid[0].number, cut=cut)
            found.append(SinglePiece(numbered, laid, len(copies), mirrored))
    return found


def single_scenes(checked: CheckedLayout, purchase: Purchase, names: Sequence[str]) -> list[Scene]:
    """A scene for every size of each piece named."""
    whole = build_scene(checked, purchase)
    named = {" ".join(name.split()) for name in names}
    pieces = [single.drawing for single in single_pieces(checked, whole)]
    return [_scene(whole, piece) for piece in pieces if piece.name in named]


def _flat(pattern: CutPiece) -> Placement:
    return Placement(pattern.name, pattern.size, 1, 1, 0.0, False, 0.0, 0.0, pattern.outline)


def _scene(whole: Scene, piece: PieceDrawing) -> Scene:
    length, width = piece.outline.max(axis=0) - piece.outline.min(axis=0)
    return replace(
        whole,
        length_mm=float(length),
        width_mm=float(width),
        end_mm=0.0,
        selvage_mm=0.0,
        areas=(),
        pieces=(piece,),
    )
