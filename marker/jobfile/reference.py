"""The reference of the job file as text: every key, what its values may be, and the topics that go
across keys."""

from __future__ import annotations

import inspect
import json
import textwrap
from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from importlib.resources import files
from types import UnionType
from typing import Annotated, Any, Literal, Union, get_args, get_origin

from annotated_types import Ge, Gt, Le, Lt, MaxLen, MinLen
from pydantic import BaseModel
from pydantic.fields import FieldInfo

from marker.errors import Fault, FaultyInput
from marker.files.faults import closest
from marker.files.tables import Holds, about, tables_within
from marker.files.toml_edits import inline
from marker.files.values import Spoken
from marker.jobfile.job_table import JobTable

WIDTH = 88
_INDENT = "    "


@dataclass(frozen=True)
class TableEntry:
    """A table: the path of its key, how it is written, its model, and its keys by path."""

    path: str
    heading: str
    table: type[BaseModel]

    @property
    def keys(self) -> dict[str, FieldInfo]:
        """Path -> key."""
        return {f"{self.path}.{name}".lstrip("."): f for name, f in self.table.model_fields.items()}


def reference(name: str = "") -> str:
    """The whole reference, or what it says of one table, key or topic.

    Raises FaultyInput with the nearest names for one that is not there.
    """
    wanted = name.strip().strip("[]").removesuffix(".NAME").lower()
    if not wanted:
        return "\n\n".join([_tables_text(), _topics_text()])
    keys = {path: field for entry in entries() for path, field in entry.keys.items()}
    exact = wanted in keys
    found = [
        key_text(path, field)
        for path, field in keys.items()
        if path == wanted or (not exact and path.endswith(f".{wanted}"))
    ]
    found += [
        _table_text(entry)
        for entry in entries()
        if entry.path == wanted or (not exact and entry.path.endswith(f".{wanted}"))
    ]
    found += [_topic_text(wanted)] if wanted in topics() else []
    if not found:
        raise FaultyInput([_unknown(name.strip())])
    return "\n\n".join(found)


def key_text(path: str, field: FieldInfo) -> str:
    """A key with its meaning, type, example, default and what is refused."""
    said = about(field)
    rows = [
        ("is", _type_words(field.annotation, field.metadata)),
        ("example", f"{path.rpartition('.')[2]} = {said.example}"),
        ("default", _default(field)),
        ("refused", said.refused),
    ]
    lines = [path, *_wrapped(said.means, _INDENT)]
    for label, words in rows:
        if words:
            lines += _wrapped(words, _INDENT * 4, first=f"{_INDENT}{label:<12}")
    return "\n".join(lines)


@cache
def entries() -> tuple[TableEntry, ...]:
    """Every table of the job file, in the order of its keys."""
    return (TableEntry("", "the top of the file", JobTable), *_inside("", JobTable))


@cache
def topics() -> dict[str, str]:
    """Topic -> its text."""
    text = files("marker.jobfile").joinpath("topics.md").read_text(encoding="utf-8")
    parts = [part.partition("\n") for part in text.split("\n## ")[1:]]
    return {title.strip(): body.strip("\n") for title, _, body in parts}


def names() -> list[str]:
    """All that the reference can be asked for."""
    return [*(path for entry in entries() for path in entry.keys), *topics()]


def _inside(path: str, table: type[BaseModel]) -> Iterator[TableEntry]:
    for name, field in table.model_fields.items():
        own = f"{path}.{name}".lstrip(".")
        held = list(tables_within(field.annotation, field.metadata))
        for each in held:
            part = f"{own}.{_kind(each)}" if len(held) > 1 else own
            yield TableEntry(part, _heading(part, field), each)
            yield from _inside(part, each)


def _kind(table: type[BaseModel]) -> str:
    """The word by which a table is told from the others of one key."""
    return str(get_args(table.model_fields["kind"].annotation)[0])


