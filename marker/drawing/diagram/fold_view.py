"""How the cloth is folded: fold edges and stretches in words on a sheet. Paper mm."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from marker.canvas.fonts import text_width
from marker.canvas.pen import ACCENT, BLACK, DARK, Pen
from marker.cloth.spread import Spreading
from marker.drawing.diagram.sheets import RULER, Sheet
from marker.drawing.scene.layout_scene import Scene
from marker.drawing.scene.spread_cloth import FoldEdge, Ground

_EDGE, _SIZE, _DASHES = 0.9, 6.0, (1.6, 1.0)
_BESIDE = 1.2  # words beside a fold that no ruler runs along


def draw_folds(pen: Pen, scene: Scene, sheet: Sheet) -> None:
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
