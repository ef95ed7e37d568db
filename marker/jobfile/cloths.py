"""Checked cloth tables as cloths: width, shrinkage, repeat, border and spread."""

from __future__ import annotations

from dataclasses import replace

from marker.cloth.behaviour import NO_SHRINKAGE, Direction, Gauge, Shrinkage, lost
from marker.cloth.fabric import Cloth, Price
from marker.cloth.folding import refusal
from marker.cloth.repeat import Axis, Bars, Border, Repeat
from marker.cloth.spread import Spreading, Tube
from marker.cloth.stock import Roll
from marker.files.faults import FaultList, Unusable
from marker.jobfile.cloth_table import (
    BarsTable,
    BorderTable,
    ClothTable,
    RepeatTable,
    ShrinkageTable,
    StretchTable,
)
from marker.jobfile.stock import flaws_from, in_remnants
from marker.units import cut_length, cut_length_up, percent

# felting takes up to about half, knits that relax grow by a tenth: common practice, no source
LEAST_LOST, MOST_LOST = -0.2, 0.6
FINEST_MM = 5.0  # nobody matches finer stripes: common practice, no source


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
        colour=table.colour,
        gauge=_gauge(table.stretch, faults) if table.stretch else None,
        needed_stretch=table.needs_stretch / 100,
        eases_in=table.eases_in / 100,
        shrinkage=shrinkage_from(table.shrinkage, faults) if table.shrinkage else NO_SHRINKAGE,
        have_mm=table.have,
        rolls={
            colour: tuple(Roll(each.length, each.width, each.shade) for each in rolls)
            for colour, rolls in table.rolls.items()
        },
        thickness_mm=table.thickness,
        spread=table.spread or (Spreading.TUBE if table.tube else Spreading.OPEN),
        tube=Tube(table.tube.crease) if table.tube else None,
    )
    check_spread(cloth, faults)
    if cloth.usable_width_mm > 0:
        usable = cloth.usable_width_mm
        border = border_from(table.border, usable, faults) if table.border else None
        cloth = replace(cloth, repeat=repeat_from(table.repeat, usable, faults), border=border)
    else:
        faults.add(
            "selvage",
            f"two selvages of {cut_length(cloth.selvage_mm)} leave nothing of "
            f"{cut_length(cloth.width_mm * cloth.shrinkage.of_cloth[1])}",
            "Give the selvage lost along one edge, less than half the width",
        )
    _check_rolls(cloth, faults)
    if cloth.have_mm is not None and cloth.have_mm <= 2 * cloth.end_allowance_mm:
        faults.add(
            "have",
            f"two end allowances of {cut_length(cloth.end_allowance_mm)} leave nothing of "
            f"{cut_length(cloth.have_mm)}",
            "Give the whole length there is, or a smaller end_allowance",
        )
    if table.remnant:
        return in_remnants(cloth, table, faults)
    return replace(cloth, flaws=flaws_from(table.flaw, cloth, faults))


def _check_rolls(cloth: Cloth, faults: FaultList) -> None:
    """Note rolls that are too narrow for anything."""
    for colour, rolls in cloth.rolls.items():
        for number, roll in enumerate(rolls):
            if cloth.in_width(cloth.width_of(roll)).usable_width_mm <= 0 < cloth.usable_width_mm:
                place = "rolls" + (f".{colour}" if colour else "") + f"[{number + 1}]"
                faults.add(
                    f"{place}.width",
                    f"two selvages of {cut_length(cloth.selvage_mm)} leave nothing of "
                    f"{cut_length(cloth.width_of(roll))}",
                    "Check the width of the roll, or the selvage",
                )


def _gauge(table: StretchTable, faults: FaultList) -> Gauge:
    readings: dict[Direction, float] = {}
    for direction in Direction:
        reading: float | None = getattr(table, direction)
        if reading is None:
            continue
        if reading < table.gauge:
            faults.add(
                f"stretch.{direction}",
                f"{cut_length(table.gauge)} cannot stretch to {cut_length(reading)}",
                "Give the length that the gauge's length reaches when it is stretched",
            )
        readings[direction] = reading
    return Gauge(readings, table.gauge)


