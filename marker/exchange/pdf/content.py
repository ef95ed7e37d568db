"""What a page of a PDF draws: its stroked paths, with looks and layer, and its texts.

Operators and graphics state by ISO 32000-1, sections 8 and 14.6 (marked content, which names
layers). Paths that are only filled, pictures and shadings are no lines of a pattern; clipping is
not applied. All of that is counted.

Why PDFium does not do this (pypdfium2 5.15 with its raw interface, tests/benchmarks/pdfium.py):
it gives paths, dashes, forms, clipping paths and a layer that marked content names. It does not
give the layers of a membership dictionary, the layer of a form itself, which layers the file
switches off, or the names of printing inks (an ink comes as the colour it is shown in, which may
be white). And a page is read in one call that nothing can stop: a file of 0.2 MB whose page unpacks
to 100 MB took 13 s and 2 GB, one of 5 kB whose forms place one another twice, 18 deep, 0.9 GB.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np
from svgelements import Close, CubicBezier, Line, Move, Path

from marker.exchange.curves import flatten
from marker.exchange.pdf.looks import LOOKS, PLAIN, Ink, layer_names, layers_opened, switched_off
from marker.exchange.pdf.pages import MOST_CONTENT_BYTES, Drawn, PdfPage, Sheet, Written, readable
from marker.exchange.strokes import FLATTEN_MM
from marker.files.faults import Unusable
from marker.files.reading import MEGABYTE
from marker.geometry.arrays import FloatArray
from marker.tolerances import SAME_POINT_MM

if TYPE_CHECKING:
    from pypdf import PdfReader

DEEPEST_FORM = 12
MOST_OPERATORS = 400_000
FORM_COST, LINE_COST, OUTSIDE_COST = 10, 15, 4  # of placing a form and drawing, in operators
MOST_CLIP_PARTS = 8  # of a clipping path that may be the edge of a page
_ONE = np.array([1.0, 0.0, 0.0, 1.0, 0.0, 0.0])


@dataclass(frozen=True)
class _State:
    """The part of the graphics state that matters here."""

    to_mm: FloatArray
    ink: Ink = PLAIN


class ContentReader:
    """Reads pages of one file, within limits that hold for all of them together.

    hidden : names of layers that the file switches off.
    """

    def __init__(self, reader: PdfReader, passed_over: Counter[str]) -> None:
        self._reader = reader
        self._passed_over = passed_over
        self._operators = self._bytes = 0
        self._parsed: dict[int, tuple[Any, Any]] = {}  # by id: a stream, kept so, and its operators
        with readable():
            self.hidden = switched_off(reader)

    def sheet(self, page: PdfPage) -> Sheet:
        """What a page shows."""
        found = Sheet(page.number, page.size_mm)
        with readable():
            resources = page.page.get("/Resources") or {}
            content = page.page.get_contents()
            if content is not None:
                self._run(content, resources, _State(page.to_mm), (), found, 0)
            self._read_texts(page, found)
        return found

    def _run(
        self, content: Any, resources: Any, state: _State, layers: tuple[str, ...],
        found: Sheet, depth: int,
    ) -> None:  # fmt: skip
        """Carry out a stream's operators."""
        if depth > DEEPEST_FORM:
            raise Unusable(f"its drawings are nested deeper than {DEEPEST_FORM}", "Flatten the PDF")
        stack: list[_State] = []
        marked: list[tuple[str, ...]] = []
        path, clips = PathBuilder(), False
        for operands, operator in self._operations(content):
            self._count(1)
            if operator == b"q":
                stack.append(state)
            elif operator == b"Q":
                state = stack.pop() if stack else state
            elif operator == b"cm":
                state = replace(state, to_mm=_after(np.array(operands, dtype=float), state.to_mm))
            elif operator in LOOKS:
                state = replace(state, ink=state.ink.after(operator, operands, resources))
            elif operator in BUILD:
                BUILD[operator](path, [float(number) for number in operands])
            elif operator in _PAINT:
                self._paint(path, operator, state, layers + _all(marked), found)
                if clips and len(path.parts) <= MOST_CLIP_PARTS:
                    found.clips += _lines(path, state, ())
                path, clips = PathBuilder(), False
            elif operator in (b"W", b"W*"):
                self._passed_over["clipping paths, which are not applied"] += 1
                clips = True
            elif operator in (b"BDC", b"BMC"):
                marked.append(layers_opened(operands, resources))
            elif operator == b"EMC":
                marked = marked[:-1]
            elif operator == b"Do":
                self._do(operands[0], resources, state, layers + _all(marked), found, depth)
            elif operator == b"sh":
                self._passed_over["shadings"] += 1
            elif operator == b"INLINE IMAGE":
                self._passed_over["pictures"] += 1

    def _operations(self, content: Any) -> Any:
        """(operands, operator) of a stream, parsed once however often it is placed."""
        from pypdf.generic import ContentStream

        if id(content) not in self._parsed:
            self._bytes += len(content.get_data())
            if self._bytes > MOST_CONTENT_BYTES:
                raise Unusable(
                    f"the PDF holds more than {MOST_CONTENT_BYTES // MEGABYTE} MB of drawing",
                    "Choose pages with --pages, or save the pattern's pages alone",
                )
            self._parsed[id(content)] = content, ContentStream(content, self._reader).operations
        return self._parsed[id(content)][1]

    def _do(
        self, name: Any, resources: Any, state: _State, layers: tuple[str, ...],
        found: Sheet, depth: int,
    ) -> None:  # fmt: skip
        """A form of its own, or a picture."""
        self._count(FORM_COST)
        form = resources["/XObject"][name].get_object()
        if form.get("/Subtype") != "/Form":
            self._passed_over["pictures"] += 1
            return
        matrix = np.array([float(number) for number in form.get("/Matrix", _ONE)])
        inner = replace(state, to_mm=_after(matrix, state.to_mm))
        own = layer_names(form.get("/OC"))
        self._run(form, form.get("/Resources") or resources, inner, layers + own, found, depth + 1)

    def _paint(
        self, path: PathBuilder, operator: bytes, state: _State, layers: tuple[str, ...],
        found: Sheet,
    ) -> None:  # fmt: skip
        if not _PAINT[operator]:
            if operator != b"n" and path.parts:
                self._passed_over["shapes that are filled, but have no line"] += 1
            return
        if any(layer in self.hidden for layer in layers):
            self._passed_over["lines on layers that are switched off"] += 1
            return
        if operator in (b"s", b"b", b"b*"):
            path.close()
        for line in _lines(path, state, layers):
            low, high = line.points.min(axis=0), line.points.max(axis=0)
            if (high < 0.0).any() or (low > found.size_mm).any():
                self._passed_over["lines outside their page"] += 1
                self._count(OUTSIDE_COST)
            else:
                found.lines.append(line)
                self._count(LINE_COST)

    def _read_texts(self, page: PdfPage, found: Sheet) -> None:
        def visit(text: str, cm: Any, tm: Any, *_font: Any) -> None:
            words = " ".join(text.split())
            if words:
                at = _after(
                    np.array(tm, dtype=float), _after(np.array(cm, dtype=float), page.to_mm)
                )
                found.texts.append(Written(at[4:], words))

        page.page.extract_text(visitor_text=visit)

    def _count(self, operators: int) -> None:
        self._operators += operators
        if self._operators > MOST_OPERATORS:
            raise Unusable(
                f"the PDF draws more than a pattern does ({MOST_OPERATORS} steps)",
                "Choose pages with --pages, or save the pattern's pages alone",
            )