def _heading(path: str, field: FieldInfo) -> str:
    holds = [each for each in field.metadata if isinstance(each, Holds)]
    if holds:
        return f"[[{path}]]"
    inner = get_origin(field.annotation)
    if inner is dict:
        return f"[{path}.NAME]" if "." not in path else f"{path} (a table for each name)"
    return f"{path} (a list of tables)" if inner is list else f"{path} (a table)"


def _default(field: FieldInfo) -> str:
    said = about(field)
    if field.is_required():
        return "none, it is required"
    if said.usual:
        return said.usual
    value = field.default
    return "" if value is None else inline(str(value) if isinstance(value, StrEnum) else value)


def _tables_text() -> str:
    return "\n\n".join(_table_text(entry, inner=False) for entry in entries())


def _table_text(entry: TableEntry, inner: bool = True) -> str:
    """The table and its keys; inner : with the tables inside it, or named only."""
    title = entry.heading
    alike = next(each for each in entries() if each.table is entry.table)
    if alike != entry and not inner:
        return f"{title}\n{'=' * len(title)}\n\nHolds the same keys as {alike.path}."
    paragraphs = inspect.cleandoc(entry.table.__doc__ or "").split("\n\n")
    text = [f"{title}\n{'=' * len(title)}", *("\n".join(_wrapped(p, "")) for p in paragraphs)]
    text += [key_text(path, field) for path, field in entry.keys.items()]
    if inner and entry.path:
        within = [each for each in entries() if each.path.startswith(f"{entry.path}.")]
        text += [_table_text(each, inner=False) for each in within]
    return "\n\n".join(text)


def _topics_text() -> str:
    return "\n\n".join(_topic_text(title) for title in topics())


def _topic_text(title: str) -> str:
    paragraphs = topics()[title].split("\n\n")
    text = "\n\n".join("\n".join(_laid_out(each)) for each in paragraphs)
    return f"{title}\n{'-' * len(title)}\n\n{text}"


def _laid_out(paragraph: str) -> Iterator[str]:
    """The lines of a paragraph: an example as it is, a list item by item, all else run on."""
    if paragraph.startswith(_INDENT):
        yield from paragraph.split("\n")
        return
    first, *items = f"\n{paragraph}".split("\n- ")
    yield from _wrapped(first, "")
    for item in items:
        yield from _wrapped(item, "  ", first="- ")


def _wrapped(text: str, indent: str, first: str | None = None) -> list[str]:
    start = indent if first is None else first
    plain = " ".join(text.split())
    return textwrap.wrap(plain, WIDTH, initial_indent=start, subsequent_indent=indent)


def _unknown(name: str) -> Fault:
    paths = names()
    by_end = {path.rpartition(".")[2]: path for path in reversed(paths)}
    near = closest(name, [*paths, *by_end])
    mean = f"Did you mean '{near}'? " if near else ""
    remedy = f"{mean}`marker reference` alone prints all"
    return Fault("marker reference", f"there is no key or topic called '{name[:60]}'", remedy)


def _type_words(annotation: Any, metadata: Any = ()) -> str:
    """What a value of the type is, in words."""
    spoken = [each for each in metadata if isinstance(each, Spoken)]
    if spoken:
        return spoken[-1].words
    if any(isinstance(each, Holds) for each in metadata):
        return "list of tables" if get_origin(annotation) is list else "table"
    origin, arguments = get_origin(annotation), get_args(annotation)
    if origin is Annotated:
        return _type_words(arguments[0], _flat(arguments[1:]))
    if origin in (Union, UnionType):
        kinds = [each for each in arguments if each is not type(None)]
        return " or ".join(dict.fromkeys(_type_words(each, metadata) for each in kinds))
    if origin is list:
        return f"list{_count(metadata)}, each: {_type_words(arguments[0])}"
    if origin is dict:
        return f"table of name = {_type_words(arguments[1])}"
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
