"""A piece made longer or wider, shorter or narrower, at a straight line across it.

The customary way is to cut the paper along the line and spread it, or to fold a tuck out of it.
Then the edges that are broken there are redrawn (common practice, no source). Here a zone around
the line is stretched or pressed evenly, so that no edge breaks. It reaches as far as the next
corner, dart or mark on either side, and no farther than it must: all beyond it is moved, not
changed.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
import shapely

from marker.geometry.arrays import FloatArray
from marker.geometry.outline import nearest_along, sharp_vertices
from marker.pattern.dividing import CutLine, Undivided
from marker.pattern.edge import Notch
from marker.pattern.fullness import Dart, TakenIn
from marker.pattern.piece import Piece
from marker.pattern.sewn_edges import ends_of, taken_in_marks
from marker.pattern.stitching import edge_line, notch_point
from marker.tolerances import SAME_POINT_MM, STRAIGHT_MM
from marker.units import cut_length

_WIDER = 3.0  # the zone, than what is put in or taken out, where it has room
_LEAST_MM = 40.0
_MOST_PRESSED = 0.8  # of the zone


@dataclass(frozen=True, eq=False)
class Resizing:
    """How points move: those beyond the zone by `by_mm`, those in it by their share.

    line : its `inward` side moves. low_mm, high_mm : the zone, from the line inward.
    """

    line: CutLine
    by_mm: float
    low_mm: float
    high_mm: float

    def moved(self, points: FloatArray) -> FloatArray:
        """Where points (n, 2) come to lie."""
        share = (self.line.depth(points) - self.low_mm) / (self.high_mm - self.low_mm)
        shift = self.by_mm * np.clip(share, 0.0, 1.0)
        return np.asarray(points + shift[:, np.newaxis] * self.line.inward)


def resizing(piece: Piece, line: CutLine, by_mm: float) -> Resizing:
    """How a piece is resized at a line; below 0 to take out. Raises Undivided where the line misses
    it, or has no room between what must keep its shape."""
    depths = line.depth(piece.outline)
    if depths.min() > -SAME_POINT_MM or depths.max() < SAME_POINT_MM:
        raise Undivided("the line misses the piece", "Move it onto the piece")
    kept = _kept_points(piece, line)
    below, above = kept[kept <= SAME_POINT_MM], kept[kept > SAME_POINT_MM]
    room = (
        min(float(above.min()), float(depths.max())),
        max(float(below.max()), float(depths.min())),
    )
    wanted = max(_WIDER * abs(by_mm), _LEAST_MM) / 2
    high, low = min(wanted, room[0]), max(-wanted, room[1])
    if by_mm < 0 and high - low < wanted * 2:  # what one side lacks, the other may give
        high, low = min(low + 2 * wanted, room[0]), max(high - 2 * wanted, room[1])
    if high - low < SAME_POINT_MM or -by_mm > _MOST_PRESSED * (high - low):
        raise Undivided(
            f"between the next corners, darts and marks beside the line there are "
            f"{cut_length(high - low)}, too little to change by {cut_length(abs(by_mm))}",
            "Move the line to where the edges run on, or change less",
        )
    return Resizing(line, by_mm, low, high)


def resized(piece: Piece, change: Resizing) -> Piece:
    """The piece so changed; raises Undivided where its fold would bend or its outline cross."""
    outline = change.moved(piece.outline)
    if not shapely.Polygon(outline).is_valid:
        raise Undivided("the outline would cross itself", "Change less, or turn the line")
    new = replace(
        piece,
        changed=True,
        outline=outline,
        notches=(),
        fullness=(),
        cutouts=tuple(map(change.moved, piece.cutouts)),
        inner_marks=tuple(mark.mapped(change.moved) for mark in piece.inner_marks),
        corners=change.moved(piece.corners) if len(piece.corners) else piece.corners,
    )
    _check_fold(new)
    return replace(
        new,
        notches=tuple(_moved_notch(piece, new, notch, change) for notch in piece.notches),
        fullness=tuple(_moved_taken(piece, new, taken, change) for taken in piece.fullness),
    )


def _kept_points(piece: Piece, line: CutLine) -> FloatArray:
    """Depths of all that must keep its shape: ends of edges and of the fold, corners, what is taken
    in, marks and cut-outs."""
    ends = [end for edge in piece.edges.values() for end in (edge.start, edge.end)]
    if piece.fold:
        ends += [piece.fold.start, piece.fold.end]
    found = [line.depth(piece.outline[[*ends, *sharp_vertices(piece.outline).tolist()]])]
    things = [(str(mark.kind), mark.points) for mark in piece.inner_marks]
    things += [("cut-out", hole) for hole in piece.cutouts]
    for taken in piece.fullness:
        marks = taken_in_marks(replace(piece, fullness=(taken,)))
        points = np.vstack([*ends_of(piece, taken), *(mark.points for mark in marks)])
        things.append((str(taken).removeprefix("the "), points))
    for what, points in things:
        depths = line.depth(points)
        if depths.min() < -SAME_POINT_MM and depths.max() > SAME_POINT_MM:
            raise Undivided(
                f"the line cuts through the {what}", "Move the line past it, or take it out"
            )
        found.append(depths)
    return np.concatenate([*found, [float("-inf"), float("inf")]])


def _check_fold(piece: Piece) -> None:
    if piece.fold is None:
        return
    fold, count = piece.fold, len(piece.outline)
    steps = (fold.end - fold.start) % count
    line = piece.outline[(fold.start + np.arange(steps + 1)) % count]
    if len(line) < 3:
        return
    along = (line[-1] - line[0]) / np.hypot(*(line[-1] - line[0]))
    off = np.abs((line - line[0]) @ np.array([-along[1], along[0]]))
    if off.max() > STRAIGHT_MM:
        raise Undivided(
            "the fold would no longer be straight", "Let the line run square to it, or along it"
        )


def _moved_notch(old: Piece, new: Piece, notch: Notch, change: Resizing) -> Notch:
    point = change.moved(notch_point(old, notch)[np.newaxis])[0]
    return replace(notch, at_mm=nearest_along(edge_line(new, notch.edge), point)[0])


def _moved_taken(old: Piece, new: Piece, taken: TakenIn, change: Resizing) -> TakenIn:
    line = edge_line(new, taken.edge)
    ends = change.moved(np.array(ends_of(old, taken)))
    along = sorted(nearest_along(line, end)[0] for end in ends)
    moved = replace(taken, start_mm=along[0], end_mm=along[1])
    if isinstance(moved, Dart) and moved.tip is not None:
        return replace(moved, tip=change.moved(moved.tip[np.newaxis])[0])
    return moved
