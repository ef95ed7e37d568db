"""In which orientations a cut may lie on the table, and its outline in each: turns and tilts that
grain and nap allow, hands, lanes, folds.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np
import shapely
from shapely.geometry import MultiPoint, Polygon
from shapely.geometry.base import BaseGeometry

from marker.cloth.folding import Lane
from marker.geometry import polygons
from marker.geometry.arrays import FloatArray
from marker.pattern.piece import CutPiece
from marker.placement.problem.cuts import Cut
from marker.placement.problem.statement import Item, Orientation, Outlines
from marker.placement.problem.table import Table
from marker.tolerances import ON_FOLD_MM, WIDTH_MM

SAME_DEG = 1e-3
"""Tilts no farther apart are one."""

_HALVINGS = 40


def oriented(
    outlines: Outlines, rotation_deg: float, mirrored: bool, margin: float
) -> tuple[FloatArray, FloatArray]:
    """The shape of a piece that is reflected, if `mirrored`, then turned; and (2,), where the lower
    left corner of its bounding box then is, mm.

    margin : half the gap. The shape is (m, 2), counter-clockwise, that corner at the origin.
    """
    true = polygons.turned(outlines.true, rotation_deg, mirrored)
    low, high = true.min(axis=0) - margin, true.max(axis=0) + margin
    solid = polygons.turned(outlines.grown, rotation_deg, mirrored)
    # mitred corners and turned chords reach farther than the gap asks; no cloth is there
    solid = polygons.clipped(solid[::-1] if mirrored else solid, low, high)
    return solid - low, low


def fitting_tilts(outline: FloatArray, limit: float, width: float) -> tuple[float, ...]:
    """Tilts, in degrees, in which an outline fits across `width` mm: at most three.

    They are 0, and as far either way as it fits within `limit`. Empty where it fits in none.
    """
    hull = _hull(outline)
    steps = _steps(hull, limit)
    wanted = (
        0.0 if across(hull, 0.0) <= width + WIDTH_MM else None,
        _last_fitting(hull, steps, width),
        _last_fitting(hull, steps[::-1], width),
    )
    found: list[float] = []
    for tilt in wanted:
        if tilt is not None and all(abs(tilt - other) > SAME_DEG for other in found):
            found.append(tilt)
    return tuple(found)


def narrowest(outline: FloatArray, limit: float) -> float:
    """The least that an outline reaches across, mm, tilted by up to `limit` degrees either way."""
    hull = _hull(outline)
    return min(across(hull, tilt) for tilt in _steps(hull, limit))


def across(outline: FloatArray, tilt: float) -> float:
    """How far the tilted outline reaches across the cloth, mm."""
    return float(np.ptp(polygons.turned(outline, tilt, False)[:, 1]))


def _hull(outline: FloatArray) -> FloatArray:
    hull = MultiPoint(outline).convex_hull
    assert isinstance(hull, Polygon)  # outlines are simple
    return np.asarray(hull.exterior.coords, dtype=np.float64)[:-1]


def _steps(hull: FloatArray, limit: float) -> list[float]:
    """The tilts between which the reach across is a concave function, ascending.

    While the same two corners are outermost, it is the height of the line between them, a sine;
    they change where an edge lies along the cloth.
    """
    along = np.roll(hull, -1, axis=0) - hull
    level = -np.degrees(np.arctan2(along[:, 1], along[:, 0]))
    half_turns = level[:, None] + np.array([-180.0, 0.0, 180.0])
    inside = half_turns[np.abs(half_turns) < limit].tolist()
    return sorted({-limit, 0.0, limit, *inside})


def _last_fitting(hull: FloatArray, steps: list[float], width: float) -> float | None:
    """The tilt nearest to the last of the steps in which the outline fits; None if there is none.

    Between two steps the reach is concave: if neither fits, nothing between them does, and if one
    fits, all that fits lies on its side of one single tilt.
    """
    fits = [across(hull, step) <= width + WIDTH_MM for step in steps]
    if not any(fits):
        return None
    last = max(k for k, each in enumerate(fits) if each)
    good = steps[last]
    if last + 1 == len(steps):
        return good
    bad = steps[last + 1]
    for _ in range(_HALVINGS):
        middle = (good + bad) / 2
        if across(hull, middle) <= width + WIDTH_MM:
            good = middle
        else:
            bad = middle
    return good


SIMPLIFY_MM = 0.25
LIKE_MM = 0.005
"""How far an outline turned over may be off one that is cut together with it."""


class _Way(NamedTuple):
    """A turn and hand of the outline that is seen, and the direction of the garment's pieces."""

    turn: float
    mirrored: bool
    direction: int


