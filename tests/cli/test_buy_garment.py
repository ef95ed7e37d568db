"""`marker buy --garment`: what to buy before there is a pattern."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from tests.cli.commands import marker

EIGHTH_YARD_MM = 114.3


def estimate(*words: object) -> dict[str, Any]:
    done = marker("buy", "--garment", *words, "--quiet", "--json")
    assert done.exit_code == 0, done.output
    return dict(json.loads(done.stdout))


@pytest.fixture(autouse=True)
def nowhere(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """An empty folder to be in: an estimate writes nothing."""
    monkeypatch.chdir(tmp_path)
    return tmp_path


def test_a_range_for_each_width(nowhere: Path) -> None:
    found = estimate(
        "half circle skirt", "--waist", "28 in", "--length", "24 in", "--widths", "36in,45in,60in"
    )
    assert found["measures_mm"]["waist"] == pytest.approx(711.2)
    assert [each["width_mm"] for each in found["widths"]] == [914.4, 1143.0, 1524.0]
    for each in found["widths"]:
        assert 0 < each["least_mm"] <= each["most_mm"]
        steps = each["least_mm"] / EIGHTH_YARD_MM  # what a shop of inches sells by
        assert steps == pytest.approx(round(steps))
    assert found["chart_from_mm"] == 914.4
    assert found["widths"][0]["chart_mm"] is None
    assert 0.5 < found["widths"][1]["chart_mm"] / found["widths"][0]["most_mm"] < 1
    assert list(nowhere.iterdir()) == []


def test_a_full_circle_needs_its_two_halves() -> None:
    """Waist 28 in, length 24 in and 10 mm of ease: R = 721.2 ÷ 2π + 609.6 mm. Two half circles one
    way and the other on cloth W wide need at least 2·R and at most 4·R of length (geometry)."""
    outer = (711.2 + 10) / 6.283185 + 609.6
    (width,) = estimate(
        "full circle skirt", "--waist", "28 in", "--length", "24 in", "--widths", "45in"
    )["widths"]
    assert 2 * outer < width["most_mm"] < 4 * outer + 300


def test_a_width_too_narrow_is_left_out_with_its_reason() -> None:
    found = estimate("pinafore", "--size", "48", "--widths", "50cm,150cm")
    assert [each["width_mm"] for each in found["widths"]] == [1500]
    assert "usable width" in found["left_out"][0]["reason"]


def test_lines_for_a_person() -> None:
    done = marker("buy", "--garment", "cushion", "--widths", "45in,60in", "--quiet")
    assert done.exit_code == 0
    assert "what to buy by width" in done.stdout
    assert "(45 in)" in done.stdout


@pytest.mark.parametrize(
    ("words", "code", "said"),
    [
        ((), 2, "Give a JOB, or a --garment"),
        (("job.toml", "--garment", "tote"), 2, "Give a JOB, or a --garment"),
        (("--garment", "skirt"), 2, "no garment called 'skirt'"),
        (("--garment", "robe", "--bust", "88 m"), 2, "mean '88 cm'"),
        (("--garment", "tote", "--widths", "5cm"), 1, "can be laid in none"),
    ],
)
def test_faults(nowhere: Path, words: tuple[str, ...], code: int, said: str) -> None:
    done = marker("buy", *words)
    assert (done.exit_code, said in done.stderr) == (code, True), done.stderr
    assert list(nowhere.iterdir()) == []
