"""Pieces by themselves, one drawing for all copies, as they are printed to be pinned on."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from marker.cloth.buying import Purchase
from marker.cloth.fabric import Nap
from marker.drawing.scene import PieceDrawing, Scene, build_scene, piece_drawing
from marker.layout import CheckedLayout, Placement
from marker.pattern.piece import CutPiece


def single_scenes(checked: CheckedLayout, purchase: Purchase, names: Sequence[str]) -> list[Scene]:
    """A scene for every size of each piece named, in the layout's order, grain along +x.

    Pieces on the fold are whole, as they are laid; the fold is drawn. Numbers are the layout's,
    the first of each piece.
    """
    whole = build_scene(checked, purchase)
    scenes = []
    for pattern in checked.cut_pieces:
        copies = [p for p in checked.layout.placements if (p.piece, p.size) == _key(pattern)]
        if pattern.name in names and copies:
            number = min(
                drawn.number
                for drawn in whole.pieces
                if (drawn.name, drawn.size) == (" ".join(pattern.name.split()), pattern.size)
            )
            scenes.append(_scene(whole, replace(_drawing(checked, pattern, copies), number=number)))
    return scenes


def _key(pattern: CutPiece) -> tuple[str, str]:
    return (pattern.name, pattern.size)


def _drawing(
    checked: CheckedLayout, pattern: CutPiece, copies: Sequence[Placement]
) -> PieceDrawing:
    flat = Placement(*_key(pattern), 1, 1, 0.0, False, 0.0, 0.0, pattern.outline)
    drawing = piece_drawing(flat, pattern, checked.layout.cloth.nap is not Nap.EITHER_WAY, False)
    mirrored = sum(place.mirrored for place in copies)
    cut = f"cut {len(copies)}" + (f" · {mirrored} of them mirrored" if mirrored else "")
    return replace(drawing, cut=cut)


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
