"""The keys that documents list are those that the JSON holds."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path
from typing import Annotated, Any

import pytest

from marker.exchange.layout_tables import FileTable
from marker.reports.buy import BuyReport
from marker.reports.check import CheckReport
from marker.reports.contract import JsonKey, contract_lines, keys_of
from marker.reports.facts import Mark, Mm, to_json
from marker.reports.kept import KeptReport
from marker.reports.shortage import ShortageReport


class Way(StrEnum):
    UP = "up"
    DOWN = "down"


@dataclass(frozen=True)
class Inner:
    """at_mm : where it lies."""

    at_mm: Mm


@dataclass(frozen=True)
class Report:
    """Something said. way : which way it runs. parts, more : what it is
    made of. told : nobody hears this.
    """

    way: Way
    parts: tuple[Inner, ...]
    more: Mapping[str, Inner]
    maybe: Annotated[int | None, Mark.LEFT_OUT] = None
    told: Annotated[str, Mark.HIDDEN] = ""
    file: Path = Path("x")


def test_every_key_with_its_kind_and_its_meaning() -> None:
    made = "what it is made of."
    assert keys_of(Report) == (
        JsonKey("way", "'up' or 'down'", "which way it runs.", False),
        JsonKey("parts", "list of object", made, False),
        JsonKey("parts[].at_mm", "number of mm to 0.1", "where it lies.", False),
        JsonKey("more", "object of object, as `parts[]`", made, False),
        JsonKey("maybe", "whole number or null", "", True),
        JsonKey("file", "path", "", False),
    )
    assert "| `maybe` | whole number or null, may be left out |  |" in contract_lines(Report)


def keys_in(values: Mapping[str, Any], before: str = "") -> Iterator[str]:
    for key, value in values.items():
        yield f"{before}{key}"
        inner = value if isinstance(value, list) else [value]
        tail = "[]" if isinstance(value, list) else ""
        for each in inner:
            if isinstance(each, dict):
                yield from keys_in(each, f"{before}{key}{tail}.")


def test_what_is_listed_is_what_is_there() -> None:
    report = Report(Way.UP, (Inner(1.0),), {"at": Inner(2.0)}, 3)
    listed = {key.name for key in keys_of(Report)}
    assert set(keys_in(to_json(report))) == listed | {"more.at", "more.at.at_mm"}


@pytest.mark.parametrize("kind", [BuyReport, CheckReport, ShortageReport, KeptReport, FileTable])
def test_the_reports_are_told(kind: type[Any]) -> None:
    names = [key.name for key in keys_of(kind)]
    assert len(names) > 5
    assert not any("any value" in key.kind for key in keys_of(kind) if kind is not FileTable)


def test_the_keys_of_a_layout_file_are_those_of_the_file() -> None:
    names = {key.name for key in keys_of(FileTable)}
    assert {"placements[].copy", "placements[].outline_mm", "cloth.spread", "job"} <= names
