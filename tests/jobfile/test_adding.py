"""Pieces and cloths that a job file gains, and loses where nothing needs them."""

from __future__ import annotations

from pathlib import Path

import pytest

from marker.errors import CannotBeDone, FaultyInput
from marker.jobfile.adding import (
    DERIVED,
    Rectangle,
    rectangles,
    with_cloth,
    with_piece,
    with_value_of,
    without_cloth,
    without_opening,
    without_piece,
    without_seam,
)
from marker.jobfile.editing import JobText, load
from marker.jobfile.new_job import starter_job
from marker.jobfile.reading import read_job
from marker.pattern.piece import Line, Piece
from marker.units import Systems, show_for, show_lengths


@pytest.fixture
def tabard(tmp_path: Path) -> JobText:
    path = tmp_path / "job.toml"
    path.write_text(starter_job("tabard"), encoding="utf-8")
    return load(path)


def last(job: JobText) -> Piece:
    """The last piece drawn of a job that has no fault."""
    assert job.faults == ()
    return read_job(job.path, job.text).pattern.pieces[-1]


@pytest.mark.parametrize(
    ("across", "on_fold", "drawn", "fold", "edges"),
    [
        (False, False, (80, 300), None, ["bottom", "left", "right", "top"]),
        (True, False, (80, 300), None, ["bottom", "left", "right", "top"]),
        (False, True, (40, 300), (40.0, 300.0), ["bottom", "right", "top"]),
        (True, True, (80, 150), (80.0, 150.0), ["left", "right", "top"]),
    ],
)
def test_a_rectangle_lies_with_its_fold_along_the_grain(
    tabard: JobText,
    across: bool,
    on_fold: bool,
    drawn: tuple[float, float],
    fold: tuple[float, float] | None,
    edges: list[str],
) -> None:
    asked = Rectangle("30 cm", " 8 cm", "1 cm", across=across, on_fold=on_fold)
    piece = last(with_piece(tabard, {"name": "tie", **asked.table()}))
    assert tuple(piece.outline.max(axis=0)) == drawn
    assert (piece.grain_deg, sorted(piece.edges)) == (0.0 if across else 90.0, edges)
    assert (piece.line, piece.allowance_mm) == (Line.STITCHING, 10.0)
    assert (piece.fold is None) == (fold is None)
    if piece.fold is not None:  # it runs along the grain
        start, end = piece.outline[[piece.fold.start, piece.fold.end]]
        assert abs(end - start)[0 if across else 1] == drawn[0 if across else 1]


def test_the_measures_of_a_rectangle_are_read_and_changed(tabard: JobText) -> None:
    added = with_piece(tabard, {"name": "tie", **Rectangle("30 cm", "8 cm", on_fold=True).table()})
    assert rectangles(added) == {
        "hanging loop": {"width": "3 cm", "height": "12 cm"},  # bare numbers in the file
        "tie": {"width": "4 cm", "height": "30 cm"},
    }
    assert last(with_value_of(added, "tie", "height", "42 cm")).outline.max() == 420
    assert "is not a length" in with_value_of(added, "tie", "width", "x").faults[0].problem
    with show_lengths(show_for(Systems.BOTH, ["3/8 in"])):
        said = Rectangle("12 in", "8 3/4 in", on_fold=True).table()["shape"]
    assert said == {"kind": "rectangle", "width": "4 3/8 in", "height": "12 in"}


def test_an_allowance_lies_within_measures_as_cut(tabard: JobText) -> None:
    asked = Rectangle("30 cm", "8 cm", "1 cm", finished=False)
    assert last(with_piece(tabard, {"name": "tie", **asked.table()})).line is Line.CUT


@pytest.mark.parametrize(
    ("name", "length", "width", "said"),
    [
        ("front", "30 cm", "8 cm", "2 pieces or strips are called 'front'"),
        ("neck binding", "30 cm", "8 cm", "2 pieces or strips"),
        ("", "30 cm", "8 cm", "the name is empty"),
        ("a.b", "30 cm", "8 cm", "holds '.'"),
        ("ti\ne", "30 cm", "8 cm", "holds"),
        ("tie", "0 cm", "8 cm", "this length is zero"),
        ("tie", "200 m", "8 cm", "more than 100 m"),
        ("tie", "30", "8 cm", "no unit in '30'"),
        ("tie", "", "8 cm", "is not a length"),
    ],
)
def test_what_no_rectangle_can_be_is_a_fault(
    tabard: JobText, name: str, length: str, width: str, said: str
) -> None:
    added = with_piece(tabard, {"name": name, **Rectangle(length, width, on_fold=True).table()})
    assert said in "; ".join(fault.problem for fault in added.faults)


