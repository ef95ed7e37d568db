"""A cloth's flaws and remnants out of their checked tables."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import shapely

from marker.cloth.fabric import Cloth
from marker.cloth.stock import Flaw, Remnant
from marker.exchange.outlines import Drawn, from_points
from marker.exchange.svg.drawing import outline_in, read_drawing
from marker.files.faults import FaultList, Unusable
from marker.geometry.arrays import FloatArray
from marker.geometry.outline import is_ccw
from marker.jobfile.cloth_table import ClothTable
from marker.jobfile.stock_table import FlawTable, RemnantTable
from marker.units import cut_length

FLATTEN_MM = 0.1
_SAYS_NOTHING = ("have", "rolls", "flaw", "spread", "tube", "border", "shrinkage", "end_allowance")

_GIVEN = "Give `along` and `across`, each from where to where, or else `points`"


def flaws_from(tables: Sequence[FlawTable], cloth: Cloth, faults: FaultList) -> tuple[Flaw, ...]:
    """The flaws of a cloth; every fault of them is noted, such as one that lies off the cloth."""
    found = []
    for number, table in enumerate(tables, 1):
        with faults.gathering(f"flaw[{number}] ({table.name})"):
            outline = _outline(table)
            _demand_on_cloth(outline, cloth)
            found.append(Flaw(table.name, outline))
    return tuple(found)


def _outline(table: FlawTable) -> FloatArray:
    if table.points is not None:
        if table.along is not None or table.across is not None:
            raise Unusable("`points` and a box both say where it is", _GIVEN)
        return from_points(table.points).counter_clockwise
    if table.along is None or table.across is None:
        raise Unusable("nothing says where it is", _GIVEN)
    (x, far_x), (y, far_y) = sorted(table.along), sorted(table.across)
    return from_points([[x, y], [far_x, y], [far_x, far_y], [x, far_y]]).counter_clockwise


def _demand_on_cloth(outline: FloatArray, cloth: Cloth) -> None:
    """It must touch the usable width, and may reach no farther than the cloth itself."""
    (start, low), (_, high) = outline.min(axis=0), outline.max(axis=0)
    usable, selvage, end = cloth.usable_width_mm, cloth.selvage_mm, cloth.end_allowance_mm
    if low < -selvage or high > usable + selvage or high <= 0 or low >= usable:
        raise Unusable(
            f"it lies from {cut_length(low)} to {cut_length(high)} across the cloth, whose "
            "usable width "
            f"runs from 0 to {cut_length(usable)}",
            "Measure across from the inner edge of the near selvage",
        )
    if cloth.have_mm is not None and start >= cloth.have_mm - end:
        raise Unusable(
            f"it starts {cut_length(start)} along, beyond the {cut_length(cloth.have_mm)} there "
            "are",
            "Leave it out, or correct it or `have`",
        )
    if start < -end:
        raise Unusable(
            f"it starts {cut_length(-start)} before the layout does, off the cloth",
            "Measure along the cloth from where the layout starts, inside the end allowance",
        )


def in_remnants(cloth: Cloth, table: ClothTable, faults: FaultList) -> Cloth:
    """The cloth as the remnants there are of it, as wide as the widest; every fault is noted."""
    for key in (*_SAYS_NOTHING, *(["repeat"] if table.repeat.model_fields_set else [])):
        if getattr(table, key):
            remedy = "Leave it out; outline each remnant as it can be used, washed, without flaws"
            faults.add(key, "it says nothing of remnants", remedy)
    found = []
    for number, each in enumerate(table.remnant, 1):
        with faults.gathering(f"remnant[{number}] ({each.name})"):
            found.append(_remnant(each, faults.file.parent))
            _demand_width(found[-1], table.width)
    names = [remnant.name for remnant in found]
    for name in sorted({name for name in names if names.count(name) > 1}):
        faults.add("remnant", f"two are called '{name}'", "Give each a name of its own")
    if not found:
        return cloth
    widest = max(remnant.across_mm for remnant in found)
    return replace(cloth, width_mm=widest, selvage_mm=0.0, remnants=tuple(found))


def _remnant(table: RemnantTable, folder: Path) -> Remnant:
    if (table.points is None) == (table.drawing is None):
        raise Unusable("nothing, or two things, say what shape it is", "Give points, or a drawing")
    if table.points is not None:
        drawn = from_points(table.points)
        holes = [from_points(hole).points for hole in table.holes]
    else:
        drawn = _from_drawing(table, folder)
        holes = [*drawn.cutouts, *(from_points(hole).points for hole in table.holes)]
    outline = drawn.counter_clockwise
    whole = shapely.Polygon(outline)
    if not all(whole.contains(shapely.Polygon(hole)) for hole in holes):
        raise Unusable("a hole reaches over its outline", "Draw it inside, or draw it as a bay")
    corner = outline.min(axis=0)
    return Remnant(table.name, outline - corner, tuple(_ccw(hole) - corner for hole in holes))


def _from_drawing(table: RemnantTable, folder: Path) -> Drawn:
    name, _, element = (table.drawing or "").rpartition("#")
    if not (name and element):
        raise Unusable(
            f"'{table.drawing}' does not name a drawing and an element of it",
            'Write the file and the id, such as "remnants.svg#from-the-skirt"',
        )
    return outline_in(read_drawing(folder / name), element, table.drawing_unit, FLATTEN_MM)


def _ccw(hole: FloatArray) -> FloatArray:
    return hole if is_ccw(hole) else hole[::-1]


def _demand_width(remnant: Remnant, width_mm: float) -> None:
    if remnant.across_mm > width_mm:
        raise Unusable(
            f"it is {cut_length(remnant.across_mm)} across, wider than its cloth of "
            f"{cut_length(width_mm)}",
            "Draw it with the warp along x, and check its unit",
        )
