"""A report's JSON: its fields as keys, rounded as their types say."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path
from typing import Annotated

import numpy as np
import pytest

from marker.reports.facts import FineMm, Mark, Mm, Share, to_json


class Way(StrEnum):
    UP = "up"


@dataclass(frozen=True)
class Inner:
    at_mm: Mm
    name: str = "x"


@dataclass(frozen=True)
class Report:
    length_mm: Mm
    maybe_mm: Mm | None
    sides_mm: Mapping[str, tuple[FineMm, FineMm]]
    share: Share
    exact: float
    way: Way
    inner: tuple[Inner, ...]
    points: np.ndarray
    file: Path
    told: Annotated[str, Mark.HIDDEN]
    files: Annotated[tuple[Path, ...] | None, Mark.LEFT_OUT] = None


def made(**changes: object) -> Report:
    values = {
        "length_mm": 12.345,
        "maybe_mm": None,
        "sides_mm": {"38": (1.005, 2.0049)},
        "share": 1 / 3,
        "exact": 1 / 3,
        "way": Way.UP,
        "inner": (Inner(1.26), Inner(2.0, "y")),
        "points": np.array([[1, 2], [3, 4]]),
        "file": Path("a/b"),
        "told": "only to people",
    }
    return Report(**(values | changes))  # type: ignore[arg-type]


def test_fields_are_keys_in_order_and_numbers_rounded_as_their_types_say() -> None:
    assert to_json(made()) == {
        "length_mm": 12.3,
        "maybe_mm": None,
        "sides_mm": {"38": [1.0, 2.0]},
        "share": 0.3333,
        "exact": 1 / 3,
        "way": "up",
        "inner": [{"at_mm": 1.3, "name": "x"}, {"at_mm": 2.0, "name": "y"}],
        "points": [[1, 2], [3, 4]],
        "file": "a/b",
    }
    assert list(to_json(made())) == [
        *("length_mm", "maybe_mm", "sides_mm", "share", "exact", "way", "inner", "points", "file")
    ]


def test_an_optional_length_is_rounded_where_it_is_there() -> None:
    assert to_json(made(maybe_mm=7.77))["maybe_mm"] == 7.8


def test_a_key_that_may_be_left_out_is_there_where_it_has_a_value() -> None:
    assert to_json(made(files=(Path("c"),)))["files"] == ["c"]


def test_numbers_of_numpy_are_numbers() -> None:
    json = to_json(made(length_mm=np.float64(1.25), exact=np.float64(0.5)))
    assert (json["length_mm"], json["exact"]) == (1.2, 0.5)


def test_what_is_no_report_is_refused() -> None:
    with pytest.raises(TypeError):
        to_json({"a": 1})