_PAINT = {
    operator: operator in (b"S", b"s", b"B", b"B*", b"b", b"b*")
    for operator in (b"S", b"s", b"f", b"F", b"f*", b"B", b"B*", b"b", b"b*", b"n")
}


def _lines(path: PathBuilder, state: _State, layers: tuple[str, ...]) -> Iterator[Drawn]:
    size = _largest(state.to_mm)
    dashes = state.ink.dashes_named(size)
    for part in path.drawn():
        points, _, has_z = flatten(part, FLATTEN_MM / max(size, 1e-12))
        points = _moved(points, state.to_mm)
        meets = len(points) > 2 and bool(np.hypot(*(points[-1] - points[0])) <= SAME_POINT_MM)
        ring = points[:-1] if meets else points
        yield Drawn(ring, has_z or meets, state.ink.colour, dashes, layers)


def _all(marked: Sequence[tuple[str, ...]]) -> tuple[str, ...]:
    return tuple(name for names in marked for name in names)


def _after(inner: FloatArray, outer: FloatArray) -> FloatArray:
    """The matrix that applies `inner` first."""
    a, b, c, d, e, f = inner
    one, two, three, four, five, six = outer
    return np.array(
        [
            a * one + b * three, a * two + b * four,
            c * one + d * three, c * two + d * four,
            e * one + f * three + five, e * two + f * four + six,
        ]
    )  # fmt: skip


