"""The nest: pieces in all their sizes, over one another from the first corner drawn, to scale."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cache

import numpy as np
import shapely

from marker.canvas.fonts import text_width
from marker.canvas.lettering import shorten
from marker.canvas.page import Page
from marker.canvas.pen import ACCENT, BLACK, DARK, Pen
from marker.canvas.rendering import rendered
from marker.drawing.diagram.sheets import MARGIN, PAPER, SCALES
from marker.drawing.size_names import draw_size_names, named_sizes
from marker.geometry.arrays import FloatArray
from marker.job import Job
from marker.pattern.piece import Piece
from marker.tolerances import SAME_LINE_MM
from marker.words import size_words

_ALIKE = "alike in all sizes"
_ON_A_PAGE = 6  # pieces
_FOOT, _HEAD = MARGIN + 9.0, 7.0
_ROOM_AROUND = 8.0  # for the names of the sizes, paper mm
_SAMPLE, _OTHER, _TRAIL = 0.45, 0.18, 0.12
_NAME_PT, _LABEL_PT = 9.0, 6.0
_TOLD_APART = 0.1  # paper mm
_SMALL_SCALES = (1, 1.5, 2, 2.5, 3, 3.5, 4, 4.5)


@dataclass(frozen=True)
class Nest:
    """One piece in its sizes, mm from the first corner, as drawn.

    outlines : size -> (n, 2). trails : where each end of an edge lies, (sizes, 2), in their order.
    """

    name: str
    outlines: Mapping[str, FloatArray]
    trails: tuple[FloatArray, ...]

    @property
    def low(self) -> FloatArray:
        """Lower left corner of all sizes, (2,)."""
        return np.asarray(np.min([line.min(axis=0) for line in self.outlines.values()], axis=0))

    @property
    def extent(self) -> FloatArray:
        """Width and height of all sizes, (2,)."""
        high = np.max([line.max(axis=0) for line in self.outlines.values()], axis=0)
        return np.asarray(high - self.low)

    @property
    def same_in_all_sizes(self) -> bool:
        """Its sizes do not differ."""
        first, *others = self.outlines.values()
        return bool(others) and all(
            other.shape == first.shape and np.allclose(other, first, atol=SAME_LINE_MM)
            for other in others
        )


def nests(job: Job) -> tuple[Nest, ...]:
    """Every piece of the job, in its order."""
    by_size = {pattern.size: pattern.pieces for pattern in job.patterns}
    return tuple(
        _nest(name, {size: each for size, pieces in by_size.items() for each in pieces
                     if each.name == name})
        for name in (piece.name for piece in job.pattern.pieces)
    )  # fmt: skip


def _nest(name: str, pieces: Mapping[str, Piece]) -> Nest:
    moved = {size: piece.outline - _first_corner(piece) for size, piece in pieces.items()}
    ends: dict[bytes, FloatArray] = {}
    some = next(iter(pieces.values()))
    for edge in some.edges:
        for end in ("start", "end"):
            trail = np.array(
                [moved[size][getattr(piece.edges[edge], end)] for size, piece in pieces.items()]
            )
            ends.setdefault(np.round(trail, 2).tobytes(), trail)  # two edges share a corner
    return Nest(name, moved, tuple(ends.values()))


def _first_corner(piece: Piece) -> FloatArray:
    if piece.changed and piece.fold is not None:  # its first corner may be cut away
        return np.asarray(piece.outline[piece.fold.end])
    return np.asarray(piece.outline[-1 if piece.drawn_clockwise else 0])


def render_nest(job: Job) -> dict[str, bytes]:
    """File name -> contents: 'nest.pdf', and each page as SVG and PNG (see `rendered`)."""
    return rendered("nest", _draw_pages(job), f"{job.name}: nest")


@dataclass(frozen=True)
class _Sheet:
    """One page: its paper, the scale of all on it, and the lower left corner of each nest's box."""

    paper: tuple[float, float]
    scale: float
    places: tuple[tuple[Nest, FloatArray], ...]


def _sheets(found: Sequence[Nest]) -> list[_Sheet]:
    """As few pages as so many pieces need; pieces of like size together, so that each page has the
    largest scale."""
    order = sorted(found, key=lambda nest: -float(nest.extent.max()))
    pages = math.ceil(len(order) / _ON_A_PAGE)

    @cache
    def best(first: int, left: int) -> tuple[float, tuple[_Sheet, ...]]:
        if left == 1:
            sheet = _arranged(order[first:])
            return sheet.scale * len(sheet.places), (sheet,)
        choices = []
        for last in range(first + 1, len(order) - left + 2):
            sheet = _arranged(order[first:last])
            scales, others = best(last, left - 1)
            choices.append((sheet.scale * len(sheet.places) + scales, (sheet, *others)))
        return min(choices, key=lambda choice: choice[0])

    return list(best(0, pages)[1])


