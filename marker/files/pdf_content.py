"""What a page of a PDF draws: its stroked paths, with colour and layer, and its texts.

Operators and graphics state by ISO 32000-1, sections 8 and 14.6 (marked content, which names
layers). Paths that are only filled, pictures and shadings are no lines of a pattern; clipping is
not applied. All of that is counted.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from marker.files.curves import flatten
from marker.files.faults import Unusable
from marker.files.outlines import SAME_POINT_MM
from marker.files.pdf_looks import COLOURS, PLAIN, Ink, layer_names, layers_opened, switched_off
from marker.files.pdf_paths import BUILD, PathBuilder
from marker.files.pdf_reading import MOST_CONTENT_BYTES, PdfPage, readable
from marker.files.reading import MEGABYTE
from marker.files.strokes import FLATTEN_MM
from marker.geometry.arrays import FloatArray

if TYPE_CHECKING:
    from pypdf import PdfReader

DEEPEST_FORM = 12
MOST_OPERATORS = 400_000
FORM_COST = 10  # of placing a form, in operators
_ONE = np.array([1.0, 0.0, 0.0, 1.0, 0.0, 0.0])


@dataclass(frozen=True)
class Drawn:
    """A line on a page. points : (n, 2) mm; a closed line does not repeat its first point.

    colour : '#rrggbb', or the name of a printing ink. layers : those it lies on, outermost first.
    """

    points: FloatArray
    closed: bool
    colour: str
    layers: tuple[str, ...]


@dataclass(frozen=True)
class Written:
    """A text and where it begins, (2,) mm."""

    at: FloatArray
    text: str


@dataclass
class Sheet:
    """All that a page shows, mm from its lower left corner, y up. number : of the page, from 1."""

    number: int
    size_mm: tuple[float, float]
    lines: list[Drawn] = field(default_factory=list)
    texts: list[Written] = field(default_factory=list)


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
        path = PathBuilder()
        for operands, operator in self._operations(content):
            self._count(1)
            if operator == b"q":
                stack.append(state)
            elif operator == b"Q":
                state = stack.pop() if stack else state
            elif operator == b"cm":
                state = replace(state, to_mm=_after(np.array(operands, dtype=float), state.to_mm))
            elif operator in COLOURS:
                state = replace(state, ink=state.ink.after(operator, operands, resources))
            elif operator in BUILD:
                BUILD[operator](path, [float(number) for number in operands])
            elif operator in _PAINT:
                self._paint(path, operator, state, layers + _all(marked), found)
                path = PathBuilder()
            elif operator in (b"W", b"W*"):
                self._passed_over["clipping paths, which are not applied"] += 1
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
        size = float(np.linalg.norm(state.to_mm[:4].reshape(2, 2), ord=2))
        for part in path.closed_if(operator in (b"s", b"b", b"b*")):
            points, _, has_z = flatten(part, FLATTEN_MM / max(size, 1e-12))
            points = _moved(points, state.to_mm)
            meets = len(points) > 2 and bool(np.hypot(*(points[-1] - points[0])) <= SAME_POINT_MM)
            ring = points[:-1] if meets else points
            found.lines.append(Drawn(ring, has_z or meets, state.ink.colour, layers))

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
                f"the PDF draws more than {MOST_OPERATORS} things",
                "Choose pages with --pages, or save the pattern's pages alone",
            )


_PAINT = {
    operator: operator in (b"S", b"s", b"B", b"B*", b"b", b"b*")
    for operator in (b"S", b"s", b"f", b"F", b"f*", b"B", b"B*", b"b", b"b*", b"n")
}


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


def _moved(points: FloatArray, matrix: FloatArray) -> FloatArray:
    moved: FloatArray = points @ matrix[:4].reshape(2, 2) + matrix[4:]
    return moved
