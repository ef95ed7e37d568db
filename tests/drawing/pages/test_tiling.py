"""Pages cover the cloth without gaps, and neighbours agree on where they meet."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from marker.drawing.pages.paper import NotAPaper, paper_named
from marker.drawing.pages.tiling import OVERLAP_MM, tiling

LENGTHS = st.floats(50.0, 1500.0)
PAPERS = st.sampled_from(["a4", "a3", "letter", "a0", "roll:900mm", "roll:36in", "projector"])


@given(LENGTHS, LENGTHS, PAPERS)
def test_trimmed_pages_cover_the_rectangle_once(along: float, across: float, name: str) -> None:
    low, high = np.array([-20.0, -10.0]), np.array([along, across])
    paper = paper_named(name)
    grid = tiling(low, high, paper)
    boxes = [shapely.box(*np.ravel(grid.core(tile))) for tile in grid.tiles]
    whole = shapely.union_all(boxes)
    assert whole.buffer(1e-6).contains(shapely.box(*low, *high))
    assert sum(box.area for box in boxes) == pytest.approx(whole.area, rel=1e-9)
    for tile in grid.tiles:
        if paper.turnable:
            sides = sorted((paper.width_mm, paper.height_mm))
            assert sorted(tile.paper) == pytest.approx(sides)
        assert tile.paper[0] <= max(paper.width_mm, paper.height_mm) + 1e-6


@given(LENGTHS, LENGTHS, PAPERS)
def test_neighbours_agree_on_their_marks(along: float, across: float, name: str) -> None:
    grid = tiling(np.zeros(2), np.array([along, across]), paper_named(name))
    for tile in grid.tiles:
        for other, join in grid.joins(tile):
            (back,) = [j for third, j in grid.joins(other) if third.name == tile.name]
            assert back.marks == pytest.approx(join.marks, abs=1e-9)
            for page in (tile, other):  # a whole cross fits on both
                assert (join.marks > np.array(page.low) + 4.0).all()
                assert (join.marks < np.array(page.high) - 4.0).all()


def test_rows_go_on_after_z() -> None:
    grid = tiling(np.zeros(2), np.array([100.0, 60 * 277.0]), paper_named("a4"))
    names = [tile.name for tile in grid.tiles]
    assert names[25:28] == ["Z1", "AA1", "AB1"]
    assert len(set(names)) == len(names)


def test_an_a4_page_shows_its_paper_less_the_edges() -> None:
    """210 - 20 and 297 - 20 mm; three pages in a row share 10 mm twice: 190 + 2 × 180 = 550."""
    three = tiling(np.zeros(2), np.array([550.0, 277.0]), paper_named("a4"))
    four = tiling(np.zeros(2), np.array([550.1, 277.0]), paper_named("a4"))
    assert OVERLAP_MM == 10.0
    assert (three.columns, three.rows) == (3, 1)
    assert four.columns * four.rows == 4


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("a5", "Known are 'a4'"),
        ("roll", "no paper"),
        ("roll:", "not a length"),
        ("roll:900", "no unit"),
        ("roll:10cm", "30 cm to 5 m"),
        ("roll:6m", "30 cm to 5 m"),
        ("roll:-90cm", "30 cm to 5 m"),
    ],
)
def test_strange_papers_are_refused_with_the_remedy(text: str, words: str) -> None:
    with pytest.raises(NotAPaper, match=words):
        paper_named(text)


def test_rolls_take_inches() -> None:
    """36 in = 914.4 mm (NIST SP 811)."""
    assert paper_named("Roll:36in").height_mm == pytest.approx(914.4)
