"""What the commands print with `--json`, said by the types of their reports."""

from __future__ import annotations

import inspect
import re
from collections.abc import Iterator, Mapping
from dataclasses import fields, is_dataclass
from enum import Enum
from pathlib import Path
from types import NoneType, UnionType
from typing import Annotated, Any, Union, get_args, get_origin, get_type_hints

from marker.reports.facts import Digits, Mark

_SENTENCE_ENTRY = re.compile(r"(?:^|(?<=[.;] ))(\w+(?:, \w+)* : )")
_WORDS = {str: "text", int: "whole number", float: "number", bool: "true or false", Path: "path"}


def report_types() -> dict[str, type[Any]]:
    """Command -> what its JSON is made from."""
    from marker.exchange.layout_tables import LayoutTable
    from marker.reports.bands import BandsReport
    from marker.reports.buy import BuyReport
    from marker.reports.check import CheckReport
    from marker.reports.imported import ImportReport
    from marker.reports.order import OrderReport
    from marker.reports.plan import PlanReport
    from marker.reports.shortage import ShortageReport

    return {
        "check": CheckReport,
        "bands": BandsReport,
        "lay": LayoutTable,
        "buy": BuyReport,
        "shortage": ShortageReport,
        "order": PlanReport,
        "order JOB": OrderReport,
        "import": ImportReport,
    }


def contract(command: str, report: type[Any]) -> Iterator[str]:
    """The object that a command prints: a line for each key, objects within it below.

    report : a frozen dataclass or a model, whose docstring says `key : meaning`.
    """
    yield f"marker {command} --json prints one object. Lengths are in mm."
    told: list[type[Any]] = []
    to_tell = [report]
    while to_tell:
        kind = to_tell.pop(0)
        if kind in told:
            continue
        told.append(kind)
        yield ""
        yield from _object(kind)
        to_tell += [each for each in _within(kind) if each not in told]


def _object(kind: type[Any]) -> Iterator[str]:
    summary, meanings = _said(kind)
    yield f"{kind.__name__}: {summary}"
    for name, hint in _keys(kind):
        meaning = f"  {meanings[name]}" if name in meanings else ""
        yield f"  {name}: {_words(hint)}{meaning}"


def _keys(kind: type[Any]) -> list[tuple[str, Any]]:
    hints = get_type_hints(kind, include_extras=True)
    if is_dataclass(kind):
        names = {each.name: each.name for each in fields(kind)}
    else:
        names = {name: each.alias or name for name, each in kind.model_fields.items()}
    return [
        (shown, hints[name])
        for name, shown in names.items()
        if Mark.HIDDEN not in getattr(hints[name], "__metadata__", ())
    ]


def _said(kind: type[Any]) -> tuple[str, dict[str, str]]:
    """The first sentence of a docstring, and what it says of each key."""
    text = " ".join((inspect.getdoc(kind) or "").split())
    first, *entries = _SENTENCE_ENTRY.split(text)
    meanings: dict[str, str] = {}
    for names, meaning in zip(entries[::2], entries[1::2], strict=True):
        for name in names.removesuffix(" : ").split(", "):
            meanings[name] = meaning.strip()
    return first.strip(), meanings


def _words(hint: Any) -> str:
    """A type in words: 'number to 0.1', 'list of SideFacts', 'text or null'."""
    origin, inside = get_origin(hint), get_args(hint)
    if origin is Annotated:
        places = [each.places for each in inside[1:] if isinstance(each, Digits)]
        said = _words(inside[0])
        if Mark.LEFT_OUT in inside[1:]:
            said = said.removesuffix(" or null") + ", left out where there is none"
        return f"{said} to {10.0 ** -places[0]:g}" if places and said == "number" else said
    if origin in (Union, UnionType):
        kinds = [_words(each) for each in inside if each is not NoneType]
        return " or ".join(kinds + ["null"] * (NoneType in inside))
    if origin in (tuple, list) or (inspect.isclass(origin) and not issubclass(origin, Mapping)):
        return f"list of {_words(inside[0])}" if inside[-1:] == (...,) or len(inside) == 1 else (
            "list of " + ", ".join(_words(each) for each in inside)
        )  # fmt: skip
    if inspect.isclass(origin):
        return f"object, {_words(inside[0])} to {_words(inside[1])}"
    if inspect.isclass(hint) and issubclass(hint, Enum):
        return "one of " + ", ".join(f'"{each.value}"' for each in hint)
    return _WORDS.get(hint, getattr(hint, "__name__", str(hint)))


def _within(kind: type[Any]) -> list[type[Any]]:
    """The objects that a report is made of, in the order of its keys."""
    found: list[type[Any]] = []

    def look(hint: Any) -> None:
        if inspect.isclass(hint) and (is_dataclass(hint) or hasattr(hint, "model_fields")):
            found.append(hint)
        for each in get_args(hint):
            look(each)

    for _, hint in _keys(kind):
        look(hint)
    return found
