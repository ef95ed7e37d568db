"""Circle skirts out of `marker lay`: yardages anyone can redo with a pencil.

Waist 28 in, length 24 in, no allowances: inner radius 28 ÷ 2π = 4.456 in, outer radius R = 28.456
in (geometry). The layouts are checked by formula and by shapely, not by the program's own judge.
"""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from shapely.geometry import Polygon

from marker.tolerances import JUDGED_MM
from tests.cli.commands import job_file, laid, marker

INCH = 25.4
INNER = 28 / (2 * math.pi)
OUTER = INNER + 24

SKIRT = """
name = "circle skirt"
units = "in"
size = "38"
order = {{ "38" = 1 }}
cloth.crepe = {{ width = "{width} in", nap = "{nap}", sold_by = "1/8 yd" }}

[[piece]]
name = "skirt"
shape = {{ kind = "ring sector", inner_radius = {inner}, outer_radius = {outer}, angle = {angle} }}
cut = {cut}
turns = {turns}
grain = {grain}
"""


def skirt(
    folder: Path,
    width: float,
    angle: int,
    *,
    nap: str = "either way",
    turns: str = "[0, 180]",
    grain: int = 0,
) -> tuple[float, str]:
    """Length of the layout, in, and what to buy, yards."""
    text = SKIRT.format(
        width=width, nap=nap, inner=INNER, outer=OUTER, angle=angle, cut=360 // angle,
        turns=turns, grain=grain,
    )  # fmt: skip
    layout = laid(job_file(folder, text), "--iterations", 6)
    solids = [Polygon(placement["outline_mm"]) for placement in layout["placements"]]
    for k, solid in enumerate(solids):
        assert solid.bounds[0] >= -0.02
        assert solid.bounds[1] >= -0.02
        assert solid.bounds[3] <= width * INCH + 0.02
        assert all(solid.intersection(other).area < 5 for other in solids[:k])
    last = max(solid.bounds[2] for solid in solids)
    assert layout["length_mm"] == pytest.approx(last, abs=0.001)
    assert layout["length_lower_bound_mm"] <= last + 1e-3
    return last / INCH, layout["buy"]["buy_text_yards"]


@pytest.mark.usefixtures("no_diagrams")
def test_one_full_circle_on_60_inches(tmp_path: Path) -> None:
    length, buy = skirt(tmp_path, 60, 360)
    assert length == pytest.approx(2 * OUTER, abs=0.005)
    assert length == pytest.approx(56.91, abs=0.005)
    assert buy == "1 5/8 yd"


@pytest.mark.usefixtures("no_diagrams")
def test_two_half_circles_on_45_inches(tmp_path: Path) -> None:
    """Straight edges on opposite selvages: the arcs touch where the centres lie 2R apart."""
    expected = 2 * OUTER + math.sqrt(4 * OUTER**2 - 45**2)
    assert expected == pytest.approx(91.76, abs=0.005)
    length, buy = skirt(tmp_path, 45, 180)
    assert length == pytest.approx(expected, abs=0.02)
    assert buy == "2 5/8 yd"


@pytest.mark.usefixtures("no_diagrams")
def test_two_half_circles_one_way_end_to_end(tmp_path: Path) -> None:
    """Cloth as wide as a half circle is high leaves no room to stagger them: 4R = 113.83 in."""
    assert round(4 * OUTER, 2) in (113.82, 113.83)
    length, buy = skirt(tmp_path, 28.5, 180, nap="one way", turns="[0]")
    assert 4 * OUTER - 0.2 <= length <= 4 * OUTER + 0.01
    assert buy == "3 1/4 yd"


@pytest.mark.usefixtures("no_diagrams")
def test_two_half_circles_one_way_on_45_inches(tmp_path: Path) -> None:
    """Room to stagger them: the second one's corner touches the first one's arc as high up as the
    width allows, 3R + √(R² - (45 - R)²) in all. End to end would be 4R."""
    expected = 3 * OUTER + math.sqrt(OUTER**2 - (45 - OUTER) ** 2)
    assert expected < 4 * OUTER
    length, buy = skirt(tmp_path, 45, 180, nap="one way", turns="[0]")
    assert length == pytest.approx(expected, abs=0.3)
    assert buy == "3 1/8 yd"


