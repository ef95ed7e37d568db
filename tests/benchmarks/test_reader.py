"""The benchmarks' readers: both forms of instance files, and choosing among them."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from shapely.geometry import Polygon

from marker.errors import FaultyInput
from tests.benchmarks.folder import default_folder, instance_files, read_instance

# Two right triangles make a 4 × 3 rectangle, three squares fill 3 × 1: the strip of width 3 is
# full at length 4 + 1 = 5 (geometry anyone can redo).
FILLED: dict[str, Any] = {
    "name": "filled",
    "source": "made up",
    "sheet_width": 3,
    "allowed_rotations_deg": [0, 180],
    "pieces": [
        {"id": "gusset", "quantity": 2, "polygon": [[0, 0], [4, 0], [0, 3]]},
        {"id": 7, "quantity": 3, "polygon": [[0, 0], [0, 1], [1, 1], [1, 0], [0, 0]]},
    ],
}

XML = """<?xml version="1.0" encoding="UTF-8"?>
<nesting xmlns="http://globalnest.fe.up.pt/nesting">
  <name>filled</name>
  <problem>
    <boards>
      <piece id="board0" quantity="1">
        <component idPolygon="polygon0" type="0" xOffset="0" yOffset="0"/>
      </piece>
    </boards>
    <lot>
      <piece id="gusset" quantity="2">
        <orientation><enumeration angle="0"/><enumeration angle="180"/></orientation>
        <component idPolygon="polygon1" type="0" xOffset="10" yOffset="-5"/>
      </piece>
      <piece id="7" quantity="3">
        <orientation><enumeration angle="0"/></orientation>
        <component idPolygon="polygon2" type="0" xOffset="0" yOffset="0"/>
      </piece>
    </lot>
  </problem>
  <polygons>
    <polygon id="polygon0" nVertices="4">
      <segments>
        <segment n="1" x0="0" y0="0" x1="0" y1="3"/>
        <segment n="2" x0="0" y0="3" x1="20" y1="3"/>
        <segment n="3" x0="20" y0="3" x1="20" y1="0"/>
        <segment n="4" x0="20" y0="0" x1="0" y1="0"/>
      </segments>
    </polygon>
    <polygon id="polygon1" nVertices="3">
      <segments>
        <segment n="3" x0="4" y0="0" x1="0" y1="0"/>
        <segment n="1" x0="0" y0="0" x1="0" y1="3"/>
        <segment n="2" x0="0" y0="3" x1="4" y1="0"/>
      </segments>
    </polygon>
    <polygon id="polygon2" nVertices="4">
      <vertices>
        <vertex x="0" y="0"/><vertex x="1" y="0"/><vertex x="1" y="1"/><vertex x="0" y="1"/>
      </vertices>
    </polygon>
  </polygons>
