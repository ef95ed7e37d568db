"""The tables of a job file and what each key may hold; those of cloths are in `cloth_tables`.
DEVELOPERS.md has them in words."""

from __future__ import annotations

import math
from enum import StrEnum
from functools import partial
from typing import Annotated, Any, Literal, TypeVar

from pydantic import (
    AfterValidator,
    BaseModel,
    BeforeValidator,
    ConfigDict,
    Field,
    RootModel,
    ValidationInfo,
)
from pydantic_core import PydanticCustomError

from marker.cloth.gauge import Direction
from marker.cloth.repeat import Axis
from marker.files.faults import nearest
from marker.pattern.edge import Corner, HemKind
from marker.pattern.piece import Line
from marker.pattern.sewing import DEFAULT_TOLERANCE_MM
from marker.pattern.strip import Fold, Join
from marker.units import LONGEST_MM, MM_PER_UNIT, NotALength, parse_length

LONGEST_NAME = 60
LARGEST_SIZE_MM = 100_000.0  # a hundred metres: no cloth is laid longer; common practice, no source
SMALLEST_SIZE_MM = 0.01
FINEST_FLATTEN_MM, COARSEST_FLATTEN_MM = 0.001, 10.0
OUTLINES = ("path", "points", "drawing", "shape")
MOST_COPIES = 200
_UNITS = ", ".join(MM_PER_UNIT)

Choice = TypeVar("Choice", bound=StrEnum)


def faulty(problem: str, remedy: str) -> PydanticCustomError:
    """A fault in our own words, carried through pydantic."""
    return PydanticCustomError("marker", "{problem}", {"problem": problem, "remedy": remedy})


def unit_mm(unit: str) -> float:
    """Millimetres of a unit's name ('cm') or of a length ('1/96 in'); raises NotALength."""
    return parse_length(unit if unit[:1].isdigit() else f"1 {unit}")


def to_mm(value: Any, info: ValidationInfo) -> float:
    """Length in mm of a text with its unit, or of a bare number in the file's `units`."""
    if isinstance(value, str):
        if len(value) > LONGEST_NAME:
            raise faulty("this text is too long to be a length", "Write it like '1.5 m'")
        try:
            return parse_length(value)
        except NotALength as error:
            raise faulty(str(error), f"Write a number and one of the units {_UNITS}") from error
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise faulty("a length is expected here", 'Write it with its unit, such as "150 cm"')
    return _bare_number_mm(value, info.context)


def _bare_number_mm(value: float, per_unit: float | None) -> float:
    if isinstance(value, float) and not math.isfinite(value):
        raise faulty(f"{value} is not a length", "Write a finite number")
    if per_unit is None:
        raise faulty(
            "a number has no unit",
            'Write it with its unit, such as "150 cm", or put units = "cm" at the top of the file',
        )
    if abs(value) > LONGEST_MM / per_unit:
        raise faulty("this length is more than a kilometre", "Check the number and its unit")
    return value * per_unit


def _within(low: float, high: float, mm: float) -> float:
    if mm < low:
        said = "below zero" if mm < 0 else "zero" if mm == 0 else f"only {mm:.3g} mm"
        least = "0 or more" if low == 0 else f"at least {low:g} mm"
        raise faulty(f"this length is {said}", f"Give a length of {least}")
    if mm > high:
        raise faulty(
            f"this length of {mm:.6g} mm is absurd here",
            f"Give a length of at most {high:g} mm, and check the unit",
        )
    return mm


def name_fault(text: str) -> tuple[str, str] | None:
    """(problem, remedy) of a name that can't be a seam reference and a file name, or None."""
    bad = sorted({c for c in text if c in "./\\" or not c.isprintable()})
    if not text.strip():
        return "the name is empty", "Give it a name"
    if len(text) > LONGEST_NAME:
        return f"the name has {len(text)} characters", f"Use at most {LONGEST_NAME} characters"
    if bad:
        return (
            f"the name {text!r} holds {', '.join(map(repr, bad))}",
            "Leave out dots, slashes and control characters",
        )
    return None


def _name(text: str) -> str:
    fault = name_fault(text)
    if fault:
        raise faulty(*fault)
    return text


def choice(options: type[Choice], value: Any) -> Choice:
    """The option of that name; any other is a fault that suggests the nearest."""
    try:
        return options(value)
    except ValueError:
        raise faulty(f"{value!r} is not known here", nearest(str(value), options)) from None


def _edge_end(value: Any) -> int | str:
    if isinstance(value, bool) or not isinstance(value, int | str):
        raise faulty(
            "the number of a corner or the name of a notch is expected here",
            'Write a number such as 2, or a name such as "hip"',
        )
    return value.strip() if isinstance(value, str) else value


