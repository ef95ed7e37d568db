"""Where the sides of the frame of a tiled pattern's pages may be, and where they cut lines."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from enum import IntEnum
from typing import NamedTuple

import numpy as np

from marker.exchange.pdf.pages import Drawn, Sheet
from marker.exchange.strokes import layer_named
from marker.geometry.arrays import FloatArray

LONG = 0.5  # a side of a frame is at least this part of its page's
ARM_MM = (2.0, 16.0)  # of a join mark, at least and at most
MOST_ARMS = 500  # of a page, looked at
MOST_PLACES = 6  # tried for a side, besides the page's edge


class Kind(IntEnum):
    """What shows a place, the surest first."""

    DRAWN = 0
    CLIP = 1
    EDGE = 2


class Place(NamedTuple):
    """Where a side may be, mm from the left or lower edge of the page. pages : that show it."""

    at: float
    kind: Kind
    pages: int = 1


def places_of(sheet: Sheet, marks: Sequence[Drawn], axis: int) -> list[Place]:
    """Where lines or clipping paths run across the axis about as long as a frame's sides.

    Arms of join marks count as well, lines on a pattern's own layers don't.
    marks : lines that other pages show too.
    """
    least = LONG * sheet.size_mm[1 - axis]
    others = [line for line in sheet.lines if not any(map(layer_named, line.layers))]
    found = [Place(at, Kind.DRAWN) for at in _straight(others, axis, least)[0]]
    found += [Place(at, Kind.DRAWN) for at in _crossed(marks, axis)]
    found += [Place(at, Kind.CLIP) for at in _straight(sheet.clips, axis, least)[0]]
    return [place for place in found if 0.0 < place.at < sheet.size_mm[axis]]


def _straight(
    lines: Sequence[Drawn], axis: int, least: float, most: float = np.inf
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Place, lower and upper end, (n,) each, of straight parts that run across the axis."""
    starts, ends = segments(lines)
    steps = np.abs(ends - starts)
    long = steps[:, 1 - axis]
    kept = (steps[:, axis] < SAME_MM) & (long > least) & (long < most)
    one, two = starts[kept, 1 - axis], ends[kept, 1 - axis]
    return starts[kept, axis], np.minimum(one, two), np.maximum(one, two)


def _crossed(marks: Sequence[Drawn], axis: int) -> FloatArray:
    """Of arms of crosses and of Ts, which a corner of a picture is not."""
    at, low, high = (part[:MOST_ARMS, None] for part in _straight(marks, axis, *ARM_MM))
    level, left, right = (part[None, :MOST_ARMS] for part in _straight(marks, 1 - axis, *ARM_MM))
    meet = (low < level + SAME_MM) & (level < high + SAME_MM)
    meet &= (left < at + SAME_MM) & (at < right + SAME_MM)
    inside = ((low + 1.0 < level) & (level < high - 1.0)) | ((left + 1.0 < at) & (at < right - 1.0))
    crossed: FloatArray = at[(meet & inside).any(axis=1), 0]
    return crossed


def pairs(places: Sequence[Sequence[Place]], extent: float) -> Iterator[tuple[Place, Place]]:
    """Candidates for the two sides of a frame.

    What two pages have in common; what one has as far from the one edge as another has from the
    other; and the page's own edges.
    """
    mirrored = [[Place(min(at, extent - at), kind) for at, kind, _ in page] for page in places]
    common = _common(mirrored)
    lows = _common([[place for place in page if place.at < extent / 2] for page in places])
    highs = _common([[place for place in page if place.at > extent / 2] for page in places])
    lows += [place for place in common if not near(place.at, lows)]
    highs += [
        Place(extent - at, kind, on) for at, kind, on in common if not near(extent - at, highs)
    ]
    for low in (Place(0.0, Kind.EDGE), *lows[:MOST_PLACES]):
        for high in (Place(extent, Kind.EDGE), *highs[:MOST_PLACES]):
            if high.at - low.at > extent / 4:
                yield low, high


def _common(pages: Sequence[Sequence[Place]]) -> list[Place]:
    """Places that two pages or more have, on the most pages first; not more than are tried."""
    groups: list[list[tuple[float, Kind, int]]] = []
    for each in sorted(
        (at, kind, number) for number, page in enumerate(pages) for at, kind, _ in page
    ):
        if groups and each[0] - groups[-1][0][0] < SAME_MM:
            groups[-1].append(each)
        else:
            groups.append([each])
    shared = []
    for group in groups:
        on = len({number for _, _, number in group})
        at, kind, _ = min(group, key=lambda each: each[1])
        if on > 1:
            shared.append(Place(at, kind, on))
    return sorted(shared, key=lambda place: -place.pages)[:MOST_PLACES]


def near(at: float, places: Sequence[Place]) -> bool:
    """Whether one of the places is here."""
    return any(abs(at - place.at) < SAME_MM for place in places)


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
    """How well the lower sides of pages, (page,), fit the upper sides of others.

    It counts the ends that go on, each less its part of the play that it may have, less the ends
    that go on nowhere.
    """
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
