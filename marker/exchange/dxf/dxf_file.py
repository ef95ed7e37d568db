"""All lines and texts of a DXF file: block by block where it is a pattern by ASTM D6673, else the
model space with everything that is inserted in it."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

from marker.exchange.cloth_facts import read_cloths
from marker.exchange.dxf import standard
from marker.exchange.dxf.entities import LINES, TEXTS, layer_of, points_of, text_of
from marker.exchange.dxf.opening import header_scales, open_dxf, sound_entity
from marker.exchange.piece_text import is_piece_key, pair_in, read_pairs
from marker.exchange.strokes import (
    FLATTEN_MM,
    FURTHEST_MM,
    Layer,
    Stroke,
    Strokes,
    Text,
    layer_named,
    size_named,
)
from marker.files.budget import Budget, Most
from marker.files.faults import Unusable
from marker.geometry.arrays import FloatArray
from marker.tolerances import SAME_POINT_MM

_AS_IT_IS = np.array([[1.0, 0.0, 0.0], [0.0, 1.0, 0.0]])


class DxfFile:
    """A DXF file opened for import.

    scales : (what says so, mm of one unit); empty when nothing does, several when things differ.
    style_name, sample_size, rule_table : as it says, "" where it does not. cloths : what it says of
    them.
    """

    def __init__(self, path: Path, budget: Budget) -> None:
        self._budget = budget
        self._document = open_dxf(path)
        self._space = self._document.modelspace()
        written = list(_texts_in(self._space))
        said = read_pairs(written)
        self.cloths = read_cloths(written)
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
            layers = {layer_of(entity) for entity in self._space}
            by_number = layers <= standard.NUMBERS and bool(layers & standard.OUTLINES)
            return [_read(Strokes(budget=self._budget), self._space, _AS_IT_IS * scale, by_number)]
        beside = Strokes(budget=self._budget)
        inserted = self._inserted(beside)
        found = [self._block(name, inserted.get(name), scale, beside) for name in self._blocks]
        _read(beside, self._beside_blocks(), _AS_IT_IS * scale, by_number=True)
        others = [line for line in beside.lines if line.layer is None]
        beside.note("lines on other layers", len(others))
        beside.lines = [line for line in beside.lines if line.layer is not None]
        beside.texts = [t for t in beside.texts if is_piece_key(t.text) or not pair_in(t.text)[0]]
        return [*filter(None, found), beside]

    def _pattern_blocks(self) -> dict[str, Any]:
        """Blocks with lines on the boundary's or the sew lines' layer, in the file's order."""
        return {
            block.name: block
            for block in self._document.blocks
            if not block.is_any_layout
            and not block.name.startswith("*")
            and any(
                layer_of(e) in standard.OUTLINES and e.dxftype() in LINES - {"POINT"} for e in block
            )
        }

    def _block(
        self, name: str, insert: _Inserted | None, scale: float, beside: Strokes
    ) -> Strokes | None:
        """A block as it is inserted; one that is not, while others are, is no piece."""
        found = Strokes(name.strip(), budget=self._budget)
        if insert is None:
            if self._any_inserted:
                beside.note(f"the block '{name[:60]}', which is inserted nowhere")
                return None
            return _read(found, self._blocks[name], _AS_IT_IS * scale, by_number=True)
        if insert.times > 1:
            beside.note("blocks inserted more than once, which count once", insert.times - 1)
        for attribute in insert.attributes:
            _write(found, attribute, None, _AS_IT_IS * scale)
        return _read(found, self._blocks[name], insert.matrix * scale, by_number=True)

    def _inserted(self, beside: Strokes) -> dict[str, _Inserted]:
        """Where each pattern block is first inserted, in the model space or within other blocks."""
        found: dict[str, _Inserted] = {}

        def look_in(entities: Any, around: FloatArray, depth: int) -> None:
            for insert in entities.query("INSERT"):
                self._budget.take(Most.INSERTED)
                name = str(insert.dxf.get("name", ""))
                try:
                    with sound_entity():
                        matrix = _after(_affine(insert), around)
                except Unusable:
                    beside.note("INSERT entities that can't be read (it is broken)")
                    continue
                if name in self._blocks:
                    if name in found:
                        found[name].times += 1
                    else:
                        found[name] = _Inserted(matrix, list(insert.attribs))
                elif name in self._document.blocks and depth < Most.INSERT_DEPTH.most:
                    look_in(self._document.blocks.get(name), matrix, depth + 1)

        look_in(self._space, _AS_IT_IS, 0)
        self._any_inserted = bool(found)
        return found

    def _beside_blocks(self) -> list[Any]:
        """What stands in the model space by itself."""
        return [entity for entity in self._space if entity.dxftype() != "INSERT"]


@dataclass
class _Inserted:
    """matrix : (2, 3), from the block to the model space. times : that it is inserted."""

    matrix: FloatArray
    attributes: list[Any]
    times: int = 1


