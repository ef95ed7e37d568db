"""The digest of a value follows what it holds, not how it came about."""

from __future__ import annotations

from dataclasses import dataclass, field, make_dataclass, replace
from typing import Any

import numpy as np
import pytest

from marker.cloth.repeat import Axis
from marker.files.digest import digest


@dataclass(frozen=True)
class Thing:
    name: str
    size: float
    points: Any = None
    found: dict[str, int] = field(default_factory=dict, compare=False)


@dataclass(frozen=True)
class Other:
    name: str
    size: float
    points: Any = None


ONE = Thing("a", 1.0, np.array([[0.0, 1.0], [2.0, 3.0]]))


def test_the_same_contents_have_the_same_digest() -> None:
    assert digest(ONE) == digest(Thing("a", 1.0, np.array([[0, 1], [2, 3]])))
    assert digest(replace(ONE, size=1.00000001)) == digest(ONE)
    assert digest(np.array([-0.0])) == digest(np.array([0.0]))
    assert digest({"a", "b", "c"}) == digest({"c", "b", "a"})
    assert digest(replace(ONE, found={"a": 1})) == digest(ONE)
    assert len(digest(ONE)) == 32


def test_an_optional_field_more_changes_nothing_until_it_is_used() -> None:
    """As when a later version can say more of a thing."""
    more = make_dataclass(
        "Thing",
        [
            ("name", str),
            ("lined", bool, field(default=False)),
            ("size", float, field(default=0.0)),
            ("points", Any, field(default=None)),
            ("held", dict, field(default_factory=dict)),
        ],
        frozen=True,
    )
    assert digest(more("a", size=1.0, points=ONE.points)) == digest(ONE)
    assert digest(more("a", size=1.0, points=ONE.points, lined=True)) != digest(ONE)
    assert digest(more("a", size=1.0, points=ONE.points, held={"b": 1})) != digest(ONE)


@pytest.mark.parametrize(
    "other",
    [
        replace(ONE, name="b"),
        replace(ONE, size=1.001),
        replace(ONE, size=2.0),
        replace(ONE, points=ONE.points + 0.001),
        replace(ONE, points=ONE.points.T),
        replace(ONE, points=None),
        Other(ONE.name, ONE.size, ONE.points),
        (ONE,),
        {"one": ONE},
    ],
)
def test_other_contents_have_another(other: object) -> None:
    assert digest(other) != digest(ONE)


def test_places_and_kinds_count() -> None:
    values = [1, 1.0, True, "1", None, "None", ("ab", "c"), ("a", "bc"), {"a": 1, "b": 2},
              {"b": 2, "a": 1}, {Axis.ALONG: 1.0}, {"across": 1.0}, (), {},
              frozenset({1})]  # fmt: skip
    assert len({digest(value) for value in values}) == len(values)
    assert digest("\ud800")


def test_what_it_does_not_know_is_refused() -> None:
    with pytest.raises(TypeError, match="no digest of a object"):
        digest(object())
