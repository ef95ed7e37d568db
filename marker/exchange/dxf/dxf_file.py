"""All lines and texts of a DXF file: block by block where it is a pattern by ASTM D6673, else the
model space with everything that is inserted in it."""

from __future__ import annotations

import logging
import re
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from io import BytesIO
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from marker.exchange.curves import MOST_POINTS, arc_steps
from marker.exchange.dxf import standard
from marker.exchange.piece_text import read_pairs
from marker.exchange.strokes import (
    FLATTEN_MM,
    FURTHEST_MM,
    Layer,
    Stroke,
    Strokes,
    Text,
    layer_named,
)
from marker.files.faults import Unusable
from marker.files.reading import read_bytes
from marker.geometry.arrays import FloatArray
from marker.tolerances import SAME_POINT_MM

if TYPE_CHECKING:
    from ezdxf.document import Drawing

MOST_CONTROL_POINTS = 2_000
HIGHEST_DEGREE = 10  # ezdxf's
DEEPEST_INSERT = 8
MOST_INSERTED = 5_000
_LINES = {"LINE", "POLYLINE", "LWPOLYLINE", "ARC", "CIRCLE", "ELLIPSE", "SPLINE", "POINT"}


class DxfFile:
    """A DXF file opened for import.

    scales : (what says so, mm of one unit); empty when nothing does, several when things differ.
    style_name, sample_size, rule_table : as it says, "" where it does not.
    """

    def __init__(self, path: Path) -> None:
        self._document = open_dxf(path)
        self._space = self._document.modelspace()
        said = read_pairs(_texts_in(self._space))
        self.scales = header_scales(self._document) + _style_scales(said)
        self.guess_mm = 1.0
        self.style_name = said.get("style name", "")
        self.sample_size = said.get("sample size", "")
        self.rule_table = said.get("grade rule table", "")
        self._blocks = self._pattern_blocks()

    @property
    def is_pattern(self) -> bool:
        """Whether its blocks are pattern pieces by ASTM D6673."""
        return bool(self._blocks)

    def strokes(self, unit_mm: float | None) -> list[Strokes]:
        """Its lines and texts; `unit_mm` overrides what it says of its unit."""
        scale = unit_mm or (self.scales[0][1] if self.scales else 1.0)
        if not self._blocks:
            return [self._whole(scale)]
        stretches = self._stretches()
        return [
            _read(Strokes(name.strip()), block, scale * stretches.get(name, 1.0), by_number=True)
            for name, block in self._blocks.items()
        ]

    def _pattern_blocks(self) -> dict[str, Any]:
        """Blocks with lines on the boundary's or the sew lines' layer, in the file's order."""
        wanted = {standard.BOUNDARY, standard.SEW_LINES}
        return {
            block.name: block
            for block in self._document.blocks
            if not block.is_any_layout
            and not block.name.startswith("*")
            and any(_layer(e) in wanted and e.dxftype() in _LINES - {"POINT"} for e in block)
        }

    def _stretches(self) -> dict[str, float]:
        """By how much each block is enlarged where it is first inserted: 1 but in odd files."""
        found: dict[str, float] = {}
        for insert in self._space.query("INSERT"):
            size = abs(float(insert.dxf.get("xscale", 1.0)))
            found.setdefault(insert.dxf.name, size if 0 < size < 1e6 else 1.0)
        return found

    def _whole(self, scale: float) -> Strokes:
        by_number = {_layer(entity) for entity in self._space} <= standard.NUMBERS
        return _read(Strokes(), self._space, scale, by_number)


def _layer(entity: Any) -> str:
    return str(entity.dxf.get("layer", "0")).strip()


def _texts_in(entities: Any) -> Iterator[str]:
    for entity in entities:
        if entity.dxftype() in ("TEXT", "MTEXT"):
            yield _text(entity)


def _text(entity: Any) -> str:
    return str(entity.dxf.text if entity.dxftype() == "TEXT" else entity.plain_text())


def _style_scales(said: dict[str, str]) -> list[tuple[str, float]]:
    """What the style's text 'Units' says."""
    word = said.get("units", "").lower()
    unit_mm = standard.UNIT_WORDS.get(word)
    return [] if unit_mm is None else [(f"'Units: {word}'", unit_mm)]


