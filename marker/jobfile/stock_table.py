"""The tables of cloth that is there: its flaws, its rolls, and odd-shaped remnants."""

from __future__ import annotations

from functools import partial
from typing import Annotated, Any

from pydantic import Field, GetCoreSchemaHandler, GetJsonSchemaHandler, WrapValidator
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema, core_schema

from marker.files.tables import Table, key
from marker.files.values import (
    LENGTH_SCHEMA,
    SMALLEST_SIZE_MM,
    Coordinate,
    DrawingUnit,
    Name,
    OrText,
    Point,
    Size,
    Spoken,
    Text,
    as_written_within,
)

WIDEST_CLOTH_MM = 10_000.0  # no loom weaves wider; common practice, no source
MOST_FLAWS = 100
MOST_REMNANTS = 50
MOST_ROLLS = 50

Width = Annotated[
    Coordinate,
    WrapValidator(partial(as_written_within, SMALLEST_SIZE_MM, WIDEST_CLOTH_MM)),
    Spoken("length above 0", {**LENGTH_SCHEMA, "exclusiveMinimum": 0}),
]


class FlawTable(Table):
    """A place that no piece may touch: a box from where to where, or an outline by points.

    Measure along the cloth from where the layout starts, inside the end allowance. Measure across
    it from the inner edge of the near selvage.
    """

    name: Name = key("What it is called in messages and drawings.", '"stain"')
    along: Point | None = key(
        "From where to where along the cloth.",
        '["30 cm", "35 cm"]',
        default=None,
        usual="given by points",
        refused="a place off the cloth",
    )
    across: Point | None = key(
        "From where to where across the cloth.",
        '["0 cm", "8 cm"]',
        default=None,
        usual="given by points",
        refused="a place off the cloth",
    )
    points: list[Point] | None = key(
        "Its outline, as [along, across] of each corner.",
        '[["30 cm", 0], ["35 cm", 0], ["35 cm", "8 cm"]]',
        default=None,
        usual="given by along and across",
        refused="a box beside it",
    )


class RollTable(Table):
    """A roll of the cloth. Where nothing but its length is known, that alone stands for it."""

    length: Size = key("How long it is.", '"52 m"')
    width: Width | None = key(
        "How wide it is, from edge to edge. A marker is laid for the narrowest roll of its plies.",
        '"148 cm"',
        default=None,
        usual="that of its cloth",
    )
    shade: Text = key(
        "Its shade. All pieces of a garment come from rolls of one.",
        '"B"',
        default="",
        usual="one that has no name",
    )


class _InOneColour:
    """Annotates rolls by colour: what is no table is the rolls of one colour that is not named."""

    def __get_pydantic_core_schema__(
        self, source: Any, handler: GetCoreSchemaHandler
    ) -> CoreSchema:
        return core_schema.no_info_before_validator_function(self._by_colour, handler(source))

    def __get_pydantic_json_schema__(
        self, core: CoreSchema, handler: GetJsonSchemaHandler
    ) -> JsonSchemaValue:
        table = handler(core)
        return {"anyOf": [table["additionalProperties"], table]}

    @staticmethod
    def _by_colour(value: Any) -> Any:
        return value if isinstance(value, dict) else {"": value}


Rolls = Annotated[
    list[Annotated[RollTable, OrText("length", numbers=True)]],
    Field(min_length=1, max_length=MOST_ROLLS),
]
RollsByColour = Annotated[
    dict[Text, Rolls],
    _InOneColour(),
    Spoken("list of rolls, or a table of colour = list of rolls"),
]


class RemnantTable(Table):
    """An odd-shaped piece of the cloth.

    Outline it as it can be used: washed, without flaws and selvages. Warp and nap run along x, to
    the right.
    """

    name: Name = key("What it is called; each has a name of its own.", '"from the skirt"')
    points: list[Point] | None = key(
        "Its corners.",
        '[[0, 0], ["60 cm", 0], [0, "40 cm"]]',
        default=None,
        usual="given by drawing",
        refused="wider than the cloth",
    )
    holes: Annotated[list[list[Point]], Field(max_length=MOST_FLAWS)] = key(
        "Outlines of holes in it.",
        '[[["10 cm", "5 cm"], ["12 cm", "5 cm"], ["12 cm", "7 cm"]]]',
        default=[],
        usual="none",
        refused="a hole that reaches over the outline",
    )
    drawing: str | None = key(
        "Its outline as a shape in an SVG file beside the job: the file, # and the shape's id.",
        '"remnants.svg#from-the-skirt"',
        default=None,
        usual="given by points",
    )
    drawing_unit: DrawingUnit | None = key(
        "What one unit of the drawing measures, as for pieces.", '"mm"', default=None, usual="none"
    )
