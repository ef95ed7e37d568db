"""A checked flaw table as a Flaw: a box from edge to edge, or an outline by points."""

from __future__ import annotations

from collections.abc import Sequence

from marker.cloth.fabric import Cloth
from marker.cloth.stock import Flaw
from marker.exchange.outlines import from_points
from marker.files.faults import FaultList, Unusable
from marker.geometry.arrays import FloatArray
from marker.jobfile.cloth_table import FlawTable
from marker.units import metric

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
            f"it lies from {metric(low)} to {metric(high)} across the cloth, whose usable width "
            f"runs from 0 to {metric(usable)}",
            "Measure across from the inner edge of the near selvage",
        )
    if cloth.have_mm is not None and start >= cloth.have_mm - end:
        raise Unusable(
            f"it starts {metric(start)} along, beyond the {metric(cloth.have_mm)} there are",
            "Leave it out, or correct it or `have`",
        )
    if start < -end:
        raise Unusable(
            f"it starts {metric(-start)} before the layout does, off the cloth",
            "Measure along the cloth from where the layout starts, inside the end allowance",
        )
