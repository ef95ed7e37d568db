"""The tables under [cloth.NAME] of a job file and what each key may hold."""

from __future__ import annotations

from functools import partial
from typing import Annotated, Any

from pydantic import BeforeValidator, Field

from marker.cloth.behaviour import GAUGE_MM, Cut
from marker.cloth.fabric import EASES_IN, Nap
from marker.cloth.repeat import Side
from marker.cloth.spread import Spreading
from marker.files.tables import Table
from marker.files.values import DrawingUnit, Margin, Name, Number, Point, Size, choice, table_of

MOST_FLAWS = 100
MOST_REMNANTS = 50
MOST_ROLLS = 50


class PriceTable(Table):
    amount: Annotated[Number, Field(ge=0, le=1e6)]
    per: Size
    currency: Name


class StretchTable(Table):
    gauge: Size = GAUGE_MM
    crossgrain: Size | None = None
    lengthgrain: Size | None = None
    bias: Size | None = None


class PercentTable(Table):
    along: Annotated[Number, Field(ge=-1000, le=1000)]
    across: Annotated[Number, Field(ge=-1000, le=1000)]


class TestSquareTable(Table):
    marked: Size
    along: Size
    across: Size


class ShrinkageTable(Table):
    cut: Annotated[Cut, BeforeValidator(partial(choice, Cut))]
    percent: PercentTable | None = None
    test_square: TestSquareTable | None = None


class BarsTable(Table):
    every: Size
    begins: Margin = 0.0
    even: bool = True


Bars = Annotated[BarsTable, BeforeValidator(partial(table_of, "every"))]


class RepeatTable(Table):
    along: Bars | None = None
    across: Bars | None = None


class BorderTable(Table):
    side: Annotated[Side, BeforeValidator(partial(choice, Side))]
    line: Margin


class FlawTable(Table):
    name: Name
    along: Point | None = None
    across: Point | None = None
    points: list[Point] | None = None


class TubeTable(Table):
    crease: Margin = 0.0


def _tube(value: Any) -> Any:
    """`true` as a tube whose creases press out."""
    return {} if value is True else value


def _in_one_colour(value: Any) -> Any:
    """What is no table of colours as the rolls of one that is not named."""
    return value if isinstance(value, dict) else {"": value}


Rolls = Annotated[list[Size], Field(min_length=1, max_length=MOST_ROLLS)]


class RemnantTable(Table):
    name: Name
    points: list[Point] | None = None
    holes: list[list[Point]] = Field([], max_length=MOST_FLAWS)
    drawing: str | None = None
    drawing_unit: DrawingUnit | None = None


class ClothTable(Table):
    width: Size
    selvage: Margin = 0.0
    nap: Annotated[Nap, BeforeValidator(partial(choice, Nap))] = Nap.EITHER_WAY
    gap: Margin = 0.0
    end_allowance: Margin = 0.0
    sold_by: Size = 100.0
    price: PriceTable | None = None
    stretch: StretchTable | None = None
    shrinkage: ShrinkageTable | None = None
    needs_stretch: Annotated[Number, Field(ge=0, le=1000)] = 0.0
    eases_in: Annotated[Number, Field(ge=0, le=50)] = 100 * EASES_IN
    repeat: RepeatTable = RepeatTable()
    border: BorderTable | None = None
    flaw: list[FlawTable] = Field([], max_length=MOST_FLAWS)
    have: Size | None = None
    rolls: Annotated[dict[str, Rolls], BeforeValidator(_in_one_colour)] = Field({})
    remnant: list[RemnantTable] = Field([], max_length=MOST_REMNANTS)
    spread: Annotated[Spreading, BeforeValidator(partial(choice, Spreading))] | None = None
    tube: Annotated[TubeTable, BeforeValidator(_tube)] | None = None
