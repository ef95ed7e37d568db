"""The tables under [cloth.NAME] of a job file, and all that is to be known of their keys."""

from __future__ import annotations

from functools import partial
from typing import Annotated, Any

from pydantic import (
    BeforeValidator,
    Field,
    WrapValidator,
)

from marker.cloth.behaviour import GAUGE_MM, Cut
from marker.cloth.fabric import EASES_IN, Nap
from marker.cloth.repeat import Side
from marker.cloth.spread import Spreading
from marker.files.tables import Table, key
from marker.files.values import (
    LENGTH_SCHEMA,
    SMALLEST_SIZE_MM,
    Alone,
    Coordinate,
    Margin,
    Name,
    Number,
    OneOf,
    OrText,
    Size,
    Spoken,
    Text,
    as_written_within,
)
from marker.jobfile.stock_table import (
    MOST_FLAWS,
    MOST_REMNANTS,
    FlawTable,
    RemnantTable,
    RollsByColour,
    Width,
)

THICKEST_CLOTH_MM = 100.0  # common practice, no source

Thickness = Annotated[
    Coordinate,
    WrapValidator(partial(as_written_within, SMALLEST_SIZE_MM, THICKEST_CLOTH_MM)),
    Spoken("length above 0", {**LENGTH_SCHEMA, "exclusiveMinimum": 0}),
]


class PriceTable(Table):
    """What the cloth costs."""

    amount: Annotated[Number, Field(ge=0, le=1e6)] = key("How much money.", "14.90")
    per: Size = key("For which length of cloth.", '"1 m"')
    currency: Name = key("Of which currency.", '"EUR"')


class StretchTable(Table):
    """How far the cloth stretches, read on a gauge.

    Fold the cloth, hold the gauge's length of it and stretch it easily along a ruler. Give the
    length it reaches, in each direction that you measured. A cloth does not stretch in a direction
    without a reading.
    """

    gauge: Size = key("The length that is stretched.", '"4 in"', default=GAUGE_MM, usual="4 in")
    crossgrain: Size | None = key(
        "What it reaches across the cloth.",
        '"6 in"',
        default=None,
        usual="not measured",
        refused="less than the gauge",
    )
    lengthgrain: Size | None = key(
        "What it reaches along the cloth.",
        '"4 1/2 in"',
        default=None,
        usual="not measured",
        refused="less than the gauge",
    )
    bias: Size | None = key(
        "What it reaches at 45°.",
        '"5 in"',
        default=None,
        usual="not measured",
        refused="less than the gauge",
    )


class PercentTable(Table):
    """What washing takes, in percent; below 0 where the cloth grows."""

    along: Annotated[Number, Field(ge=-1000, le=1000)] = key(
        "Lost along the cloth.", "5", refused="more than 60 lost or 20 grown"
    )
    across: Annotated[Number, Field(ge=-1000, le=1000)] = key(
        "Lost across the cloth.", "3", refused="more than 60 lost or 20 grown"
    )


class TestSquareTable(Table):
    """A square of the cloth, measured before and after washing."""

    marked: Size = key("Between the marks before washing.", '"25 cm"')
    along: Size = key(
        "After it, along the cloth.", '"24 cm"', refused="more than 60 % lost or 20 % grown"
    )
    across: Size = key(
        "After it, across the cloth.", '"24.5 cm"', refused="more than 60 % lost or 20 % grown"
    )


class ShrinkageTable(Table):
    """What washing takes. See the topic 'shrinkage'."""

    cut: Annotated[Cut, OneOf()] = key(
        "Whether the cloth is cut before or after it is washed.", '"after washing"'
    )
    percent: PercentTable | None = key(
        "What washing takes, in percent.",
        "{ along = 5, across = 3 }",
        default=None,
        usual="given by test_square",
        refused="both percent and test_square, or neither",
    )
    test_square: TestSquareTable | None = key(
        "What washing takes, by a test square.",
        '{ marked = "25 cm", along = "24 cm", across = "24.5 cm" }',
        default=None,
        usual="given by percent",
        refused="both percent and test_square, or neither",
    )


class BarsTable(Table):
    """Stripes in one direction. The distance alone may stand for the table."""

    every: Size = key(
        "The length or width after which the pattern comes again.",
        '"9 cm"',
        refused="less than 5 mm; across, more than the usable width",
    )
    begins: Margin = key(
        "Where the first repeat begins. Along: from the start of the layout. Across: from the "
        "inner edge of the near selvage.",
        '"4 cm"',
        default=0.0,
        usual="across 0; along, the layout may start on any place of the repeat",
        refused="`every` or more",
    )
    even: bool = key(
        "Whether the pattern reads the same backwards from there.", "false", default=True
    )


Bars = Annotated[BarsTable, OrText("every", numbers=True)]


class RepeatTable(Table):
    """The stripes or plaid of the cloth. See the topic 'matches'."""

    along: Bars | None = key(
        "Bars that run across the cloth and come again along it.",
        '"12 cm"',
        default=None,
        usual="none",
    )
    across: Bars | None = key(
        "Stripes that run along the cloth and come again across it.",
        '{ every = "9 cm", begins = "4 cm", even = false }',
        default=None,
        usual="none",
    )