def _largest(matrix: FloatArray) -> float:
    """How much a matrix lengthens the line that it lengthens most: its spectral norm."""
    a, b, c, d = matrix[:4].tolist()
    squares = a * a + b * b + c * c + d * d
    return math.sqrt((squares + math.sqrt(max(squares**2 - 4 * (a * d - b * c) ** 2, 0.0))) / 2)


def _moved(points: FloatArray, matrix: FloatArray) -> FloatArray:
    moved: FloatArray = points @ matrix[:4].reshape(2, 2) + matrix[4:]
    return moved


class PathBuilder:
    """The current path. parts : its sub-paths, each of svgelements' segments."""

    def __init__(self) -> None:
        self.parts: list[list[Any]] = []
        self._at = self._start = (0.0, 0.0)

    def move(self, numbers: Sequence[float]) -> None:
        self._at = self._start = (numbers[0], numbers[1])
        self.parts.append([Move(self._at)])

    def line(self, numbers: Sequence[float]) -> None:
        self._open().append(Line(self._at, (numbers[0], numbers[1])))
        self._at = (numbers[0], numbers[1])

    def curve(self, numbers: Sequence[float]) -> None:
        x1, y1, x2, y2, x3, y3 = numbers
        self._open().append(CubicBezier(self._at, (x1, y1), (x2, y2), (x3, y3)))
        self._at = (x3, y3)

    def curve_from_here(self, numbers: Sequence[float]) -> None:
        self.curve([*self._at, *numbers])

    def curve_to_control(self, numbers: Sequence[float]) -> None:
        self.curve([*numbers, *numbers[2:]])

    def close(self, _numbers: Sequence[float] = ()) -> None:
        if self.parts and not isinstance(self.parts[-1][-1], Close):
            self.parts[-1].append(Close(self._at, self._start))
            self._at = self._start

    def rectangle(self, numbers: Sequence[float]) -> None:
        x, y, across, up = numbers
        self.move((x, y))
        for corner in ((x + across, y), (x + across, y + up), (x, y + up)):
            self.line(corner)
        self.close()

    def _open(self) -> list[Any]:
        """The sub-path being drawn; after a close, a new one from where that began."""
        if not self.parts or isinstance(self.parts[-1][-1], Close):
            self.move(self._at)
        return self.parts[-1]

    def drawn(self) -> list[Path]:
        """The sub-paths that draw something."""
        return [Path(*part) for part in self.parts if len(part) > 1]


BUILD: dict[bytes, Callable[[PathBuilder, Sequence[float]], None]] = {
    b"m": PathBuilder.move,
    b"l": PathBuilder.line,
    b"c": PathBuilder.curve,
    b"v": PathBuilder.curve_from_here,
    b"y": PathBuilder.curve_to_control,
    b"h": PathBuilder.close,
    b"re": PathBuilder.rectangle,
}
