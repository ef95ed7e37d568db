"""Repeats, borders and matches in job files: read as they stand, and every fault refused."""

from __future__ import annotations

from pathlib import Path

import pytest

from marker.cloth.repeat import Axis, Bars, Border, Repeat, Side
from marker.pattern.repeats.match import MatchPlace
from marker.pattern.seams.sewing import Place, Spot
from tests.jobfile.writer import HEAD, SQUARE, faults, job, only_fault, piece

PLAID = HEAD.replace(
    'width = "150 cm"',
    'width = "150 cm", repeat = { along = "12 cm", across = { every = "9 cm", begins = "2 cm", '
    'even = false } }, border = { side = "far", line = "5 cm" }',
)
EDGES = "edges = { side = [2, 3], centre = [4, 1], hem = [1, 2] }"
NOTCHES = 'notches = [{ edge = "side", at = "4 cm", name = "hip" }]'
BACK = piece(SQUARE, EDGES, name="back")
TWO = piece(SQUARE, EDGES, NOTCHES) + BACK


def match(*lines: str, name: str = "side") -> str:
    return "\n[[match]]\n" + "\n".join([f'name = "{name}"', *lines]) + "\n"


SIDES = 'points = ["front.side at hip", "back.side at 3 cm"]'


def test_all_that_can_be_said(tmp_path: Path) -> None:
    text = PLAID + TWO + piece(SQUARE, EDGES, "grain = 0", 'border = "hem"', name="frill")
    text += match(SIDES) + match(
        'points = [{ place = "back.centre at start", inside = "6 cm" }]',
        'axes = ["across"]',
        'at = { across = "1 cm" }',
        name="pocket",
    )
    read = job(tmp_path, text)
    (cloth,), (*_, frill), (side, pocket) = read.cloths, read.pattern.pieces, read.pattern.matches
    assert cloth.repeat == Repeat(Bars(120, fixed=False), Bars(90, 20, even=False))
    assert cloth.border == Border(Side.FAR, 50)
    assert frill.border == "hem"
    assert (side.name, side.number, side.axes, side.at_mm) == ("side", 1, tuple(Axis), {})
    assert [str(each) for each in side.places] == ["front.side at hip", "back.side at 30 mm"]
    assert pocket.places[0].inside_mm == 60
    assert isinstance(pocket.places[0], MatchPlace)
    assert pocket.places[0].place == Place(pocket.places[0].place.edge, Spot.START)
    assert (pocket.number, pocket.axes, pocket.at_mm) == (2, (Axis.ACROSS,), {Axis.ACROSS: 10})


@pytest.mark.parametrize(
    ("repeat", "place", "problem"),
    [
        ('{ across = "151 cm" }', "repeat.across", "wider than the cloth's usable width of 1.50 m"),
        ('{ along = "0 cm" }', "repeat.along", "zero"),
        ('{ along = "-3 cm" }', "repeat.along", "below zero"),
        ('{ along = "3 mm" }', "repeat.along", "too fine to be matched"),
        ('{ along = { every = "3 cm", begins = "3 cm" } }', "repeat.along", "can't begin at 30 mm"),
        ('{ along = { every = "3 cm", evne = true } }', "repeat.along.evne", "unknown key 'evne'"),
        ('{ aling = "3 cm" }', "repeat.aling", "unknown key 'aling'"),
        ('"3 cm"', "repeat", "a table is expected"),
    ],
)
def test_repeats_refused(tmp_path: Path, repeat: str, place: str, problem: str) -> None:
    fault = only_fault(
        tmp_path, HEAD.replace('"150 cm"', f'"150 cm", repeat = {repeat}') + piece(SQUARE)
    )
    assert place in fault.place
    assert problem in fault.problem


def test_a_text_for_a_table_is_told_with_an_example_of_it(tmp_path: Path) -> None:
    told = HEAD.replace('"150 cm"', '"150 cm", price = "12 EUR"') + piece(SQUARE)
    fault = only_fault(tmp_path, told)
    assert fault.remedy.startswith("Write it as one, such as price = { amount = ")


@pytest.mark.parametrize(
    ("border", "problem"),
    [
        ('{ side = "near", line = "2 m" }', "the cloth's usable width is 1.50 m"),
        ('{ side = "left", line = "5 cm" }', "'left' is not known here"),
        ('{ side = "near", line = "-5 cm" }', "below zero"),
    ],
)
def test_borders_refused(tmp_path: Path, border: str, problem: str) -> None:
    fault = only_fault(
        tmp_path, HEAD.replace('"150 cm"', f'"150 cm", border = {border}') + piece(SQUARE)
    )
    assert problem in fault.problem