class BorderTable(Table):
    """A border print along one edge of the cloth."""

    side: Annotated[Side, OneOf()] = key("Along which edge.", '"near"')
    line: Margin = key(
        "Where the edges of pieces lie on it, from the inner edge of the selvage on its side.",
        '"5 cm"',
        refused="more than the usable width",
    )


class TubeTable(Table):
    """A tubular knit. `true` stands for a tube whose creases press out."""

    crease: Margin = key(
        "How wide a strip to keep clear of along each of its two creases.",
        '"1 cm"',
        default=0.0,
        usual="0",
    )


def _tube(value: Any) -> Any:
    """`true` as a tube whose creases press out."""
    return {} if value is True else value


class ClothTable(Table):
    """A cloth that pieces are cut from. The first one in the file is the main cloth.

    Widths and selling steps are those of the cloth as bought. All other lengths are those of the
    cloth on the table.
    """

    width: Width = key(
        "From edge to edge, selvages included; of a tube, as it lies flat.",
        '"150 cm"',
        refused="more than 10 m",
    )
    colour: Text = key("Its colour, for the cutting sheet.", '"dark red"', default="", usual="none")
    selvage: Margin = key(
        "Lost along each of the two edges.",
        '"1 cm"',
        default=0.0,
        usual="0",
        refused="half the width or more; a selvage of a tube",
    )
    nap: Annotated[Nap, OneOf()] = key(
        "Which way pieces may point. Pile, sheen and one-way prints look different upside down. "
        "'one way': all pieces point one way. 'one way per garment': those of a garment do.",
        '"one way per garment"',
        default=Nap.EITHER_WAY,
    )
    gap: Margin = key(
        "The least distance between two pieces: room for the blade.",
        '"2 mm"',
        default=0.0,
        usual="0",
    )
    end_allowance: Margin = key(
        "Left over at each end of the cloth.", '"2 cm"', default=0.0, usual="0"
    )
    sold_by: Size = key(
        "The shop cuts whole multiples of this length.", '"10 cm"', default=100.0, usual="10 cm"
    )
    price: PriceTable | None = key(
        "What it costs.",
        '{ amount = 14.90, per = "1 m", currency = "EUR" }',
        default=None,
        usual="not known",
    )
    stretch: StretchTable | None = key(
        "How far it stretches, read on a gauge.",
        '{ crossgrain = "6 in", gauge = "4 in" }',
        default=None,
        usual="it does not stretch",
    )
    shrinkage: ShrinkageTable | None = key(
        "What washing takes.",
        '{ cut = "after washing", percent = { along = 5, across = 3 } }',
        default=None,
        usual="nothing",
    )
    needs_stretch: Annotated[Number, Field(ge=0, le=1000)] = key(
        "Percent of stretch around the body that the pattern asks of this cloth.",
        "35",
        default=0.0,
    )
    eases_in: Annotated[Number, Field(ge=0, le=50)] = key(
        "Percent by which a length may be eased into a shorter one and still lie flat. "
        "The default is common practice.",
        "5",
        default=100 * EASES_IN,
    )
    repeat: RepeatTable = key(
        "Its stripes or plaid.", '{ along = "12 cm" }', default=RepeatTable(), usual="none"
    )
    border: BorderTable | None = key(
        "Its border print.", '{ side = "near", line = "5 cm" }', default=None, usual="none"
    )
    flaw: Annotated[list[FlawTable], Field(max_length=MOST_FLAWS)] = key(
        "Places that no piece may touch, at most 100.",
        '[{ name = "stain", along = ["30 cm", "35 cm"], across = ["0 cm", "8 cm"] }]',
        default=[],
        usual="none",
    )
    have: Size | None = key(
        "The whole length there is, end allowances included.",
        '"2.3 m"',
        default=None,
        usual="the cloth is bought",
        refused="no more than the two end allowances",
    )
    rolls: RollsByColour = key(
        "What rolls there are, at most 50 of a colour, each by its length or as a table. "
        "`marker order JOB` shares out the lays.",
        '{ red = ["52 m", { length = "38 m", width = "148 cm", shade = "B" }], blue = ["9 m"] }',
        default={},
        usual="as bought",
    )
    thickness: Thickness | None = key(
        "How thick one layer is, so that lay sheets say how high a lay gets. Measure a pile of "
        "ten layers and divide by ten.",
        '"0.6 mm"',
        default=None,
        usual="not known",
        refused="more than 10 cm",
    )
    remnant: Annotated[list[RemnantTable], Field(max_length=MOST_REMNANTS)] = key(
        "All that there is, if that is remnants; at most 50.",
        '[{ name = "left over", points = [[0, 0], ["60 cm", 0], [0, "40 cm"]] }]',
        default=[],
        usual="the cloth is one length",
        refused="have, rolls, flaw, spread, tube, border, shrinkage, end_allowance or repeat "
        "beside it",
    )
    spread: Annotated[Spreading, OneOf()] | None = key(
        "How it lies on the table. 'tube' and 'slit open' are for tubes.",
        '"folded lengthwise"',
        default=None,
        usual='"open", or "tube" of a tube',
        refused="'folded crosswise' of a cloth with a nap, whose lower ply would run back; ways of "
        "tubes for other cloths, and other ways for tubes",
    )
    tube: Annotated[TubeTable, BeforeValidator(_tube), Alone({"const": True})] | None = key(
        "It is knitted as a tube, without selvages.",
        "true",
        default=None,
        usual="it is not",
        refused="creases that leave nothing",
    )
