"""Where the sides of the frame of a tiled pattern's pages may be."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from enum import IntEnum
from typing import NamedTuple

import numpy as np

from marker.exchange.pdf.cuts import SAME_MM, segments
from marker.exchange.pdf.sheet import Drawn, Sheet
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
    """Where lines run across the axis about as long as a frame's sides, or a clipping path does,
    and where arms of join marks do. marks : lines that other pages show too."""
    least = LONG * sheet.size_mm[1 - axis]
    found = [Place(at, Kind.DRAWN) for at in _straight(sheet.lines, axis, least)[0]]
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
    """Candidates for the two sides of a frame: what two pages have in common, or what one has as
    far from the one edge as another has from the other; and the page's own edges."""
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
