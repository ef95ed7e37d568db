"""From the stitching line to the cut line and back: what each edge of a piece is given."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from marker.errors import CannotBeDone
from marker.geometry.arrays import FloatArray, IntArray
from marker.geometry.inset import CollapsedError, Front, directions, moved
from marker.geometry.outline import chords, stretch_points
from marker.pattern.corners import Extra, cut_off, ended, left, mitred
from marker.pattern.edge import Corner, Edge, Hem, HemKind, Stretch
from marker.pattern.piece import Line, Piece
from marker.units import cut_length


@dataclass(frozen=True)
class Ring:
    """An outline made from a drawn one by moving its edges.

    points : (m, 2) mm, closed, walked as the drawn outline; points may repeat.
    starts : (n,), where in `points` the edge from each vertex drawn begins; it ends at the next.
    """

    points: FloatArray
    starts: IntArray

    @classmethod
    def drawn(cls, outline: FloatArray) -> Ring:
        """The drawn outline itself."""
        return cls(outline, np.arange(len(outline)))

    def ends(self, stretch: Stretch) -> Stretch:
        """A stretch of the drawn outline as a stretch of `points`."""
        last = self.starts[stretch.end - 1]  # the edge that ends the stretch
        return Stretch(int(self.starts[stretch.start]), int(last + 1) % len(self.points))

    def line(self, stretch: Stretch) -> FloatArray:
        """A stretch of the drawn outline, (k, 2)."""
        moved_to = self.ends(stretch)
        return stretch_points(self.points, moved_to.start, moved_to.end)


def allowances(piece: Piece) -> FloatArray:
    """What is added beyond the edge from each vertex drawn, (n,) mm; nothing on the fold."""
    count = len(piece.outline)
    found = np.full(count, piece.allowance_mm)
    for edge in piece.edges.values():
        wanted = edge.hem.allowance_mm if edge.hem else edge.allowance_mm
        if wanted is not None:
            found[chords(edge.start, edge.end, count)] = wanted
    if piece.fold:
        found[chords(piece.fold.start, piece.fold.end, count)] = 0.0
    return found


def stitching_ring(piece: Piece) -> Ring:
    """The outline along which the piece is sewn.

    Raises CannotBeDone when nothing, or no single outline, is left inside the allowances.
    """
    distances = allowances(piece)
    if piece.line is Line.STITCHING or not distances.any():
        return Ring.drawn(piece.outline)
    try:
        return _ring(piece, distances)
    except CollapsedError:
        raise CannotBeDone(
            f"piece {piece.name!r}: no stitching line fits {cut_length(distances.max())} inside "
            "its "
            f"cut line, the piece is narrower than its allowances somewhere. Lower `allowance`, or "
            f'say line = "stitching line" if that is what was drawn.'
        ) from None


def cut_ring(piece: Piece) -> Ring:
    """The outline along which the piece, or the half drawn of it, is cut.

    Raises CannotBeDone when allowances overlap.
    """
    distances = _beyond_drawn(piece)
    if not distances.any():
        return Ring.drawn(piece.outline)
    try:
        return _ring(piece, -distances)
    except CollapsedError:
        raise CannotBeDone(
            f"piece {piece.name!r}: its seam allowances of {cut_length(distances.max())} overlap "
            f"across a gap in its outline. Lower `allowance` there, or widen the gap."
        ) from None


def _beyond_drawn(piece: Piece) -> FloatArray:
    """What the cut line adds beyond the edge from each vertex drawn, (n,) mm."""
    drawn_as_cut = piece.line is Line.CUT
    found = np.zeros(len(piece.outline)) if drawn_as_cut else allowances(piece)
    if piece.fold and piece.fold_seam_mm is not None:
        found[chords(piece.fold.start, piece.fold.end, len(found))] = piece.fold_seam_mm
    return found


def _ring(piece: Piece, distances: FloatArray) -> Ring:
    """The drawn outline with each edge moved to its left, and the corners between them."""
    outline, units = piece.outline, directions(piece.outline)
    cornered = _cornered(piece, units, distances)
    starts: list[int] = []
    rows: list[tuple[FloatArray, FloatArray, float]] = []
    for vertex, point in enumerate(outline):
        if vertex in cornered:
            extras = _corner(piece, vertex, units, distances)
            rows += [(point, extra.unit, extra.distance) for extra in extras]
        starts.append(len(rows))
        rows.append((point, units[vertex], float(distances[vertex])))
    front = Front(*(np.array(column) for column in zip(*rows, strict=True)))
    return Ring(moved(front), np.array(starts))


def _cornered(piece: Piece, units: FloatArray, distances: FloatArray) -> set[int]:
    """Vertices that may need more than a mitre: ends of edges, steps, and acute corners."""
    before = np.roll(units, 1, axis=0)
    steps = distances != np.roll(distances, 1)
    acute = (before * units).sum(axis=1) < 0
    ends = {vertex for edge in piece.edges.values() for vertex in (edge.start, edge.end)}
    return ends | {int(vertex) for vertex in np.flatnonzero(steps | acute)}


def _corner(piece: Piece, vertex: int, units: FloatArray, distances: FloatArray) -> list[Extra]:
    """What stands between the edges that meet at a vertex."""
    before, after = units[vertex - 1], units[vertex]
    d_before, d_after = float(distances[vertex - 1]), float(distances[vertex])
    growing = piece.line is Line.STITCHING
    shaped = _shaped_edge(piece, vertex) if growing else None
    if shaped is not None:
        edge, begins = shaped
        hem = None if _corner_of(edge) is Corner.SQUARE else _folded_back(edge, piece.allowance_mm)
        side = _away(piece.outline, vertex, units, begins, hem)
        own, neighbour = (after, d_before) if begins else (before, d_after)
        extras = ended(own, side, -neighbour, hem, begins)
        if extras is not None:
            return extras
    if vertex in _fold_ends(piece.opened_along):
        # both halves meet on the fold at any angle, there is no allowance to step to
        return cut_off(before, after, d_before, d_after)
    return mitred(before, after, d_before, d_after)


def _fold_ends(fold: Stretch | None) -> tuple[int, ...]:
    return (fold.start, fold.end) if fold else ()


def _shaped_edge(piece: Piece, vertex: int) -> tuple[Edge, bool] | None:
    """The edge whose allowance ends square or mirrored at a vertex, and whether it begins there.

    Mirrored comes before square; two mirrored, such as a hem beside a hem, are mitred; so is the
    fold.
    """
    if vertex in _fold_ends(piece.fold):
        return None
    meeting = [(edge, False) for edge in piece.edges.values() if edge.end == vertex]
    meeting += [(edge, True) for edge in piece.edges.values() if edge.start == vertex]
    mirrored = [end for end in meeting if _corner_of(end[0]) is Corner.MIRRORED]
    square = [end for end in meeting if _corner_of(end[0]) is Corner.SQUARE]
    if mirrored:
        return mirrored[0] if len({begins for _, begins in mirrored}) == 1 else None
    return square[0] if square else None


def _corner_of(edge: Edge) -> Corner:
    return edge.corner or (Corner.MIRRORED if edge.hem else Corner.MITRED)


def _folded_back(edge: Edge, otherwise_mm: float) -> Hem:
    """The edge's hem; an allowance that is folded back without one is a hem turned once."""
    plain = otherwise_mm if edge.allowance_mm is None else edge.allowance_mm
    return edge.hem or Hem(HemKind.TURNED_ONCE, plain, 0.0)


def _away(
    outline: FloatArray, vertex: int, units: FloatArray, begins: bool, hem: Hem | None
) -> FloatArray:
    """Direction of the neighbour away from a vertex; beside a hem, up to where that folds back."""
    near: FloatArray = -units[vertex - 1] if begins else units[vertex]
    if hem is None:
        return near
    along = units[vertex] if begins else units[vertex - 1]
    step, inward = (-1 if begins else 1), left(along)
    count = len(outline)
    last = outline[vertex]
    for number in range(1, count):
        point = outline[(vertex + step * number) % count]
        height, reached = (float((p - outline[vertex]) @ inward) for p in (point, last))
        if height <= reached:  # it turns back before the hem ends
            break
        if height >= hem.depth_mm:
            point = last + (point - last) * (hem.depth_mm - reached) / (height - reached)
            return np.asarray((point - outline[vertex]) / np.hypot(*(point - outline[vertex])))
        last = point
    return near
