"""Lines that were drawn in parts, joined end to end into contours; doubles left out, gaps found."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import product

import numpy as np
import shapely
from numpy.typing import NDArray

from marker.exchange.strokes import Stroke
from marker.geometry.arrays import FloatArray

JOIN_MM = 0.1  # ends this near are one point; common practice, no source
WIDEST_GAP_MM = 5.0  # a line open by more is not meant to be closed; common practice, no source
_GAP_SHARE = 0.05  # of what a line goes round: nor is one open by more of it
_MOST_ENDS = 6  # of lines that meet in one point


def joined(
    strokes: Sequence[Stroke], within_mm: float = JOIN_MM
) -> tuple[list[Stroke], list[Stroke]]:
    """(closed contours, lines that stay open), in the order in which each begins.

    Only ends where exactly two lines meet are joined; where more do, lines that lead nowhere, such
    as notch marks, do not count. within_mm : ends this near meet.
    """
    closed = [stroke for stroke in strokes if stroke.closed]
    open_ = [stroke for stroke in strokes if not stroke.closed and len(stroke.points) > 1]
    left: list[Stroke] = []
    for chain in chains(len(open_), _partners(open_, within_mm)):
        points = walked([stroke.points for stroke in open_], chain)
        first = open_[chain[0][0]]
        name = next((open_[k].name for k, _ in chain if open_[k].name), "")
        if len(points) > 3 and _gap(points) <= within_mm:
            closed.append(replace(first, points=points[:-1], closed=True, name=name, shape=0))
        else:
            left.append(replace(first, points=points, name=name))
    return closed, left


def chains(count: int, partner: Mapping[int, int]) -> list[list[tuple[int, bool]]]:
    """Lines 0 to `count` - 1 in walking order, each with whether it is walked backward.

    partner : end 2k (start of line k) or 2k + 1 -> the end that it goes on at.
    """
    found = []
    taken: set[int] = set()
    # lines with a free end first, so that a chain is walked from its end; then rings
    firsts = sorted(range(2 * count), key=lambda end: (end in partner, end))
    for end in firsts:
        if end // 2 in taken:
            continue
        chain: list[tuple[int, bool]] = []
        here: int | None = end
        while here is not None and here // 2 not in taken:
            taken.add(here // 2)
            chain.append((here // 2, here % 2 == 1))
            here = partner.get(here ^ 1)
        found.append(chain)
    return sorted(found, key=lambda chain: min(chain)[0])


def walked(lines: Sequence[FloatArray], chain: Sequence[tuple[int, bool]]) -> FloatArray:
    """The points of a chain of lines, where two meet only the former's."""
    parts: list[FloatArray] = []
    for k, backward in chain:
        points = lines[k][::-1] if backward else lines[k]
        parts.append(points if not parts else points[1:])
    return np.concatenate(parts)


def without_doubles(strokes: Sequence[Stroke]) -> tuple[list[Stroke], int]:
    """The lines without those that another, drawn before, runs along everywhere, and how many
    those are. Lines of two layers or sizes are never the same."""
    boxes = np.array([(*s.points.min(axis=0), *s.points.max(axis=0)) for s in strokes])
    kept: list[Stroke] = []
    rows: dict[tuple[int, ...], list[int]] = {}
    for number, stroke in enumerate(strokes):
        cell = tuple(np.floor(boxes[number] / 1.0).astype(int).tolist())
        near = [k for key in _beside(cell, boxes[number]) for k in rows.get(key, ())]
        if any(_same(strokes[k], stroke) for k in near):
            continue
        rows.setdefault(cell, []).append(number)
        kept.append(stroke)
    return kept, len(strokes) - len(kept)


def _beside(cell: tuple[int, ...], box: FloatArray) -> Iterator[tuple[int, ...]]:
    """The cells of boxes that differ from this one by `JOIN_MM` at most."""
    low = np.floor(box - JOIN_MM).astype(int)
    high = np.floor(box + JOIN_MM).astype(int)
    choices = [sorted({int(a), own, int(b)}) for a, own, b in zip(low, cell, high, strict=True)]
    return product(*choices)


def _same(one: Stroke, other: Stroke) -> bool:
    if (one.layer, one.size, one.closed) != (other.layer, other.size, other.closed):
        return False
    return _runs_along(one, other) and _runs_along(other, one)


