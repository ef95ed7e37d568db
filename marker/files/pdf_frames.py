"""Where the pages of a tiled pattern are cut: the frame that they show in the same place.

A frame's sides are long straight lines to trim to or to stick along, at one place on several pages,
or as far from opposite edges of two; where there is none, the edge of the page. Of several, that
at which most lines go on from page to page.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from marker.files.pdf_content import Drawn, Sheet
from marker.geometry.arrays import BoolArray, FloatArray

SAME_MM = 0.15  # cut ends, and frames of two pages, this near to one another are the same
LONG = 0.5  # a side of a frame is at least this part of its page's
MARK_MM = 16.0  # nothing longer that several pages show alike, across a frame, is a join mark
MOST_PLACES = 3  # tried for a side, besides the page's edge
LEFT, RIGHT, FOOT, TOP = range(4)

Sides = tuple[float, float, float, float]


@dataclass(frozen=True)
class Framed:
    """A page and where it is cut.

    sides : position of each of the four, mm on the page. cut : for each, where along it lines are
    cut, or None where it joins nothing.
    """

    sheet: Sheet
    sides: Sides
    cut: tuple[FloatArray | None, FloatArray | None, FloatArray | None, FloatArray | None]


def framed(sheets: Sequence[Sheet]) -> list[Framed]:
    """Pages of one size with their frame, without it and whatever else they show alike."""
    if len(sheets) == 1:
        return [Framed(sheets[0], (0.0, 0.0, 0.0, 0.0), (None,) * 4)]
    bare = _without(sheets, lambda line, twice: twice and _short(line))
    long_lines = [_long_lines(sheet) for sheet in sheets]
    sides = (*_best_pair(0, bare, long_lines), *_best_pair(1, bare, long_lines))
    plain = _without(
        sheets, lambda line, twice: _on_frame(line, sides) or (twice and _is_mark(line, sides))
    )
    return [
        Framed(sheet, sides, _cuts(sheet, sides, lines))
        for sheet, lines in zip(plain, long_lines, strict=True)
    ]


def _without(sheets: Sequence[Sheet], drop: Callable[[Drawn, bool], bool]) -> list[Sheet]:
    """The pages without some lines; `drop` is told whether another page shows the line in the same
    place."""
    keys = [[_key(line) for line in sheet.lines] for sheet in sheets]
    pages = Counter(key for page in keys for key in set(page))
    return [
        replace(
            sheet,
            lines=[
                line
                for line, key in zip(sheet.lines, page, strict=True)
                if not drop(line, pages[key] > 1)
            ],
        )
        for sheet, page in zip(sheets, keys, strict=True)
    ]


def _best_pair(
    axis: int, sheets: Sequence[Sheet], long_lines: Sequence[Places]
) -> tuple[float, float]:
    """The two sides of the frame across this axis where most lines go on from page to page."""
    width, height = sheets[0].size_mm
    extent = (width, height)[axis]

    def score(pair: tuple[float, float]) -> int:
        sides = (*pair, 0.0, height) if axis == 0 else (0.0, width, *pair)
        pages = [
            Framed(sheet, sides, _cuts(sheet, sides, lines))
            for sheet, lines in zip(sheets, long_lines, strict=True)
        ]
        return _score(pages, (2 * axis, 2 * axis + 1))

    return max(_pairs([lines[axis] for lines in long_lines], extent), key=score)


Places = tuple[list[float], list[float]]
"""x of lines that run straight up, y of lines that run straight across."""


def _long_lines(sheet: Sheet) -> Places:
    """Where long lines run, about as long as a frame's sides."""
    size = np.array(sheet.size_mm)
    places: Places = ([], [])
    for line in sheet.lines:
        points = ring(line)
        steps = np.abs(np.diff(points, axis=0))
        for axis in (0, 1):
            straight = (steps[:, axis] < SAME_MM) & (steps[:, 1 - axis] > LONG * size[1 - axis])
            places[axis].extend(points[:-1][straight][:, axis])
    return places


