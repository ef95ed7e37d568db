"""Where lines of a PDF page are cut by a side of its frame."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import numpy as np

from marker.exchange.pdf.sheet import Drawn
from marker.geometry.arrays import FloatArray

SAME_MM = 0.15  # cut ends, and frames of two pages, this near to one another are the same


def segments(lines: Iterable[Drawn]) -> tuple[FloatArray, FloatArray]:
    """Where the straight parts of lines start and end, (n, 2) each."""
    rings = [ring(line) for line in lines if len(line.points) > 1]
    if not rings:
        return np.empty((0, 2)), np.empty((0, 2))
    return np.concatenate([r[:-1] for r in rings]), np.concatenate([r[1:] for r in rings])


def crossings(
    starts: FloatArray, ends: FloatArray, axis: int, at: float, between: tuple[float, float]
) -> FloatArray:
    """Where lines reach or cross a line along the other axis, in order, each place once."""
    one, two = starts[:, axis] - at, ends[:, axis] - at
    step = two - one
    reaches = (np.minimum(one, two) <= SAME_MM / 3) & (np.maximum(one, two) >= -SAME_MM / 3)
    reaches &= np.abs(step) > SAME_MM / 3
    part = np.clip(-one[reaches] / step[reaches], 0.0, 1.0)
    along = starts[reaches, 1 - axis]
    places = np.sort(along + part * (ends[reaches, 1 - axis] - along))
    low, high = min(between), max(between)
    places = places[(places > low + 2 * SAME_MM) & (places < high - 2 * SAME_MM)]
    apart = np.diff(places, prepend=-np.inf) > SAME_MM
    kept: FloatArray = places[apart]
    return kept


def fits(one: FloatArray | None, two: FloatArray | None) -> bool:
    """Whether two sides cut lines in the same places, at least one."""
    if one is None or two is None or len(one) == 0 or len(one) != len(two):
        return False
    return bool((np.abs(one - two) < 2 * SAME_MM).all())


Cut = FloatArray | None
"""Where lines are cut along one side of a page; None where the page shows no such side."""


def agreement(lows: Sequence[Cut], highs: Sequence[Cut]) -> float:
    """How well the lower sides of pages, (page,), fit the upper sides of others: the ends that go
    on, each less its part of the play that it may have, less the ends that go on nowhere."""
    score = 0.0
    for sides, others in ((lows, highs), (highs, lows)):
        by_count: dict[int, list[int]] = {}
        for page, cut in enumerate(others):
            by_count.setdefault(0 if cut is None else len(cut), []).append(page)
        stacks = {
            count: np.array([others[page] for page in pages])
            for count, pages in by_count.items()
            if count
        }
        for page, cut in enumerate(sides):
            if cut is None or not len(cut):
                continue
            count = len(cut)
            elsewhere = np.array(by_count.get(count, [])) != page
            off = (
                np.abs(stacks[count][elsewhere] - cut) if elsewhere.any() else np.full((1, 1), 1.0)
            )
            close = off[(off < 2 * SAME_MM).all(axis=1)]
            best = close.mean(axis=1).min() if len(close) else 4 * SAME_MM
            score += count * (1.0 - float(best) / (2 * SAME_MM))
    return score


def in_common(one: FloatArray | None, two: FloatArray | None) -> tuple[int, int]:
    """At how many places both sides cut a line, and at how many only one does."""
    here, there = (np.empty(0) if cut is None else cut for cut in (one, two))
    near = np.abs(here[:, None] - there[None]) < 2 * SAME_MM
    lone = int((~near.any(axis=1)).sum() + (~near.any(axis=0)).sum())
    return int(near.any(axis=1).sum()), lone


def ring(line: Drawn) -> FloatArray:
    """The points of a line, a closed one ending where it began."""
    return np.vstack([line.points, line.points[:1]]) if line.closed else line.points
