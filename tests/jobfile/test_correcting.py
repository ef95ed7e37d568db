"""A corner is moved in a job file; what would spoil the pattern is refused."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
import shapely

from marker.errors import CannotBeDone, FaultyInput
from marker.jobfile.correcting import (
    fixed_corners,
    put_on_fold,
    with_corner_moved,
)
from marker.jobfile.editing import JobText, load
from marker.jobfile.new_job import starter_job
from marker.jobfile.reading import read_job
from marker.pattern.piece import Piece

SHAPES = """<svg xmlns="http://www.w3.org/2000/svg" width="300mm" height="200mm"
 viewBox="0 0 150 100"><g transform="translate(70 20) rotate(30) scale(-1 .7)">
<path id="curved" d="m 0 0 h 20 q 9 9 0 20 a 8 4 20 0 1 -10 8 c -5 1 -9 -9 -10 -20 z"/>
<rect id="round" width="30" height="20" rx="4"/><ellipse id="ellipse" rx="20" ry="9"/>
<polygon id="straight" points="0,0 30,0 30,20 0,0.0000001"/></g></svg>"""
DRAWN = """name = "shapes"
size = "38"
order = { 38 = 1 }
cloth.crepe.width = "140 cm"
"""


@pytest.fixture
def tabard(tmp_path: Path) -> JobText:
    path = tmp_path / "job.toml"
    path.write_text(starter_job("tabard"), encoding="utf-8")
    return load(path)


def piece_of(job: JobText, name: str) -> Piece:
    pieces = read_job(job.path, job.text).pattern.pieces
    return next(piece for piece in pieces if piece.name == name)


def area(piece: Piece) -> float:
    return float(shapely.Polygon(piece.outline).area)


def test_a_corner_of_a_path_is_moved(tabard: JobText) -> None:
    before = piece_of(tabard, "front")
    moved = with_corner_moved(tabard, "front", 2, (10, -20))
    after = piece_of(moved, "front")
    assert after.corners - before.corners == pytest.approx(
        np.array([[0, 0], [10, -20], *[[0, 0]] * 4]), abs=1e-6
    )
    # the triangle on each side of the corner: hem 250 mm, side from (250, 0) to (230, 480) mm
    assert area(after) - area(before) == pytest.approx((250 * 20 + 10 * 480 - 20 * 20) / 2)
    assert moved.text.count("#") == tabard.text.count("#")


def test_a_curve_follows_its_corner(tabard: JobText) -> None:
    moved = with_corner_moved(tabard, "front", 5, (10, 0))  # units are cm
    assert "L 9 0 C 9 8 5 12 0 12 Z" in moved.text
    moved = with_corner_moved(tabard, "front", 6, (0, -5))
    assert "C 8 8 5 12.5 0 12.5 Z" in moved.text


def test_a_point_is_moved_in_its_own_unit(tabard: JobText) -> None:
    moved = with_corner_moved(tabard, "pocket", 3, (-5, 2.5))
    assert "[14.5, 17.25]" in moved.text
    with_unit = tabard.set(("piece", "pocket", "points", 2), ["15 cm", "170 mm"])
    moved = with_corner_moved(with_unit, "pocket", 3, (-5, 2.5))
    assert '["145 mm", "172.5 mm"]' in moved.text


@pytest.mark.parametrize("name", ["curved", "round", "ellipse", "straight"])
def test_a_shape_of_a_drawing_becomes_a_path(name: str, tmp_path: Path) -> None:
    (tmp_path / "shapes.svg").write_text(SHAPES, encoding="utf-8")
    path = tmp_path / "job.toml"
    table = f'[[piece]]\nname = "one"\ndrawing = "shapes.svg#{name}"\n'
    path.write_text(DRAWN + table, encoding="utf-8")
    drawn = load(path)
    assert drawn.faults == ()
    before = piece_of(drawn, "one")
    still = with_corner_moved(drawn, "one", 1, (0, 0))
    assert ("drawing" not in still.text, still.faults) == (True, ())
    after = piece_of(still, "one")
    assert after.corners == pytest.approx(before.corners, abs=1e-4)
    apart = shapely.Polygon(after.outline) ^ shapely.Polygon(before.outline)
    assert apart.area < 0.02 * shapely.Polygon(before.outline).length  # mm: chords of curves
    moved = piece_of(with_corner_moved(drawn, "one", 3, (1, 2)), "one")
    shifts = moved.corners - before.corners
    assert shifts[2] == pytest.approx([1, 2], abs=1e-4)
    assert shifts[1] == pytest.approx([0, 0], abs=1e-4)


def test_what_would_be_no_outline_is_refused(tabard: JobText) -> None:
    with pytest.raises(FaultyInput, match="crosses or touches itself"):
        with_corner_moved(tabard, "front", 2, (-300, 200)).write()
    text = tabard.text.replace("5 12 0 12 Z", "5 12 0 12 L 0 40 Z", 1)
    bent = tabard.path.with_name("fold.toml")
    bent.write_text(text, encoding="utf-8")
    assert load(bent).faults == ()
    with pytest.raises(FaultyInput, match="the fold is not straight"):
        with_corner_moved(load(bent), "front", 7, (5, 0)).write()
    assert bent.read_text(encoding="utf-8") == text


def test_what_has_no_corner_to_move_is_refused(tabard: JobText, tmp_path: Path) -> None:
    with pytest.raises(CannotBeDone, match=r"no corner 9\. The outline has corners 1 to 6"):
        with_corner_moved(tabard, "front", 9, (1, 1))
    with pytest.raises(CannotBeDone, match="two lengths"):
        with_corner_moved(tabard, "front", 1, (float("nan"), 1))
    with pytest.raises(CannotBeDone, match="follows from other pieces"):
        with_corner_moved(tabard, "lining", 1, (1, 1))
    path = tmp_path / "formula.toml"
    shape = 'shape = { kind = "rectangle", width = "9 cm", height = "9 cm" }'
    path.write_text(f'{DRAWN}[[piece]]\nname = "one"\n{shape}\n', encoding="utf-8")
    with pytest.raises(CannotBeDone, match="drawn by a formula"):
        with_corner_moved(load(path), "one", 1, (1, 1))


FORMULA = 'shape = { kind = "rectangle", width = 400, height = 300 }'
BY_SIZE = 'path = { by_size = { 38 = "M 0 0 L 9 0 L 9 9 Z", 40 = "M 0 0 L 9 0 L 9 9 Z" } }'
PLAIN = "points = [[0, 0], [400, 0], [400, 300], [0, 300]]"
KEEP = '[[change]]\npiece = "front"\nline = ["side at middle"]\n'
OF_FRONT = '[[derived]]\nname = "lining"\nof = "front"\ncloth = "crepe"\n'


@pytest.mark.parametrize(
    ("outline", "besides", "piece", "why", "have_numbers"),
    [
        (FORMULA, "", "front", "drawn by a formula", True),
        (BY_SIZE, "", "front", "drawn anew in each size", True),
        (PLAIN, KEEP + 'keep = "above"\n', "front", "changed after it is drawn", False),
        (PLAIN, KEEP + 'split = ["top", "skirt"]\n', "skirt", "changed after it is", False),
        (PLAIN, OF_FRONT, "lining", "follows from other pieces", False),
    ],
)
def test_why_corners_stay_is_known_beforehand(
    tmp_path: Path, outline: str, besides: str, piece: str, why: str, have_numbers: bool
) -> None:
    sized = 'sizes = ["38", "40"]\n' if outline is BY_SIZE else ""
    named = '[[piece]]\nname = "front"\ngrain = 90\nedges = { side = [2, 3] }\n'
    text = f'units = "mm"\n{sized}{DRAWN}{named}{outline}\n{besides}'
    (tmp_path / "job.toml").write_text(text, encoding="utf-8")
    job = load(tmp_path / "job.toml")
    assert not job.faults, job.faults
    fixed = fixed_corners(job, piece)
    assert fixed is not None
    assert (why in fixed.why, fixed.have_numbers) == (True, have_numbers)
    with pytest.raises(CannotBeDone, match=why):
        with_corner_moved(job, piece, 1, (1, 1))
    if besides is OF_FRONT:
        assert fixed_corners(job, "front") is None


def test_a_piece_is_put_on_the_fold_beside_edges_by_size(tmp_path: Path) -> None:
    """Whose corners differ from size to size is left as it is, and only told of."""
    path = tmp_path / "job.toml"
    slit = 'edges.slit = { by_size = { 38 = [1, 2], 40 = [1, "low"] } }'
    path.write_text(
        DRAWN + 'sizes = ["38", "40"]\nunits = "mm"\n[[piece]]\nname = "front"\n'
        "points = [[0, 0], [100, 0], [100, 100], [0, 100]]\n"
        f"{slit}\nedges.side = [2, 3]\nedges.top = [3, 1]\n"
        'notches = [{ edge = "side", at = 30, name = "low" }]\n',
        encoding="utf-8",
    )
    job = load(path)
    assert not job.faults
    folded = put_on_fold(job, "front", (1, 4))
    assert not folded.faults
    assert slit in folded.text
