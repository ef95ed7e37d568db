"""Reports as JSON: a frozen dataclass is one object, its fields are the keys."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, fields, is_dataclass
from enum import Enum
from functools import cache
from pathlib import Path
from typing import Annotated, Any, get_args, get_type_hints

import numpy as np

_LEFT_OUT = "left out where None"
_HIDDEN = "not in JSON"


@dataclass(frozen=True)
class Digits:
    """Decimal places of every number in a field, as JSON gives it."""

    places: int


Mm = Annotated[float, Digits(1)]
"""A length as JSON gives it, to 0.1 mm; the report itself holds it unrounded."""

FineMm = Annotated[float, Digits(2)]
"""The same to 0.01 mm."""

Share = Annotated[float, Digits(4)]
"""A share of 1, to four places."""


def left_out_where_none() -> Any:
    """A field of default None, whose key JSON lacks where it is None."""
    return field(default=None, metadata={_LEFT_OUT: True})


def not_in_json() -> Any:
    """A field that only the text of a report needs."""
    return field(metadata={_HIDDEN: True})


def to_json(report: object) -> dict[str, Any]:
    """The object of a report, its keys in the order of its fields.

    Dataclasses within it become objects, enums their values, paths their texts, tuples and arrays
    lists. Numbers are rounded where the field's type has `Digits` anywhere in it.
    """
    if not is_dataclass(report):
        raise TypeError(f"{report!r} is no report")
    kind: Any = type(report)
    places = _places(kind)
    return {
        each.name: _plain(value, places[each.name])
        for each in fields(report)
        if not each.metadata.get(_HIDDEN)
        and ((value := getattr(report, each.name)) is not None or not each.metadata.get(_LEFT_OUT))
    }


@cache
def _places(kind: type[Any]) -> dict[str, int | None]:
    hints = get_type_hints(kind, include_extras=True)
    return {each.name: _digits(hints[each.name]) for each in fields(kind)}


def _digits(hint: Any) -> int | None:
    """Places asked for in a type, or in what it is made of; None for numbers as they are."""
    if isinstance(hint, Digits):
        return hint.places
    inside = (*get_args(hint), *getattr(hint, "__metadata__", ()))
    return next((found for each in inside if (found := _digits(each)) is not None), None)


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
