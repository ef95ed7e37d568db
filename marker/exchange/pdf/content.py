"""What a page of a PDF draws: its stroked paths, with looks and layer, and its texts.

Operators and graphics state by ISO 32000-1, sections 8 and 14.6 (marked content, which names
layers). Pictures, shadings and what is only filled are no lines of a pattern, unless it is a band
no wider than a pen's line. Of clipping paths the boxes around them count. What is left is counted.

Why PDFium does not do this (pypdfium2 5.15 with its raw interface, tests/benchmarks/pdfium.py):
it gives paths, dashes, forms, clipping paths and a layer that marked content names. It does not
give the layers of a membership dictionary, the layer of a form itself, or which layers the file
switches off. Nor does it name printing inks: an ink comes as the colour it is shown in, which may
be white. And a page is read in one call that nothing can stop. A file of 0.2 MB whose page unpacks
to 100 MB took 13 s and 2 GB. One of 5 kB whose forms place one another twice, 18 deep, took 0.9 GB.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from marker.exchange.curves import flatten
from marker.exchange.pdf.looks import (
    LOOKS,
    PLAIN,
    SOLID,
    Ink,
    layer_names,
    layers_opened,
    switched_off,
)
from marker.exchange.pdf.pages import Drawn, PdfPage, Sheet, readable
from marker.exchange.pdf.paths import BUILD, PathBuilder, middles
from marker.exchange.pdf.texts import TEXT, TextReader, after
from marker.exchange.strokes import FLATTEN_MM
from marker.files.budget import Budget, Most
from marker.geometry.arrays import FloatArray
from marker.tolerances import SAME_POINT_MM

if TYPE_CHECKING:
    from pypdf import PdfReader

FORM_COST, LINE_COST, OUTSIDE_COST = 10, 15, 4  # of placing a form and drawing, in operators
_TOUCHING_MM = 0.01  # a line on the edge of what is shown is shown
MOST_CLIP_PARTS = 8  # of a clipping path that may be the edge of a page
_ONE = np.array([1.0, 0.0, 0.0, 1.0, 0.0, 0.0])


Box = tuple[float, float, float, float]
"""Left, foot, right and top, mm."""


@dataclass(frozen=True)
class _State:
    """The part of the graphics state that matters here. clip : a box around what is shown."""

    to_mm: FloatArray
    ink: Ink = PLAIN
    clip: Box = (-np.inf, -np.inf, np.inf, np.inf)


@dataclass(frozen=True)
class _Place:
    """Where a stream is drawn: on which layers, how many forms deep."""

    state: _State
    resources: Any
    layers: tuple[str, ...] = ()
    depth: int = 0


class ContentReader:
    """Reads pages of one file, within limits that hold for all of them together.

    hidden : names of layers that the file switches off.
    """

    def __init__(self, reader: PdfReader, passed_over: Counter[str], budget: Budget) -> None:
        self._budget = budget
        self._reader = reader
        self._passed_over = passed_over
        self._parsed: dict[int, tuple[Any, Any]] = {}  # by id: a stream, kept so, and its operators
        self._fonts: dict[int, Any] = {}
        with readable():
            self.hidden = switched_off(reader)

    def sheet(self, page: PdfPage) -> Sheet:
        """What a page shows."""
        found = Sheet(page.number, page.size_mm)
        with readable():
            resources = page.page.get("/Resources")
            content = page.page.get_contents()
            if content is not None:
                known = {} if resources is None else resources.get_object()
                self._run(content, _Place(_State(page.to_mm), known), found)
        return found

    def _run(self, content: Any, place: _Place, found: Sheet) -> None:
        """Carry out a stream's operators."""
        Most.FORM_DEPTH.demand(place.depth)
        state, resources = place.state, place.resources
        stack: list[_State] = []
        marked: list[tuple[str, ...]] = []
        path, clips = PathBuilder(), False
        texts = TextReader(found.texts, self._fonts)
        for operands, operator in self._operations(content):
            self._count(1)
            layers = place.layers + _all(marked)
            if operator == b"q":
                stack.append(state)
            elif operator == b"Q":
                state = stack.pop() if stack else state
            elif operator == b"cm":
                state = replace(state, to_mm=after(np.array(operands, dtype=float), state.to_mm))
            elif operator in LOOKS:
                state = replace(state, ink=state.ink.after(operator, operands, resources))
            elif operator in BUILD:
                BUILD[operator](path, [float(number) for number in operands])
            elif operator in PAINT:
                self._paint(path, operator, state, layers, found)
                if clips:
                    state = _clipped(state, path, found)
                path, clips = PathBuilder(), False
            elif operator in (b"W", b"W*"):
                clips = True
            elif operator in TEXT:
                if not self._is_hidden(layers):
                    texts.carry_out(operator, operands, resources, state.to_mm)
            elif operator in (b"BDC", b"BMC"):
                marked.append(layers_opened(operands, resources))
            elif operator == b"EMC":
                marked = marked[:-1]
            elif operator == b"Do":
                self._do(operands[0], replace(place, state=state, layers=layers), found)
            elif operator == b"sh":
                self._passed_over["shadings"] += 1
            elif operator == b"INLINE IMAGE":
                self._passed_over["pictures"] += 1
        texts.finish()

    def _is_hidden(self, layers: tuple[str, ...]) -> bool:
        return any(layer in self.hidden for layer in layers)

    def _operations(self, content: Any) -> Any:
        """(operands, operator) of a stream, parsed once however often it is placed."""
        from pypdf.generic import ContentStream

        if id(content) not in self._parsed:
            self._budget.take(Most.PDF_CONTENT_BYTES, len(content.get_data()))
            self._parsed[id(content)] = content, ContentStream(content, self._reader).operations
        return self._parsed[id(content)][1]

    def _do(self, name: Any, place: _Place, found: Sheet) -> None:
        """A form of its own, or a picture."""
        self._count(FORM_COST)
        form = place.resources["/XObject"].get_object()[name].get_object()
        if form.get("/Subtype") != "/Form":
            self._passed_over["pictures"] += 1
            return
        matrix = np.array([float(number) for number in form.get("/Matrix", _ONE)])
        state = replace(place.state, to_mm=after(matrix, place.state.to_mm))
        box = form.get("/BBox")
        if box is not None:
            window = PathBuilder()
            left, foot, right, top = (float(number) for number in box.get_object())
            window.rectangle((left, foot, right - left, top - foot))
            state = _clipped(state, window, found)
        own = form.get("/Resources")
        resources = place.resources if own is None else own.get_object()
        layers = place.layers + layer_names(form.get("/OC"))
        self._run(form, _Place(state, resources, layers, place.depth + 1), found)

    def _paint(
        self, path: PathBuilder, operator: bytes, state: _State, layers: tuple[str, ...],
        found: Sheet,
    ) -> None:  # fmt: skip
        if operator == b"n" or not path.parts:
            return
        if self._is_hidden(layers):
            self._passed_over["lines on layers that are switched off"] += 1
            return
        if operator in (b"s", b"b", b"b*"):
            path.close()
        if PAINT[operator]:
            lines = list(_lines(path, state, layers))
        else:
            lines = list(_bands(path, state, layers))
            self._passed_over["filled bands read as their middle line"] += len(lines)
            self._passed_over["shapes that are filled, but have no line"] += not lines
        for line in lines:
            self._add(line, state.clip, found)

    def _add(self, line: Drawn, clip: Box, found: Sheet) -> None:
        low, high = line.points.min(axis=0), line.points.max(axis=0)
        left, foot, right, top = clip
        if (high < 0.0).any() or (low > found.size_mm).any():
            self._passed_over["lines outside their page"] += 1
            self._count(OUTSIDE_COST)
        elif high[0] < left or high[1] < foot or low[0] > right or low[1] > top:
            self._passed_over["lines outside their clipping path"] += 1
            self._count(OUTSIDE_COST)
        else:
            found.lines.append(line)
            self._count(LINE_COST)

    def _count(self, operators: int) -> None:
        self._budget.take(Most.PDF_STEPS, operators)


