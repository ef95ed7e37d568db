"""The cutting diagram: A4 sheets to a stated scale, as PDF, SVG and PNG."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from marker.canvas.fonts import text_width
from marker.canvas.page import Page
from marker.canvas.pen import ACCENT, BLACK, DARK, DEEPER, PALE, Pen
from marker.canvas.rendering import rendered
from marker.cloth.spread import Spreading
from marker.drawing.diagram.cloth_lines import (
    draw_flaws,
    draw_lacking,
    draw_leftovers,
    draw_repeat,
    name_flaws,
)
from marker.drawing.diagram.labels import place_labels
from marker.drawing.diagram.paper_piece import pieces_on, window
from marker.drawing.diagram.piece_view import (
    draw_label,
    draw_matches,
    draw_notch_letters,
    draw_piece,
)
from marker.drawing.diagram.position_list import draw_list
from marker.drawing.diagram.rulers import draw_rulers
from marker.drawing.diagram.sheets import MARGIN, OVERLAP_MM, PAPER, RULER, Sheet, plan_pages
from marker.drawing.diagram.title_block import PageNumber, draw_title_block, draw_title_column
from marker.drawing.scene.layout_scene import Scene
from marker.drawing.scene.spread_cloth import Area, FoldEdge, Ground
from marker.drawing.signs import BREAK_DASHES, draw_nap, hatching
from marker.tolerances import JUDGED_MM
from marker.units import cut_length


def render_diagram(scene: Scene) -> dict[str, bytes]:
    """File name -> contents: 'diagram.pdf' with all pages, and each page as SVG and PNG.

    One page: 'diagram.svg', 'diagram.png'; several: 'diagram-1.svg', 'diagram-1.png', ...
    The same scene gives the same bytes with the same versions of the libraries.
    """
    return rendered("diagram", draw_diagram(scene), f"{scene.job_name}: cutting diagram")


def draw_diagram(scene: Scene) -> list[Page]:
    """All pages."""
    pages = plan_pages(scene)
    drawn = []
    for number, page in enumerate(pages, start=1):
        pen = Pen(PAPER)
        name = PageNumber(number, len(pages))
        if page.sheet:
            draw_cloth(pen, scene, page.sheet)
        if page.sheet and page.beside is not None:
            draw_title_column(pen, scene, page.sheet, page.columns[0], name)
        else:
            for column in page.columns:
                draw_list(pen, column)
            draw_title_block(pen, scene, page.sheet, name)
        drawn.append(pen.page)
    return drawn


_HATCH = {  # spacing mm, slope
    Ground.SELVAGE: (1.1, 1.0),
    Ground.END: (2.2, -1.0),
    Ground.CREASE: (1.1, -1.0),
}
_TEXT_CLEAR = 0.4
_GROUND = {Ground.CLOTH: PALE, Ground.TWO_PLIES: DEEPER}


def draw_cloth(pen: Pen, scene: Scene, sheet: Sheet) -> None:
    """Everything inside the rulers, and the rulers."""
    shown = window(sheet)
    scene = replace(scene, pieces=pieces_on(sheet, scene.pieces))
    for area in scene.areas:
        _draw_area(pen, area, sheet, shown)
    draw_lacking(pen, scene, sheet)
    draw_leftovers(pen, scene, sheet)
    draw_flaws(pen, scene, sheet)
    labels = place_labels(scene, sheet)
    texts = {label.piece.number: label.box for label in labels if label.leader is None}
    for piece in scene.pieces:
        draw_piece(pen, piece, sheet, shown, texts.get(piece.number, shapely.Polygon()))
    written = [label.box.buffer(_TEXT_CLEAR) for label in labels]
    draw_repeat(pen, scene, sheet, shapely.union_all(written))
    for piece in scene.pieces:
        draw_matches(pen, piece, sheet)
        draw_notch_letters(pen.on(str(piece.number)), piece, sheet)
    draw_rulers(pen, sheet, scene.width_mm, scene.length_mm)
    _draw_ends(pen, scene, sheet)
    _draw_folds(pen, scene, sheet)
    for label in labels:
        draw_label(pen.on(str(label.piece.number)), label)
    name_flaws(pen, scene, sheet, labels)


def _draw_area(pen: Pen, area: Area, sheet: Sheet, shown: BaseGeometry) -> None:
    (low_x, low_y), (high_x, high_y) = sheet.to_paper(np.array([area.low, area.high]))
    part = shapely.box(low_x, low_y, high_x, high_y).intersection(shown)
    if part.area == 0:
        return
    if area.ground in _GROUND:
        pen.fill(part, _GROUND[area.ground], DARK, 0.2, name="cloth")
    else:
        pen.lines(hatching(part, *_HATCH[area.ground]), 0.12, DARK)
        pen.lines([shapely.get_coordinates(part)], 0.15, DARK)


def _draw_ends(pen: Pen, scene: Scene, sheet: Sheet) -> None:
    """Start line with its nap arrow, or the words that lead to the sheets before and after."""
    low, high = sheet.y(-scene.selvage_mm), sheet.y(scene.width_mm + scene.selvage_mm)
    middle = (low + high) / 2
    left, right = sheet.x(sheet.start_mm), sheet.x(sheet.end_mm)
    grounds = [area for area in scene.areas if area.ground in _GROUND]
    for at, area in ((0.0, grounds[0]), (scene.length_mm, grounds[-1])):
        if sheet.start_mm <= at <= sheet.end_mm:
            ends = sheet.to_paper(np.array([[at, area.low[1]], [at, area.high[1]]]))
            pen.lines([ends], 0.3, BLACK)
    if scene.room_mm < min(scene.length_mm - JUDGED_MM, sheet.end_mm):
        _draw_too_short(pen, sheet.x(scene.room_mm), low, high)
    if sheet.number == 1:
        words = scene.start
    else:
        words = f"CONTINUED FROM PAGE {sheet.number - 1}"
        pen.lines([np.array([[left, low], [left, high]])], 0.3, BLACK, BREAK_DASHES)
    pen.text(MARGIN + 2.0, middle, words, 6.0, bold=True, angle=90, align="center", colour=DARK)
    if scene.nap:
        draw_nap(pen, MARGIN + 1.0, high + 1.5)
    if sheet.number < sheet.count:
        shared = cut_length(OVERLAP_MM).upper()
        words = f"CONTINUES ON PAGE {sheet.number + 1} · THE LAST {shared} ARE ON BOTH PAGES"
        pen.lines([np.array([[right, low], [right, high]])], 0.3, BLACK, BREAK_DASHES)
        pen.text(right + RULER + 1.5, middle, words, 6.0, bold=True, angle=90, align="center")


def _draw_too_short(pen: Pen, x: float, low: float, high: float) -> None:
    """Where the cloth there is ends, before the layout does."""
    pen.lines([np.array([[x, low], [x, high]])], 0.5, ACCENT, BREAK_DASHES)
    pen.text(
        x, high + RULER + 1.0, "THE CLOTH ENDS HERE", 6.0, bold=True, align="center", colour=ACCENT
    )


_EDGE, _SIZE, _DASHES = 0.9, 6.0, (1.6, 1.0)
_BESIDE = 1.2  # words beside a fold that no ruler runs along


def _draw_folds(pen: Pen, scene: Scene, sheet: Sheet) -> None:
    """Fold edges, bold and named; where one ply begins; what lies in each stretch."""
    for fold in scene.folds:
        _draw_fold(pen, fold, scene, sheet)
    if scene.one_ply_mm is not None and sheet.start_mm <= scene.one_ply_mm <= sheet.end_mm:
        x = sheet.x(scene.one_ply_mm)
        low, high = sheet.y(-scene.selvage_mm), sheet.y(scene.width_mm + scene.selvage_mm)
        pen.lines([np.array([[x, low], [x, high]])], 0.3, BLACK, _DASHES)
    for start, end, words in _stretches(scene):
        left, right = (min(max(x, sheet.start_mm), sheet.end_mm) for x in (start, end))
        room = sheet.x(right) - sheet.x(left)
        fitting = [text for text in words if text_width(text, _SIZE, bold=True) < room]
        if fitting:
            at = sheet.y(-sheet.near_mm) - RULER - 0.2
            x = (sheet.x(left) + sheet.x(right)) / 2
            pen.text(x, at, fitting[0], _SIZE, bold=True, align="center", colour=DARK)


def _draw_fold(pen: Pen, fold: FoldEdge, scene: Scene, sheet: Sheet) -> None:
    """A fold that runs along the cloth is named outside it; one across it, where the cloth's start
    would be; one along the near ruler, by what is said below that."""
    (x, y), (far_x, far_y) = fold.start, fold.end
    x, far_x = (min(max(each, sheet.start_mm), sheet.end_mm) for each in (x, far_x))
    run = sheet.to_paper(np.array([[x, y], [far_x, far_y]]))
    pen.lines([run], _EDGE, BLACK)
    tops = [area.high[1] for area in scene.areas if area.ground is Ground.TWO_PLIES]
    upper = any(np.isclose(y, top) for top in tops)
    if x == far_x or (not upper and np.isclose(y, 0.0)):
        return
    off = RULER + 0.2 if upper and np.isclose(y, scene.width_mm) else _BESIDE
    base = run[0, 1] + off if upper else run[0, 1] - off - 1.6
    middle = float(run[:, 0].mean())
    pen.text(middle, base, "FOLD", _SIZE, bold=True, align="center", colour=ACCENT)


def _stretches(scene: Scene) -> Iterator[tuple[float, float, tuple[str, ...]]]:
    """From where to where, and what to say of it, at length or briefly."""
    if not any(area.ground is Ground.TWO_PLIES for area in scene.areas):
        return
    edge = "FOLD" if scene.near_edge == "fold" else f"BOTH {scene.near_edge.upper()}S"
    if scene.spread is Spreading.DOUBLE_FOLD and scene.one_ply_mm is not None:
        edge = "FOLDED"
    split = scene.length_mm if scene.one_ply_mm is None else scene.one_ply_mm
    yield (
        0.0,
        split,
        (f"{edge} · TWO PLIES, RIGHT SIDES TOGETHER", f"{edge} · TWO PLIES", "TWO PLIES"),
    )
    if scene.one_ply_mm is not None:
        yield split, scene.length_mm, ("ONE PLY, OPENED OUT", "ONE PLY")