def _pairs(places: Sequence[Sequence[float]], extent: float) -> Iterator[tuple[float, float]]:
    """Candidates for the two sides of a frame: lines that two pages have in common, or that one
    has as far from the one edge as another has from the other; and the page's own edges."""
    distances = [[min(at, extent - at) for at in page] for page in places]
    common = _common(distances)
    lows = [0.0, *_common([[at for at in page if at < extent / 2] for page in places])]
    highs = [extent, *_common([[at for at in page if at > extent / 2] for page in places])]
    lows += [at for at in common if not _near(at, lows)]
    highs += [extent - at for at in common if not _near(extent - at, highs)]
    for low in lows[: MOST_PLACES + 1]:
        for high in highs[: MOST_PLACES + 1]:
            if high - low > extent / 4:
                yield low, high


def _common(pages: Sequence[Sequence[float]]) -> list[float]:
    """Places that two pages or more have, on the most pages first."""
    found: list[tuple[float, set[int]]] = []
    for number, page in enumerate(pages):
        for at in page:
            near = next((each for each in found if abs(each[0] - at) < SAME_MM), None)
            if near is None:
                found.append((at, {number}))
            else:
                near[1].add(number)
    shared = [each for each in found if len(each[1]) > 1]
    return [at for at, _ in sorted(shared, key=lambda each: -len(each[1]))]


def _near(at: float, places: Sequence[float]) -> bool:
    return any(abs(at - place) < SAME_MM for place in places)


def _key(line: Drawn) -> tuple[object, ...]:
    """Alike for lines in the same place on two pages."""
    box = (*line.points.min(axis=0), *line.points.max(axis=0), *line.points.mean(axis=0))
    return (len(line.points), line.closed, *(round(float(place), 1) for place in box))


def _on_frame(line: Drawn, sides: Sides) -> bool:
    """Whether every part of a line runs along the frame, or along the edges of the page."""
    points = ring(line)
    along = [_runs_along(points, axis, sides[2 * axis + end]) for axis in (0, 1) for end in (0, 1)]
    return bool(np.any(along, axis=0).all())


def _runs_along(points: FloatArray, axis: int, at: float) -> BoolArray:
    near = np.abs(points[:, axis] - at) < SAME_MM
    both: BoolArray = near[:-1] & near[1:]
    return both


def _is_mark(line: Drawn, sides: Sides) -> bool:
    """Whether a line is short, or clear of the frame: a longer one may be the pattern's own, as
    long straight edges are cut alike on page after page."""
    low, high = line.points.min(axis=0), line.points.max(axis=0)
    frame_low, frame_high = np.array(sides)[[0, 2]], np.array(sides)[[1, 3]]
    clear = bool((low > frame_low + SAME_MM).all() and (high < frame_high - SAME_MM).all())
    outside = bool((high < frame_low).any() or (low > frame_high).any())
    return clear or outside or _short(line)


def _short(line: Drawn) -> bool:
    return bool((np.ptp(line.points, axis=0) < MARK_MM).all())


def _cuts(
    sheet: Sheet,
    sides: Sides,
    long_lines: Places,
) -> tuple[FloatArray | None, FloatArray | None, FloatArray | None, FloatArray | None]:
    """Where along each side lines are cut; None where the page shows no frame on that side."""
    starts, ends = _segments(sheet)
    found: list[FloatArray | None] = []
    for side, at in enumerate(sides):
        axis = side // 2
        page_edge = at in (0.0, sheet.size_mm[axis])
        if not page_edge and not _near(at, long_lines[axis]):
            found.append(None)
            continue
        other = (sides[2 - 2 * axis], sides[3 - 2 * axis])
        found.append(_crossings(starts, ends, axis, at, other))
    return found[0], found[1], found[2], found[3]


def _segments(sheet: Sheet) -> tuple[FloatArray, FloatArray]:
    rings = [ring(line) for line in sheet.lines if len(line.points) > 1]
    if not rings:
        return np.empty((0, 2)), np.empty((0, 2))
    return np.concatenate([r[:-1] for r in rings]), np.concatenate([r[1:] for r in rings])


def _crossings(
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


def _score(pages: Sequence[Framed], sides: Sequence[int]) -> int:
    """Ends that go on elsewhere, less those that go on nowhere."""
    score = 0
    for side, page in ((side, page) for side in sides for page in pages):
        cut = page.cut[side]
        if cut is not None and len(cut):
            goes_on = any(fits(cut, other.cut[side ^ 1]) for other in pages if other is not page)
            score += len(cut) if goes_on else -len(cut)
    return score


def ring(line: Drawn) -> FloatArray:
    """The points of a line, a closed one ending where it began."""
    return np.vstack([line.points, line.points[:1]]) if line.closed else line.points
