"""The tables of a job file and what each key may hold; those of cloths are in `cloth_tables`, what
a single value may be in `values`. DEVELOPERS.md has them in words."""

from __future__ import annotations

from enum import StrEnum
from functools import partial
from typing import Annotated, Any, Literal

from pydantic import (
    AfterValidator,
    BeforeValidator,
    ConfigDict,
    Field,
    RootModel,
    ValidationInfo,
)

from marker.cloth.behaviour import Direction
from marker.cloth.repeat import Axis
from marker.files.tables import Table
from marker.files.values import (
    LARGEST_SIZE_MM,
    LONGEST_NAME,
    MOST_COPIES,
    Coordinate,
    DrawingUnit,
    Margin,
    Name,
    Number,
    Point,
    Size,
    UnitName,
    choice,
    faulty,
    table_of,
    to_mm,
    within,
)
from marker.pattern.bands.strip import AtPoint, Fold, Join
from marker.pattern.edge import Corner, HemKind
from marker.pattern.fullness import PleatKind
from marker.pattern.inner_marks import Hand, MarkKind
from marker.pattern.piece import Line
from marker.pattern.seams.sewing import DEFAULT_TOLERANCE_MM

OUTLINES = ("path", "points", "drawing", "shape")
FINEST_FLATTEN_MM, COARSEST_FLATTEN_MM = 0.001, 10.0


def _edge_end(value: Any) -> int | str:
    if isinstance(value, bool) or not isinstance(value, int | str):
        raise faulty(
            "the number of a corner or the name of a notch is expected here",
            'Write a number such as 2, or a name such as "hip"',
        )
    return value.strip() if isinstance(value, str) else value


def _side(value: Any) -> Any:
    """One side of a seam: a single edge, a list of them, or a table that also says the ease."""
    edges = [value] if isinstance(value, str) else value
    return {"edges": edges} if isinstance(edges, list) else edges


def _at_or_fold(value: Any, info: ValidationInfo) -> float | str:
    return "fold" if value == "fold" else within(0.0, LARGEST_SIZE_MM, to_mm(value, info))


def _inside_place(value: Any) -> Any:
    """A place on a piece: [x, y] in its drawing, or 'edge at 10 cm', with `inside` as a table."""
    return {"point": value} if isinstance(value, list) else table_of("place", value)


def _mark_kind(value: Any) -> MarkKind:
    kind = choice(MarkKind, value)
    if kind.follows:
        raise faulty(f"a {kind} takes in its edge", "List it under darts, pleats or gathers")
    return kind


class Lies(StrEnum):
    """How a buttonhole lies to the grain."""

    ACROSS = "across"
    ALONG = "along"


def _tables(value: Any, info: ValidationInfo) -> Any:
    """A list of tables; one table alone is most often [piece] written for [[piece]]."""
    if isinstance(value, dict):
        raise faulty(
            f"one table stands where a list of tables is expected: [{info.field_name}]",
            f"Write [[{info.field_name}]], in double brackets, before each of them",
        )
    return value


Flatten = Annotated[
    Coordinate, AfterValidator(partial(within, FINEST_FLATTEN_MM, COARSEST_FLATTEN_MM))
]
Corners = Annotated[list[int], Field(min_length=2, max_length=2)]
EdgeEnd = Annotated[int | str, BeforeValidator(_edge_end)]
Tables = Annotated[list[dict[str, Any]], BeforeValidator(_tables)]
Copies = Annotated[int, Field(ge=1, le=MOST_COPIES)]


class JobTable(Table):
    """The top of the file; what it lists in tables is checked table by table."""

    name: Name
    units: UnitName | None = None
    size: Name
    sizes: list[Name] = Field([])
    rules: Any = None
    order: dict[Name, Annotated[int, Field(ge=1)]] = Field(min_length=1)
    cloth: dict[Name, dict[str, Any]] = Field(min_length=1)
    piece: Tables = Field([])
    strip: Tables = Field([])
    seam: Tables = Field([])
    opening: Tables = Field([])
    girth: Tables = Field([])
    match: Tables = Field([])


class Rectangle(Table):
    kind: Literal["rectangle"]
    width: Size
    height: Size


class Trapezoid(Table):
    kind: Literal["trapezoid"]
    bottom: Size
    top: Size
    height: Size


class Triangle(Table):
    kind: Literal["triangle"]
    base: Size
    height: Size


class RingSector(Table):
    kind: Literal["ring sector"]
    inner_radius: Size
    outer_radius: Size
    angle: Annotated[Number, Field(gt=0, le=360)]


Shape = Rectangle | Trapezoid | Triangle | RingSector


class NotchTable(Table):
    edge: Name
    at: Margin
    name: Name | None = None


class HemTable(Table):
    kind: Annotated[HemKind, BeforeValidator(partial(choice, HemKind))]
    depth: Size | None = None
    under: Margin | None = None


class DartTable(Table):
    edge: Name
    at: Annotated[float | Literal["fold"], BeforeValidator(_at_or_fold)]
    intake: Size
    depth: Size | None = None
    tip: Point | None = None


class PleatTable(Table):
    edge: Name
    at: Annotated[float | Literal["fold"], BeforeValidator(_at_or_fold)]
    intake: Size
    kind: Annotated[PleatKind, BeforeValidator(partial(choice, PleatKind))] = PleatKind.KNIFE
    length: Size = 100.0


