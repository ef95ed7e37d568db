"""'center front' is the centre front, in names, references, keys, words and units."""

from __future__ import annotations

from pathlib import Path

import pytest

from marker.jobfile.option_texts import read_spread
from tests.jobfile.writer import HEAD, SQUARE, job, only_fault, opening, piece, place, strip

NECK = (
    "points = [[0, 0], [200, 0], [200, 150], [0, 150]]\nfold = [4, 1]\n"
    "edges = { hem = [1, 2], side = [2, 3], neck = [3, 4] }"
)
POINTS = 'points = { "CENTER front" = "front.neck at fold", tip = "front.neck at start" }'


def banded(centre: str, *lines: str) -> str:
    points = POINTS.replace("CENTER", centre)
    return HEAD + piece(NECK) + opening("closed = false", points) + strip("ratio = 0.9", *lines)


@pytest.mark.parametrize("defined", ["centre", "center"])
@pytest.mark.parametrize("used", ["centre", "center"])
def test_points_are_found_in_either_spelling(defined: str, used: str, tmp_path: Path) -> None:
    lines = ('finishes = "neckline"', f'joins_clear_of = ["{used} front"]')
    read = job(tmp_path, banded(defined, *lines))
    assert list(read.pattern.openings[0].points) == [f"{defined} front", "tip"]
    assert read.pattern.strips[0].joins_clear_of == (f"{defined} front",)


@pytest.mark.parametrize("spelled", ["centre front", "center front", "Center Front"])
def test_no_join_comes_to_the_centre_front(spelled: str, tmp_path: Path) -> None:
    """The opening of a whole square: its fold is the centre front, its far corner the back."""
    ring = (
        "points = [[0, 0], [200, 0], [200, 150], [0, 150]]\nfold = [4, 1]\n"
        "edges = { round = [1, 4] }"
    )
    points = f'points = {{ "{spelled}" = "front.round at start" }}'
    text = HEAD + piece(ring) + opening(points, edges="front.round")
    text += strip("ratio = 0.9", 'finishes = "neckline"')
    band = job(tmp_path, text).strip_plans("38")[0].band
    assert band is not None
    front = band.opening.points[spelled][0]
    around = band.opening.length_mm
    gap = abs(band.joined_at_mm - front) % around
    assert min(gap, around - gap) > around / 4


def test_names_of_cloths_edges_and_pieces(tmp_path: Path) -> None:
    text = HEAD.replace("jersey", '"gray wool"') + piece(
        SQUARE, 'cloth = "grey wool"', 'edges = { "center seam" = [1, 2], fiber = [2, 3] }',
        'allowances = { "centre seam" = 9 }', 'notches = [{ edge = "fibre", at = 5 }]',
        name="gray front",
    )  # fmt: skip
    seam = (
        "\n[[seam]]\nname = 's'\nsides = ['grey front.centre seam', 'gray front.fibre reversed']\n"
    )
    read = job(tmp_path, text + seam)
    front = read.pattern.pieces[0]
    assert front.cloth == "gray wool"
    assert front.edges["center seam"].allowance_mm == 9
    assert front.notches[0].edge == "fiber"
    assert [str(edge) for side in read.pattern.seams[0].sides for edge in side.edges] == [
        "gray front.center seam", "gray front.fiber reversed"
    ]  # fmt: skip


def test_keys_words_and_units(tmp_path: Path) -> None:
    head = HEAD.replace('"150 cm"', '"1.5 metres", selvedge = "1 centimeter", Nap = "One-Way"')
    read = job(
        tmp_path, head + piece(SQUARE, "edges = { a = [1, 2] }", 'corners = { a = "mitered" }')
    )
    cloth = read.cloths[0]
    assert (cloth.width_mm, cloth.selvage_mm, str(cloth.nap)) == (1500, 10, "one way")
    assert read.pattern.pieces[0].edges["a"].corner == "mitred"
    assert read_spread("--spread", "folded lengthways") == "folded lengthwise"


def test_one_name_in_two_spellings_is_there_twice(tmp_path: Path) -> None:
    fault = only_fault(
        tmp_path, HEAD + piece(SQUARE, "edges = { 'center' = [1, 2], 'centre' = [2, 3] }")
    )
    assert place(fault).endswith("centre")
    assert "twice" in fault.problem


def test_files_are_named_to_the_letter(tmp_path: Path) -> None:
    text = piece('drawing = "gray.svg#front"', name="grey piece")
    assert "gray.svg" in only_fault(tmp_path, HEAD + text).problem