def _arranged(found: Sequence[Nest]) -> _Sheet:
    """These pieces on one page, upright or lying, at the largest scale that fits."""
    tallest = sorted(found, key=lambda nest: -float(nest.extent[1]))
    for scale in (*_SMALL_SCALES, *SCALES, *range(60, 10_000, 10)):
        for paper in (PAPER, PAPER[::-1]):
            places = _in_rows(tallest, scale, paper)
            if places is not None:
                return _Sheet(paper, scale, tuple(zip(tallest, places, strict=True)))
    raise AssertionError("pieces have a largest extent")


def _in_rows(
    found: Sequence[Nest], scale: float, paper: tuple[float, float]
) -> list[FloatArray] | None:
    """The corner of each nest's box, row by row with the room left over shared out; None where they
    do not fit."""
    wide, high = paper[0] - 2 * MARGIN, paper[1] - MARGIN - _FOOT
    rows: list[list[FloatArray]] = [[]]
    for nest in found:
        size = nest.extent / scale + 2 * _ROOM_AROUND
        size = np.array([max(size[0], _heading_mm(nest)), size[1] + _HEAD])
        if rows[-1] and sum(box[0] for box in rows[-1]) + size[0] > wide:
            rows.append([])
        rows[-1].append(size)
    spare = high - sum(max(box[1] for box in row) for row in rows)
    if spare < 0 or any(sum(box[0] for box in row) > wide for row in rows):
        return None
    places, top = [], paper[1] - MARGIN
    for row in rows:
        apart = (wide - sum(box[0] for box in row)) / len(row)
        left = MARGIN
        for box in row:
            places.append(np.array([left, top - box[1]]))
            left += float(box[0]) + apart
        top -= max(float(box[1]) for box in row) + spare / len(rows)
    return places


def _heading_mm(nest: Nest) -> float:
    """Width of its name, and of what is said beside it."""
    name = text_width(nest.name, _NAME_PT, bold=True) + 3.0
    return name + (text_width(_ALIKE, _LABEL_PT) + 3.0 if nest.same_in_all_sizes else 0.0)


def _draw_pages(job: Job) -> list[Page]:
    sheets, drawn = _sheets(nests(job)), []
    for number, sheet in enumerate(sheets, start=1):
        pen = Pen(sheet.paper)
        for nest, corner in sheet.places:
            _draw_nest(pen, nest, sheet, corner, job.size)
        right = sheet.paper[0] - MARGIN
        pen.lines([np.array([[MARGIN, _FOOT - 3], [right, _FOOT - 3]])], 0.6, BLACK)
        words = ", ".join(filter(None, [_said(job), "from the first corner drawn"]))
        words = f"{job.name}: {words}"
        scale = f"1 : {sheet.scale:g} · page {number} of {len(sheets)}"
        room = right - MARGIN - text_width(scale, 7.0, bold=True) - 4.0
        pen.text(MARGIN, MARGIN, shorten(words, room, 7.0), 7.0, colour=DARK)
        pen.text(right, MARGIN, scale, 7.0, bold=True, align="right")
        drawn.append(pen.page)
    return drawn


def _said(job: Job) -> str:
    if len(job.sizes) == 1:
        return size_words(job.sizes)
    return f"sizes {', '.join(job.sizes)}; size {job.size}, the sample, in a heavy line"


def _draw_nest(pen: Pen, nest: Nest, sheet: _Sheet, corner: FloatArray, sample: str) -> None:
    low = corner + _ROOM_AROUND

    def on_paper(points: FloatArray) -> FloatArray:
        return np.asarray((points - nest.low) / sheet.scale + low)

    lines = {}
    for size, outline in nest.outlines.items():
        ring = on_paper(np.vstack([outline, outline[:1]]))
        own = size == sample
        pen.lines([ring], _SAMPLE if own else _OTHER, BLACK if own else DARK)
        lines[size] = ring[:-1]
    trails = [on_paper(trail) for trail in nest.trails]
    if len(lines) > 1:
        pen.lines(trails, _TRAIL, ACCENT)
    far = corner + nest.extent / sheet.scale + 2 * _ROOM_AROUND
    pen.text(corner[0], far[1] + 1.5, nest.name, _NAME_PT, bold=True)
    if len(lines) < 2:
        return
    if nest.same_in_all_sizes:
        beside = corner[0] + text_width(nest.name, _NAME_PT, bold=True) + 3.0
        pen.text(beside, far[1] + 1.5, _ALIKE, _LABEL_PT, colour=DARK)
        return
    room = shapely.box(*(corner + 0.5), *(far - 0.5))
    ends = {size: lines[size] for size in (next(iter(lines)), list(lines)[-1])}
    names = named_sizes(lines, room, _LABEL_PT, _TOLD_APART) or named_sizes(
        ends, room, _LABEL_PT, _TOLD_APART
    )
    draw_size_names(pen, names, _LABEL_PT)
