"""The written diagram, read by a parser of the tests' own: a cutter who measures what it says sets
every piece where the layout has it."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache

import numpy as np
import pytest
import shapely

from marker.drawing.diagram.diagram import render_diagram
from marker.geometry.arrays import FloatArray
from marker.layout import Placement
from tests.drawing.garments import choir_dresses, scene_of
from tests.drawing.pdf_pages import drawn_on, pages_of
from tests.drawing.svg_page import ShownLine, ShownText, read_svg

LAYOUT = choir_dresses(1)
ROUNDED_MM = 0.5  # a millimetre is the last figure printed
EXACT_MM = 0.1


@dataclass(frozen=True)
class Row:
    """A line of the list, mm: from the start line to the edge, and from the selvage to both ends of
    the line that the piece is set by."""

    start: float
    selvage: tuple[float, float]


@cache
def files() -> dict[str, bytes]:
    return render_diagram(scene_of(LAYOUT))


@cache
def page() -> tuple[list[ShownLine], list[ShownText]]:
    return read_svg(files()["diagram.svg"])


@cache
def scale() -> float:
    return next(float(each.text[4:]) for each in page()[1] if re.fullmatch(r"1 : \d+", each.text))


def to_cloth(points: FloatArray) -> FloatArray:
    """Paper to mm of cloth from the start line and the inner edge of the near selvage: the cloth is
    drawn with both, as wide as the job has them."""
    cloth = next(np.vstack(each.runs) for each in page()[0] if each.name == "cloth")
    edges = [LAYOUT.layout.cloth.end_allowance_mm, LAYOUT.layout.cloth.selvage_mm]
    placed: FloatArray = (points - cloth.min(axis=0)) * scale() - edges
    return placed


def drawn(number: int, name: str) -> list[FloatArray]:
    """The runs of the shapes of one name on one piece, mm of cloth."""
    shapes = [each for each in page()[0] if (each.piece, each.name) == (str(number), name)]
    return [to_cloth(run) for shape in shapes for run in shape.runs]


def rows() -> Iterator[tuple[int, Row]]:
    """Number, name, what else, and of both systems the figures from the start and the selvage."""
    by_line: dict[float, list[tuple[float, str]]] = {}
    for each in page()[1]:
        x, y, _, _ = each.box.bounds
        by_line.setdefault(round(y, 1), []).append((x, each.text))
    for line in by_line.values():
        said = [each for _, each in sorted(line)]
        is_figure = [re.fullmatch(r"[\d./ ]+", each) is not None for each in said]
        if len(said) >= 6 and is_figure[0] and not is_figure[1] and all(is_figure[-4:]):
            start, _, selvage, _ = said[-4:]
            ends = [10.0 * float(each) for each in selvage.split("/")]
            yield int(said[0]), Row(10.0 * float(start.split("/")[0]), (ends[0], ends[-1]))


def laid(number: int) -> Placement:
    """The placement that is drawn under this number."""
    outline = shapely.Polygon(max(drawn(number, "cut"), key=len))
    (found,) = (
        each
        for each in LAYOUT.layout.placements
        if shapely.Polygon(each.outline_mm).hausdorff_distance(outline) < EXACT_MM
    )
    return found


LISTED = dict(rows())


def test_every_piece_is_listed_and_drawn_as_it_is_laid() -> None:
    assert sorted(LISTED) == list(range(1, len(LAYOUT.layout.placements) + 1))
    assert {laid(number).key for number in LISTED} == {p.key for p in LAYOUT.layout.placements}


@pytest.mark.parametrize("number", LISTED)
def test_a_piece_lies_where_the_list_says(number: int) -> None:
    """Both ends of its fold, or else of its grain line, lie so far from the selvage as the list
    says. Where that line leaves the outline, it begins so far from the start line."""
    row, outline = LISTED[number], shapely.LinearRing(laid(number).outline_mm)
    line = np.vstack(drawn(number, "fold") or drawn(number, "grain"))
    line = line[np.argsort(line[:, 0])]
    assert line[[0, -1], 1] == pytest.approx(row.selvage, abs=ROUNDED_MM + EXACT_MM)
    at = float(line[0, 1])
    across = shapely.LineString([(-1e4, at), (1e4, at)])
    edges = shapely.get_coordinates(shapely.intersection(across, outline))
    edge = edges[np.abs(edges[:, 0] - row.start).argmin()]
    assert edge[0] == pytest.approx(row.start, abs=ROUNDED_MM + EXACT_MM)
    mark = shapely.Polygon(np.vstack(drawn(number, "edge measured to")))
    assert mark.distance(shapely.Point(edge)) < EXACT_MM
    assert shapely.Polygon(outline).buffer(EXACT_MM).covers(mark)


def test_the_pdf_has_the_same_outlines() -> None:
    """The paths of its content, in mm of paper from the lower left corner."""
    found = [
        shapely.Polygon(to_cloth(run))
        for shape in drawn_on(pages_of(files()["diagram.pdf"])[0])
        for run in shape.runs
        if len(run) > 3
    ]
    for place in LAYOUT.layout.placements:
        outline = shapely.Polygon(place.outline_mm)
        assert min(each.hausdorff_distance(outline) for each in found) < EXACT_MM
