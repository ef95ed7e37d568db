"""What the JSON of a report holds, told from its type: each key with its kind and its meaning.

Documents list the keys from here, so that they cannot say anything else than the program does.
"""

from __future__ import annotations

import re
import types
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, fields, is_dataclass
from enum import Enum
from pathlib import Path
from typing import Annotated, Any, Literal, Union, get_args, get_origin, get_type_hints

import numpy as np
from pydantic import BaseModel

from marker.reports.facts import Digits, Mark

_PLAIN = {
    bool: "true or false",
    int: "whole number",
    float: "number",
    str: "text",
    Path: "path",
    type(None): "null",
}
_SAID = re.compile(r"(?:^|(?<=\s))((?:\w+, )*\w+) : ")
"""A field in a docstring: 'cost, currency : what ...'."""


@dataclass(frozen=True)
class JsonKey:
    """One key. name : with those it lies within, as in 'widths[].cost'; '[]' is a list, '.*' any
    name. kind : what its value is. about : what it means, in the words of its type. may_lack : it
    is left out where there is nothing to say.
    """

    name: str
    kind: str
    about: str
    may_lack: bool


def keys_of(kind: type[Any]) -> tuple[JsonKey, ...]:
    """All keys of a report's JSON, those within others behind them; what comes again is told once.

    kind : a report, or a pydantic model.
    """
    return tuple(_keys(kind, "", {}))


def contract_lines(kind: type[Any]) -> Iterator[str]:
    """The keys as a table in Markdown."""
    yield "| key | value | meaning |"
    yield "|-|-|-|"
    for key in keys_of(kind):
        lack = ", may be left out" if key.may_lack else ""
        yield f"| `{key.name}` | {key.kind}{lack} | {key.about} |"


def _keys(kind: type[Any], before: str, told: dict[type[Any], str]) -> Iterator[JsonKey]:
    """told : types that were told of before, and where."""
    hints = get_type_hints(kind, include_extras=True)
    said = _said(kind)
    for name, shown in _names(kind):
        hint = hints[name]
        marks = list(_marks(hint))
        if Mark.HIDDEN in marks:
            continue
        kinds, inner = _described(hint, _digits(marks), name)
        path = f"{before}{shown}"
        again = [told[each] for _, each in inner if each in told]
        kinds += f", as `{again[0]}`" if again else ""
        yield JsonKey(path, kinds, said.get(name, ""), Mark.LEFT_OUT in marks)
        for tail, each in inner:
            if each not in told:
                told[each] = f"{path}{tail}"
                yield from _keys(each, f"{path}{tail}.", told)


def _names(kind: type[Any]) -> list[tuple[str, str]]:
    """Each field, and its key."""
    if isinstance(kind, type) and issubclass(kind, BaseModel):
        return [(name, field.alias or name) for name, field in kind.model_fields.items()]
    return [(each.name, each.name) for each in fields(kind)]


def _said(kind: type[Any]) -> dict[str, str]:
    """What the docstring of a type, and of those it builds on, says of its fields."""
    found: dict[str, str] = {}
    for each in reversed(kind.__mro__):
        text = " ".join((each.__dict__.get("__doc__") or "").split())
        parts = _SAID.split(text)
        for names, meaning in zip(parts[1::2], parts[2::2], strict=True):
            found |= dict.fromkeys(names.split(", "), meaning.strip())
    return found


def _marks(hint: Any) -> Iterator[object]:
    yield from getattr(hint, "__metadata__", ())
    for each in get_args(hint):
        yield from _marks(each)


def _digits(marks: Sequence[object]) -> int | None:
    return next((mark.places for mark in marks if isinstance(mark, Digits)), None)


def _described(hint: Any, places: int | None, name: str) -> tuple[str, list[tuple[str, type[Any]]]]:
    """A value in words, and the types within it with what stands between their keys and its own."""
    origin, args = get_origin(hint), get_args(hint)
    if origin is Annotated:
        return _described(args[0], places, name)
    if origin in (Union, types.UnionType):
        return _either([_described(each, places, name) for each in args])
    if origin is Literal:
        return " or ".join(map(repr, args)), []
    if origin in (tuple, list) or origin is Sequence:
        told, inner = _described(args[0], places, name)
        return f"list of {told}", [(f"[]{tail}", each) for tail, each in inner]
    if isinstance(origin, type) and issubclass(origin, Mapping):
        told, inner = _described(args[1], places, name)
        return f"object of {told}", [(f".*{tail}", each) for tail, each in inner]
    if isinstance(hint, type):
        return _class(hint, places, name)
    return "any value", []


def _either(
    every: Sequence[tuple[str, list[tuple[str, type[Any]]]]],
) -> tuple[str, list[tuple[str, type[Any]]]]:
    told = " or ".join(dict.fromkeys(each for each, _ in every))
    return told, [one for _, inner in every for one in inner]


def _class(
    hint: type[Any], places: int | None, name: str
) -> tuple[str, list[tuple[str, type[Any]]]]:
    if is_dataclass(hint) or issubclass(hint, BaseModel):
        return "object", [("", hint)]
    if issubclass(hint, Enum):
        return " or ".join(f"'{each.value}'" for each in hint), []
    if issubclass(hint, np.ndarray):
        return "list of numbers", []
    told = _PLAIN.get(hint, "any value")
    if hint is not float:
        return told, []
    unit = " of mm" if name.endswith("_mm") else ""
    return f"number{unit}{'' if places is None else f' to {10**-places:g}'}", []
