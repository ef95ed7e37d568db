"""Labels of pattern files: legible, on no edge, beside the piece where it is too small."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import shapely

from marker.exchange.flat_piece import FlatPiece
from marker.exchange.label_place import Label, labels
from marker.exchange.laid_flat import Sheet, notch_ticks, pattern_sheet, sheet
from marker.jobfile.reading import read_job
from tests.exchange.exchange import assert_same_pieces, imported, job_of, written
from tests.jobfile.writer import HEAD, piece

SIZES = {"front": (300, 400), "tab": (30, 30), "loop": (25, 12), "binding": (12, 400),
         "strip": (32, 500), "waistband": (600, 32)}  # fmt: skip
LEGIBLE_MM = 3.5


def box(name: str, across: float, up: float) -> FlatPiece:
    outline = np.array([[0.0, 0.0], [across, 0.0], [across, up], [0.0, up]])
    grain = np.array([[across / 2, 0.2 * up], [across / 2, 0.8 * up]])
    return FlatPiece(name, outline, size="38", cut=2, mirrored=1, grain=grain)


def small_things() -> Sheet:
    return sheet("trimmings", "38", [box(name, *sides) for name, sides in SIZES.items()])


def by_name(of: Sheet, upright: bool = False) -> dict[str, Label]:
    found = labels(of, upright)
    return {each.name: label for each, label in zip(of.pieces, found, strict=True)}


@pytest.mark.parametrize("upright", [False, True])
def test_every_label_is_legible_and_on_no_edge(upright: bool) -> None:
    of = small_things()
    found = by_name(of, upright)
    boxes = [label.box for label in found.values()]
    edges = shapely.union_all([shapely.LinearRing(each.outline) for each in of.pieces])
    assert all(label.size_mm >= LEGIBLE_MM for label in found.values())
    assert not any(each.intersects(edges) for each in boxes)
    assert sum(a.intersects(b) for a in boxes for b in boxes) == len(boxes)
    assert all(shapely.box(0, 0, of.width_mm, of.height_mm).covers(each) for each in boxes)
    for each in of.pieces:
        leader, region = found[each.name].leader, shapely.Polygon(each.outline)
        if leader is None:
            assert region.covers(found[each.name].box)
        else:
            assert region.covers(shapely.Point(leader[1]))
            assert found[each.name].box.distance(shapely.Point(leader[0])) < 1.5
    beside = {name for name, label in found.items() if label.leader is not None}
    assert beside >= {"tab", "loop"}
    assert ("binding" in beside) == upright
    assert not beside & {"front", "waistband"}


def test_a_label_runs_along_a_strip_unless_it_must_be_upright() -> None:
    of = small_things()
    assert by_name(of)["strip"].angle_deg == 90
    assert {label.angle_deg for label in labels(of, upright=True)} == {0}


def test_no_text_lies_on_a_notch() -> None:
    plain = box("strip", 32, 500)
    notched = replace(plain, notches=np.array([[32.0, y] for y in range(20, 490, 40)]))
    of = sheet("trimmings", "38", [notched])
    (label,) = labels(of)
    ticks = shapely.union_all([shapely.LineString(tick) for tick in notch_ticks(of.pieces[0])])
    assert label.leader is None
    assert not label.box.intersects(ticks)
    assert by_name(sheet("trimmings", "38", [plain]))["strip"].box.intersects(ticks)


def test_where_all_is_taken_the_letters_are_small() -> None:
    """Nine tabs fill their sheet."""
    tabs = [box("tab", 30, 30).moved(np.array([30.0 * x, 30.0 * y]))
            for x in range(3) for y in range(3)]  # fmt: skip
    found = labels(Sheet("tabs", "38", tuple(tabs), 90, 90))
    assert all(2.0 <= label.size_mm < LEGIBLE_MM and label.leader is None for label in found)


def test_what_stands_beside_a_piece_is_read_as_its_own(tmp_path: Path) -> None:
    shapes = [
        piece(f"points = [[0, 0], [{x}, 0], [{x}, {y}], [0, {y}]]\ncut = {2 + 2 * k}", name=name)
        for k, (name, (x, y)) in enumerate(SIZES.items())
    ]
    path = tmp_path / "small.toml"
    path.write_text(HEAD + "".join(shapes))
    job = read_job(path)
    found = imported(tmp_path, written(pattern_sheet(job), "svg"), "svg")
    assert found.passed_over == {}
    assert_same_pieces(job, job_of(found, tmp_path))
