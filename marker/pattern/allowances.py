"""From the stitching line to the cut line and back: what each edge of a piece is given.

Each corner is drawn for itself, around its vertex: the short edges that the cut line needs there
beside the moved ones. They are in walking order, each given by its direction and by how far it ends
up from the vertex, to the left of that direction.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from marker.errors import CannotBeDone, Part
from marker.geometry.arrays import FloatArray, IntArray
from marker.geometry.inset import CollapsedError, Front, directions, moved
from marker.geometry.outline import CORNER_TURN, chords, stretch_points
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
            f'say line = "stitching line" if that is what was drawn.',
            [(Part.PIECE, piece.name)],
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
            f"across a gap in its outline. Lower `allowance` there, or widen the gap.",
            [(Part.PIECE, piece.name)],
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


def _corner(piece: Piece, vertex: int, units: FloatArray, distances: FloatArray) -> list[_Extra]:
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
        extras = _ended(own, side, -neighbour, hem, begins)
        if extras is not None:
            return extras
    if vertex in _fold_ends(piece.opened_along):
        # both halves meet on the fold at any angle, there is no allowance to step to
        return _cut_off(before, after, d_before, d_after)
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


# corners of the cut line reach at most this many allowances out, then are cut off
MITRE_LIMIT = 4.0
_LEAST_SINE = 0.1  # of the angle between an edge and the neighbour it can be folded back onto
_HAIR = 1e-9


@dataclass(frozen=True)
class _Extra:
    """A line of the cut outline that belongs to a corner: direction (2,) and distance in mm."""

    unit: FloatArray
    distance: float


def mitred(before: FloatArray, after: FloatArray, d_before: float, d_after: float) -> list[_Extra]:
    """Two edges, by direction and signed distance to the left, that run on until they meet.

    Where they hardly turn, the line steps square from one distance to the other.
    """
    if float(before @ after) > np.cos(CORNER_TURN):
        if abs(d_before - d_after) < _HAIR:
            return []
        mean = (before + after) / np.hypot(*(before + after))
        return [_Extra(left(mean) * (1.0 if d_after > d_before else -1.0), 0.0)]
    return _cut_off(before, after, d_before, d_after)


def _cut_off(
    before: FloatArray, after: FloatArray, d_before: float, d_after: float
) -> list[_Extra]:
    """What cuts the mitre of two edges off where it would stand out further than `MITRE_LIMIT`."""
    sine = float(before[0] * after[1] - before[1] * after[0])
    if abs(sine) < _HAIR:
        return []
    meeting = (d_before * after - d_after * before) / sine
    reach, most = float(np.hypot(*meeting)), MITRE_LIMIT * max(-d_before, -d_after, 0.0)
    if sine < 0 or most == 0 or reach <= most:
        return []
    return [_Extra(left(meeting / reach), -most)]


def _ended(
    hem_line: FloatArray, side: FloatArray, neighbour_mm: float, hem: Hem | None, begins: bool
) -> list[_Extra] | None:
    """How the allowance of one edge ends beside its neighbour's, or None where it can't so.

    hem_line : direction of the edge as walked. side : direction of the neighbour, away from the
    corner. neighbour_mm : the neighbour's allowance. hem : mirrored for this hem; None for
    square. begins : the corner is where the edge begins, else where it ends.
    """
    out = -left(hem_line)
    if side @ out > -_LEAST_SINE:  # the neighbour runs on beside the edge, or outside it
        return None
    image = side - 2 * (side @ out) * out
    if hem is None:
        image, distance = out, neighbour_mm / float(-(side @ out))
    else:
        distance = neighbour_mm
    lines = [_Extra(image, -distance)]
    if hem is not None and hem.under_mm > 0:  # turned under, it goes the way of the side again
        turn = image * hem.depth_mm / float(image @ out)
        away = turn @ left(-side) if begins else turn @ left(side)
        lines.append(_Extra(-side, float(away) - distance))
    if begins:
        return lines
    return [_Extra(-line.unit, line.distance) for line in reversed(lines)]


def left(unit: FloatArray) -> FloatArray:
    """The direction a quarter turn to the left."""
    return np.array([-unit[1], unit[0]])