def _affine(insert: Any) -> FloatArray:
    """(2, 3): from a block's coordinates to those around its insert, seen from above."""
    matrix = insert.matrix44()
    origin, right, up = matrix.transform_vertices([(0, 0, 0), (1, 0, 0), (0, 1, 0)])
    found = np.array(
        [
            [right.x - origin.x, up.x - origin.x, origin.x],
            [right.y - origin.y, up.y - origin.y, origin.y],
        ]
    )
    if not np.isfinite(found).all():
        raise Unusable("its numbers are no places", "")
    return found


def _after(inner: FloatArray, outer: FloatArray) -> FloatArray:
    moved: FloatArray = outer[:, :2] @ inner
    moved[:, 2] += outer[:, 2]
    return moved


def _texts_in(entities: Any) -> Iterator[str]:
    for entity in entities:
        if entity.dxftype() in TEXTS:
            found = text_of(entity)
            if found is not None:
                yield found[1]


def _style_scales(said: dict[str, str]) -> list[tuple[str, float]]:
    """What the style's text 'Units' says."""
    word = said.get("units", "").lower()
    unit_mm = standard.UNIT_WORDS.get(word)
    return [] if unit_mm is None else [(f"'Units: {word}'", unit_mm)]


def _read(found: Strokes, entities: Any, matrix: FloatArray, by_number: bool) -> Strokes:
    """Everything drawn among the entities. matrix : (2, 3), from their unit to mm. by_number :
    layers mean what ASTM D6673 says."""
    lost: Counter[str] = Counter()
    for entity, layer_name in _flat(entities, found, _Around()):
        if by_number and layer_name in standard.LEFT_OUT:
            lost[standard.LEFT_OUT[layer_name]] += 1
            continue
        numbered = standard.LAYER_OF.get(layer_name) if by_number else None
        layer = numbered or layer_named(layer_name)
        size = "" if by_number else size_named(layer_name)
        kind = entity.dxftype()
        if kind in TEXTS:
            _write(found, entity, layer, matrix, size)
        elif by_number and layer_name == standard.CURVE_POINTS:
            continue  # the boundary has them too
        elif kind in LINES:
            _add(found, entity, layer, matrix, size)
        else:
            lost[f"{kind} entities"] += 1
    found.passed_over += lost
    return found


@dataclass(frozen=True)
class _Around:
    """Where inserted entities stand: the layer and depth of the insert."""

    layer: str = ""
    depth: int = 0


def _flat(entities: Any, found: Strokes, around: _Around) -> Iterator[tuple[Any, str]]:
    """Visible entities with their layers, inserted blocks resolved, however they repeat."""
    for entity in entities:
        layer = layer_of(entity)
        layer = around.layer if around.layer and layer == "0" else layer  # as DXF has it
        if around.depth:
            found.budget.take(Most.INSERTED)
        if entity.dxf.get("invisible", 0) or _is_off(entity, layer):
            found.note("hidden entities")
        elif entity.dxftype() != "INSERT":
            yield entity, layer
        elif around.depth == Most.INSERT_DEPTH.most:
            found.note("blocks inserted in one another too deep")
        else:
            inside = replace(around, layer=layer, depth=around.depth + 1)
            yield from ((attribute, layer) for attribute in entity.attribs)
            for copy in _copies(entity, found.budget):
                try:
                    with sound_entity():
                        inner = list(copy.virtual_entities())
                except Unusable:
                    found.note("INSERT entities that can't be read (it is broken)")
                    break
                yield from _flat(inner, found, inside)


def _copies(insert: Any, budget: Budget) -> Iterator[Any]:
    """The single inserts of one that repeats in rows and columns; an empty block's count too."""
    if insert.mcount <= 1:
        yield insert
        return
    Most.INSERTED.demand(insert.mcount)
    for copy in insert.multi_insert():
        budget.take(Most.INSERTED)
        yield copy


def _is_off(entity: Any, layer: str) -> bool:
    layers = entity.doc.layers
    return layer in layers and bool(layers.get(layer).is_off() or layers.get(layer).is_frozen())


def _write(
    found: Strokes, entity: Any, layer: Layer | None, matrix: FloatArray, size: str = ""
) -> None:
    read = text_of(entity)
    if read is None:
        found.note(f"{entity.dxftype()} entities that can't be read (it is broken)")
        return
    at, text = read
    found.write(Text(matrix[:, :2] @ at + matrix[:, 2], text, layer, size))


def _add(
    found: Strokes, entity: Any, layer: Layer | None, matrix: FloatArray, size: str = ""
) -> None:
    longest = float(np.linalg.norm(matrix[:, :2], ord=2))
    try:
        points, closed = points_of(entity, FLATTEN_MM / max(longest, 1e-12))
    except Unusable as fault:
        found.note(f"{entity.dxftype()} entities that can't be read ({fault.problem})")
        return
    points = points @ matrix[:, :2].T + matrix[:, 2]
    if len(points) > Most.LINE_POINTS.most or not (np.abs(points) <= FURTHEST_MM).all():
        found.note("lines that are endless or absurdly far away")
    elif len(points):
        meets = len(points) > 2 and bool(np.hypot(*(points[-1] - points[0])) <= SAME_POINT_MM)
        found.add(Stroke(points[:-1] if meets else points, closed or meets, layer, size=size))
