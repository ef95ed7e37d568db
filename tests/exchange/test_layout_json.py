"""A layout comes back from its file as it was, to four decimals of a millimetre."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely

from marker.cloth.buying import fit, purchase
from marker.cloth.fabric import Cloth, Nap, Price
from marker.cloth.leftover import remaining
from marker.errors import FaultyInput
from marker.exchange.layout_json import layout_text, read_layout
from marker.exchange.layout_tables import LayoutTable
from marker.files.digest import digest
from marker.job import Job
from marker.jobfile.demand import MOST_GARMENTS
from marker.layout import CheckedLayout, Ending, Layout, Placement
from marker.pattern.pattern import Pattern
from marker.units import Show, System

SQUARE = np.array([[0.0, -1e-9], [200.00004999, 0], [200, 100], [0, 100]])
CLOTH = Cloth("jersey", 1500.0, selvage_mm=10.0, nap=Nap.ONE_WAY)
PLACED = Placement("front", "38", 1, 2, 180.0, True, 12.34567, 0.0, SQUARE)
LAYOUT = Layout("choir dress", CLOTH, (PLACED,), 212.34567, 100.0, Ending.TIME_UP, 7, 1.5)
CHECKED = CheckedLayout(LAYOUT, (), ("38",), 20_000.0)
JOB = Job("choir dress", "38", (Pattern("38"),), (CLOTH,), {"38": 1})
TABLE = LayoutTable.of(CHECKED, None)


def stored(folder: Path, **changes: Any) -> Path:
    """Layout file with some keys changed; a change to None takes the key out."""
    path = folder / "layout.json"
    path.write_text(layout_text(TABLE, path, folder / "job.toml", JOB))
    raw = {**json.loads(path.read_text()), **changes}
    path.write_text(json.dumps({key: value for key, value in raw.items() if value is not None}))
    return path


def placement(**changes: Any) -> list[dict[str, Any]]:
    return [{**TABLE.as_json()["placements"][0], **changes}]


def test_keys_and_rounding() -> None:
    buy = purchase(212.34567, CLOTH)
    said = LayoutTable.of(CHECKED, buy).as_json()
    assert said["cloth"] == {
        "name": "jersey", "usable_width_mm": 1480.0, "nap": "one way", "spread": "open",
        "shrinkage": {"along": 0.0, "across": 0.0, "cut": "after washing"},
        "repeat": {"along": None, "across": None}, "border": None, "flaws": [], "remnant": None,
    }  # fmt: skip
    assert said["placements"] == [
        {
            "piece": "front", "size": "38", "garment": 1, "copy": 2, "rotation_deg": 180.0,
            "mirrored": True, "x_mm": 12.3457, "y_mm": 0.0,
            "outline_mm": [[0.0, 0.0], [200.0, 0.0], [200.0, 100.0], [0.0, 100.0]],
        }
    ]  # fmt: skip
    assert said["utilisation"] == pytest.approx(20_000 / (212.34567 * 1480), abs=1e-6)
    assert said["folding"] == {
        "folds_along_mm": [], "fold_across_mm": None, "two_ply_mm": 0.0, "one_ply_from_mm": 0.0,
        "cuts": 1,
    }  # fmt: skip
    assert said["spares"] == []
    assert said["buy"]["layout_mm"] == 212.34567
    assert "have" not in said
    rest = ("format", "name", "length_mm", "length_lower_bound_mm", "stopped_because", "seed")
    assert [said[key] for key in rest] == [1, "choir dress", 212.3457, 100.0, "time is up", 7]
    assert "-0.0" not in json.dumps(said)


def test_written_and_read_back(tmp_path: Path) -> None:
    (tmp_path / "out").mkdir()
    path = tmp_path / "out" / "layout.json"
    job = tmp_path / "pieces" / "job.toml"
    path.write_text(layout_text(TABLE, path, job, JOB))
    assert json.loads(path.read_text())["job"] == "../pieces/job.toml"
    found = read_layout(path)
    assert found.job_path.resolve() == (tmp_path / "pieces" / "job.toml").resolve()
    layout = found.layout(JOB)
    assert layout.cloth == CLOTH
    assert (layout.seed, layout.seconds, layout.stopped_because) == (7, 1.5, Ending.TIME_UP)
    assert (layout.length_mm, layout.length_lower_bound_mm) == (212.3457, 100.0)
    (back,) = layout.placements
    assert (back.piece, back.copy, back.mirrored, back.x_mm) == ("front", 2, True, 12.3457)
    np.testing.assert_allclose(back.outline_mm, SQUARE, rtol=0, atol=5e-5)


def test_a_layout_knows_the_job_it_was_made_from(tmp_path: Path) -> None:
    found = read_layout(stored(tmp_path))
    assert found.made_from(JOB)
    assert not found.made_from(JOB.with_order({"38": 2}))
    wider = replace(CLOTH, width_mm=1510.0)
    assert not found.made_from(replace(JOB, cloths=(wider,)))
    assert found.made_from(replace(JOB, show=Show(System.IMPERIAL)))
    for earlier in (None, digest(JOB)):
        unknown = read_layout(stored(tmp_path, job_digest=earlier))
        assert unknown.made_from(replace(JOB, cloths=(wider,)))


@pytest.mark.parametrize("plies", [3, MOST_GARMENTS])
def test_a_lay_names_its_garments(plies: int, tmp_path: Path) -> None:
    """The largest order may be cut one garment a ply."""
    found = read_layout(stored(tmp_path, lay={"plies": plies, "garments": {"38": 2}}))
    assert found.ordered(JOB).garments == ("38", "38")
    other = read_layout(stored(tmp_path, lay={"garments": {"XS": 1}}))
    with pytest.raises(FaultyInput, match="no size 'XS'"):
        other.ordered(JOB)


def test_words_of_another_program_for_its_end_are_no_fault(tmp_path: Path) -> None:
    layout = read_layout(stored(tmp_path, stopped_because="it was tea time")).layout(JOB)
    assert layout.stopped_because is Ending.UNKNOWN


def test_a_cloth_the_job_has_not(tmp_path: Path) -> None:
    found = read_layout(stored(tmp_path, cloth={"name": "jresey", "spread": "open"}))
    with pytest.raises(FaultyInput, match="The only one is 'jersey'"):
        found.layout(JOB)


@pytest.mark.parametrize(
    ("changes", "key", "words"),
    [
        ({"format": 2}, "", "format is 2, not 1"),
        ({"format": True}, "", "format is True"),
        ({"format": None}, "", "no layout"),
        ({"length_mm": None}, "length_mm", "missing"),
        ({"length_mm": "long"}, "length_mm", "number is expected"),
        ({"length_mm": -1}, "length_mm", "too small"),
        ({"job": ""}, "job", "empty"),
        ({"seed": 1.5}, "seed", "whole number"),
        ({"cloth": "jersey"}, "cloth", "table"),
        ({"placements": []}, "placements", "0 entries"),
        ({"placements": placement(copy=0)}, "placements[1].copy", "too small"),
        ({"placements": placement(mirrored="no")}, "placements[1].mirrored", "true or false"),
        ({"placements": placement(outline_mm=[[0, 0]])}, "placements[1].outline_mm", "1 entry"),
        (
            {"placements": placement(outline_mm=[[0, 0], [1], [2, 2]])},
            "placements[1].outline_mm[2]",
            "1 entry",
        ),
        ({"x": float("nan")}, "", "NaN"),
        ({"x": float("-inf")}, "", "-Infinity"),
    ],
)
def test_faults(changes: dict[str, Any], key: str, words: str, tmp_path: Path) -> None:
    path = stored(tmp_path, **changes)
    with pytest.raises(FaultyInput) as raised:
        read_layout(path)
    (fault,) = raised.value.faults
    assert fault.place == (f"{path}: {key}" if key else str(path))
    assert words in fault.problem
    assert fault.remedy


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ('{"format": 1,\n]', r"not JSON \(line 2"),
        ("[1]", "no layout"),
        ("{}", "no layout"),
        ("[" * 100_000, "can't be a layout"),
        ("1" * 5000, "can't be a layout"),
        ('{"format": 1, "length_mm": 1e999}', "not finite"),
    ],
)
def test_no_layout_at_all(text: str, words: str, tmp_path: Path) -> None:
    path = tmp_path / "layout.json"
    path.write_text(text)
    with pytest.raises(FaultyInput, match=words):
        read_layout(path)


def test_too_big(tmp_path: Path) -> None:
    path = tmp_path / "layout.json"
    with path.open("wb") as file:
        file.truncate(51_000_000)
    with pytest.raises(FaultyInput, match="limit of 50 MB"):
        read_layout(path)


def test_parts_are_counted_before_they_are_built(tmp_path: Path) -> None:
    path = tmp_path / "layout.json"
    path.write_text('{"format": 1, "placements": [' + "{}," * 1_000_000 + "{}]}")
    with pytest.raises(FaultyInput, match="1000003 points and tables, more than 1000000"):
        read_layout(path)


def test_each_addend_of_a_purchase_is_told() -> None:
    cloth = replace(CLOTH, end_allowance_mm=20.0, price=Price(14.90, 1000, "EUR"))
    said = LayoutTable.of(CHECKED, purchase(1405, cloth)).as_json()["buy"]
    assert said == {
        "layout_mm": 1405, "end_allowance_mm": 40, "repeat_mm": 0, "shrinkage_mm": 0,
        "needed_mm": 1445, "step_mm": 100, "buy_mm": 1500, "cost": 22.35, "currency": "EUR",
        "rounding_mm": 55, "short_by_mm": 45, "buy_text_metric": "1.50 m",
        "buy_text_yards": "1 5/8 yd",
    }  # fmt: skip


def test_what_is_there_and_what_is_left_is_told() -> None:
    (left,) = remaining(shapely.box(0, 0, 700, 500), [shapely.box(300, 200, 700, 500)])
    found = fit(2300.0, 2250.0, replace(CLOTH, have_mm=2300.0, end_allowance_mm=20.0))
    said = TABLE.on_hand(found, [left]).as_json()
    assert said["have"] == {
        "have_mm": 2300.0, "needed_mm": 2340.0, "least_needed_mm": 2290.0, "spare_mm": -40.0,
        "answer": "not found",
    }  # fmt: skip
    (facts,) = said["leftovers"]
    assert facts["area_mm2"] == pytest.approx(230_000, rel=1e-3)
    assert facts["rectangles"][0] == pytest.approx(
        {"x_mm": 0.0, "y_mm": 0.0, "along_mm": 300.0, "across_mm": 500.0}, abs=0.1
    )
    assert len(facts["outline_mm"]) == 6
    assert facts["holes_mm"] == []


def test_what_is_for_other_readers_is_not_read(tmp_path: Path) -> None:
    path = stored(tmp_path, buy={"litres": "three"}, leftovers=7)
    assert read_layout(path).length_mm == 212.3457