</nesting>
"""


def written(folder: Path, name: str, text: str) -> Path:
    path = folder / name
    path.write_text(text, encoding="utf-8")
    return path


def test_both_forms_give_the_same_pieces(tmp_path: Path) -> None:
    """Apart from turns, which XML states piece by piece, and offsets, which move an outline."""
    from_json = read_instance(written(tmp_path, "a.json", json.dumps(FILLED)))
    from_xml = read_instance(written(tmp_path, "b.xml", XML))
    assert (from_json.name, from_xml.name) == ("a", "b")
    assert from_json.width == from_xml.width == 3.0
    assert from_json.area == from_xml.area == 15.0
    assert [piece.turns for piece in from_xml.pieces] == [(0.0, 180.0), (0.0,)]
    shifts = (np.array([10.0, -5.0]), np.zeros(2))
    for one, other, shift in zip(from_json.pieces, from_xml.pieces, shifts, strict=True):
        assert (one.id, one.quantity) == (other.id, other.quantity)
        assert Polygon(one.outline + shift).equals(Polygon(other.outline))
        assert Polygon(other.outline).exterior.is_ccw


@pytest.mark.parametrize(
    ("good", "bad", "place", "problem"),
    [
        ('n="2" x0="0" y0="3" x1="4"', 'n="2" x0="0" y0="3" x1="5"', "gusset", "does not end"),
        ('idPolygon="polygon2"', 'idPolygon="polygon9"', "piece 7", "no polygon 'polygon9'"),
        ('<enumeration angle="0"/></or', "</or", "piece 7", "no list of allowed angles"),
        ('quantity="3"', 'quantity="2.5"', "piece 7", "quantity is 2.5"),
        ('x="1" y="1"', 'x="1" y="one"', "piece 7", "y of a 'vertex' is 'one'"),
        ('x="1" y="1"', 'x="-1" y="0.5"', "piece 7", "crosses or touches itself"),
        ('id="7"', 'id="gusset"', "piece gusset", "two of this id"),
        ('x1="20" y1="3"', 'x1="20" y1="2"', "boards", "does not end"),
        ('x0="20" y0="3" x1="20"', 'x0="20" y0="3" x1="19"', "boards", "does not end"),
        ("<boards>", "<boards><piece/>", "boards", "there are 2 boards"),
        ("</nesting>", "", "b.xml", "not XML"),
        ("<nesting ", '<!DOCTYPE nesting [<!ENTITY a "b">]><nesting ', "b.xml", "entities"),
    ],
)
def test_faults_in_xml_name_the_place(
    tmp_path: Path, good: str, bad: str, place: str, problem: str
) -> None:
    assert good in XML
    path = written(tmp_path, "b.xml", XML.replace(good, bad, 1))
    with pytest.raises(FaultyInput) as refused:
        read_instance(path)
    (fault,) = refused.value.faults
    assert place in fault.place
    assert str(path) in fault.place
    assert problem in fault.problem


def test_all_faults_in_json_at_once(tmp_path: Path) -> None:
    spoiled = {**FILLED, "sheet_width": -3, "pieces": [{"id": "x", "quantity": 0, "polygon": []}]}
    path = written(tmp_path, "a.json", json.dumps(spoiled))
    with pytest.raises(FaultyInput) as refused:
        read_instance(path)
    places = {fault.place.removeprefix(f"{path}: ") for fault in refused.value.faults}
    assert places == {"sheet_width", "pieces.0.quantity", "pieces.0.polygon"}


def test_turns_are_restricted_never_added(tmp_path: Path) -> None:
    path = written(tmp_path, "b.xml", XML)
    kept = read_instance(path, [0.0, 90.0])
    assert [piece.turns for piece in kept.pieces] == [(0.0,), (0.0,)]
    with pytest.raises(FaultyInput, match=r"piece 7: none of its turns"):
        read_instance(path, [180.0])


def test_unknown_and_doubtful_names(tmp_path: Path) -> None:
    written(tmp_path, "shirts.json", "{}")
    assert [path.name for path in instance_files(tmp_path, None)] == ["shirts.json"]
    with pytest.raises(FaultyInput, match="The only one is 'shirts'"):
        instance_files(tmp_path, ["shirt"])
    written(tmp_path, "shirts.xml", "")
    with pytest.raises(FaultyInput, match="two files called 'shirts'"):
        instance_files(tmp_path, ["shirts"])


# Area ÷ width of the ESICUP sets as used in the literature (instances' README, table).
AREA_OVER_WIDTH = {
    "albano": 8705.47, "blaz": 21.600, "fu": 28.500, "mao": 1473.97, "shirts": 54.000,
    "swim": 4423.04, "trousers": 217.804, "dighe1": 100.0, "dighe2": 100.0, "gardeyn0": 43741.27,
}  # fmt: skip


@pytest.mark.parametrize("name", AREA_OVER_WIDTH)
def test_area_of_the_open_instances(name: str) -> None:
    path = default_folder() / f"{name}.json"
    if not path.exists():
        pytest.skip(f"no {path}")
    instance = read_instance(path)
    assert instance.area / instance.width == pytest.approx(AREA_OVER_WIDTH[name], rel=1e-5)