def table_of(key: str, value: Any) -> Any:
    """A bare text as the table that holds it under its one required key."""
    return {key: value} if isinstance(value, str) else value


def _side(value: Any) -> Any:
    """One side of a seam: a single edge, a list of them, or a table that also says the ease."""
    edges = [value] if isinstance(value, str) else value
    return {"edges": edges} if isinstance(edges, list) else edges


def _unit_name(text: str) -> str:
    if not text.isalpha() and text not in {'"', "″"}:
        raise faulty(f"{text!r} is not a unit", f"Units are {_UNITS}")
    return _unit(text)


def _unit(text: str) -> str:
    try:
        mm = unit_mm(text)
    except NotALength as error:
        raise faulty(str(error), f"Units are {_UNITS}") from error
    if mm <= 0:
        raise faulty(f"{text!r} measures nothing", f"Units are {_UNITS}")
    return text


Name = Annotated[str, AfterValidator(_name)]
UnitName = Annotated[str, AfterValidator(_unit_name)]
DrawingUnit = Annotated[str, Field(max_length=LONGEST_NAME), AfterValidator(_unit)]
Coordinate = Annotated[float, BeforeValidator(to_mm)]
Size = Annotated[Coordinate, AfterValidator(partial(_within, SMALLEST_SIZE_MM, LARGEST_SIZE_MM))]
Margin = Annotated[Coordinate, AfterValidator(partial(_within, 0.0, LARGEST_SIZE_MM))]
Flatten = Annotated[
    Coordinate, AfterValidator(partial(_within, FINEST_FLATTEN_MM, COARSEST_FLATTEN_MM))
]
Number = Annotated[float, Field(allow_inf_nan=False)]
Point = Annotated[list[Coordinate], Field(min_length=2, max_length=2)]
Corners = Annotated[list[int], Field(min_length=2, max_length=2)]
EdgeEnd = Annotated[int | str, BeforeValidator(_edge_end)]
Copies = Annotated[int, Field(ge=1, le=MOST_COPIES)]


class Table(BaseModel):
    """A table whose keys are all known and whose values are never converted in silence."""

    model_config = ConfigDict(extra="forbid", strict=True, frozen=True, str_strip_whitespace=True)


class JobTable(Table):
    """The top of the file; what it lists in tables is checked table by table."""

    name: Name
    units: UnitName | None = None
    size: Name
    sizes: list[Name] = []
    rules: Any = None
    order: dict[Name, Annotated[int, Field(ge=1)]] = Field(min_length=1)
    cloth: dict[Name, dict[str, Any]] = Field(min_length=1)
    piece: list[dict[str, Any]] = []
    strip: list[dict[str, Any]] = []
    seam: list[dict[str, Any]] = []
    opening: list[dict[str, Any]] = []
    girth: list[dict[str, Any]] = []
    match: list[dict[str, Any]] = []


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


class PieceTable(Table):
    name: Name
    cloth: Name | None = None
    path: str | None = None
    points: list[Point] | None = None
    drawing: str | None = None
    drawing_unit: DrawingUnit | None = None
    shape: Annotated[Shape, Field(discriminator="kind")] | None = None
    flatten: Flatten = 0.1
    grade: dict[Name, Name] = {}
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
    edges: dict[Name, Annotated[list[EdgeEnd], Field(min_length=2, max_length=2)]] = {}
    allowances: dict[Name, Margin] = {}
    hems: dict[Name, Annotated[HemTable, BeforeValidator(partial(table_of, "kind"))]] = {}
    corners: dict[Name, Annotated[Corner, BeforeValidator(partial(choice, Corner))]] = {}
    notches: list[NotchTable] = []
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
    unstretched: list[Annotated[list[Name], Field(min_length=2, max_length=2)]] = []
    join_at: Name | None = None
    joins_clear_of: list[Name] | None = None
    direction: Annotated[Direction, BeforeValidator(partial(choice, Direction))] = (
        Direction.CROSSGRAIN
    )
    join: Annotated[Join, BeforeValidator(partial(choice, Join))] | None = None
    join_allowance: Margin = 10.0
    cut: Copies = 1
    parts: Copies = 1


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
    points: dict[Name, str] = {}
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


# Where a key of one table holds another: that key (or the shape's kind) -> the table inside it.
INNER_TABLES: dict[str, type[Table]] = {
    "notches": NotchTable,
    "hems": HemTable,
    "sides": SideTable,
    "points": MatchPlaceTable,
    "at": MatchAtTable,
    "rectangle": Rectangle,
    "trapezoid": Trapezoid,
    "triangle": Triangle,
    "ring sector": RingSector,
}