PAINT = {
    operator: operator in (b"S", b"s", b"B", b"B*", b"b", b"b*")
    for operator in (b"S", b"s", b"f", b"F", b"f*", b"B", b"B*", b"b", b"b*", b"n")
}
"""The operators that end a path, and whether they draw its line."""


def _clipped(state: _State, path: PathBuilder, found: Sheet) -> _State:
    """The state once a path clips what follows; short ones may be the edges of a page."""
    lines = list(_lines(path, state, ()))
    if len(lines) <= MOST_CLIP_PARTS:
        found.clips += lines
    if not lines:
        return state
    points = np.vstack([line.points for line in lines])
    low, high = points.min(axis=0) - _TOUCHING_MM, points.max(axis=0) + _TOUCHING_MM
    left, foot, right, top = state.clip
    clip = (
        max(left, float(low[0])), max(foot, float(low[1])),
        min(right, float(high[0])), min(top, float(high[1])),
    )  # fmt: skip
    return replace(state, clip=clip)


def _lines(path: PathBuilder, state: _State, layers: tuple[str, ...]) -> Iterator[Drawn]:
    size = _largest(state.to_mm)
    dashes = state.ink.dashes_named(size)
    for part in path.drawn():
        points, _, has_z = flatten(part, FLATTEN_MM / max(size, 1e-12))
        points = _moved(points, state.to_mm)
        meets = len(points) > 2 and bool(np.hypot(*(points[-1] - points[0])) <= SAME_POINT_MM)
        ring = points[:-1] if meets else points
        yield Drawn(ring, has_z or meets, state.ink.colour, dashes, layers)


def _bands(path: PathBuilder, state: _State, layers: tuple[str, ...]) -> Iterator[Drawn]:
    """The middle lines of shapes that are filled and no wider than a pen's line."""
    if len(path.parts) <= 2:
        rings = [line.points for line in _lines(path, state, layers)]
        for points, closed in middles(rings):
            yield Drawn(points, closed, state.ink.colour, SOLID, layers)


def _all(marked: Sequence[tuple[str, ...]]) -> tuple[str, ...]:
    return tuple(name for names in marked for name in names)


def _largest(matrix: FloatArray) -> float:
    """How much a matrix lengthens the line that it lengthens most: its spectral norm."""
    a, b, c, d = matrix[:4].tolist()
    squares = a * a + b * b + c * c + d * d
    return math.sqrt((squares + math.sqrt(max(squares**2 - 4 * (a * d - b * c) ** 2, 0.0))) / 2)


def _moved(points: FloatArray, matrix: FloatArray) -> FloatArray:
    moved: FloatArray = points @ matrix[:4].reshape(2, 2) + matrix[4:]
    return moved
