"""Where the pages of a tiled pattern are cut: the frame that they show in the same place.

A frame's side is a long straight line to trim to or to stick along, or the arm of a join mark. It
may also be the edge of what the page shows of a larger drawing. It lies at one place on several
pages, or as far from opposite edges of two. Where there is none, the edge of the page counts. Of
several, that one is taken at which most lines go on from page to page. Lines that run straight
across can leave a tie; then what is drawn for the purpose wins.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from marker.exchange.pdf.pages import Drawn, Sheet
from marker.exchange.pdf.places import (
    SAME_MM,
    Kind,
    Place,
    agreement,
    crossings,
    near,
    pairs,
    places_of,
    ring,
    segments,
)
from marker.files.budget import Most
from marker.files.faults import Unusable
from marker.geometry.arrays import BoolArray, FloatArray

MARK_MM = 16.0  # nothing longer that several pages show alike, across a frame, is a join mark
AS_GOOD = 0.95  # of the best score
SHIFT_MM = 3.0  # by which pages may overlap without a line that runs straight on showing it
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


def framed(sheets: Sequence[Sheet], lost: Counter[str]) -> list[Framed]:
    """Pages of one size with their frame, without it and whatever else they show alike, which is
    counted in `lost`."""
    if len(sheets) == 1:
        return [Framed(sheets[0], (0.0, 0.0, 0.0, 0.0), (None,) * 4)]
    every = sum(bool(sheet.lines) for sheet in sheets)
    bare, alike = _sorted_out(
        sheets, lambda line, pages: pages > 1 and (pages == every or _short(line))
    )
    places = [
        (places_of(sheet, marks.lines, 0), places_of(sheet, marks.lines, 1))
        for sheet, marks in zip(sheets, alike, strict=True)
    ]
    sides = (*_best_pair(0, bare, places), *_best_pair(1, bare, places))
    plain, alike = _sorted_out(
        sheets,
        lambda line, pages: (
            _on_frame(line, sides) or (pages > 1 and (pages == every or _is_mark(line, sides)))
        ),
    )
    lost["lines of frames, or that several pages show alike"] += sum(len(s.lines) for s in alike)
    return [
        Framed(sheet, sides, _cuts(sheet, sides, own))
        for sheet, own in zip(plain, places, strict=True)
    ]


def _sorted_out(
    sheets: Sequence[Sheet], drop: Callable[[Drawn, int], bool]
) -> tuple[list[Sheet], list[Sheet]]:
    """The pages without some lines, and with those alone; `drop` is told how many pages show the
    line in the same place."""
    keys = [[_key(line) for line in sheet.lines] for sheet in sheets]
    pages = Counter(key for page in keys for key in set(page))
    kept, dropped = [], []
    for sheet, page in zip(sheets, keys, strict=True):
        sorted_: tuple[list[Drawn], list[Drawn]] = ([], [])
        for line, key in zip(sheet.lines, page, strict=True):
            sorted_[drop(line, pages[key])].append(line)
        kept.append(replace(sheet, lines=sorted_[0]))
        dropped.append(replace(sheet, lines=sorted_[1]))
    return kept, dropped


Places = tuple[list[Place], list[Place]]
"""Of a page, for each axis."""


def _best_pair(axis: int, sheets: Sequence[Sheet], places: Sequence[Places]) -> tuple[float, float]:
    """The two sides of the frame across this axis where most lines go on from page to page.

    Raises Unusable where they would as well at others, with pages closer together or further apart.
    """
    parts = [segments(sheet.lines) for sheet in sheets]
    width, height = sheets[0].size_mm
    extent, across = (width, height)[axis], (height, width)[axis]
    known: dict[tuple[float, float], list[FloatArray | None]] = {}

    def cuts(place: Place, inward: float = 0.0) -> list[FloatArray | None]:
        key = (place.at, inward)
        if key not in known:
            known[key] = [
                crossings(*part, axis, place.at + inward, (0.0, across))
                if place.kind is Kind.EDGE or near(place.at, own[axis])
                else None
                for part, own in zip(parts, places, strict=True)
            ]
        return known[key]

    scored = [
        (agreement(cuts(low), cuts(high)), low, high)
        for low, high in pairs([own[axis] for own in places], extent)
    ]
    best = max(score for score, _, _ in scored)
    least = AS_GOOD * best if best > 0 else best
    good = [each for each in scored if each[0] >= least]
    kind, _ = surest = min(_doubt(low, high) for _, low, high in good)
    good = [each for each in good if _doubt(*each[1:]) == surest]
    score, low, high = max(good, key=lambda each: each[0])
    steps = [one[2].at - one[1].at for one in good]
    if kind >= Kind.CLIP and agreement(cuts(low, SHIFT_MM), cuts(high)) >= AS_GOOD * score:
        steps.append(steps[0] + SHIFT_MM)
    if best > 0 and max(steps) - min(steps) > SAME_MM:
        raise Unusable(
            f"its pages show no certain place to join: lines run on as well with pages "
            f"{min(steps):.1f} mm apart as with {max(steps):.1f} mm",
            "Choose the pattern's own pages with --pages, or take a file on one page",
        )
    return low.at, high.at


def _doubt(low: Place, high: Place) -> tuple[Kind, int]:
    """Less for sides that are surer, by what shows them, and on how many pages."""
    return max(low.kind, high.kind), -(low.pages + high.pages)


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
    places: Places,
) -> tuple[FloatArray | None, FloatArray | None, FloatArray | None, FloatArray | None]:
    """Where along each side lines are cut; None where the page shows no frame on that side."""
    starts, ends = segments(sheet.lines)
    found: list[FloatArray | None] = []
    for side, at in enumerate(sides):
        axis = side // 2
        page_edge = at in (0.0, sheet.size_mm[axis])
        if not page_edge and not near(at, places[axis]):
            found.append(None)
            continue
        other = (sides[2 - 2 * axis], sides[3 - 2 * axis])
        cut = crossings(starts, ends, axis, at, other)
        if len(cut) > Most.CUT_LINES.most:
            raise Unusable(
                f"page {sheet.number} cuts more than {Most.CUT_LINES.most} lines at one edge",
                "Choose the pattern's own pages with --pages",
            )
        found.append(cut)
    return found[0], found[1], found[2], found[3]
