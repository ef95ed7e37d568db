"""Strips cut by themselves: rows across the cloth, along it or on the bias, and a bias square."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from marker.cloth.behaviour import Direction
from marker.cloth.fabric import Cloth
from marker.pattern.bands.strip_plan import StripPlan
from marker.pattern.transforms import as_cut
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
    """Rows for so many garments: for each width and direction, the longest parts first, each in
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
    """Rows across lie one after the other; rows on the bias step w·√2 along the selvage, and their
    ends reach (L + w)/√2 (geometry); rows along the cloth lie side by side while there is width."""
    gap, total = cloth.gap_mm, 0.0
    across = [row for row in rows if row.direction is Direction.CROSSGRAIN]
    total += sum(row.width_mm + gap for row in across)
    bias = [row for row in rows if row.direction is Direction.BIAS]
    if bias:
        reach = max(row.used_mm + gap * (len(row.parts) - 1) + row.width_mm for row in bias)
        steps = sum((row.width_mm + gap) * math.sqrt(2) for row in bias[1:])
        total += reach / math.sqrt(2) + steps + gap
    side, longest = 0.0, 0.0
    along = [row for row in rows if row.direction is Direction.LENGTHGRAIN]
    for row in sorted(along, key=lambda row: -row.used_mm):
        if longest and side + row.width_mm > cloth.width_for_pattern_mm + HAIR_MM:
            total, side, longest = total + longest + gap, 0.0, 0.0
        side, longest = side + row.width_mm + gap, max(longest, row.used_mm)
    return max(0.0, total + longest - (0.0 if along else gap)) if rows else 0.0


def _squares(rows: Iterable[Row]) -> tuple[BiasSquare, ...]:
    lengths: dict[float, float] = {}
    for row in rows:
        if row.direction is Direction.BIAS:
            lengths[row.width_mm] = lengths.get(row.width_mm, 0.0) + row.used_mm
    return tuple(BiasSquare(width, length) for width, length in lengths.items())
