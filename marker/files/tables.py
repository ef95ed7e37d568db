"""Tables of a file as models, and the way from a key's path to the table that holds it."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from types import UnionType
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from pydantic import BaseModel, ConfigDict, Field, GetJsonSchemaHandler, model_validator
from pydantic.fields import FieldInfo
from pydantic.json_schema import JsonSchemaValue
from pydantic_core import CoreSchema

from marker.words import spelled_as


class Table(BaseModel):
    """A table whose keys are all known and whose values are never converted in silence."""

    model_config = ConfigDict(extra="forbid", strict=True, frozen=True, str_strip_whitespace=True)

    @model_validator(mode="before")
    @classmethod
    def _in_our_spelling(cls, given: Any) -> Any:
        """Keys that are spelled in another way, as ours, unless ours is there too."""
        if not isinstance(given, dict) or given.keys() <= cls.model_fields.keys():
            return given
        ours = {key: spelled_as(key, cls.model_fields) for key in given if isinstance(key, str)}
        return {
            ours[key] if ours.get(key) and ours[key] not in given else key: value
            for key, value in given.items()
        }


@dataclass(frozen=True)
class About:
    """What a person wants to know of a key.

    example : its value as TOML. usual : what is taken where the key is left out, if the default
    does not say that by itself. refused : what is a fault, beside what the type refuses.
    """

    means: str
    example: str
    usual: str = ""
    refused: str = ""

    def __call__(self, schema: dict[str, Any]) -> None:
        """Tell an editor the same; pydantic calls this for the key's JSON Schema."""
        default = f"Default: {self.usual}." if self.usual else ""
        refused = f"Refused: {self.refused}." if self.refused else ""
        schema["description"] = " ".join(filter(None, [self.means, default, refused]))
        schema["examples"] = [tomllib.loads(f"key = {self.example}")["key"]]
        schema.pop("default", None)  # a bare number would be read in the file's own unit


def key(means: str, example: str, *, default: Any = ..., usual: str = "", refused: str = "") -> Any:
    """A key of a table with what is to be known of it; required unless it has a default."""
    return Field(default, json_schema_extra=About(means, example, usual, refused))


def about(field: FieldInfo) -> About:
    """What is to be known of a key."""
    assert isinstance(field.json_schema_extra, About), field
    return field.json_schema_extra


@dataclass(frozen=True)
class Holds:
    """Annotates tables that are checked later, each by itself: what they are."""

    table: type[BaseModel]
    listed: bool = True

    def __get_pydantic_json_schema__(
        self, core: CoreSchema, handler: GetJsonSchemaHandler
    ) -> JsonSchemaValue:
        inner = handler(self.table.__pydantic_core_schema__)
        return {"type": "array", "items": inner} if self.listed else inner


def table_at(model: type[BaseModel], path: Sequence[int | str]) -> type[BaseModel] | None:
    """The table that a path of keys and entries leads to, as pydantic writes it.

    A step may also be the tag by which pydantic tells the tables of one key apart. None if the
    path leads to no single table.
    """
    found: Any = model
    for step in path:
        found = next(_inside(found, step), None)
    tables = [choice for choice in _choices(found) if _is_table(choice)]
    return tables[0] if len(tables) == 1 else None


def tables_within(annotation: Any, metadata: Sequence[Any] = ()) -> Iterator[type[BaseModel]]:
    """The tables that a value of this type is, or holds in its lists and tables."""
    held = [each.table for each in metadata if isinstance(each, Holds)]
    origin, arguments = get_origin(annotation), get_args(annotation)
    if held:
        yield from held
    elif origin is Annotated:
        yield from tables_within(arguments[0], arguments[1:])
    elif origin in (Union, UnionType, list, dict):
        for argument in arguments:
            yield from tables_within(argument)
    elif _is_table(annotation):
        yield annotation


def _inside(annotation: Any, step: int | str) -> Iterator[Any]:
    """The types that a value has which stands at this step inside a value of the type."""
    choices = list(_choices(annotation))
    for choice in choices:
        origin, arguments = get_origin(choice), get_args(choice)
        if origin is list and isinstance(step, int):
            yield arguments[0]
        elif origin is dict and isinstance(step, str):
            yield arguments[1]
        elif _is_table(choice) and isinstance(step, str):
            if step in choice.model_fields:
                yield choice.model_fields[step].annotation
            elif len(choices) > 1 and step in _tags(choice):
                yield choice


def _tags(table: type[BaseModel]) -> Iterator[Any]:
    for field in table.model_fields.values():
        if get_origin(field.annotation) is Literal:
            yield from get_args(field.annotation)


def _choices(annotation: Any) -> Iterator[Any]:
    """The types that a union is of, without what is annotated to them."""
    origin = get_origin(annotation)
    if origin is Annotated:
        yield from _choices(get_args(annotation)[0])
    elif origin in (Union, UnionType):
        for choice in get_args(annotation):
            yield from _choices(choice)
    else:
        yield annotation


def _is_table(annotation: Any) -> bool:
    return isinstance(annotation, type) and issubclass(annotation, BaseModel)
