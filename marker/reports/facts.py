"""Reports as JSON: a frozen dataclass is one object, its fields are the keys."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields, is_dataclass
from enum import Enum
from functools import cache
from pathlib import Path
from typing import Annotated, Any, get_args, get_type_hints

import numpy as np


class Mark(Enum):
    """How JSON treats a field: `Annotated[str, Mark.HIDDEN]`."""

    HIDDEN = "only the text of the report needs it"
    LEFT_OUT = "JSON lacks the key where the value is None"


@dataclass(frozen=True)
class Digits:
    """Decimal places of every number in a field, as JSON gives it."""

    places: int


Mm = Annotated[float, Digits(1)]
"""A length as JSON gives it, to 0.1 mm; the report itself holds it unrounded."""

FineMm = Annotated[float, Digits(2)]
"""The same to 0.01 mm."""

YardageMm = Annotated[float, Digits(3)]
"""A length that is bought, to 0.001 mm."""

LayoutMm = Annotated[float, Digits(4)]
"""A length of a layout, as in its file."""

Share = Annotated[float, Digits(4)]
"""A share of 1, to four places."""


def to_json(report: object) -> dict[str, Any]:
    """The object of a report, its keys in the order of its fields.

    Dataclasses within it become objects, enums their values, paths their texts, tuples and arrays
    lists. Numbers are rounded where the field's type has `Digits` anywhere in it.
    """
    if not is_dataclass(report):
        raise TypeError(f"{report!r} is no report")
    kind: Any = type(report)
    return {
        name: _plain(value, places)
        for name, places, left_out in _keys(kind)
        if (value := getattr(report, name)) is not None or not left_out
    }


@cache
def _keys(kind: type[Any]) -> tuple[tuple[str, int | None, bool], ...]:
    """Name, decimal places, and whether it is left out where None, of each field in JSON."""
    hints = get_type_hints(kind, include_extras=True)
    found = ((each.name, list(_marks(hints[each.name]))) for each in fields(kind))
    return tuple(
        (
            name,
            next((mark.places for mark in marks if isinstance(mark, Digits)), None),
            Mark.LEFT_OUT in marks,
        )
        for name, marks in found
        if Mark.HIDDEN not in marks
    )


def _marks(hint: Any) -> Iterator[object]:
    """Everything that a type, or what it is made of, is annotated with."""
    yield from getattr(hint, "__metadata__", ())
    for each in get_args(hint):
        yield from _marks(each)


def _plain(value: Any, places: int | None) -> Any:
    match value:
        case Enum():
            return value.value
        case float() if places is not None:
            return round(float(value), places) + 0.0  # never -0.0
        case Mapping():
            return {str(key): _plain(each, places) for key, each in value.items()}
        case list() | tuple():
            return [_plain(each, places) for each in value]
        case np.ndarray() | np.generic():
            return _plain(value.tolist(), places)
        case Path():
            return str(value)
        case _:
            return to_json(value) if is_dataclass(value) else value