def test_the_outline_is_the_ring_of_the_formula(tmp_path: Path) -> None:
    """Area of the half ring π(R² - r²) ÷ 2, within what chords 0.1 mm inside the arcs cut off."""
    text = SKIRT.format(
        width=60, nap="either way", inner=INNER, outer=OUTER, angle=180, cut=1, turns="[0]", grain=0
    )
    told = marker("check", job_file(tmp_path, text), "--json")
    assert told.exit_code == 0
    layout = laid(tmp_path / "job.toml", "--iterations", 0)
    solid = Polygon(np.array(layout["placements"][0]["outline_mm"]) / INCH)
    assert solid.area == pytest.approx(math.pi * (OUTER**2 - INNER**2) / 2, rel=2e-4)


SPREAD_SKIRT = """
name = "circle skirt"
units = "in"
size = "38"
order = {{ "38" = 1 }}
cloth.crepe = {{ {cloth}, sold_by = "1/8 yd" }}

[[piece]]
name = "skirt"
shape = {{ kind = "ring sector", inner_radius = {inner}, outer_radius = {outer}, angle = {angle} }}
{piece}
"""


@pytest.mark.usefixtures("no_diagrams")
@pytest.mark.parametrize(
    ("cloth", "angle", "piece", "expected", "buy"),
    [
        # two half circles through both plies, straight edges along the fold: one is 2R long
        ('width = 60, spread = "folded lengthwise"', 180, "cut = 2; grain = 0",
         2 * OUTER, "1 5/8 yd"),
        ('width = 60, spread = "folded lengthwise", nap = "one way"', 180,
         "cut = 2; pair = true; grain = 0; turns = [0]", 2 * OUTER, "1 5/8 yd"),
        # two half circles on the fold, one behind the other: the arc of one ends where the
        # straight edge of the next begins, beside its waist, sqrt(R² - r²) on
        ('width = 60, spread = "folded lengthwise", nap = "one way"', 90,
         "cut = 2; fold = [1, 2]; grain = 0; turns = [0]",
         OUTER + math.sqrt(OUTER**2 - INNER**2), "1 5/8 yd"),
        # two folds: one half circle on either, side by side
        ('width = 120, spread = "double fold"', 90, "cut = 2; fold = [1, 2]; grain = 0",
         OUTER, "7/8 yd"),
        # a length for either ply: end to end, 4R
        ('width = 45, spread = "folded crosswise"', 180, "cut = 2; grain = 0",
         4 * OUTER, "3 1/4 yd"),
        # straight edges across the cloth: R for either ply
        ('width = 60, spread = "folded crosswise"', 180, "cut = 2; grain = 90",
         2 * OUTER, "1 5/8 yd"),
        ('width = 60, spread = "cut and turned", nap = "one way"', 180,
         "cut = 2; grain = 90; turns = [0]", 2 * OUTER, "1 5/8 yd"),
        # a tube 30 in wide as it lies is 60 in around
        ('width = 30, tube = true', 180, "cut = 2; grain = 0", 2 * OUTER, "1 5/8 yd"),
        ('width = 30, tube = true, spread = "slit open"', 360, "cut = 1", 2 * OUTER, "1 5/8 yd"),
    ],
)  # fmt: skip
def test_circle_skirts_on_folded_cloth(
    tmp_path: Path, cloth: str, angle: int, piece: str, expected: float, buy: str
) -> None:
    """Each length by the geometry beside it, never shorter; R, r as above."""
    keys = piece.replace("; ", "\n")
    text = SPREAD_SKIRT.format(cloth=cloth, inner=INNER, outer=OUTER, angle=angle, piece=keys)
    layout = laid(job_file(tmp_path, text), "--iterations", 4)
    assert layout["length_mm"] / INCH == pytest.approx(expected, abs=0.03)
    last = max(x for each in layout["placements"] for x, _ in each["outline_mm"])
    assert layout["length_lower_bound_mm"] <= last + JUDGED_MM
    assert layout["buy"]["buy_text_yards"] == buy
    assert layout["spares"] == []
