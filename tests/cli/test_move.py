"""`marker move`: what it says of the place asked for and of the place reached."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from tests.cli.commands import job_file, laid, marker
from tests.jobfile.writer import HEAD, SQUARE, piece


@pytest.fixture
def layout(tmp_path: Path) -> Path:
    """Two squares of 100 mm on cloth of 1500 mm."""
    laid(job_file(tmp_path, HEAD + piece(SQUARE, "cut = 2", "grain = 0")), "--iterations", 0)
    return tmp_path / "out" / "layout.json"


@pytest.mark.usefixtures("no_diagrams")
def test_a_free_place_is_reached(layout: Path) -> None:
    done = marker("move", layout, 1, "--to", "50 cm, 70 cm", "--quiet")
    assert done.exit_code == 0, done.output
    assert "to lie at 50.0 cm, 70.0 cm; it lies there." in done.stdout
    assert marker("judge", layout).exit_code == 0


@pytest.mark.usefixtures("no_diagrams")
def test_a_place_that_is_taken_is_told_with_the_one_reached(layout: Path) -> None:
    """On the other square: the nearest free place is beside it."""
    assert marker("move", layout, 1, "--to", "50 cm, 70 cm", "--quiet").exit_code == 0
    done = marker("move", layout, 2, "--to", "50 cm, 70 cm", "--quiet")
    assert done.exit_code == 0, done.output
    assert ", 10.0 cm from there. No nearer place is free." in done.stdout
    assert marker("judge", layout).exit_code == 0


@pytest.mark.usefixtures("no_diagrams")
def test_a_piece_keeps_its_number(layout: Path) -> None:
    """The first square goes behind the second, and is the first on the printed diagram still."""
    fresh = json.loads(layout.read_text(encoding="utf-8"))["placements"]
    assert all("number" not in each for each in fresh)
    first = min(fresh, key=lambda each: (each["x_mm"], each["y_mm"]))["copy"]
    for place in ("50 cm, 70 cm", "90 cm, 70 cm"):
        assert marker("move", layout, 1, "--to", place, "--quiet").exit_code == 0
    moved = json.loads(layout.read_text(encoding="utf-8"))["placements"]
    assert {each["copy"]: each["number"] for each in moved} == {first: 1, 3 - first: 2}
    last = max(moved, key=lambda each: each["x_mm"])
    assert last["copy"] == first


@pytest.mark.parametrize("place", ["12,5 in, 30", "12,5 cm, 30 cm", "12,30"])
def test_a_decimal_comma_is_known_as_one(place: str) -> None:
    told = marker("move", "layout.json", 1, "--to", place)
    assert told.exit_code == 2
    assert "has a decimal comma. Write decimals with a point" in " ".join(told.stderr.split())
