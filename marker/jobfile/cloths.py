"""A checked cloth table as a Cloth."""

from __future__ import annotations

from dataclasses import replace

from marker.cloth.behaviour import NO_SHRINKAGE, Direction, Gauge
from marker.cloth.fabric import Cloth, Price
from marker.cloth.spread import Spreading, Tube
from marker.files.faults import FaultList
from marker.jobfile.cloth_table import ClothTable, StretchTable
from marker.jobfile.flaws import flaws_from
from marker.jobfile.remnants import in_remnants
from marker.jobfile.repeats import border_from, repeat_from
from marker.jobfile.shrinkage import shrinkage_from
from marker.jobfile.spreads import check_spread
from marker.units import metric

WIDEST_CLOTH_MM = 10_000.0  # no loom weaves wider; common practice, no source


def cloth_from(name: str, table: ClothTable, faults: FaultList) -> Cloth:
    """The cloth; every fault of it is noted."""
    asked = table.price
    price = Price(asked.amount, asked.per, asked.currency) if asked else None
    cloth = Cloth(
        name=name,
        width_mm=table.width,
        selvage_mm=table.selvage,
        nap=table.nap,
        gap_mm=table.gap,
        end_allowance_mm=table.end_allowance,
        sold_by_mm=table.sold_by,
        price=price,
        gauge=_gauge(table.stretch, faults) if table.stretch else None,
        needed_stretch=table.needs_stretch / 100,
        eases_in=table.eases_in / 100,
        shrinkage=shrinkage_from(table.shrinkage, faults) if table.shrinkage else NO_SHRINKAGE,
        have_mm=table.have,
        rolls_mm={colour: tuple(rolls) for colour, rolls in table.rolls.items()},
        spread=table.spread or (Spreading.TUBE if table.tube else Spreading.OPEN),
        tube=Tube(table.tube.crease) if table.tube else None,
    )
    check_spread(cloth, faults)
    if cloth.width_mm > WIDEST_CLOTH_MM:
        faults.add(
            "width", f"a width of {metric(cloth.width_mm)} is absurd", "Check the number and unit"
        )
    if cloth.usable_width_mm > 0:
        usable = cloth.usable_width_mm
        border = border_from(table.border, usable, faults) if table.border else None
        cloth = replace(cloth, repeat=repeat_from(table.repeat, usable, faults), border=border)
    else:
        faults.add(
            "selvage",
            f"two selvages of {metric(cloth.selvage_mm)} leave nothing of "
            f"{metric(cloth.width_mm * cloth.shrinkage.of_cloth[1])}",
            "Give the selvage lost along one edge, less than half the width",
        )
    if cloth.have_mm is not None and cloth.have_mm <= 2 * cloth.end_allowance_mm:
        faults.add(
            "have",
            f"two end allowances of {metric(cloth.end_allowance_mm)} leave nothing of "
            f"{metric(cloth.have_mm)}",
            "Give the whole length there is, or a smaller end_allowance",
        )
    if table.remnant:
        return in_remnants(cloth, table, faults)
    return replace(cloth, flaws=flaws_from(table.flaw, cloth, faults))


def _gauge(table: StretchTable, faults: FaultList) -> Gauge:
    readings: dict[Direction, float] = {}
    for direction in Direction:
        reading: float | None = getattr(table, direction)
        if reading is None:
            continue
        if reading < table.gauge:
            faults.add(
                f"stretch.{direction}",
                f"{metric(table.gauge)} cannot stretch to {metric(reading)}",
                "Give the length that the gauge's length reaches when it is stretched",
            )
        readings[direction] = reading
    return Gauge(readings, table.gauge)
