"""Where matches and a border print meet the pieces, and which hands are sewn together."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np

from marker.cloth.repeat import Side
from marker.geometry.arrays import FloatArray
from marker.geometry.polygons import reflect
from marker.pattern.edge import Notch
from marker.pattern.piece import CutPiece, Piece
from marker.pattern.repeats.match import CannotMatch, Match, MatchPlace, MatchPoint
from marker.pattern.seams.walk import drawn_mm
from marker.pattern.stitching import edge_line, notch_point, square_out
from marker.tolerances import ON_FOLD_MM, STRAIGHT_MM
from marker.units import cut_length, fine_length

_CROSSWISE = 0.2
"""A seam whose outward direction has no larger part across the grain runs crosswise."""


def match_points(
    pieces: Iterable[Piece], matches: Sequence[Match]
) -> dict[str, tuple[MatchPoint, ...]]:
    """Piece -> its points in the frame it is drawn in, both halves of what lies on the fold.

    Raises CannotBeDone for a place beyond its edge.
    """
    by_name = {piece.name: piece for piece in pieces}
    found: dict[str, list[MatchPoint]] = {}
    for match in matches:
        sides = 1, (-1 if _meets_the_other_hand(by_name, match) else 1)
        for number, place in enumerate(match.places):
            piece = by_name[place.place.edge.piece]
            point = point_of(piece, place)
            found.setdefault(piece.name, []).extend(
                MatchPoint(match, number, each, side)
                for each, side in _both_halves(piece, point, sides[number])
            )
    return {name: tuple(points) for name, points in found.items()}


def point_of(piece: Piece, place: MatchPlace) -> FloatArray:
    """The place, (2,) mm as drawn; raises CannotBeDone beyond its edge."""
    return _point_and_out(piece, place)[0]


def _point_and_out(piece: Piece, place: MatchPlace) -> tuple[FloatArray, FloatArray]:
    """The place, (2,) mm as drawn, and the direction square out of the piece there, (2,)."""
    notch = Notch(place.place.edge.edge, drawn_mm(piece, place.place))
    out = square_out(piece, notch)
    return notch_point(piece, notch) - place.inside_mm * out, out


def _both_halves(piece: Piece, point: FloatArray, side: int) -> list[tuple[FloatArray, int]]:
    if piece.fold is None:
        return [(point, side)]
    fold = piece.outline[[piece.fold.start, piece.fold.end]]
    other = reflect(point[np.newaxis], fold)[0]
    if np.hypot(*(other - point)) < ON_FOLD_MM:
        return [(point, 0)]
    return [(point, side), (other, -side)]


def _meets_the_other_hand(by_name: dict[str, Piece], match: Match) -> bool:
    """Whether what is drawn of the first place is sewn to the other hand or half of the second.

    Two pieces that are sewn together lie side by side on the body, right sides out and their grain
    arrows the same way. Where the seam is the left edge of one, it is the right edge of the other.
    Two left edges as drawn thus meet only if one of the two is turned over. Nothing of the kind is
    seen at a crosswise seam, or where one piece lies on the other. There what is drawn meets what
    is drawn, as it must where neither has another hand.
    """
    if len(match.places) < 2 or any(place.inside_mm for place in match.places):
        return False
    pieces = [by_name[place.place.edge.piece] for place in match.places]
    if not any(piece.pair or piece.fold for piece in pieces):
        return False
    lateral = [_out_across(*each) for each in zip(pieces, match.places, strict=True)]
    return min(map(abs, lateral)) > _CROSSWISE and lateral[0] * lateral[1] > 0


def _out_across(piece: Piece, place: MatchPlace) -> float:
    """The part across the grain, positive to its left, of the direction out of the piece."""
    _, out = _point_and_out(piece, place)
    grain = np.radians(piece.grain_deg)
    return float(out @ np.array([-np.sin(grain), np.cos(grain)]))


def border_edge(piece: Piece) -> FloatArray | None:
    """Both ends of the stitching line of the border edge, (2, 2) as drawn, with the piece on the
    left of the way from the first to the second. None if the piece has none.

    Raises CannotMatch if it is not straight, both halves of it if it ends on the fold.
    """
    if not piece.border:
        return None
    line = edge_line(piece, piece.border)
    line = line[::-1] if piece.drawn_clockwise else line
    along = (line[-1] - line[0]) / np.hypot(*(line[-1] - line[0]))
    left = np.array([-along[1], along[0]])
    points = line
    if piece.fold and {piece.edges[piece.border].start, piece.edges[piece.border].end} & {
        piece.fold.start,
        piece.fold.end,
    }:
        fold = piece.outline[[piece.fold.start, piece.fold.end]]
        points = np.concatenate([line, reflect(line, fold)])
    bend = float(np.ptp((points - line[0]) @ left))
    if bend > STRAIGHT_MM:
        raise CannotMatch(
            f"piece {piece.name!r}: its edge {piece.border!r} cannot lie on a border print, for it "
            f"bends by {cut_length(bend)}",
            f"Draw it straight to {fine_length(STRAIGHT_MM)}, on the fold square to it, or name "
            f"another edge",
            piece=piece.name,
        )
    return line[[0, -1]]


def border_turn(piece: CutPiece, mirrored: bool, side: Side) -> float:
    """Degrees in [0, 360) by which a copy is turned so that its border edge lies along the cloth
    with the piece on the inner side of it."""
    assert piece.border is not None
    dx, dy = piece.border[1] - piece.border[0]
    # reflected, the piece lies on the left of the way back: (-dx, dy)
    heading = float(np.degrees(np.arctan2(dy, -dx if mirrored else dx)))
    wanted = 0.0 if side is Side.NEAR else 180.0
    return float(np.round(wanted - heading, 9) % 360)