def shrinkage_from(table: ShrinkageTable, faults: FaultList) -> Shrinkage:
    """The shrinkage, by percentages or by a test square; every fault of it is noted."""
    square, percentages = table.test_square, table.percent
    if square and not percentages:
        key, before = "test_square", square.marked
        shares = lost(before, square.along), lost(before, square.across)
    elif percentages and not square:
        key, shares = "percent", (percentages.along / 100, percentages.across / 100)
    else:
        said = "both percentages and a test square are given" if square else "no amount is given"
        faults.add("shrinkage", said, "Give either `percent` or `test_square`")
        return NO_SHRINKAGE
    if not _plausible(f"shrinkage.{key}", shares, faults):
        return NO_SHRINKAGE
    return Shrinkage(*shares, cut=table.cut)


def _plausible(key: str, shares: tuple[float, float], faults: FaultList) -> bool:
    """Whether cloth does that; a share beyond all cloth is a fault."""
    wrong = {
        direction: share
        for direction, share in zip(("along", "across"), shares, strict=True)
        if not LEAST_LOST <= share <= MOST_LOST
    }
    for direction, share in wrong.items():
        does = f"shrink by {percent(share)}" if share > 0 else f"grow by {percent(-share)}"
        faults.add(
            f"{key}.{direction}",
            f"the cloth would {does}" + (", so nothing of it would be left" if share >= 1 else ""),
            f"Check it: at most {percent(MOST_LOST)} may be lost, and {percent(-LEAST_LOST)} "
            "gained",
        )
    return not wrong


def check_spread(cloth: Cloth, faults: FaultList) -> None:
    """Note what the cloth can't be: spread like this, or a tube with these edges and creases."""
    refused = refusal(cloth.spread, cloth)
    if refused:
        faults.add("spread", *refused)
    if cloth.tube is None:
        return
    if cloth.selvage_mm:
        faults.add(
            "selvage",
            "a tube has no selvages",
            "Leave it out; of a cloth slit and sold open, leave out `tube`",
        )
    if 2 * cloth.tube.crease_mm >= cloth.width_mm:
        faults.add(
            "tube.crease",
            f"creases {cut_length(cloth.tube.crease_mm)} wide leave little of a tube that lies "
            f"{cut_length(cloth.width_mm)} wide",
            "Give the width of the strip to keep clear of along one crease",
        )


def repeat_from(table: RepeatTable, usable_width_mm: float, faults: FaultList) -> Repeat:
    """The repeat; every fault of it is noted."""
    bars: dict[Axis, Bars | None] = {}
    for axis in Axis:
        given: BarsTable | None = getattr(table, axis)
        bars[axis] = None
        if given is None:
            continue
        known = axis is Axis.ACROSS or "begins" in given.model_fields_set
        bars[axis] = Bars(given.every, given.begins, given.even, known)
        with faults.gathering(f"repeat.{axis}"):
            _demand_sound(given)
            if axis is Axis.ACROSS and given.every > usable_width_mm:
                raise Unusable(
                    f"a repeat of {cut_length(given.every)} is wider than the cloth's usable "
                    "width of "
                    f"{cut_length(usable_width_mm)}",
                    "Give the width after which the pattern comes again, or leave it out if it "
                    "does not",
                )
    return Repeat(bars[Axis.ALONG], bars[Axis.ACROSS])


def _demand_sound(given: BarsTable) -> None:
    if given.every < FINEST_MM:
        raise Unusable(
            f"a repeat of {cut_length(given.every)} is too fine to be matched",
            f"Give at least {cut_length_up(FINEST_MM)}, or leave it out: pieces then lie anywhere",
        )
    if given.begins >= given.every:
        raise Unusable(
            f"the first repeat can't begin at {cut_length(given.begins)} when one begins every "
            f"{cut_length(given.every)}",
            f"Then the first begins at {cut_length(given.begins % given.every)}",
        )


def border_from(table: BorderTable, usable_width_mm: float, faults: FaultList) -> Border:
    """The border; every fault of it is noted."""
    if table.line > usable_width_mm:
        faults.add(
            "border.line",
            f"the border's line lies {cut_length(table.line)} in, and the cloth's usable width is "
            f"{cut_length(usable_width_mm)}",
            "Measure it from the inner edge of the selvage on the border's side",
        )
    return Border(table.side, table.line)