def test_a_name_of_odd_characters_is_kept(tabard: JobText) -> None:
    for name in ('Tasche "links" ✂', "[[piece]] #1", "карман", "a = 'b'"):
        added = with_piece(tabard, {"name": name, **Rectangle("9 cm", "9 cm").table()})
        assert last(added).name == name


def test_a_cloth_is_added_behind_the_main_one_and_goes_again(tabard: JobText) -> None:
    added = with_cloth(tabard, " lining ", "140 cm", "either way")
    job = read_job(added.path, added.text)
    assert [cloth.name for cloth in job.cloths] == ["crepe", "lining"]
    assert (job.cloths[1].width_mm, job.cloths[1].selvage_mm) == (1400, 10)
    assert without_cloth(added, "lining").text.split() == tabard.text.split()
    with pytest.raises(FaultyInput, match="there is a cloth called 'lining' already"):
        with_cloth(added, "lining", "140 cm", "either way")
    with pytest.raises(CannotBeDone, match="'crepe' stays: a job needs a cloth"):
        without_cloth(tabard, "crepe")
    for name in ("", "a/b", "x" * 61):
        assert with_cloth(tabard, name, "140 cm", "either way").faults
    assert "this length" in with_cloth(tabard, "felt", "0 cm", "one way").faults[0].problem


def test_what_is_cut_from_a_cloth_keeps_it(tabard: JobText) -> None:
    job = with_cloth(tabard, "lining", "140 cm", "either way")
    follower = {"name": "front lining", "of": "front", "cloth": "lining"}
    job = with_piece(job, follower, DERIVED)
    for piece in ("pocket", "neck binding"):
        job = with_value_of(job, piece, "cloth", "lining")
    needed = "'lining' stays: 'pocket', 'front lining' and 'neck binding' are cut from it"
    with pytest.raises(CannotBeDone, match=needed):
        without_cloth(job, "lining")
    for piece in ("pocket", "neck binding", "front lining"):
        job = with_value_of(job, piece, "cloth", "crepe")
    assert without_cloth(job, "lining").faults == ()
    with pytest.raises(CannotBeDone, match="no table of its own"):
        with_value_of(job, "sleeve", "cloth", "crepe")


def test_a_piece_is_dropped_unless_something_needs_it(tabard: JobText) -> None:
    dropped = without_piece(tabard, "pocket")
    assert dropped.faults == ()
    assert "pocket" not in [
        piece.name for piece in read_job(tabard.path, dropped.text).pattern.pieces
    ]
    with pytest.raises(CannotBeDone, match="the seam 'side'"):
        without_piece(tabard, "front")
    with pytest.raises(CannotBeDone, match="no table of its own"):
        without_piece(tabard, "lining")
    derived = tabard.set(("derived", 0), {"name": "lining", "of": "pocket"})
    assert derived.faults == ()
    with pytest.raises(CannotBeDone, match="the derived piece 'lining'"):
        without_piece(derived, "pocket")
    assert without_piece(derived, "lining").faults == ()


def test_a_cloth_may_be_called_like_a_piece(tabard: JobText) -> None:
    job = with_value_of(with_cloth(tabard, "pocket", "1 m", "one way"), "back", "cloth", "pocket")
    assert job.faults == ()
    assert without_piece(job, "pocket").faults == ()


def test_what_is_sewn_is_taken_apart_first(tabard: JobText) -> None:
    apart = without_seam(without_seam(tabard, "side"), "shoulder")
    with pytest.raises(CannotBeDone, match="'front' stays: it is needed for the opening"):
        without_piece(apart, "front")
    with pytest.raises(CannotBeDone, match=r"'neckline' stays: .* the strip 'neck binding'"):
        without_opening(apart, "neckline")
    bare = without_opening(without_piece(apart, "neck binding"), "neckline")
    for piece in ("front", "back", "pocket"):
        bare = without_piece(bare, piece)
    assert bare.faults == ()
    with pytest.raises(CannotBeDone, match="a job needs a piece to cut"):
        without_piece(bare, "hanging loop")
    with pytest.raises(CannotBeDone, match="follows from a change"):
        without_seam(bare, "side")


def test_a_part_of_a_piece_is_told_where_it_comes_from(tabard: JobText) -> None:
    split = {"piece": "pocket", "line": ["edge at middle"], "split": ["upper", "lower"]}
    job = tabard.set(("piece", "pocket", "edges"), {"edge": [2, 3]}).set(("change", 0), split)
    assert job.faults == ()
    with pytest.raises(CannotBeDone, match="'upper' is a part of 'pocket'"):
        without_piece(job, "upper")
