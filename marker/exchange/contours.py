"""Lines that were drawn in parts, joined end to end into contours."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np
from scipy.spatial import cKDTree

from marker.exchange.strokes import Stroke
from marker.geometry.arrays import FloatArray

JOIN_MM = 0.1  # ends this near are one point; common practice, no source


def joined(strokes: Sequence[Stroke]) -> tuple[list[Stroke], list[Stroke]]:
    """(closed contours, lines that stay open), in the order in which each begins.

    Only ends where exactly two lines meet are joined: where three do, nobody says which goes on.
    """
    closed = [stroke for stroke in strokes if stroke.closed]
    open_ = [stroke for stroke in strokes if not stroke.closed and len(stroke.points) > 1]
    left: list[Stroke] = []
    for chain in chains(len(open_), _partners(open_)):
        points = walked([stroke.points for stroke in open_], chain)
        name = next((open_[k].name for k, _ in chain if open_[k].name), "")
        meets = len(points) > 3 and bool(np.hypot(*(points[-1] - points[0])) <= JOIN_MM)
        if meets:
            closed.append(Stroke(points[:-1], True, open_[chain[0][0]].layer, name))
        else:
            left.append(Stroke(points, False, open_[chain[0][0]].layer, name))
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


def _partners(strokes: Sequence[Stroke]) -> dict[int, int]:
    """End 2k (start of stroke k) or 2k + 1 -> the one other end that meets it."""
    if not strokes:
        return {}
    ends = np.array(
        [point for stroke in strokes for point in (stroke.points[0], stroke.points[-1])]
    )
    apart, nearest = cKDTree(ends).query(ends, k=3, distance_upper_bound=JOIN_MM)
    others = {
        end: int(next(other for other in nearest[end] if other != end))
        for end in range(len(ends))
        if np.isfinite(apart[end]).sum() == 2
    }
    return {end: other for end, other in others.items() if others.get(other) == end}


def walked(lines: Sequence[FloatArray], chain: Sequence[tuple[int, bool]]) -> FloatArray:
    """The points of a chain of lines, where two meet only the former's."""
    parts: list[FloatArray] = []
    for k, backward in chain:
        points = lines[k][::-1] if backward else lines[k]
        parts.append(points if not parts else points[1:])
    return np.concatenate(parts)
