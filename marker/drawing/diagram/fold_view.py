"""How the cloth is folded: fold edges and stretches in words on a sheet, and a sketch. Paper mm."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from marker.canvas.fonts import text_width
from marker.canvas.pen import ACCENT, BLACK, DARK, Pen
from marker.cloth.spread import Spreading
from marker.drawing.diagram.sheets import RULER, Sheet
from marker.drawing.scene.layout_scene import Scene
from marker.drawing.scene.spread_cloth import FoldEdge, Ground
from marker.geometry.arrays import FloatArray

_EDGE, _SIZE, _DASHES = 0.9, 6.0, (1.6, 1.0)
_BESIDE = 1.2  # words beside a fold that no ruler runs along
_SKETCH = 15.0  # wide
_PLY = 0.7  # half the distance of the sketch's plies


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


def draw_sketch(pen: Pen, spreading: Spreading, x: float, y: float) -> None:
    """The folded cloth seen from its end, centred at height y from x on; of cloth laid end on end,
    from its side."""
    for run in _plies(spreading):
        pen.lines([run + np.array([x, y])], 0.35, BLACK)


def _plies(spreading: Spreading) -> list[FloatArray]:
    """The cloth as lines about y = 0."""
    width = _SKETCH
    left, right = _bend(_PLY, 90.0), _bend(width - _PLY, -90.0)
    near, far = np.array([[0.0, -_PLY], [0.0, _PLY]]), np.array([[width, _PLY], [width, -_PLY]])
    if spreading is Spreading.FOLDED_LENGTHWISE:
        return [np.concatenate([near[:1], right, near[1:]])]
    if spreading is Spreading.FOLDED_CROSSWISE:
        return [np.concatenate([far[:1], left, far[1:]])]
    if spreading is Spreading.CUT_AND_TURNED:
        return [np.array([[0.0, y], [width, y]]) for y in (-_PLY, _PLY)]
    if spreading is Spreading.DOUBLE_FOLD:
        ends = np.array([[width / 2 - 0.4, _PLY], [width / 2 + 0.4, _PLY]])
        return [np.concatenate([ends[:1], left, right, ends[1:]])]
    return [np.concatenate([left, right, left[:1]])]


def _bend(x: float, first_deg: float) -> FloatArray:
    """Half a turn of a ply, counter-clockwise, its middle at (x, 0)."""
    angles = np.radians(np.linspace(first_deg, first_deg + 180.0, 13))
    return np.column_stack([x + _PLY * np.cos(angles), _PLY * np.sin(angles)])
