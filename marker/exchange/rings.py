"""The closed lines of a drawing: which of them are outlines, and which are squares to check the
scale by, frames around pieces, or cells of a map of pages."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import shapely

from marker.exchange.contours import Gap, gaps, joined, without_doubles
from marker.exchange.outlines import where_crossed
from marker.exchange.piece_text import sounds_like_a_name
from marker.exchange.scale import scale_square, speak_of
from marker.exchange.strokes import Layer, Stroke, Strokes
from marker.files.budget import Most
from marker.files.faults import Unusable
from marker.units import metric

LEAST_AREA_MM2 = 100.0  # anything smaller is a mark, not a piece
_PIECE_MM2 = 400.0  # a line that a frame holds is as large as this
_SAME_CELL_MM = 0.5
_FEWEST_CELLS, _WIDEST_CELL_MM = 4, 80.0  # of a map of pages
_ALLOWANCE_MM = 60.0  # two lines of one piece are no further apart: common practice, no source
_EVENLY_MM = 1.0
_MOST_NAMED = 5
_MARGINS_MM = 60.0  # both together, between a border and the edges of its page
_PAPER_MARGINS_MM = 30.0  # the same where the page is not known
# ISO 216; ANSI Y14.1
_PAPERS = ((148, 210), (210, 297), (297, 420), (420, 594), (594, 841), (841, 1189),
           (215.9, 279.4), (215.9, 355.6), (279.4, 431.8))  # fmt: skip


def closed_lines(found: Strokes, layer: Layer | None, join_mm: float) -> list[Stroke]:
    """The closed lines of a layer that go round once and enclose something, each once.

    Raises Unusable where an outline is open by a little more than is joined.
    """
    words = f" on the layer '{layer}'" if layer else ""
    closed: list[Stroke] = []
    left: list[Stroke] = []
    for size in dict.fromkeys(line.size for line in found.lines):
        own = [line for line in found.lines if line.layer is layer and line.size == size]
        own, doubles = without_doubles(own)
        found.note(f"lines{words} that are drawn twice", doubles)
        rings, open_ = joined(own, join_mm)
        rings, doubles = without_doubles(rings)
        found.note(f"outlines{words} that are drawn twice", doubles)
        closed += rings
        left += open_
    if len(closed) > Most.CONTOURS.most:
        raise Unusable(
            f"it has {len(closed)} closed lines{words}, more than {Most.CONTOURS.most}",
            "Import fewer pieces at once",
        )
    sound = _sound(found, closed, words)
    _refuse_gaps(left, sound)
    found.note(f"lines{words} that do not close", len(left))
    return sound


def _sound(found: Strokes, closed: Sequence[Stroke], words: str) -> list[Stroke]:
    sound: list[Stroke] = []
    crossed: list[str] = []
    for ring in closed:
        region = shapely.Polygon(ring.points) if len(ring.points) > 2 else shapely.Polygon()
        crosses = where_crossed(region) if region.convex_hull.area >= LEAST_AREA_MM2 else ""
        if crosses:
            name = f" '{ring.name}'" if ring.name else ""
            crossed.append(f"closed line{name}{words} that {crosses}")
        elif region.area < LEAST_AREA_MM2:
            found.note(f"closed lines{words} that enclose almost nothing")
        else:
            sound.append(ring)
    for said in crossed[:_MOST_NAMED]:
        found.note(said)
    found.note(f"closed lines{words} that cross themselves", max(0, len(crossed) - _MOST_NAMED))
    return sound


def _refuse_gaps(left: Sequence[Stroke], closed: Sequence[Stroke]) -> None:
    """Raise Unusable for outlines that almost close, unless they lie in one that does."""
    regions = [shapely.Polygon(ring.points) for ring in closed]
    wide: list[Gap] = []
    for ring, open_at in gaps(left):
        region = shapely.Polygon(ring.points)
        inside = any(each.covers(shapely.Point(ring.points[0])) for each in regions)
        if region.is_valid and region.area >= LEAST_AREA_MM2 and not inside:
            wide += open_at
    if not wide:
        return
    wide.sort(key=lambda gap: -gap.width_mm)
    named = ", ".join(
        f"{gap.width_mm:.2f} mm at x {gap.at[0]:.1f} mm, y {gap.at[1]:.1f} mm"
        for gap in wide[:_MOST_NAMED]
    )
    more = f" and {len(wide) - _MOST_NAMED} more" if len(wide) > _MOST_NAMED else ""
    raise Unusable(
        f"an outline is open: gaps of {named}{more} (y up)",
        f'Close it in the drawing, or join ends that near with --join "{_enough(wide[0])}"',
    )


def _enough(gap: Gap) -> str:
    return metric(float(np.ceil(gap.width_mm * 20) / 20 + 0.05))


@dataclass
class Sorted:
    """The closed lines of a layer by what they are; frames, cells and squares are left out.

    outer : outlines that lie in no other. within : of each, the lines that lie in it and in nothing
    else. deeper : lines that lie in those.
    """

    outer: list[Stroke] = field(default_factory=list)
    within: list[list[Stroke]] = field(default_factory=list)
    deeper: list[Stroke] = field(default_factory=list)


def sort_out(found: Strokes, rings: Sequence[Stroke], loose: bool, told: bool) -> Sorted:
    """Lines of each size by which lies in which, without what is no piece.

    loose : nothing says what the lines are for, so that some may be frames. told : the scale has
    been told.
    """
    rings = _without_squares(found, rings, marked=True, told=told)
    sizes = list(dict.fromkeys(ring.size for ring in rings))
    if loose:
        rings = [
            ring
            for size in sizes
            for ring in _without_frames(found, _without_cells(found, _of_size(rings, size)))
        ]
    sorted_ = Sorted()
    for size in sizes:
        own = _of_size(rings, size)
        around = _around([shapely.Polygon(ring.points) for ring in own])
        inside = [ring for k, ring in enumerate(own) if around[k]]
        outer = [ring for k, ring in enumerate(own) if not around[k]]
        if loose:
            outer = _without_squares(found, outer, marked=False, told=told)
        _nest(sorted_, outer, inside)
    return sorted_


def _of_size(rings: Sequence[Stroke], size: str) -> list[Stroke]:
    return [ring for ring in rings if ring.size == size]


def _nest(sorted_: Sorted, outer: Sequence[Stroke], inside: Sequence[Stroke]) -> None:
    own = [*outer, *inside]
    around = _around([shapely.Polygon(ring.points) for ring in own])
    first = len(sorted_.outer)
    sorted_.outer += outer
    sorted_.within += [[] for _ in outer]
    for k, ring in enumerate(own):
        if len(around[k]) == 1:
            sorted_.within[first + around[k][0]].append(ring)
        elif len(around[k]) > 1:
            sorted_.deeper.append(ring)


def _around(regions: Sequence[shapely.Polygon]) -> list[list[int]]:
    """Of each region, those that it lies in."""
    around: list[list[int]] = [[] for _ in regions]
    if regions:
        for inner, outer in shapely.STRtree(regions).query(regions, predicate="within").T:
            if inner != outer and regions[inner].area < regions[outer].area:
                around[inner].append(int(outer))
    return around


def _without_squares(
    found: Strokes, rings: Sequence[Stroke], marked: bool, told: bool
) -> list[Stroke]:
    """The lines that are no test squares; what is written in those is no piece's.

    marked : only those that say what they are are looked for, else only those that don't.
    """
    kept = []
    squares = []
    spent: set[int] = set()
    for ring in rings:
        words = speak_of(ring, found.texts, rings)
        square = scale_square(ring, words, strictly=told)
        if square is None or square.marked is not marked:
            kept.append(ring)
        else:
            squares.append(square)
            spent |= {id(text) for text in words}
    if not kept and squares and not marked and not found.squares:
        return list(rings)  # nothing but squares without a word: they are what was meant
    found.squares += squares
    found.texts = [text for text in found.texts if id(text) not in spent]
    return kept


def _without_frames(found: Strokes, rings: Sequence[Stroke]) -> list[Stroke]:
    """The lines without upright rectangles around pieces: borders, backgrounds, edges of cloth."""
    kept = list(rings)
    while True:
        regions = [shapely.Polygon(ring.points) for ring in kept]
        around = _around(regions)
        frames = [k for k in range(len(kept)) if _is_frame(found, kept, regions, around, k)]
        if not frames:
            return kept
        for k in frames:
            across, up = _extent(regions[k])
            found.note(f"frames around pieces, of {across:.0f} × {up:.0f} mm")
        kept = [ring for k, ring in enumerate(kept) if k not in frames]


def _is_frame(
    found: Strokes,
    rings: Sequence[Stroke],
    regions: Sequence[shapely.Polygon],
    around: Sequence[Sequence[int]],
    k: int,
) -> bool:
    """Whether a line is an upright rectangle that holds pieces.

    It may hold several, where no other lies outside or it is as large as a page. It may hold one,
    where it is as large as a page and has no text of its own. Raises Unusable where it may be
    either.
    """
    depth = len(around[k]) + 1
    holes = rings[k].shape
    pieces = [
        i
        for i in range(len(rings))
        if k in around[i]
        and len(around[i]) == depth
        and regions[i].area >= _PIECE_MM2
        and not (holes and rings[i].shape == holes)
    ]
    if not pieces or not _is_upright(regions[k]):
        return False
    extent = _extent(regions[k])
    on_page = any(_fits_page(extent, page, _MARGINS_MM) for page in found.pages_mm)
    paper = on_page or any(_fits_page(extent, page, _PAPER_MARGINS_MM) for page in _PAPERS)
    if len(pieces) > 1:
        apart = set(range(len(rings))) - {k, *around[k]}
        beside = any(k not in around[i] and regions[i].area >= _PIECE_MM2 for i in apart)
        return paper or not beside
    (piece,) = (regions[i] for i in pieces)
    if not paper or _beside_evenly(regions[k], piece):
        return False
    named, own = _texts_in(found, piece), _texts_in(found, regions[k])
    if own and not named:
        return False
    if named or on_page:
        return True
    raise Unusable(
        f"a rectangle of {extent[0]:.0f} × {extent[1]:.0f} mm, about a sheet of paper, holds one "
        "other closed line: it may be a frame around a piece, or a piece with a cut-out",
        "Leave the frame out of the drawing, or name the layers: 'cut line', 'cut-outs'",
    )


def _beside_evenly(outer: shapely.Polygon, inner: shapely.Polygon) -> bool:
    """Whether one rectangle runs beside the other as a stitching line does in a cut line."""
    margins = np.abs(np.array(outer.bounds) - np.array(inner.bounds))
    even = bool(np.ptp(margins) <= _EVENLY_MM) and bool(margins.max() <= _ALLOWANCE_MM)
    return even and _is_upright(inner)


def _texts_in(found: Strokes, region: shapely.Polygon) -> int:
    """How many texts that may be names stand in a region."""
    return sum(
        sounds_like_a_name(text.text) and bool(region.covers(shapely.Point(text.at)))
        for text in found.texts
    )


def _fits_page(extent: tuple[float, float], page: tuple[float, float], margins_mm: float) -> bool:
    """Whether a rectangle is a page's edge or a border drawn inside it."""
    return any(
        all(-1.0 <= full - side <= margins_mm for side, full in zip(extent, sides, strict=True))
        for sides in (page, page[::-1])
    )


