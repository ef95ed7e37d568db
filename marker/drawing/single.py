"""Pieces by themselves, one drawing for all copies: to be printed and pinned on, or ticked off."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from marker.cloth.buying import Purchase
from marker.cloth.fabric import Nap
from marker.drawing.scene import PieceDrawing, Scene, build_scene, piece_drawing
from marker.layout import CheckedLayout, Placement
from marker.pattern.piece import CutPiece


@dataclass(frozen=True)
class SinglePiece:
    """One piece in one size.

    drawing : unturned, grain along +x, its box starting at (0, 0), its number the first of its
        copies. Pieces on the fold are whole, as they are laid; the fold is drawn.
    copies : all of them, as laid.
    """

    drawing: PieceDrawing
    copies: tuple[PieceDrawing, ...]

    @property
    def mirrored(self) -> int:
        """How many of the copies are."""
        return sum(copy.mirrored for copy in self.copies)


def single_pieces(checked: CheckedLayout, scene: Scene) -> list[SinglePiece]:
    """Every piece of every size that is laid in `scene`, in the pattern's order."""
    nap = checked.layout.cloth.nap is not Nap.EITHER_WAY
    found = []
    for pattern in checked.cut_pieces:
        drawing = piece_drawing(_flat(pattern), pattern, nap, several=False)
        like = (drawing.name, drawing.size)
        copies = tuple(copy for copy in scene.pieces if (copy.name, copy.size) == like)
        if copies:
            piece = SinglePiece(drawing, copies)
            cut = f"cut {len(copies)}"
            cut += f" · {piece.mirrored} of them mirrored" if piece.mirrored else ""
            numbered = replace(drawing, number=copies[0].number, cut=cut)
            found.append(replace(piece, drawing=numbered))
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
