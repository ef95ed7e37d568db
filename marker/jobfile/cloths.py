"""Checked cloth tables as cloths: width, shrinkage, repeat, border, spread, flaws and remnants."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import shapely

from marker.cloth.behaviour import NO_SHRINKAGE, Direction, Gauge, Shrinkage, lost
from marker.cloth.fabric import Cloth, Price
from marker.cloth.folding import refusal
from marker.cloth.repeat import Axis, Bars, Border, Repeat
from marker.cloth.spread import Spreading, Tube
from marker.cloth.stock import Flaw, Remnant, Roll
from marker.exchange.outlines import Drawn, from_points
from marker.exchange.svg.drawing import outline_in, read_drawing
from marker.files.faults import FaultList, Unusable
from marker.geometry.arrays import FloatArray
from marker.geometry.outline import is_ccw
from marker.jobfile.cloth_table import (
    BarsTable,
    BorderTable,
    ClothTable,
    RepeatTable,
    ShrinkageTable,
    StretchTable,
)
from marker.jobfile.stock_table import FlawTable, RemnantTable
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
        shrinkage=_shrinkage_from(table.shrinkage, faults) if table.shrinkage else NO_SHRINKAGE,
        have_mm=table.have,
        rolls={
            colour: tuple(Roll(each.length, each.width, each.shade) for each in rolls)
            for colour, rolls in table.rolls.items()
        },
        thickness_mm=table.thickness,
        spread=table.spread or (Spreading.TUBE if table.tube else Spreading.OPEN),
        tube=Tube(table.tube.crease) if table.tube else None,
    )
    _check_spread(cloth, faults)
    if cloth.usable_width_mm > 0:
        usable = cloth.usable_width_mm
        border = _border_from(table.border, usable, faults) if table.border else None
        cloth = replace(cloth, repeat=_repeat_from(table.repeat, usable, faults), border=border)
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
        return _in_remnants(cloth, table, faults)
    return replace(cloth, flaws=_flaws_from(table.flaw, cloth, faults))


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


def _shrinkage_from(table: ShrinkageTable, faults: FaultList) -> Shrinkage:
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


def _check_spread(cloth: Cloth, faults: FaultList) -> None:
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


def _repeat_from(table: RepeatTable, usable_width_mm: float, faults: FaultList) -> Repeat:
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


def _border_from(table: BorderTable, usable_width_mm: float, faults: FaultList) -> Border:
    """The border; every fault of it is noted."""
    if table.line > usable_width_mm:
        faults.add(
            "border.line",
            f"the border's line lies {cut_length(table.line)} in, and the cloth's usable width is "
            f"{cut_length(usable_width_mm)}",
            "Measure it from the inner edge of the selvage on the border's side",
        )
    return Border(table.side, table.line)


FLATTEN_MM = 0.1
_SAYS_NOTHING = ("have", "rolls", "flaw", "spread", "tube", "border", "shrinkage", "end_allowance")

_GIVEN = "Give `along` and `across`, each from where to where, or else `points`"


def _flaws_from(tables: Sequence[FlawTable], cloth: Cloth, faults: FaultList) -> tuple[Flaw, ...]:
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


def _in_remnants(cloth: Cloth, table: ClothTable, faults: FaultList) -> Cloth:
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
