"""From arrangements on a folded cloth to placements on the cloth opened flat."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from marker.cloth.fabric import Cloth
from marker.cloth.folding import Image, Lane, image
from marker.cloth.spread import Spread, Spreading
from marker.geometry import polygons
from marker.layout import Placement
from marker.placement.problem.cuts import Cut, Label
from marker.placement.problem.orientations import sum_of_turns
from marker.placement.problem.prepare import Stretch, placed
from marker.placement.problem.statement import (
    Arrangement,
    Orientation,
    PlacementProblem,
    strip_length,
)
from marker.placement.problem.table import Table


@dataclass(frozen=True)
class Flat:
    """What a layout says of where things lie; lengths in mm. See `Layout`."""

    placements: tuple[Placement, ...]
    spares: tuple[Placement, ...]
    spread: Spread
    length_mm: float


@dataclass(frozen=True)
class Arranged:
    """A stretch as it was laid. problem : the one that the arrangement is of."""

    stretch: Stretch
    problem: PlacementProblem
    arrangement: Arrangement

    @property
    def length_mm(self) -> float:
        """Length of the table that it takes."""
        return strip_length(self.problem, self.arrangement)


def opened_flat(spreading: Spreading, cloth: Cloth, parts: Sequence[Arranged]) -> Flat:
    """The stretches of one cutting plan on the cloth, one behind the other."""
    first = parts[0]
    spread = _spread(spreading, cloth, first.length_mm)
    end = flat_length(spreading, cloth, [first.length_mm])
    found = list(_both_plies(spread, first))
    for part in parts[1:]:
        start = end + cloth.gap_mm
        found += [(placement, False) for placement in _upper(part, start)]
        end = start + part.length_mm
    return Flat(
        tuple(placement for placement, is_spare in found if not is_spare),
        tuple(placement for placement, is_spare in found if is_spare),
        spread,
        end,
    )


def flat_length(spreading: Spreading, cloth: Cloth, lengths: Sequence[float]) -> float:
    """Length of cloth for stretches of these lengths of the table, mm. Cloth laid end on end is
    twice as long, with half a gap kept on either side of the fold or of the cut."""
    first, *rest = lengths
    if spreading.ends_meet:
        first = 2 * first + cloth.gap_mm
    return first + sum(cloth.gap_mm + length for length in rest)


def in_order(placements: Sequence[Placement], items: Sequence[Label]) -> tuple[Placement, ...]:
    """Placements in the order of the labels they lay."""
    order = {(each.garment, each.piece.name, each.copy): k for k, each in enumerate(items)}
    return tuple(sorted(placements, key=lambda p: order[p.garment, p.piece, p.copy]))


def _spread(spreading: Spreading, cloth: Cloth, length: float) -> Spread:
    """length : of the table where the first stretch lies."""
    if spreading.plies == 1:
        return Spread(spreading)
    kept = {Spreading.FOLDED_CROSSWISE: cloth.gap_mm / 2, Spreading.CUT_AND_TURNED: cloth.gap_mm}
    return Spread(spreading, length + kept.get(spreading, 0.0))


def _upper(part: Arranged, start: float) -> Iterator[Placement]:
    """What is seen of each cut. start : x of the flat cloth where the table begins."""
    for cut, way, position in _seen(part):
        x, y = position[0] + start, position[1] + part.stretch.table.start_mm
        yield placed(_upper_label(cut, way), way.rotation_deg, way.mirrored, x, y)


def _seen(part: Arranged) -> Iterator[tuple[Cut, Orientation, tuple[float, float]]]:
    """Each cut with its way to lie, and where its outline is moved on the table."""
    for cut, item, at in zip(part.stretch.cuts, part.problem.items, part.arrangement, strict=True):
        way = item.orientations[at.orientation]
        yield cut, way, (at.x + way.shift[0], at.y + way.shift[1])


def _upper_label(cut: Cut, way: Orientation) -> Label:
    """The copy on the upper ply: that whose hand is seen. A spare goes by the other's name."""
    label, twin = cut.label, cut.twin
    return twin if twin is not None and way.mirrored != label.mirrored else label


def _both_plies(spread: Spread, part: Arranged) -> Iterator[tuple[Placement, bool]]:
    """All that comes of the first stretch, and of each whether it is a spare."""
    table = part.stretch.table
    start = 0.0
    if spread.spreading is Spreading.FOLDED_CROSSWISE:  # the table begins at the fold
        start = spread.two_ply_mm + table.half_gap_mm
    for upper, (cut, way, _) in zip(_upper(part, start), _seen(part), strict=True):
        unwanted = cut.spare and way.mirrored != cut.label.mirrored
        yield upper, unwanted
        if cut.twin is None and not cut.spare:
            continue
        below = image(spread, table.cloth, _lane(table, way))
        lower = cut.label if _upper_label(cut, way) is cut.twin else cut.twin or cut.label
        yield _imaged(upper, lower, cut, table, below), cut.spare and not unwanted


def _lane(table: Table, way: Orientation) -> Lane:
    return next(lane for lane in table.lanes if table.strip_lane(lane) == way.lane)


def _imaged(upper: Placement, lower: Label, cut: Cut, table: Table, below: Image) -> Placement:
    """What the lower ply makes of a placement. Of a piece like its own mirror image it is a copy of
    the same hand in another turn, moved to where the outline is."""
    total = sum_of_turns(cut, table)
    assert total is not None  # the cut goes through two plies
    rotation = (total - upper.rotation_deg) % 360
    mirror, shift = np.array([below.along, below.across]), np.array([below.dx, below.dy])
    if cut.spare or (cut.twin is not None and cut.twin.mirrored != cut.label.mirrored):
        x, y = np.array([upper.x_mm, upper.y_mm]) * mirror + shift
        return placed(lower, rotation, not upper.mirrored, float(x), float(y))
    corner = polygons.turned(lower.piece.outline, rotation, upper.mirrored).min(axis=0)
    x, y = (upper.outline_mm * mirror + shift).min(axis=0) - corner
    return placed(lower, rotation, upper.mirrored, float(x), float(y))
