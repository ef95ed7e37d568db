"""Splice marks of a marker, and the lays of a plan on rolls."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from marker import judge
from marker.cloth.fabric import Cloth
from marker.cloth.repeat import Bars, Repeat
from marker.layout import CheckedLayout
from marker.orders.rolls import Splice
from marker.planning.splicing import splices
from tests.helpers import cloth, cut_piece, layout, place
from tests.random_layouts import sound_case
from tests.shapes import rectangle


def laid(*lengths_and_places: tuple[float, float, float], on: Cloth | None = None) -> CheckedLayout:
    """Bands of 100 mm, each (length, x, y), judged."""
    pieces = [
        cut_piece(f"band {k}", rectangle(length, 100))
        for k, (length, _, _) in enumerate(lengths_and_places)
    ]
    placements = [
        place(piece, x, y) for piece, (_, x, y) in zip(pieces, lengths_and_places, strict=True)
    ]
    return judge.check(layout(placements, on or cloth(300)), pieces, ("38",))


def test_a_clear_line_needs_no_lap_but_the_ends() -> None:
    """Two bands end to end (geometry): the cut between them, and an end allowance of 20 mm on
    either cloth."""
    assert splices(laid((400, 0, 0), (300, 400, 0)), 20.0) == (Splice(440, 400),)


def test_the_first_cloth_holds_what_begins_before_the_mark() -> None:
    """Bands begin at 0, 150 and 400; that at 150 ends at 500, so a mark at 400 laps 100."""
    marker = laid((400, 0, 0), (350, 150, 100), (300, 400, 200))
    assert splices(marker, 0.0) == (Splice(400, 150), Splice(500, 400))


def test_bands_side_by_side_can_not_be_spliced() -> None:
    assert splices(laid((400, 0, 0), (400, 0, 100)), 0.0) == ()


def test_a_repeat_along_the_cloth_is_not_spliced() -> None:
    """The second cloth would have to go on with the pattern of the first."""
    striped = replace(cloth(300), repeat=Repeat(across=Bars(80)))
    barred = replace(cloth(300), repeat=Repeat(along=Bars(80)))
    assert splices(laid((400, 0, 0), (300, 400, 0), on=striped), 0.0)
    assert splices(laid((400, 0, 0), (300, 400, 0), on=barred), 0.0) == ()


@pytest.mark.parametrize("seed", range(20))
def test_every_piece_lies_on_one_of_the_two_cloths(seed: int) -> None:
    case = sound_case(np.random.default_rng(seed))
    marker = judge.check(case.layout, case.pieces, case.garments)
    for mark in splices(marker, 10.0):
        for piece in marker.layout.placements:
            begins, ends = piece.outline_mm[:, 0].min(), piece.outline_mm[:, 0].max()
            on_first = ends + 20 <= mark.reach_mm + 1e-6
            assert on_first or begins >= mark.from_mm