@pytest.mark.parametrize(
    ("text", "problem", "remedy"),
    [
        (match('points = ["front.side at 20 cm", "back.side at hem"]'), "not on a stitching", ""),
        (match('points = ["front.side at 20 cm"]'), "only 10 cm long", "on the edge"),
        (match('points = ["front.sied at hip"]'), "edge of 'front' called 'sied'", "'side'"),
        (match('points = ["front.side"]'), "names no place", "front.neck at fold"),
        (match('points = ["front.side at hop"]'), "no place called 'hop'", "'hip'"),
        (match('points = ["front.side at hip"]'), "one point alone", "second"),
        (match("points = []"), "too few", "at least 1"),
        (match(SIDES, 'axes = ["diagonal"]'), "'diagonal' is not known", "along"),
        (match(SIDES, 'axes = ["along"]', 'at = { across = "1 cm" }'), "matched across", "Leave"),
        (
            match(
                'points = [{ place = "front.side at hip", inside = "11 cm" }, "back.side at end"]'
            ),
            "11 cm in from 'front.side at hip' is outside the piece",
            "Give less",
        ),
        (match(SIDES) + match(SIDES), "2 matches are called 'side'", ""),
    ],
)
def test_matches_refused(tmp_path: Path, text: str, problem: str, remedy: str) -> None:
    found = faults(tmp_path, PLAID + TWO + text)
    assert any(problem in each.problem and remedy in each.remedy for each in found)


@pytest.mark.parametrize(
    ("line", "problem"),
    [
        ("grain_tolerance = 2", "may tilt by 2°, which would set it askew"),
        ("turns = [0, 90]", "may be turned 0, 90°"),
        ("turns = [180]", "only lie turned back, and jersey is uneven"),
    ],
)
def test_pieces_that_cannot_be_matched(tmp_path: Path, line: str, problem: str) -> None:
    text = PLAID + piece(SQUARE, EDGES, NOTCHES, line) + piece(SQUARE, EDGES, name="back")
    fault = only_fault(tmp_path, text + match(SIDES))
    assert fault.place.endswith("match 1 (side)")
    assert problem in fault.problem


def test_matches_need_one_cloth_with_a_repeat(tmp_path: Path) -> None:
    assert (
        "jersey has no repeat to match" in only_fault(tmp_path, HEAD + TWO + match(SIDES)).problem
    )
    striped = HEAD.replace('"150 cm"', '"150 cm", repeat = { along = "12 cm" }')
    text = striped + TWO + match(SIDES, 'axes = ["along", "across"]')
    assert "jersey does not repeat across" in only_fault(tmp_path, text).problem
    lined = HEAD + '\n[cloth.lining]\nwidth = "140 cm"\n'
    text = (
        lined
        + piece(SQUARE, EDGES, NOTCHES)
        + piece(SQUARE, EDGES, 'cloth = "lining"', name="back")
    )
    assert (
        "different cloths, jersey and lining" in only_fault(tmp_path, text + match(SIDES)).problem
    )


def test_border_edges_need_a_border_and_an_edge(tmp_path: Path) -> None:
    text = HEAD + piece(SQUARE, EDGES, 'border = "hem"')
    assert "jersey has no border" in only_fault(tmp_path, text).problem
    text = PLAID + piece(SQUARE, EDGES, 'border = "ham"')
    assert only_fault(tmp_path, text).problem == "there is no edge called 'ham'"


@pytest.mark.parametrize(
    ("text", "place", "said"),
    [
        (
            TWO
            + match(SIDES)
            + match('points = ["front.side at 5 cm", "back.side at 5 cm"]', name="more"),
            "match 2 (more)",
            "match 'more' cannot hold along jersey",
        ),
        (
            TWO.replace("name", "turns = [90]\nname", 1) + match(SIDES),
            "match 1 (side)",
            "different directions",
        ),
        (piece(SQUARE, EDGES, 'border = "hem"'), "piece 1 (front)", "its turns are 0, 180"),
        (
            piece(SQUARE.replace("100, 0", "100, 4"), EDGES, "grain = 0", 'border = "hem"')
            .replace("hem = [1, 2]", "hem = [1, 3]")
            .replace("side = [2, 3], ", ""),
            "piece 1 (front)",
            "cannot lie on a border print, for it bends",
        ),
        (
            piece(SQUARE, EDGES, NOTCHES, "fold = [4, 1]", 'fold_seam = "1 cm"').replace(
                ", centre = [4, 1]", ""
            )
            + BACK
            + match(SIDES),
            "piece 1 (front)",
            "can't be cut in two as well",
        ),
    ],
)
def test_what_no_layout_can_keep_to_is_told_where_it_stands(
    tmp_path: Path, text: str, place: str, said: str
) -> None:
    fault = only_fault(tmp_path, PLAID + text)
    assert fault.place.endswith(place)
    assert said in fault.problem
    assert fault.line > 0