def _extent(region: shapely.Polygon) -> tuple[float, float]:
    low_x, low_y, high_x, high_y = region.bounds
    return high_x - low_x, high_y - low_y


def _is_upright(region: shapely.Polygon) -> bool:
    box = shapely.box(*region.bounds)
    return bool(box.area - region.area <= 0.005 * box.area)


def _without_cells(found: Strokes, rings: Sequence[Stroke]) -> list[Stroke]:
    """The lines without small upright rectangles, alike and side by side, that map pages."""
    alike: dict[tuple[int, int], list[int]] = {}
    regions = [shapely.Polygon(ring.points) for ring in rings]
    for k, region in enumerate(regions):
        sides = _extent(region)
        if max(sides) <= _WIDEST_CELL_MM and _is_upright(region):
            cell = (round(sides[0] / _SAME_CELL_MM), round(sides[1] / _SAME_CELL_MM))
            alike.setdefault(cell, []).append(k)
    cells: set[int] = set()
    for group in alike.values():
        if len(group) >= _FEWEST_CELLS:
            own = [regions[k] for k in group]
            for one, other in (
                shapely.STRtree(own).query(own, predicate="dwithin", distance=_SAME_CELL_MM).T
            ):
                if one != other:
                    cells.add(group[one])
    if len(cells) < _FEWEST_CELLS:
        return list(rings)
    found.note("cells of a map of pages", len(cells))
    mapped = shapely.unary_union([regions[k] for k in cells]).buffer(_SAME_CELL_MM)
    found.texts = [text for text in found.texts if not mapped.covers(shapely.Point(text.at))]
    return [
        ring for k, ring in enumerate(rings) if k not in cells and not mapped.covers(regions[k])
    ]
