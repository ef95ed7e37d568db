"""The starter job says what it shows, and runs."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from marker.errors import FaultyInput
from marker.geometry.outline import polyline_length, stretch_points
from marker.jobfile.new_job import starter_job
from marker.pattern.piece import Piece
from tests.jobfile.writer import job


def edge_mm(piece: Piece, name: str) -> float:
    edge = piece.edges[name]
    return polyline_length(stretch_points(piece.outline, edge.start, edge.end))


def test_reads_without_a_fault_under_its_new_name(tmp_path: Path) -> None:
    read = job(tmp_path, starter_job('Ida\'s "spring" dress'))
    assert read.name == 'Ida\'s "spring" dress'
    assert read.garments == ("38",)
    assert [piece.name for piece in read.pattern.pieces] == [
        "front",
        "back",
        "pocket",
        "hanging loop",
    ]
    assert read.pattern.strips[0].finishes == read.pattern.openings[0].name
    assert read.pattern.strips[0].width_mm == pytest.approx(38.1)


def test_shows_each_kind_of_piece(tmp_path: Path) -> None:
    front, back, pocket, loop = job(tmp_path, starter_job("tabard")).pattern.pieces
    assert front.fold
    assert back.fold
    assert pocket.pair
    assert loop.grain_tolerance_deg == 5
    assert len(front.outline) > 6 + 5, "the neckline is a curve"
    np.testing.assert_allclose(np.ptp(front.outline, axis=0), (250, 700))


@pytest.mark.parametrize("edge", ["side", "shoulder"])
def test_edges_sewn_together_are_equal(edge: str, tmp_path: Path) -> None:
    front, back, *_ = job(tmp_path, starter_job("tabard")).pattern.pieces
    assert edge_mm(front, edge) == pytest.approx(edge_mm(back, edge))


@pytest.mark.parametrize("name", ["", "../x", "a\nb", "x" * 61])
def test_bad_names(name: str) -> None:
    with pytest.raises(FaultyInput):
        starter_job(name)
