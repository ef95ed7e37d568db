"""What a garment's maker may choose beside the measures: options, each a field of a dataclass."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, fields
from enum import StrEnum
from typing import Any

from marker.units import System, inches, metric, shown

CLOTH_WIDTH = "cloth_width"
"""The option of garments whose pieces depend on how wide their cloth is, from edge to edge."""


class Kind(StrEnum):
    """What an option is."""

    LENGTH = "length"
    DEGREES = "degrees"
    NUMBER = "number"
    WORD = "word"


@dataclass(frozen=True)
class Option:
    """One option of a garment.

    low, high : what a length (mm) or number can be. words : the words it can be.
    usual : without it; None where it comes from the measures.
    """

    name: str
    kind: Kind
    says: str
    usual: float | str | None
    low: float = 0.0
    high: float = 0.0
    words: tuple[str, ...] = ()

    def text(self, value: float | str) -> str:
        """A value of it as a person writes it."""
        if isinstance(value, str):
            return value
        match self.kind:
            case Kind.LENGTH:
                return metric(value) if shown().lead is System.METRIC else inches(value)
            case Kind.DEGREES:
                return f"{value:g}°"
            case _:
                return f"{value:g}"


def length(usual: float | None, low: float, high: float, says: str) -> Any:
    """An option that is a length in mm; usual None : it comes from the measures."""
    return _option(Kind.LENGTH, usual, says, low=low, high=high)


def degrees(usual: float, low: float, high: float, says: str) -> Any:
    """An option that is an angle in degrees."""
    return _option(Kind.DEGREES, usual, says, low=low, high=high)


def number(usual: float, low: float, high: float, says: str) -> Any:
    """An option that is a plain number; a whole one where its usual value is."""
    return _option(Kind.NUMBER, usual, says, low=low, high=high)


def word(usual: StrEnum, says: str) -> Any:
    """An option that is one of the words of an enum."""
    return _option(Kind.WORD, usual, says, words=tuple(type(usual)))


def _option(kind: Kind, usual: Any, says: str, **more: Any) -> Any:
    return field(default=usual, metadata={"kind": kind, "says": says, **more})


def options_of(table: type[Any]) -> dict[str, Option]:
    """The options that a dataclass of options has, by name."""
    usual = table()
    return {
        each.name: Option(each.name, usual=getattr(usual, each.name), **each.metadata)
        for each in fields(table)
    }


def chosen(table: type[Any], values: Mapping[str, float | str]) -> Any:
    """The options with the values given; a word becomes its enum's member."""
    usual = table()
    typed: dict[str, Any] = {}
    for name, value in values.items():
        kind: Any = type(getattr(usual, name))
        typed[name] = kind(value) if issubclass(kind, StrEnum | int) else value
    return table(**typed)
