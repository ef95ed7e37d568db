"""Pieces by themselves, one drawing for all copies: to be printed and pinned on, or ticked off."""

from __future__ import annotations

from dataclasses import dataclass, replace

from marker.cloth.fabric import Nap
from marker.drawing.scene.layout_scene import Scene
from marker.drawing.scene.piece_drawing import PieceDrawing, piece_drawing
from marker.layout import CheckedLayout, Placement
from marker.pattern.piece import CutPiece
from marker.words import counted


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
        drawing = piece_drawing(unturned(pattern), pattern, nap, several=False)
        like = (drawing.name, drawing.size)
        laid = tuple(each for each in scene.pieces if (each.name, each.size) == like)
        copies = [
            place
            for place in checked.layout.placements
            if (place.piece, place.size) == (pattern.name, pattern.size)
        ]
        if copies:
            mirrored = sum(place.mirrored for place in copies)
            cut = cut_words(len(copies), mirrored)
            numbered = replace(drawing, number=laid[0].number, cut=cut)
            found.append(SinglePiece(numbered, laid, len(copies), mirrored))
    return found


def unturned(pattern: CutPiece) -> Placement:
    """Where a piece by itself is drawn: grain along +x, its box starting at (0, 0)."""
    return Placement(pattern.name, pattern.size, 1, 1, 0.0, False, 0.0, 0.0, pattern.outline)


def cut_words(count: int, mirrored: int) -> str:
    """'cut 1 pair', 'cut 3', 'cut 3 · 1 of them mirrored'."""
    if 2 * mirrored == count:
        return f"cut {counted(mirrored, 'pair')}"
    return f"cut {count}" + (f" · {mirrored} of them mirrored" if mirrored else "")