def _read(found: Strokes, entities: Any, scale: float, by_number: bool) -> Strokes:
    """Everything drawn among the entities. by_number : layers mean what ASTM D6673 says."""
    for entity, layer_name in _flat(entities, found, _Around()):
        if by_number and layer_name in standard.LEFT_OUT:
            found.passed_over[standard.LEFT_OUT[layer_name]] += 1
            continue
        layer = standard.LAYER_OF.get(layer_name) if by_number else layer_named(layer_name)
        kind = entity.dxftype()
        if kind in ("TEXT", "MTEXT"):
            at = np.array([entity.dxf.insert.x, entity.dxf.insert.y]) * scale
            if np.isfinite(at).all():
                found.write(Text(at, _text(entity), layer))
        elif by_number and layer_name == standard.CURVE_POINTS:
            continue  # the boundary has them too
        elif kind in _LINES:
            _add(found, entity, layer, scale)
        else:
            found.passed_over[f"{kind} entities"] += 1
    return found


@dataclass(frozen=True)
class _Around:
    """Where inserted entities stand: the layer and depth of the insert, and how many more of them
    are read."""

    layer: str = ""
    depth: int = 0
    left: Iterator[int] = field(default_factory=lambda: iter(range(MOST_INSERTED)))


def _flat(entities: Any, found: Strokes, around: _Around) -> Iterator[tuple[Any, str]]:
    """Visible entities with their layers, inserted blocks resolved, however they repeat."""
    for entity in entities:
        layer = _layer(entity)
        layer = around.layer if around.layer and layer == "0" else layer  # as DXF has it
        if around.depth and next(around.left, None) is None:
            raise Unusable(
                f"inserted blocks hold more than {MOST_INSERTED} entities in all",
                "Import a drawing of the pattern alone",
            )
        if entity.dxf.get("invisible", 0) or _is_off(entity, layer):
            found.passed_over["hidden entities"] += 1
        elif entity.dxftype() != "INSERT":
            yield entity, layer
        elif around.depth == DEEPEST_INSERT:
            found.passed_over["blocks inserted in one another too deep"] += 1
        else:
            copies = entity.multi_insert() if entity.mcount > 1 else [entity]
            inside = replace(around, layer=layer, depth=around.depth + 1)
            for copy in copies:
                yield from _flat(copy.virtual_entities(), found, inside)


def _is_off(entity: Any, layer: str) -> bool:
    layers = entity.doc.layers
    return layer in layers and bool(layers.get(layer).is_off() or layers.get(layer).is_frozen())


def _add(found: Strokes, entity: Any, layer: Layer | None, scale: float) -> None:
    try:
        points, closed = _points(entity, FLATTEN_MM / scale)
    except Unusable as fault:
        found.passed_over[f"{entity.dxftype()} entities that can't be read ({fault.problem})"] += 1
        return
    points = points * scale
    if len(points) > MOST_POINTS or not (np.abs(points) <= FURTHEST_MM).all():  # NaN too
        found.passed_over["lines that are endless or absurdly far away"] += 1
    elif len(points):
        meets = len(points) > 2 and bool(np.hypot(*(points[-1] - points[0])) <= SAME_POINT_MM)
        found.add(Stroke(points[:-1] if meets else points, closed or meets, layer))


def _points(entity: Any, tolerance: float) -> tuple[FloatArray, bool]:
    """(n, 2) in the drawing's unit, and whether the line closes from its last point."""
    match entity.dxftype():
        case "POINT":
            return _flattened([entity.dxf.location]), False
        case "LINE":
            return _flattened([entity.dxf.start, entity.dxf.end]), False
        case "LWPOLYLINE":
            if entity.has_arc:
                return _in_parts(entity, tolerance), False
            return _flattened(entity.vertices_in_wcs()), bool(entity.closed)
        case "POLYLINE":
            if not (entity.is_2d_polyline or entity.is_3d_polyline):
                raise Unusable("it is a mesh", "")
            if entity.has_arc:
                return _in_parts(entity, tolerance), False
            return _flattened(entity.points_in_wcs()), bool(entity.is_closed)
        case "ARC" | "CIRCLE":
            return _arc(entity, tolerance), False
        case "SPLINE":
            _check_spline(entity, tolerance)
            try:
                return _flattened(entity.flattening(tolerance)), False
            except (ValueError, ZeroDivisionError) as error:  # knots or weights that make no curve
                raise Unusable("it is broken", "") from error
        case _:
            return _flattened(entity.flattening(tolerance)), False


def _flattened(points: Any) -> FloatArray:
    """Points as (n, 2), no more of them than tell that they are too many."""
    rows = [(point.x, point.y) for point in islice(points, MOST_POINTS + 1)]
    return np.array(rows, dtype=np.float64).reshape(-1, 2)


