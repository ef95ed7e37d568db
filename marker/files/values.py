"""What a single value of a job file may be: lengths, numbers, names, one of several words."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from functools import partial
from typing import Annotated, Any, TypeVar

from pydantic import (
    AfterValidator,
    BeforeValidator,
    Field,
    GetCoreSchemaHandler,
    GetJsonSchemaHandler,
    ValidationInfo,
    ValidatorFunctionWrapHandler,
    WrapValidator,
)
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema, PydanticCustomError, core_schema

from marker.files.faults import nearest
from marker.units import LONGEST_MM, MM_PER_UNIT, NotALength, cut_length, in_unit_of, parse_length
from marker.words import spelled_as

LONGEST_NAME = 60
LONGEST_PARAGRAPH = 400
LARGEST_SIZE_MM = 100_000.0  # a hundred metres: no cloth is laid longer; common practice, no source
SMALLEST_SIZE_MM = 0.01
MOST_COPIES = 200  # of one piece in a garment
_UNITS = ", ".join(MM_PER_UNIT)

Choice = TypeVar("Choice", bound=StrEnum)


@dataclass(frozen=True, eq=False)  # hashed by pydantic, which a table of it can't be
class Spoken:
    """How the reference speaks of a type, and what an editor may take for it.

    schema : JSON Schema of the values as written; None where pydantic's own says it.
    """

    words: str
    schema: Mapping[str, Any] | None = None

    def __get_pydantic_json_schema__(
        self, core: CoreSchema, handler: GetJsonSchemaHandler
    ) -> JsonSchemaValue:
        return handler(core) if self.schema is None else dict(self.schema)


class OneOf:
    """Annotates an enumeration of words: any other word is a fault that suggests the nearest."""

    def __get_pydantic_core_schema__(
        self, source: type[StrEnum], handler: GetCoreSchemaHandler
    ) -> CoreSchema:
        check = partial(choice, source)
        return core_schema.no_info_before_validator_function(check, handler(source))


@dataclass(frozen=True)
class OrText:
    """Annotates a table for which a bare text may stand: the value of its one required key.

    numbers : whether a bare number may, too, as where the value is a length.
    """

    key: str
    numbers: bool = False

    def __get_pydantic_core_schema__(
        self, source: Any, handler: GetCoreSchemaHandler
    ) -> CoreSchema:
        check = partial(table_of, self.key, numbers=self.numbers)
        return core_schema.no_info_before_validator_function(check, handler(source))

    def __get_pydantic_json_schema__(
        self, core: CoreSchema, handler: GetJsonSchemaHandler
    ) -> JsonSchemaValue:
        table = handler(core)
        alone = handler.resolve_ref_schema(table)["properties"][self.key]
        return {"anyOf": [alone, table]}


@dataclass(frozen=True, eq=False)  # hashed by pydantic, which a table of it can't be
class Alone:
    """Tells an editor what else may stand for a table; a validator beside it makes it one."""

    schema: Mapping[str, Any]

    def __get_pydantic_json_schema__(
        self, core: CoreSchema, handler: GetJsonSchemaHandler
    ) -> JsonSchemaValue:
        return {"anyOf": [dict(self.schema), handler(core)]}


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
            remedy = error.remedy or f"write a number and one of the units {_UNITS}"
            raise faulty(error.problem, remedy[0].upper() + remedy[1:]) from error
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


def within(low: float, high: float, mm: float, written: Any = None) -> float:
    """The length, if it lies between two; else a fault, whose limit is in the unit written."""
    if mm < low:
        said = "below zero" if mm < 0 else "zero" if mm == 0 else f"only {mm:.3g} mm"
        least = "0 or more" if low == 0 else f"at least {low:g} mm"
        raise faulty(f"this length is {said}", f"Give a length of {least}")
    if mm > high:
        most = in_unit_of(written, high) if isinstance(written, str) else cut_length(high)
        raise faulty(
            f"this length is more than {most}",
            f"Give a length of at most {most}, and check the number and its unit",
        )
    return mm


def as_written_within(
    low: float, high: float, value: Any, read: ValidatorFunctionWrapHandler
) -> float:
    """`within` for a value that is still to be read."""
    return within(low, high, read(value), value)


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


def _text(text: str) -> str:
    if not text.isprintable():
        raise faulty("the text holds a control character", "Leave it out")
    return text


def choice(options: type[Choice], value: Any) -> Choice:
    """The option of that name; any other is a fault that suggests the nearest."""
    known = spelled_as(value, options) if isinstance(value, str) else None
    if known is None:
        raise faulty(f"{value!r} is not known here", nearest(str(value), options))
    return options(known)


def table_of(key: str, value: Any, numbers: bool = False) -> Any:
    """A bare text, or number, as the table that holds it under its one required key."""
    alone = isinstance(value, str) or (numbers and type(value) in (int, float))
    return {key: value} if alone else value


def _unit_name(text: str) -> str:
    if not text.isalpha() and text not in {'"', "″"}:
        raise faulty(f"{text!r} is not a unit", f"Units are {_UNITS}")
    return _unit(text)


def _unit(text: str) -> str:
    try:
        mm = unit_mm(text)
    except NotALength as error:
        raise faulty(error.problem, f"Units are {_UNITS}") from error
    if mm <= 0:
        raise faulty(f"{text!r} measures nothing", f"Units are {_UNITS}")
    return text


_TEXT = {"type": "string", "minLength": 1, "maxLength": LONGEST_NAME}
LENGTH_SCHEMA = {
    "type": ["string", "number"],
    "pattern": r"^\s*[-+]?[0-9.½¼¾⅛⅜⅝⅞][0-9./ ½¼¾⅛⅜⅝⅞]*[a-zA-Z\"″.]+\s*$",
}
_UNIT = {"anyOf": [{"enum": list(MM_PER_UNIT)}, {"type": "string"}]}  # offered, and others let pass

Name = Annotated[str, AfterValidator(_name), Spoken("name", {**_TEXT, "pattern": r"^[^./\\]*$"})]
Text = Annotated[
    str,
    Field(max_length=LONGEST_NAME),
    AfterValidator(_text),
    Spoken("text, at most 60 signs"),
]
Paragraph = Annotated[
    str,
    Field(max_length=LONGEST_PARAGRAPH),
    AfterValidator(_text),
    Spoken("text, at most 400 signs"),
]
UnitName = Annotated[str, AfterValidator(_unit_name), Spoken("unit", _UNIT)]
DrawingUnit = Annotated[
    str,
    Field(max_length=LONGEST_NAME),
    AfterValidator(_unit),
    Spoken("unit, or a length", _UNIT),
]
Coordinate = Annotated[float, BeforeValidator(to_mm), Spoken("length", LENGTH_SCHEMA)]
Size = Annotated[
    Coordinate,
    WrapValidator(partial(as_written_within, SMALLEST_SIZE_MM, LARGEST_SIZE_MM)),
    Spoken("length above 0", {**LENGTH_SCHEMA, "exclusiveMinimum": 0}),
]
Margin = Annotated[
    Coordinate,
    WrapValidator(partial(as_written_within, 0.0, LARGEST_SIZE_MM)),
    Spoken("length of 0 or more", {**LENGTH_SCHEMA, "minimum": 0}),
]
Number = Annotated[float, Field(allow_inf_nan=False)]
Point = Annotated[
    list[Coordinate], Field(min_length=2, max_length=2), Spoken("[x, y], two lengths")
]
