"""Demand and over-cut as text."""

from __future__ import annotations

from fractions import Fraction

import pytest

from marker.errors import FaultyInput
from marker.jobfile.demand import read_demand
from marker.jobfile.option_texts import read_over_cut


def test_one_colour_and_several() -> None:
    assert read_demand("--demand", ["S=300, M = 600,L=0"]) == {"": {"S": 300, "M": 600, "L": 0}}
    assert read_demand("--demand", ["red: S=3", "deep blue:S=4,M=1"]) == {
        "red": {"S": 3},
        "deep blue": {"S": 4, "M": 1},
    }


@pytest.mark.parametrize(
    ("texts", "words"),
    [
        (["S300"], "'S300' is not a size and a number"),
        (["=5"], "SIZE=NUMBER"), ([""], "SIZE=NUMBER"), (["S=3,"], "SIZE=NUMBER"),
        (["S=x"], "'x' is no number"), (["S=-1"], "'-1'"), (["S=1.5"], "'1.5'"),
        (["S=²"], "'²'"), (["S=1,S=2"], "'S' is there twice"), (["S=0"], "no garment is ordered"),
        (["S=100001"], "at most 100000"), (["S=1", "M=2"], "no colour is named"),
        (["red:S=1", "red:M=2"], "'red' is there twice"),
    ],
)  # fmt: skip
def test_faulty_demand(texts: list[str], words: str) -> None:
    with pytest.raises(FaultyInput) as caught:
        read_demand("--demand", texts)
    assert words in str(caught.value)
    assert str(caught.value).startswith("--demand")


def test_every_fault_is_listed() -> None:
    with pytest.raises(FaultyInput) as caught:
        read_demand("--demand", ["S3,M=x,L=4,L=5"])
    assert len(caught.value.faults) == 3


@pytest.mark.parametrize(
    ("text", "share"),
    [("any", None), ("0%", Fraction(0)), ("5%", Fraction(1, 20)), ("2.5 %", Fraction(1, 40))],
)
def test_over_cut(text: str, share: Fraction | None) -> None:
    assert read_over_cut("--over-cut", text) == share


@pytest.mark.parametrize("text", ["5", "-5%", "%", ".%", "1001%", "nan%", "1e9%", "some", "1.2.3%"])
def test_faulty_over_cut(text: str) -> None:
    with pytest.raises(FaultyInput, match="--over-cut"):
        read_over_cut("--over-cut", text)
