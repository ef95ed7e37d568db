"""The nest: pieces in all their sizes, over one another from the first corner drawn, to scale."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from marker.canvas.page import Page
from marker.canvas.pen import ACCENT, BLACK, DARK, Pen
from marker.canvas.rendering import rendered
from marker.drawing.diagram.sheets import MARGIN, PAPER, largest_scale
from marker.geometry.arrays import FloatArray
from marker.job import Job
from marker.pattern.piece import Piece

_ACROSS, _DOWN = 3, 2  # pieces on a page
_FOOT, _HEAD, _ROOM_AROUND = MARGIN + 9.0, 7.0, 5.0
_SAMPLE, _OTHER, _TRAIL = 0.45, 0.18, 0.12
_LABEL_PT = 5.5
_BESIDE = 0.7  # from a trail to its label, paper mm
_SMALL_SCALES = (1, 2, 3, 4)


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
    return np.asarray(piece.outline[-1 if piece.drawn_clockwise else 0])


def render_nest(job: Job) -> dict[str, bytes]:
    """File name -> contents: 'nest.pdf', and each page as SVG and PNG (see `rendered`)."""
    return rendered("nest", _draw_pages(job), f"{job.name}: nest")


def _draw_pages(job: Job) -> list[Page]:
    found, each = nests(job), _ACROSS * _DOWN
    pages = [found[k : k + each] for k in range(0, len(found), each)]
    drawn = []
    for number, page in enumerate(pages, start=1):
        pen = Pen(PAPER)
        for place, nest in enumerate(page):
            _draw_nest(pen, nest, job.size, place)
        pen.lines([np.array([[MARGIN, _FOOT - 3], [PAPER[0] - MARGIN, _FOOT - 3]])], 0.6, BLACK)
        sizes = ", ".join(job.sizes)
        words = (
            f"{job.name}: nest of sizes {sizes}; size {job.size}, the sample, in a heavy line; as "
            f"drawn, from the first corner"
        )
        pen.text(MARGIN, MARGIN, words, 7.0, colour=DARK)
        pages_words = f"page {number} of {len(pages)}"
        pen.text(PAPER[0] - MARGIN, MARGIN, pages_words, 7.0, bold=True, align="right")
        drawn.append(pen.page)
    return drawn


def _draw_nest(pen: Pen, nest: Nest, sample: str, place: int) -> None:
    width = (PAPER[0] - 2 * MARGIN) / _ACROSS
    height = (PAPER[1] - MARGIN - _FOOT) / _DOWN
    left = MARGIN + width * (place % _ACROSS)
    foot = _FOOT + height * (_DOWN - 1 - place // _ACROSS)
    room = np.array([width - 2 * _ROOM_AROUND, height - _HEAD - 2 * _ROOM_AROUND])
    least = float((nest.extent / room).max())
    scale = next((s for s in _SMALL_SCALES if s >= least), None) or largest_scale(least)
    corner = np.array([left, foot]) + _ROOM_AROUND

    def on_paper(points: FloatArray) -> FloatArray:
        return np.asarray((points - nest.low) / scale + corner)

    for size, outline in nest.outlines.items():
        ring = on_paper(np.vstack([outline, outline[:1]]))
        own = size == sample
        pen.lines([ring], _SAMPLE if own else _OTHER, BLACK if own else DARK)
    trails = [on_paper(trail) for trail in nest.trails]
    pen.lines(trails, _TRAIL, ACCENT)
    if trails:
        longest = max(trails, key=_travel)
        if _travel(longest) > 0:
            _label(pen, longest, first=next(iter(nest.outlines)), last=tuple(nest.outlines)[-1])
    pen.text(left, foot + height - 4.0, nest.name, 9.0, bold=True)
    pen.text(left + width - _ROOM_AROUND, foot + height - 4.0, f"1 : {scale}", 7.0, align="right")


def _travel(trail: FloatArray) -> float:
    """From the first size to the last."""
    return float(np.hypot(*(trail[-1] - trail[0])))


def _label(pen: Pen, trail: FloatArray, first: str, last: str) -> None:
    """The first and the last size, just beyond the ends of the longest trail."""
    way = trail[-1] - trail[0]
    for point, size, side in ((trail[0], first, -1), (trail[-1], last, 1)):
        x, y = point + side * _BESIDE * way / np.hypot(*way)
        align = "center" if abs(way[0]) < abs(way[1]) else "left" if side * way[0] > 0 else "right"
        pen.text(x, y - _BESIDE, size, _LABEL_PT, colour=ACCENT, align=align)