@dataclass
class Shapes:
    """Distinct oriented outlines met so far, each with its core."""

    outlines: list[FloatArray] = field(default_factory=list)
    cores: list[FloatArray] = field(default_factory=list)
    index: dict[tuple[bytes, bytes], int] = field(default_factory=dict)

    def add(self, outline: FloatArray, core: FloatArray) -> int:
        """Number of the outline with that core."""
        key = _canonical(outline), _canonical(core)
        if key not in self.index:
            self.index[key] = len(self.outlines)
            self.outlines.append(outline)
            self.cores.append(core)
        return self.index[key]


def item_of(cut: Cut, table: Table, shapes: Shapes) -> Item:
    """The cut in all ways that it may lie and fits the table, of no garment yet; without
    orientations if there are none."""
    piece, half_gap = cut.label.piece, table.half_gap_mm
    grown = polygons.grow(piece.outline, half_gap)
    outlines = Outlines(piece.outline, polygons.simplify_outward(grown, SIMPLIFY_MM))
    made = _on_folds if cut.on_fold else _on_plies
    found: dict[object, Orientation] = {}
    for orientation in made(cut, table, outlines, shapes):
        found.setdefault(
            (orientation.shape, orientation.direction, orientation.lane, orientation.phase),
            orientation,
        )
    tie = table.tie(cut.label)
    tilts = piece.grain_tolerance_deg > 0 and not cut.on_fold and not tie.is_tied
    return Item(tuple(found.values()), repeat=tie.repeat, outlines=outlines if tilts else None)


def sum_of_turns(cut: Cut, table: Table) -> float | None:
    """Degrees that the rotations of a cut's two copies add up to; None if the outline of the one,
    turned over, is not that of the other.

    The other hand is the image by itself. The same hand is it where the piece is like its own
    mirror image; of several such sums, that which leaves most turns.
    """
    label, twin = cut.label, cut.twin
    if table.image_turn is None or twin is None or twin.mirrored != label.mirrored:
        return table.image_turn
    piece, turns = label.piece, table.turns(label)
    if table.tie(label).is_tied:  # turned otherwise than its image it would leave the repeat
        both = _lines(piece, 0.0, label.mirrored), _lines(piece, 0.0, not label.mirrored)
        return table.image_turn if _alike(*both) else None
    over = _lines(piece, table.image_turn, not label.mirrored)
    sums = sorted({(one + other) % 360 for one in turns for other in turns})
    like = [each for each in sums if _alike(over, _lines(piece, each, label.mirrored))]
    return max(like, key=lambda each: len(_paired_turns(cut, table, each)), default=None)


def _paired_turns(cut: Cut, table: Table, total: float) -> list[float]:
    """Turns of the cut's label with which its twin, too, lies in an allowed turn that points the
    same way."""
    turns = table.turns(cut.label)
    return [
        turn
        for turn in turns
        if (total - turn) % 360 in {each % 360 for each in turns}
        and table.direction(turn) == table.direction(total - turn)
    ]


def _ways(cut: Cut, table: Table) -> Iterator[_Way]:
    """Every turn and hand of the upper ply's outline. Where the ply below gives the other hand,
    either may be seen."""
    label = cut.label
    total = sum_of_turns(cut, table)
    turns = table.turns(label)
    if cut.twin is not None:
        turns = tuple(_paired_turns(cut, table, total)) if total is not None else ()
    for turn in turns:
        direction = table.direction(turn)
        yield _Way(turn, label.mirrored, direction)
        if cut.spare or (cut.twin is not None and cut.twin.mirrored != label.mirrored):
            assert total is not None  # there is a ply below
            yield _Way((total - turn) % 360, not label.mirrored, direction)