class GatherTable(Table):
    edge: Name
    between: Annotated[list[str], Field(min_length=2, max_length=2)]
    into: Size


class InsideTable(Table):
    point: Point | None = None
    place: str | None = None
    inside: Margin = 0.0


InsidePlace = Annotated[InsideTable, BeforeValidator(_inside_place)]


class MarkTable(Table):
    kind: Annotated[MarkKind, BeforeValidator(_mark_kind)]
    at: InsidePlace | None = None
    points: list[InsidePlace] = Field([], max_length=500)
    count: Annotated[int, Field(ge=2, le=100)] | None = None
    closed: bool = False
    length: Size | None = None
    lies: Annotated[Lies, BeforeValidator(partial(choice, Lies))] = Lies.ACROSS
    name: Annotated[str, Field(max_length=LONGEST_NAME)] = ""
    hand: Annotated[Hand, BeforeValidator(partial(choice, Hand))] = Hand.BOTH


class PieceTable(Table):
    name: Name
    cloth: Name | None = None
    path: str | None = None
    points: list[Point] | None = None
    drawing: str | None = None
    drawing_unit: DrawingUnit | None = None
    shape: Annotated[Shape, Field(discriminator="kind")] | None = None
    flatten: Flatten = 0.1
    grade: dict[Name, Name] = Field({})
    cut: Copies = 1
    pair: bool = False
    fold: Corners | None = None
    fold_seam: Size | None = None
    pieced: Size | None = None
    grain: Annotated[Number, Field(ge=-360, le=360)] = 90.0
    turns: list[Annotated[Number, Field(ge=0, lt=360)]] = Field([0.0, 180.0], min_length=1)
    grain_tolerance: Annotated[Number, Field(ge=0, le=180)] = 0.0
    line: Annotated[Line, BeforeValidator(partial(choice, Line))] = Line.CUT
    allowance: Margin = 0.0
    edges: dict[Name, Annotated[list[EdgeEnd], Field(min_length=2, max_length=2)]] = Field({})
    allowances: dict[Name, Margin] = Field({})
    hems: dict[Name, Annotated[HemTable, BeforeValidator(partial(table_of, "kind"))]] = Field({})
    corners: dict[Name, Annotated[Corner, BeforeValidator(partial(choice, Corner))]] = Field({})
    notches: list[NotchTable] = Field([])
    darts: list[DartTable] = Field([])
    pleats: list[PleatTable] = Field([])
    gathers: list[GatherTable] = Field([])
    marks: list[MarkTable] = Field([])
    border: Name | None = None


class RuleTable(RootModel[dict[Name, Point]]):
    """A grade rule: size -> [dx, dy]."""

    model_config = ConfigDict(strict=True, frozen=True)


class RuleFileTable(Table):
    """A file of grade rules."""

    units: UnitName | None = None
    rules: dict[str, Any]


class StripTable(Table):
    name: Name
    cloth: Name | None = None
    width: Size | None = None
    finished_width: Size | None = None
    fold: Annotated[Fold, BeforeValidator(partial(choice, Fold))] | None = None
    seam_allowance: Margin | None = None
    length: Size | None = None
    ratio: Annotated[Number, Field(gt=0, le=2)] | None = None
    shorter_by: Margin | None = None
    lies_flat: bool = False
    finishes: Name | None = None
    unstretched: list[Annotated[list[Name], Field(min_length=2, max_length=2)]] = Field([])
    join_at: Name | None = None
    joins_clear_of: list[Name] | None = None
    direction: Annotated[Direction, BeforeValidator(partial(choice, Direction))] = (
        Direction.CROSSGRAIN
    )
    join: Annotated[Join, BeforeValidator(partial(choice, Join))] | None = None
    join_allowance: Margin = 10.0
    cut: Copies = 1
    parts: Copies = 1
    point: Annotated[AtPoint, BeforeValidator(partial(choice, AtPoint))] | None = None


class SideTable(Table):
    edges: Annotated[list[str], Field(min_length=1)]
    ease: Coordinate = 0.0


class SeamTable(Table):
    name: Name
    sides: list[Annotated[SideTable, BeforeValidator(_side)]] = Field(min_length=2)
    tolerance: Margin = DEFAULT_TOLERANCE_MM


class OpeningTable(Table):
    name: Name
    edges: Annotated[list[str], Field(min_length=1)]
    closed: bool = True
    points: dict[Name, str] = Field({})
    passes: Size | None = None


class GirthTable(Table):
    name: Name
    edges: Annotated[list[str], Field(min_length=1)]
    body: Size


class MatchPlaceTable(Table):
    place: str
    inside: Margin = 0.0


class MatchAtTable(Table):
    along: Margin | None = None
    across: Margin | None = None


class MatchTable(Table):
    name: Name
    points: list[Annotated[MatchPlaceTable, BeforeValidator(partial(table_of, "place"))]] = Field(
        min_length=1, max_length=2
    )
    axes: list[Annotated[Axis, BeforeValidator(partial(choice, Axis))]] | None = Field(
        None, min_length=1
    )
    at: MatchAtTable = MatchAtTable()
