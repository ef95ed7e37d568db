"""Where repeats begin on the diagram, and the letters of match points."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely

from marker.canvas.pen import Pen
from marker.cloth.repeat import Axis, Bars, Border, Repeat, Side
from marker.drawing.diagram.cloth_lines import shown_lines
from marker.drawing.diagram.diagram import draw_cloth, draw_diagram
from marker.drawing.diagram.key import MATCHED
from marker.drawing.diagram.labels import place_labels
from marker.drawing.diagram.paper_piece import DISC, match_discs
from marker.drawing.diagram.sheets import PAPER, break_into_sheets
from marker.drawing.scene.layout_scene import RepeatLines
from marker.drawing.sheet.cutting_sheet import build_sheet
from marker.drawing.sheet.sewing import Sewing
from marker.judge import check
from marker.layout import CheckedLayout
from marker.pattern.repeats.match import Match, MatchPoint
from tests.drawing.garments import bought, scene_of, tiny
from tests.helpers import cloth, cut_piece, layout, place
from tests.shapes import rectangle


def striped() -> CheckedLayout:
    """Two panels of 400 × 300 mm side by side, matched along in the middle of their long edges."""
    on = replace(
        cloth(700.0),
        repeat=Repeat(Bars(150, 40), Bars(100)),
        border=Border(Side.FAR, 60),
    )
    match = Match("side", 2, (), (Axis.ALONG,))
    panel = replace(
        cut_piece("panel", rectangle(400, 300), copies=2),
        match_points=(MatchPoint(match, 0, np.array([200.0, 0.0]), 1),),
    )
    return check(layout([place(panel, 0, 0), place(panel, 0, 350, copy=2)], on), [panel], ["38"])


def test_lines_and_letters_of_a_scene() -> None:
    checked = striped()
    scene = scene_of(checked)
    assert scene.repeat == RepeatLines(
        along_mm=(40, 190, 340), across_mm=(0, 100, 200, 300, 400, 500, 600), border_mm=640
    )
    marks = [mark for piece in scene.pieces for mark in piece.matches]
    assert [(mark.letter, mark.point) for mark in marks] == [("B", (200, 0)), ("B", (200, 350))]
    assert [mark.inward for mark in marks] == [pytest.approx((0, 1))] * 2


def test_fine_repeats_are_drawn_by_every_second_or_fifth_line() -> None:
    places = tuple(float(x) for x in range(0, 500, 5))
    assert shown_lines(places, 1) == places
    assert shown_lines(places, 8) == places[::2]
    assert shown_lines(places, 20) == places[::5]
    assert shown_lines((7.0,), 50) == (7.0,)


def test_letters_are_drawn_and_no_text_lies_on_them() -> None:
    checked = striped()
    scene = scene_of(checked)
    (sheet,) = break_into_sheets(scene)
    pen = Pen(PAPER)
    draw_cloth(pen, scene, sheet)
    texts = pen.page.texts
    assert texts.count("B") == 2
    assert pen.page.named("repeat")
    assert pen.page.named("border")
    for label in place_labels(scene, sheet):
        for _, centre, _ in match_discs(label.piece, sheet):
            assert label.box.distance(shapely.Point(centre)) > DISC / 2


def test_the_key_says_what_the_letters_mean() -> None:
    (page,) = draw_diagram(scene_of(striped()))
    assert MATCHED in page.texts
    (plain,) = draw_diagram(scene_of(tiny()))
    assert MATCHED not in plain.texts


@pytest.mark.parametrize(
    ("begins", "ends", "said"),
    [
        (40, 20, "Chalk the start line 40 mm before a repeat begins, at least 20 mm from the end,"),
        (0, 20, "Chalk the start line where a repeat begins, at least 20 mm from the end, and"),
        (0, 0, "Chalk the start line where a repeat begins, and the last one 40 cm after it."),
    ],
)
def test_the_start_line_is_chalked_where_the_repeat_needs_it(
    begins: float, ends: float, said: str
) -> None:
    checked = striped()
    on = replace(
        checked.layout.cloth, repeat=Repeat(Bars(150, begins), Bars(100)), end_allowance_mm=ends
    )
    checked = check(replace(checked.layout, cloth=on), checked.cut_pieces, checked.garments)
    scene = scene_of(checked)
    steps = build_sheet(scene, checked, bought(checked), Sewing()).steps
    assert said in " ".join(steps)
