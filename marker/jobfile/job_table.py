"""The top of a job file and its grade rules, and all that is to be known of their keys."""

from __future__ import annotations

from typing import Annotated, Any

from pydantic import BeforeValidator, ConfigDict, Field, RootModel, ValidationInfo

from marker.files.tables import Holds, Table, key
from marker.files.values import (
    Name,
    OneOf,
    Paragraph,
    Point,
    Size,
    Spoken,
    Text,
    UnitName,
    faulty,
)
from marker.job import Reader
from marker.jobfile.cloth_table import ClothTable
from marker.jobfile.derived_tables import ChangeTable, DerivedTable
from marker.jobfile.piece_table import PieceTable
from marker.jobfile.sewing_tables import (
    GirthTable,
    MatchTable,
    OpeningTable,
    SeamTable,
    StripTable,
)
from marker.units import Systems

MOST_NOTES = 40

GRADED = ("piece", "change", "derived", "strip", "seam", "opening", "girth", "match")
"""The lists of tables whose values may be given by size."""


def _tables(value: Any, info: ValidationInfo) -> Any:
    """A list of tables; one table alone is most often [piece] written for [[piece]]."""
    if isinstance(value, dict):
        raise faulty(
            f"one table stands where a list of tables is expected: [{info.field_name}]",
            f"Write [[{info.field_name}]], in double brackets, before each of them",
        )
    return value


Tables = Annotated[list[dict[str, Any]], BeforeValidator(_tables)]


class RuleTable(RootModel[dict[Name, Point]]):
    """A grade rule: size -> [dx, dy] from the sample size, x to the right and y up as drawn.

    Every size but the sample's has a move. See the topic 'grade rules'.
    """

    model_config = ConfigDict(strict=True, frozen=True)


class RuleFileTable(Table):
    """A file of grade rules."""

    units: UnitName | None = key("The unit of bare numbers.", '"mm"', default=None, usual="none")
    rules: dict[str, Annotated[Any, Holds(RuleTable, listed=False)]] = key(
        "Name -> rule.", "{ hem = { 40 = [10, 0] } }"
    )


class JobTable(Table):
    """A job: the pattern, the cloths, and how many garments. TOML in UTF-8, at most 5 MB.

    See the topics 'lengths' and 'names'.
    """

    name: Name = key("What the job is called, and its folder of results.", '"choir dress"')
    units: UnitName | None = key(
        "The unit of bare numbers, of `points` and of SVG path data.",
        '"mm"',
        default=None,
        usual="none, so every length says its unit",
    )
    show: Annotated[Systems, OneOf()] = key(
        "The units that results are written in: one system, or both, the job's own first.",
        '"imperial"',
        default=Systems.BOTH,
    )
    blade_reach: Size | None = key(
        "The highest lay that your blade cuts through; lay sheets hold every lay against it.",
        '"12 cm"',
        default=None,
        usual="not said",
    )
    version: Text = key("The pattern's version.", '"2"', default="", usual="none")
    dated: Text = key(
        "The pattern's date, written as you like.", '"14 March 2026"', default="", usual="none"
    )
    notions: Annotated[list[Text], Field(max_length=MOST_NOTES)] = key(
        "What is needed besides cloth, for the cutting sheet; at most 40.",
        '["elastic, 6 mm wide, 70 cm", "thread"]',
        default=[],
        usual="none",
    )
    notes: Annotated[list[Paragraph], Field(max_length=MOST_NOTES)] = key(
        "What whoever cuts and sews must know, for the cutting sheet; at most 40.",
        '["Stay the shoulder seams with tape."]',
        default=[],
        usual="none",
    )
    reader: Annotated[Reader, OneOf()] = key(
        "Whom drawings and sheets are for. A cutting room reads the marker efficiency, and what is "
        "proven of the length.",
        '"cutting room"',
        default=Reader.SEWING,
    )
    size: Name = key("The sample size, in which the pattern is drawn.", '"38"')
    sizes: list[Name] = key(
        "Every size that the pattern comes in.",
        '["36", "38", "40"]',
        default=[],
        usual="the sample size alone",
    )
    rules: Annotated[
        Any,
        Spoken(
            "file name, or tables [rules.NAME]",
            {"anyOf": [{"type": "string"}, {"type": "object"}]},
        ),
    ] = key(
        "Grade rules: a TOML file of them beside the job, or tables here.",
        '"rules.toml"',
        default=None,
        usual="none",
    )
    order: Annotated[dict[Name, Annotated[int, Field(ge=1)]], Field(min_length=1)] = key(
        "Size -> garments wanted.",
        "{ 38 = 2, 40 = 1 }",
        refused="more than 2000 garments, or 2000 single pieces from one cloth",
    )
    cloth: Annotated[
        dict[Name, Annotated[dict[str, Any], Holds(ClothTable, listed=False)]],
        Field(min_length=1),
    ] = key("Name -> cloth; the first is the main cloth.", '{ jersey = { width = "150 cm" } }')
    piece: Annotated[Tables, Holds(PieceTable)] = key(
        "The pieces of the pattern; a job needs a piece or a strip.",
        '[{ name = "front", points = [[0, 0], [300, 0], [300, 400]] }]',
        default=[],
        usual="none",
    )
    change: Annotated[Tables, Holds(ChangeTable)] = key(
        "Changes of pieces: longer, shorter, wider, narrower, cropped or split at a line.",
        '[{ piece = "front", line = ["side at 38 cm"], lengthen = "3 cm" }]',
        default=[],
        usual="none",
    )
    derived: Annotated[Tables, Holds(DerivedTable)] = key(
        "Pieces that follow from others: linings, interfacings, facings.",
        '[{ name = "front lining", of = "front", cloth = "lining", trims = { hem = "2 cm" } }]',
        default=[],
        usual="none",
    )
    strip: Annotated[Tables, Holds(StripTable)] = key(
        "Bands, bindings, belts, cuffs and ties.",
        '[{ name = "belt", width = "8 cm", length = "90 cm" }]',
        default=[],
        usual="none",
    )
    seam: Annotated[Tables, Holds(SeamTable)] = key(
        "What is sewn to what.",
        '[{ name = "side", sides = ["front.side", "back.side"] }]',
        default=[],
        usual="none",
    )
    opening: Annotated[Tables, Holds(OpeningTable)] = key(
        "Edges that together make one opening.",
        '[{ name = "neckline", edges = ["front.neck", "back.neck"] }]',
        default=[],
        usual="none",
    )
    girth: Annotated[Tables, Holds(GirthTable)] = key(
        "Where the garment goes around the body.",
        '[{ name = "waist", edges = ["front.waist", "back.waist"], body = "72 cm" }]',
        default=[],
        usual="none",
    )
    match: Annotated[Tables, Holds(MatchTable)] = key(
        "Places that show the same place of the cloth's repeat when sewn.",
        '[{ name = "side", points = ["front.side at 10 cm", "back.side at 10 cm"] }]',
        default=[],
        usual="none",
    )