def _in_parts(polyline: Any, tolerance: float) -> FloatArray:
    """A polyline with arcs (bulges), part by part."""
    parts = [
        _points(part, tolerance)[0] for part in islice(polyline.virtual_entities(), MOST_POINTS)
    ]
    if not parts:
        return np.empty((0, 2))
    ends = [_oriented(part, parts, k) for k, part in enumerate(parts)]
    return np.concatenate([ends[0], *(part[1:] for part in ends[1:])])


def _oriented(part: FloatArray, parts: list[FloatArray], k: int) -> FloatArray:
    """A part so that it goes on where its neighbour ends: arcs are stored counter-clockwise."""
    other = parts[k + 1] if k + 1 < len(parts) else parts[k - 1]
    at = (0, -1) if k + 1 < len(parts) else (-1, 0)
    meets = [min(np.hypot(*(part[end] - other[[0, -1]]).T)) for end in at]
    return part if meets[1] <= meets[0] else part[::-1]


def _arc(entity: Any, tolerance: float) -> FloatArray:
    start, end = 0.0, 360.0
    if entity.dxftype() == "ARC":
        start = float(entity.dxf.start_angle)
        end = start + ((float(entity.dxf.end_angle) - start) % 360.0 or 360.0)
    steps = arc_steps(float(entity.dxf.radius), np.radians(end - start), tolerance)
    return _flattened(entity.vertices(np.linspace(start, end, steps + 1)))


def _check_spline(entity: Any, tolerance: float) -> None:
    count = max(len(entity.control_points), len(entity.fit_points))
    if entity.dxf.degree > HIGHEST_DEGREE or count > MOST_CONTROL_POINTS:
        raise Unusable(f"degree {entity.dxf.degree}, {count} points", "")
    controls = np.array([*entity.control_points, *entity.fit_points], dtype=np.float64)
    if not (np.abs(controls) <= FURTHEST_MM * tolerance / FLATTEN_MM).all():
        raise Unusable("it is absurdly far away", "")


_EOF = re.compile(rb"(?:^|\n)[ \t]*0[ \t]*\r?\n[ \t]*EOF[ \t]*[\r\n\x1a ]*\Z")
MOST_ENTITIES = 50_000  # ezdxf takes up to 0.14 ms for each
_TEXT_AGAIN = "Export it again as text DXF (ASCII), release 12 or later"


def open_dxf(path: Path) -> Drawing:
    """The file's drawing; raises Unusable if it is none, is cut short or is beyond mending."""
    content = read_bytes(path)
    _check_kind(content)
    from ezdxf import recover  # slow to load, and most commands read no DXF
    from ezdxf.lldxf.const import DXFError

    logging.getLogger("ezdxf").addHandler(logging.NullHandler())  # or it prints what it mends
    try:
        document, _ = recover.read(BytesIO(content), errors="ignore")
    except (DXFError, ValueError, KeyError, TypeError, AttributeError, IndexError) as error:
        raise Unusable(f"the DXF is broken ({_short(error)})", _TEXT_AGAIN) from error
    except (RecursionError, OverflowError, MemoryError) as error:
        raise Unusable("the DXF is beyond reading", _TEXT_AGAIN) from error
    return document


def _check_kind(content: bytes) -> None:
    if content.startswith(b"AutoCAD Binary DXF"):
        raise Unusable("this is binary DXF", _TEXT_AGAIN)
    if re.match(rb"AC1\d{3}", content):
        raise Unusable("this is DWG, not DXF", _TEXT_AGAIN)
    if not re.match(rb"(?:\xef\xbb\xbf)?\s*(?:999\s|0\s+SECTION)", content):
        raise Unusable("this is not DXF", "Name a DXF file")
    if not _EOF.search(content[-200:]):
        raise Unusable("the DXF ends in the middle: its EOF is missing", "Fetch the file again")
    entities = sum(code.strip() == b"0" for code in content.split(b"\n")[::2])
    if entities > MOST_ENTITIES:
        raise Unusable(
            f"the DXF has {entities} entities, more than {MOST_ENTITIES}",
            "Export fewer pieces or sizes at once",
        )


def _short(error: Exception) -> str:
    return " ".join(str(error).split())[:120] or type(error).__name__


# $INSUNITS, as far as it is a unit of cloth (DXF reference, HEADER section): mm of one unit
_INSUNITS = {1: 25.4, 2: 304.8, 4: 1.0, 5: 10.0, 6: 1000.0, 10: 914.4}


def header_scales(document: Drawing) -> list[tuple[str, float]]:
    """(what says so, mm of one unit) as the header declares it; empty when it does not."""
    units: Any = document.header.get("$INSUNITS", 0)
    return [("$INSUNITS", _INSUNITS[units])] if units in _INSUNITS else []
