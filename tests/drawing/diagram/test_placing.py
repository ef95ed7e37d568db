"""What a cutter measures to set a piece, and that no mark or line is lost in the lettering.

The diagram is read back from its SVG by a parser of the tests' own.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache

import numpy as np
import pytest
import shapely

from marker.cloth.fabric import Nap
from marker.drawing.diagram.diagram import render_diagram
from marker.drawing.scene.layout_scene import Scene
from marker.geometry.grain import chord_through, grain_chord
from marker.layout import CheckedLayout
from marker.units import Show, System, show_lengths
from tests.drawing.garments import Put, checked, choir_dresses, many, piece, scene_of
from tests.drawing.svg_page import ShownLine, ShownText, read_svg
from tests.shapes import CAST, rectangle

LAYOUTS: dict[str, Callable[[], CheckedLayout]] = {
    "one dress": lambda: choir_dresses(1, Nap.EITHER_WAY),
    "four dresses": lambda: choir_dresses(4),
    "sixty pieces": many,
}


@cache
def drawn(name: str) -> tuple[Scene, list[tuple[list[ShownLine], list[ShownText]]]]:
    scene = scene_of(LAYOUTS[name]())
    pages = [text for file, text in render_diagram(scene).items() if file.endswith(".svg")]
    return scene, [read_svg(page) for page in pages]


def solid(line: ShownLine) -> shapely.Polygon:
    return shapely.Polygon(line.runs[0])


@pytest.mark.parametrize("name", sorted(CAST))
def test_the_grain_chord_runs_from_edge_to_edge_along_the_grain(name: str) -> None:
    outline = CAST[name] * 10.0
    whole = shapely.Polygon(outline)
    chord = grain_chord(outline)
    assert chord[0, 1] == chord[1, 1]
    assert whole.buffer(1e-6).covers(shapely.LineString(chord))
    assert all(whole.boundary.distance(shapely.Point(end)) < 1e-6 for end in chord)


def test_a_fold_is_drawn_on_to_the_edges() -> None:
    """A stitching line 10 mm inside 200 × 100 mm ends 10 mm short of both edges."""
    ends = chord_through(rectangle(200, 100), [], np.array([[10.0, 50.0], [190.0, 50.0]]))
    assert sorted(ends.tolist()) == [[0, 50], [200, 50]]


def test_both_ends_of_the_grain_line_and_the_edge_on_it() -> None:
    """By hand: a 400 × 300 mm panel with its corner at (410, 125) shows its grain line at 30 % of
    its breadth, so 125 + 90 = 215 mm from the selvage. Its edge is 410 mm from the start."""
    (part,) = scene_of(checked([Put(piece("panel", rectangle(400, 300)), 410, 125)])).pieces
    assert part.placing.from_start_mm == pytest.approx((410.0,))
    assert part.placing.from_selvage_mm == pytest.approx((215.0,))


def test_a_tilted_grain_line_is_as_far_as_both_of_its_ends_say() -> None:
    """By hand: turned by 1°, a chord of 400 mm rises by 400 sin 1° = 6.98 mm."""
    tilted = piece("panel", rectangle(400, 300), grain_tolerance_deg=1.0)
    (part,) = scene_of(checked([Put(tilted, 100, 100, rotation=1.0)])).pieces
    first, second = part.placing.from_selvage_mm
    assert second - first == pytest.approx(6.98, abs=0.05)


@pytest.mark.parametrize("name", LAYOUTS)
def test_the_edge_measured_to_lies_on_the_piece_it_belongs_to(name: str) -> None:
    scene, pages = drawn(name)
    marked = set()
    for lines, _ in pages:
        cut = {line.piece: solid(line) for line in lines if line.name == "cut"}
        for line in lines:
            if line.name == "edge measured to":
                marked.add(line.piece)
                others = [shape for piece, shape in cut.items() if piece != line.piece]
                assert shapely.union_all(others).intersection(solid(line)).area < 0.01
    assert marked == {str(part.number) for part in scene.pieces}


@pytest.mark.parametrize("name", LAYOUTS)
def test_no_line_of_a_piece_runs_through_its_text(name: str) -> None:
    _, pages = drawn(name)
    for lines, texts in pages:
        for text in (each for each in texts if each.piece):
            own = [line for line in lines if line.piece == text.piece and line.name]
            crossed = [line.name for line in own if line.line.intersects(text.box)]
            inside = shapely.union_all([solid(line) for line in own if line.name == "cut"])
            if inside.covers(text.box):  # else its number stands beside it
                assert crossed == []


def test_the_paper_says_where_the_pieces_lie_to_a_tenth_of_a_millimetre() -> None:
    """Read back: the cut line on the page, times the scale, begins where the list says."""
    scene = scene_of(checked([Put(piece("panel", rectangle(400, 300)), 410.0, 125.0)]))
    lines, texts = read_svg(render_diagram(scene)["diagram.svg"])
    said = [text.text for text in texts]
    (scale,) = [int(text.removeprefix("1 : ")) for text in said if text.startswith("1 : ")]
    (cloth,) = [line for line in lines if line.name == "cloth"]
    (cut,) = [line for line in lines if line.name == "cut"]
    corner = cloth.runs[0].min(axis=0) + np.array([20.0, 10.0]) / scale  # end and selvage
    low = (cut.runs[0].min(axis=0) - corner) * scale
    assert low == pytest.approx([410.0, 125.0], abs=0.1)
    assert said.count("41.0") == 1
    assert said.count("21.5") == 1


def test_a_job_in_inches_is_placed_in_inches() -> None:
    """By hand: 16 in from the start; 30 % of 10 in above 5 in are 8 in from the selvage."""
    panel = piece("panel", rectangle(15 * 25.4, 10 * 25.4))
    layout = checked([Put(panel, 16 * 25.4, 5 * 25.4)])
    with show_lengths(Show(System.IMPERIAL, both=False)):
        _, texts = read_svg(render_diagram(scene_of(layout))["diagram.svg"])
    said = [text.text for text in texts]
    assert {"16", "8"} <= set(said)
    assert not any(text.endswith((" cm", " mm")) for text in said if "paper" not in text)
