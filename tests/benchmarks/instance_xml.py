"""The nesting XML form in which ESICUP publishes its data sets (euro-online.org/websites/esicup).

`boards` holds one rectangular board, whose y extent is the strip's width; `lot` holds the pieces,
each with a quantity, its allowed angles and one component, which names a polygon. A polygon is a
closed chain of segments, or a list of vertices. Element and attribute names are from memory of
the published files. Some of them declare a namespace and some do not, so names are compared
without it.
"""

from __future__ import annotations

from pathlib import Path
from xml.etree import ElementTree
from xml.etree.ElementTree import Element

import numpy as np
from shapely.geometry import Polygon

from marker.files.faults import FaultList, Unusable
from marker.geometry.arrays import FloatArray
from tests.benchmarks.instance import Instance, InstancePiece, instance_outline

Point = tuple[float, float]


def read_xml(path: Path, text: str) -> Instance:
    """The instance in `text`; raises FaultyInput with every fault found."""
    faults = FaultList(path)
    width = 0.0
    pieces: list[InstancePiece] = []
    with faults.gathering(""):
        root = _tree(text)
        polygons = {polygon.get("id"): polygon for polygon in root.iterfind("polygons/polygon")}
        with faults.gathering("boards"):
            width = _strip_width(root, polygons)
        lot = root.findall("problem/lot/piece")
        if not lot:
            raise Unusable("there are no pieces in problem/lot", "Check that it is nesting XML")
        for number, piece in enumerate(lot, 1):
            with faults.gathering(f"lot, piece {piece.get('id', number)}"):
                pieces.append(_piece(piece, number, polygons))
    faults.raise_any()
    return Instance(path.stem, width, tuple(pieces))


def _tree(text: str) -> Element:
    if "<!ENTITY" in text:
        raise Unusable("it defines entities", "Write what they stand for in their place")
    try:
        root = ElementTree.fromstring(text.encode())
    except ElementTree.ParseError as error:
        raise Unusable(f"it is not XML ({error})", "Check that it is nesting XML") from error
    for element in root.iter():
        element.tag = element.tag.rpartition("}")[2]
    return root


def _strip_width(root: Element, polygons: dict[str | None, Element]) -> float:
    boards = root.findall("problem/boards/piece")
    if len(boards) != 1:
        raise Unusable(f"there are {len(boards)} boards", "A strip is one board")
    board = _outline(boards[0], polygons)
    along, across = np.ptp(board, axis=0)
    if not np.isclose(Polygon(board).area, along * across):
        raise Unusable("the board is no upright rectangle", "A strip is a rectangle")
    return float(across)


def _piece(piece: Element, number: int, polygons: dict[str | None, Element]) -> InstancePiece:
    quantity = _number(piece, "quantity")
    if quantity < 1 or quantity != int(quantity):
        raise Unusable(f"quantity is {quantity:g}", "Give a whole number, 1 or more")
    angles = piece.findall("orientation/enumeration")
    if not angles:
        raise Unusable(
            "there is no list of allowed angles",
            'Add <orientation><enumeration angle="0"/></orientation>',
        )
    turns = tuple(_number(angle, "angle") % 360.0 for angle in angles)
    name = piece.get("id", str(number))
    return InstancePiece(name, int(quantity), turns, _outline(piece, polygons))


def _outline(piece: Element, polygons: dict[str | None, Element]) -> FloatArray:
    """The outline of a piece or board made of a single component."""
    components = piece.findall("component")
    if len(components) != 1:
        raise Unusable(
            f"it has {len(components)} components", "Only pieces of one outline can be laid"
        )
    component = components[0]
    named = component.get("idPolygon")
    if named not in polygons:
        raise Unusable(f"there is no polygon '{named}'", "Name one of those in 'polygons'")
    offset = _number(component, "xOffset", 0.0), _number(component, "yOffset", 0.0)
    moved: FloatArray = instance_outline(_corners(polygons[named])) + np.array(offset)
    return moved


def _corners(polygon: Element) -> list[Point]:
    segments = polygon.findall("segments/segment")
    if not segments:
        vertices = polygon.findall("vertices/vertex")
        return [(_number(vertex, "x"), _number(vertex, "y")) for vertex in vertices]
    segments.sort(key=lambda segment: _number(segment, "n"))
    starts = [(_number(each, "x0"), _number(each, "y0")) for each in segments]
    ends = [(_number(each, "x1"), _number(each, "y1")) for each in segments]
    for index, end in enumerate(ends):
        if not np.allclose(end, starts[(index + 1) % len(starts)]):
            raise Unusable(
                f"segment {index + 1} of polygon '{polygon.get('id')}' does not end where the "
                "next one starts",
                "Number the segments in order and close the chain",
            )
    return starts


def _number(element: Element, name: str, default: float | None = None) -> float:
    text = element.get(name)
    if text is None and default is not None:
        return default
    try:
        value = float(text or "")
    except ValueError:
        value = np.nan
    if not np.isfinite(value):
        raise Unusable(f"{name} of a '{element.tag}' is {text!r}", "Give a number")
    return value