def _on_plies(cut: Cut, table: Table, outlines: Outlines, shapes: Shapes) -> Iterator[Orientation]:
    """Ways to lie on the cloth without meeting a fold."""
    piece, tie, gap = cut.label.piece, table.tie(cut.label), table.half_gap_mm
    limit = 0.0 if tie.is_tied else piece.grain_tolerance_deg
    core = polygons.shared_by_tilts(piece.outline, limit)
    for turn, mirrored, direction in _ways(cut, table):
        upright = polygons.turned(piece.outline, turn, mirrored)
        for lane in table.lanes:
            sure = _turned_core(core, turn, mirrored)
            for tilt in fitting_tilts(upright, limit, table.room_mm(lane)):
                rotation = (turn + tilt) % 360
                solid, low = oriented(outlines, rotation, mirrored, gap)
                shape = shapes.add(solid, sure - low)
                sure = core[:0]  # the first of the tilts stands for all
                shift = (-float(low[0]) - gap, -float(low[1]) - gap)
                phase, leeway = tie.phase(turn, shift), (-limit - tilt, limit - tilt)
                strip = table.strip_lane(lane)
                last = min(strip[1], table.strip_mm) - solid[:, 1].max()
                if tie.has_place(phase[1], strip[0], last):
                    yield Orientation(
                        shape, rotation, mirrored, direction, shift, phase, leeway, strip
                    )


def _on_folds(cut: Cut, table: Table, outlines: Outlines, shapes: Shapes) -> Iterator[Orientation]:
    """Ways to lie with the fold line on a fold: what is seen is the half on the upper ply."""
    piece, mirrored, gap = cut.label.piece, cut.label.mirrored, table.half_gap_mm
    if piece.fold_line is None:
        return
    for turn in table.turns(cut.label):
        start, end = polygons.turned(piece.fold_line, turn, mirrored)
        if abs(start[1] - end[1]) > ON_FOLD_MM:
            continue
        solid, low = oriented(outlines, turn, mirrored, gap)
        whole = _turned_core(piece.outline, turn, mirrored)
        line = float(start[1] + end[1]) / 2
        for lane, upper in ((each, side) for each in table.lanes for side in _sides(each)):
            half = _half(solid + low, line, upper)
            corner = half.min(axis=0)
            strip = _lane_at_fold(table, lane, upper, float(np.ptp(half[:, 1])))
            if strip is None:
                continue
            shape = shapes.add(half - corner, _half(whole, line, upper) - corner)
            shift = (-float(corner[0]) - gap, -float(corner[1]) - gap)
            phase = table.tie(cut.label).phase(turn, shift)
            yield Orientation(
                shape, turn, mirrored, table.direction(turn), shift, phase, lane=strip
            )


def _sides(lane: Lane) -> tuple[bool, ...]:
    """For each fold of a lane whether it is at its upper edge."""
    return (False,) * lane.fold_low + (True,) * lane.fold_high


def _half(outline: FloatArray, line: float, upper: bool) -> FloatArray:
    """What of an outline lies below a line along the cloth that is a fold at the upper edge of a
    lane, or above one at its lower edge."""
    low, high = outline.min(axis=0), outline.max(axis=0)
    return polygons.clipped(
        outline, *((low, [high[0], line]) if upper else (np.array([low[0], line]), high))
    )


def _lane_at_fold(
    table: Table, lane: Lane, upper: bool, across: float
) -> tuple[float, float] | None:
    """The one place across the strip of a shape that begins or ends at a fold; None if it does not
    fit the lane there."""
    low, high = table.strip_lane(lane)
    if across > high - low:
        return None
    return (high - across, high) if upper else (low, low + across)


def _lines(piece: CutPiece, degrees: float, mirrored: bool) -> tuple[BaseGeometry, BaseGeometry]:
    """What is cut, and the notches, turned; the lower left corner of the bounding box at 0, 0."""
    corner = polygons.turned(piece.outline, degrees, mirrored).min(axis=0)

    def moved(points: FloatArray) -> FloatArray:
        return np.asarray(polygons.turned(points, degrees, mirrored) - corner)

    rings = [moved(np.vstack([ring, ring[:1]])) for ring in (piece.outline, *piece.cutouts)]
    return shapely.MultiLineString(rings), shapely.MultiPoint(moved(piece.notches))


def _alike(one: tuple[BaseGeometry, ...], other: tuple[BaseGeometry, ...]) -> bool:
    return all(
        (a.is_empty and b.is_empty) or a.hausdorff_distance(b) <= LIKE_MM
        for a, b in zip(one, other, strict=True)
    )


def _turned_core(core: FloatArray, turn: float, mirrored: bool) -> FloatArray:
    turned = polygons.turned(core, turn, mirrored)
    return turned[::-1] if mirrored else turned


def _canonical(outline: FloatArray) -> bytes:
    """The same bytes for the same outline whichever vertex it starts at."""
    if len(outline) == 0:
        return b""
    grid = np.rint(outline * 1000).astype(np.int64)
    start = int(np.lexsort((grid[:, 1], grid[:, 0]))[0])
    return np.roll(grid, -start, axis=0).tobytes()
