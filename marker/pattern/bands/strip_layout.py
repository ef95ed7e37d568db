"""Strips cut by themselves: rows across the cloth, along it or on the bias, and a bias square."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from marker.cloth.behaviour import Direction
from marker.cloth.fabric import Cloth
from marker.pattern.bands.strip_plan import StripPlan
from marker.pattern.washing import as_cut
from marker.tolerances import HAIR_MM


@dataclass(frozen=True)
class Row:
    """Strips of one width cut from one length of cloth, end to end.

    parts : name and cut length of each.
    """

    direction: Direction
    width_mm: float
    parts: tuple[tuple[str, float], ...]

    @property
    def used_mm(self) -> float:
        """Length of the row that the parts take."""
        return sum(length for _, length in self.parts)


@dataclass(frozen=True)
class BiasSquare:
    """A square that yields strips of one width, sewn into a tube and cut round and round."""

    width_mm: float
    length_mm: float

    @property
    def area_mm2(self) -> float:
        """Length × width: a strip has the area of the cloth it is cut from (geometry)."""
        return self.length_mm * self.width_mm

    @property
    def side_mm(self) -> float:
        """Side of the square, without the allowances of the tube's two seams."""
        return math.sqrt(self.area_mm2)


@dataclass(frozen=True)
class StripLayout:
    """All strips of a job from one cloth, cut apart from the pieces.

    rows : across the cloth each is one cross-cut.
    length_mm : of cloth that all of them take.
    All measures are those that are cut: grown where the cloth is washed after cutting.
    squares : one for each width of bias strip, as another way to cut them.
    """

    cloth: Cloth
    rows: tuple[Row, ...]
    length_mm: float
    squares: tuple[BiasSquare, ...]

    def rows_along(self, direction: Direction) -> tuple[Row, ...]:
        """The rows of one direction."""
        return tuple(row for row in self.rows if row.direction is direction)


def strip_layout(plans: Iterable[StripPlan], cloth: Cloth, garments: int) -> StripLayout:
    """Rows for so many garments. For each width and direction, the longest parts first, each in
    the first row that has room (first fit decreasing), which may take a row more than the fewest.
    """
    rows: list[Row] = []
    groups: dict[tuple[Direction, float], list[tuple[str, float]]] = {}
    for plan in plans:
        strip = plan.strip
        part = (strip.name, plan.parts.length_mm)
        wanted = [part] * (plan.parts.count * strip.cut * garments)
        groups.setdefault((strip.direction, strip.width_mm), []).extend(wanted)
    for (direction, width), parts in groups.items():
        rows += _rows(direction, width, parts, cloth)
    length = _length(rows, cloth) * cloth.shrinkage.growth[0]
    rows = [_as_cut(row, cloth) for row in rows]
    return StripLayout(cloth, tuple(rows), length, _squares(rows))


def _as_cut(row: Row, cloth: Cloth) -> Row:
    """A row laid as the pattern has it on cloth as wide as `width_for_pattern_mm`, grown with it:
    all that lies on the cloth grows by the same two factors."""
    lengths = [as_cut(row.direction, mm, row.width_mm, cloth)[0] for _, mm in row.parts]
    parts = tuple((name, mm) for (name, _), mm in zip(row.parts, lengths, strict=True))
    return Row(row.direction, as_cut(row.direction, 0.0, row.width_mm, cloth)[1], parts)


def _rows(
    direction: Direction, width: float, parts: Sequence[tuple[str, float]], cloth: Cloth
) -> list[Row]:
    room = {
        Direction.CROSSGRAIN: cloth.width_for_pattern_mm,
        Direction.BIAS: cloth.width_for_pattern_mm * math.sqrt(2) - width,
        Direction.LENGTHGRAIN: 0.0,  # a strip to a row; rows lie side by side
    }[direction]
    filled: list[list[tuple[str, float]]] = []
    for part in sorted(parts, key=lambda part: -part[1]):
        for row in filled:
            if sum(length + cloth.gap_mm for _, length in row) + part[1] <= room + HAIR_MM:
                row.append(part)
                break
        else:
            filled.append([part])
    return [Row(direction, width, tuple(row)) for row in filled]


def _length(rows: Sequence[Row], cloth: Cloth) -> float:
    """Rows across lie one after the other. Rows on the bias and rows along the cloth lie beside one
    another where the width holds both, else one after the other, too."""
    gap, width = cloth.gap_mm, cloth.width_for_pattern_mm
    across, bias, along = (
        [row for row in rows if row.direction is each]
        for each in (Direction.CROSSGRAIN, Direction.BIAS, Direction.LENGTHGRAIN)
    )
    stretches = [row.width_mm for row in across]
    slanted, wide = _on_the_bias(bias, gap)
    beside = sum(row.width_mm + gap for row in along)
    if bias and along and wide + beside <= width + HAIR_MM:
        stretches.append(max(slanted, *(row.used_mm for row in along)))
    else:
        stretches += [slanted] if bias else []
        stretches += _side_by_side(along, gap, width)
    return sum(stretches) + gap * max(0, len(stretches) - 1)


def _on_the_bias(rows: Sequence[Row], gap: float) -> tuple[float, float]:
    """How far rows at 45° reach along the cloth and across it: they step w·√2 along the selvage,
    and a row reaches (L + w)/√2 both ways (geometry)."""
    if not rows:
        return 0.0, 0.0
    reach = max(row.used_mm + gap * (len(row.parts) - 1) + row.width_mm for row in rows)
    steps = sum((row.width_mm + gap) * math.sqrt(2) for row in rows[1:])
    return reach / math.sqrt(2) + steps, reach / math.sqrt(2)


def _side_by_side(rows: Iterable[Row], gap: float, width: float) -> list[float]:
    """Lengths of cloth of rows along it, the longest first, as many beside one another as fit."""
    found: list[float] = []
    side = math.inf
    for row in sorted(rows, key=lambda row: -row.used_mm):
        if side + row.width_mm > width + HAIR_MM:
            found.append(row.used_mm)
            side = 0.0
        side += row.width_mm + gap
    return found


def _squares(rows: Iterable[Row]) -> tuple[BiasSquare, ...]:
    lengths: dict[float, float] = {}
    for row in rows:
        if row.direction is Direction.BIAS:
            lengths[row.width_mm] = lengths.get(row.width_mm, 0.0) + row.used_mm
    return tuple(BiasSquare(width, length) for width, length in lengths.items())