def _runs_along(one: Stroke, other: Stroke) -> bool:
    """Whether each point of a line lies on another line, to within `JOIN_MM`."""
    line = _line(other)
    shapely.prepare(line)
    return bool(shapely.dwithin(line, shapely.points(one.points), JOIN_MM).all())


def _line(stroke: Stroke) -> shapely.Geometry:
    if len(stroke.points) == 1:
        return shapely.Point(stroke.points[0])
    if stroke.closed and len(stroke.points) > 2:
        return shapely.LinearRing(stroke.points)
    return shapely.LineString(stroke.points)


@dataclass(frozen=True)
class Gap:
    """A place where a contour is open by more than is joined. at : (2,) mm."""

    at: FloatArray
    width_mm: float


def gaps(open_lines: Sequence[Stroke]) -> Iterator[tuple[Stroke, list[Gap]]]:
    """Contours that would close if ends a little further apart were joined, and where they are
    open. open_lines : those that `joined` has left."""
    partner, apart = _across(open_lines)
    for chain in chains(len(open_lines), partner):
        points = walked([stroke.points for stroke in open_lines], chain)
        ends = [(2 * k + (not backward), 2 * k + backward) for k, backward in chain]
        leaves = [out for out, _ in ends]
        if partner.get(leaves[-1]) != ends[0][1]:
            continue  # its two ends are no pair
        found = [Gap(_end(open_lines, end), apart[end]) for end in leaves]
        ring = shapely.LinearRing(points) if len(points) > 2 else None
        if ring is not None and max(gap.width_mm for gap in found) <= _GAP_SHARE * ring.length:
            first = open_lines[chain[0][0]]
            wide = [gap for gap in found if gap.width_mm > JOIN_MM]
            yield replace(first, points=points, closed=True), wide


def _across(open_lines: Sequence[Stroke]) -> tuple[dict[int, int], dict[int, float]]:
    """End -> the end nearest to it, where each is the other's nearest; and how far they are."""
    if not open_lines:
        return {}, {}
    ends = np.array([_end(open_lines, end) for end in range(2 * len(open_lines))])
    apart, nearest = _nearest(ends, 2, WIDEST_GAP_MM)
    closest: dict[int, tuple[int, float]] = {}
    for end in range(len(ends)):
        for other, far in zip(nearest[end], apart[end], strict=True):
            if other != end and np.isfinite(far):
                closest[end] = (int(other), float(far))
                break
    pairs = {
        end: other for end, (other, _) in closest.items() if closest.get(other, (-1, 0.0))[0] == end
    }
    return pairs, {end: closest[end][1] for end in pairs}


def _nearest(ends: FloatArray, count: int, within_mm: float) -> tuple[FloatArray, NDArray[np.intp]]:
    """(n, count) each: how far the nearest ends lie from each end, itself among them, and their
    numbers; infinite where there are fewer."""
    from scipy.spatial import cKDTree  # it loads for as long as many a drawing is read

    apart, nearest = cKDTree(ends).query(ends, k=count, distance_upper_bound=within_mm)
    return apart, nearest


def _end(lines: Sequence[Stroke], end: int) -> FloatArray:
    points: FloatArray = lines[end // 2].points
    return np.asarray(points[-1 if end % 2 else 0])


def _gap(points: FloatArray) -> float:
    return float(np.hypot(*(points[-1] - points[0])))


def _partners(strokes: Sequence[Stroke], within_mm: float) -> dict[int, int]:
    """End 2k (start of stroke k) or 2k + 1 -> the one other end that meets it."""
    if not strokes:
        return {}
    ends = np.array([_end(strokes, end) for end in range(2 * len(strokes))])
    count = min(_MOST_ENDS + 1, len(ends))
    apart, nearest = _nearest(ends, count, within_mm)
    meeting = [
        {int(other) for other, far in zip(row, away, strict=True) if np.isfinite(far)}
        for row, away in zip(
            nearest.reshape(len(ends), -1), apart.reshape(len(ends), -1), strict=True
        )
    ]
    partner: dict[int, int] = {}
    for end, group in enumerate(meeting):
        going_on = {other for other in group if other == end or len(meeting[other ^ 1]) > 1}
        pair = group if len(group) == 2 else going_on
        if len(pair) == 2 and end in pair and len(group) <= _MOST_ENDS:
            partner[end] = next(other for other in pair if other != end)
    return {end: other for end, other in partner.items() if partner.get(other) == end}
