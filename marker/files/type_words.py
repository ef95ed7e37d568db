"""What the values of a key may be, in words, from the key's type."""

from __future__ import annotations

import json
from enum import StrEnum
from types import UnionType
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from annotated_types import Ge, Gt, Le, Lt, MaxLen, MinLen
from pydantic import BaseModel
from pydantic.fields import FieldInfo

from marker.files.tables import Holds
from marker.files.values import Spoken


def type_words(annotation: Any, metadata: Any = ()) -> str:
    """What a value of the type is, in words."""
    spoken = [each for each in metadata if isinstance(each, Spoken)]
    if spoken:
        return spoken[-1].words
    if any(isinstance(each, Holds) for each in metadata):
        return "list of tables" if get_origin(annotation) is list else "table"
    origin, arguments = get_origin(annotation), get_args(annotation)
    if origin is Annotated:
        return type_words(arguments[0], _flat(arguments[1:]))
    if origin in (Union, UnionType):
        kinds = [each for each in arguments if each is not type(None)]
        return " or ".join(dict.fromkeys(type_words(each, metadata) for each in kinds))
    if origin is list:
        return f"list{_count(metadata)}, each: {type_words(arguments[0])}"
    if origin is dict:
        return f"table of name = {type_words(arguments[1])}"
    return _plain_words(annotation, metadata)


def _plain_words(annotation: Any, metadata: Any) -> str:
    if get_origin(annotation) is Literal:
        return " or ".join(json.dumps(each) for each in get_args(annotation))
    if annotation is bool:
        return "true or false"
    if isinstance(annotation, type) and issubclass(annotation, StrEnum):
        return "one of " + ", ".join(json.dumps(str(each)) for each in annotation)
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return "table"
    name = {int: "whole number", float: "number", str: "text"}[annotation]
    return name + _range(metadata)


def _range(metadata: Any) -> str:
    words = []
    for each in metadata:
        match each:
            case Ge(ge=low):
                words.append(f"from {low:g}")
            case Gt(gt=low):
                words.append(f"above {low:g}")
            case Le(le=high):
                words.append(f"to {high:g}")
            case Lt(lt=high):
                words.append(f"below {high:g}")
            case _:
                continue
    return "".join(f" {each}" for each in words)


def _count(metadata: Any) -> str:
    least = [each.min_length for each in metadata if isinstance(each, MinLen)]
    most = [each.max_length for each in metadata if isinstance(each, MaxLen)]
    if least and most:
        return f" of {least[0]} to {most[0]}"
    return f" of {least[0]} or more" if least else f" of at most {most[0]}" if most else ""


def _flat(metadata: Any) -> list[Any]:
    """Annotations with those that a field inside carries."""
    fields = [each.metadata if isinstance(each, FieldInfo) else [each] for each in metadata]
    return [part for parts in fields for part in parts]
