"""What of an SVG drawing is to be seen: attributes, style attributes and style sheets say so, and
clip paths and windows (CSS Masking 1, section 6).

Of CSS only what vector editors write for that: rules for classes, ids and element names (Selectors
Level 4; the more specific rule wins, then the later one), without combinators.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from xml.etree.ElementTree import Element

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from marker.exchange.curves import flatten
from marker.exchange.strokes import FLATTEN_MM, Stroke
from marker.exchange.svg.drawing import SHAPES, Drawing, paths_of, tag_of, transform_of
from marker.files.faults import Unusable
from marker.geometry.arrays import FloatArray

_SELECTOR = re.compile(r"(\*|[\w-]+)?((?:[.#][\w-]+)*)")
_PROPERTIES = (
    "display", "visibility", "stroke", "fill", "fill-rule", "opacity", "stroke-opacity",
    "stroke-width", "clip-path",
)  # fmt: skip
_INHERITED = ("visibility", "stroke", "fill", "fill-rule", "stroke-opacity", "stroke-width")
_CLEAR = re.compile(
    r"none|transparent|#[0-9a-f]{3}0|#[0-9a-f]{6}00|(?:rgba?|hsla?)\(.*[,/]\s*0?\.?0*%?\s*\)"
)
_NOTHING = re.compile(r"[-+]?0*\.?0*(?:[a-z]+|%)?")


@dataclass(frozen=True)
class Rule:
    """What one simple selector says. parts : '.class' and '#id'."""

    tag: str
    parts: frozenset[str]
    values: dict[str, str]

    @property
    def weight(self) -> tuple[int, int, bool]:
        """Of its ids, its classes and its element's name."""
        ids = sum(part.startswith("#") for part in self.parts)
        return ids, len(self.parts) - ids, self.tag not in ("", "*")


def style_rules(root: Element) -> list[Rule]:
    """The rules of all style sheets in a drawing, the weightiest last."""
    rules = []
    for sheet in root.iter():
        if tag_of(sheet) != "style":
            continue
        for selectors, body in _rules_in("".join(sheet.itertext())):
            values = _declarations(body)
            for selector in selectors.split(",") if values else ():
                found = _SELECTOR.fullmatch(selector.strip())
                if found and found[0]:
                    parts = frozenset(re.findall(r"[.#][\w-]+", found[2]))
                    rules.append(Rule(found[1] or "", parts, values))
    return sorted(rules, key=lambda rule: rule.weight)


def _rules_in(text: str) -> Iterator[tuple[str, str]]:
    """Selectors and body of each rule of a style sheet, without comments."""
    first, *others = text.split("/*")
    bare = first + "".join(part.partition("*/")[2] for part in others)
    *closed, _ = bare.split("}")
    for part in closed:
        _, brace, rule = part.rpartition("{")
        if brace:
            yield part[: -len(rule) - 1].rpartition("{")[2], rule


def _plain(key: str, value: str) -> str:
    """The value in small letters, but for an id in it."""
    value = value.replace("!important", "").strip()
    return value if key.strip().lower() == "clip-path" else value.lower()


def _declarations(text: str) -> dict[str, str]:
    found = {}
    for declaration in text.split(";"):
        key, _, value = declaration.partition(":")
        if key.strip().lower() in _PROPERTIES:
            found[key.strip().lower()] = _plain(key, value)
    return found


@dataclass(frozen=True)
class Look:
    """What of an element's style decides whether it draws a line."""

    values: dict[str, str]

    def inside(self, element: Element, rules: list[Rule]) -> Look:
        """The look of an element within this one."""
        values = {key: self.values[key] for key in _INHERITED if key in self.values}
        for key in _PROPERTIES:
            if element.get(key) is not None:
                values[key] = _plain(key, element.get(key, ""))
        known = {f".{name}" for name in element.get("class", "").split()}
        known.add(f"#{element.get('id', '')}")
        tags = ("", "*", tag_of(element))
        for rule in rules:
            if rule.parts <= known and rule.tag in tags:
                values |= rule.values
        values |= _declarations(element.get("style", ""))
        return Look({key: value for key, value in values.items() if value != "inherit"})

    @property
    def shown(self) -> bool:
        """Whether the element and what is in it is drawn at all."""
        return self.values.get("display") != "none" and not _is_nothing(self.values.get("opacity"))

    @property
    def lined(self) -> bool:
        """Whether a shape draws a line; one that says nothing of its line is taken for one."""
        values = self.values
        visible = values.get("visibility") not in ("hidden", "collapse")
        width, opacity = values.get("stroke-width"), values.get("stroke-opacity")
        clear = _CLEAR.fullmatch(values.get("stroke", "")) is not None
        return visible and not (clear or _is_nothing(width) or _is_nothing(opacity))

    @property
    def clip(self) -> str:
        """The id of the clip path around it, "" for none."""
        found = re.fullmatch(
            r"url\(\s*['\"]?#([^'\")]+)['\"]?\s*\)", self.values.get("clip-path", "")
        )
        return found[1] if found else ""


def _is_nothing(value: str | None) -> bool:
    """Whether a number, with whatever unit, is 0."""
    return value is not None and any(map(str.isdigit, value)) and bool(_NOTHING.fullmatch(value))


_MOST_SHAPES = 200  # in one clip path
_TOUCHING_MM = 0.01  # a line on the edge of what is shown is shown


def window(to_mm: FloatArray, width: float, height: float) -> shapely.Polygon:
    """What is shown through a window of a drawing, mm."""
    corners = np.array([[0.0, 0.0], [width, 0.0], [width, height], [0.0, height]])
    return shapely.Polygon(_moved(corners, to_mm))


def clip_path(
    drawing: Drawing, name: str, element: Element, to_mm: FloatArray
) -> BaseGeometry | None:
    """The region of the clip path with that id, mm; None where there is none.

    to_mm : (3, 3), from the coordinates of `element`, which it clips. Raises Unusable for a clip
    path that can't be read.
    """
    path = drawing.by_id.get(name)
    if path is None or tag_of(path) != "clipPath":
        return None
    inside = to_mm @ transform_of(path)
    if path.get("clipPathUnits") == "objectBoundingBox":
        inside = inside @ _box_of(element)
    shapes = [inner for inner in path.iter() if tag_of(inner) in SHAPES][:_MOST_SHAPES]
    regions = []
    for shape in shapes:
        at = inside @ transform_of(shape)
        tolerance = FLATTEN_MM / max(float(np.linalg.norm(at[:2, :2], ord=2)), 1e-12)
        for part in paths_of(shape):
            points, _, _ = flatten(part, tolerance)
            if len(points) > 2:
                regions.append(shapely.make_valid(shapely.Polygon(_moved(points, at))))
    return shapely.unary_union(regions)


def clipped(line: Stroke, region: BaseGeometry | None) -> Iterator[Stroke]:
    """The parts of a line that are shown in a region; all of it where that is None."""
    if region is None:
        yield line
        return
    points = np.vstack([line.points, line.points[:1]]) if line.closed else line.points
    shape = shapely.LineString(points) if len(points) > 1 else shapely.Point(points[0])
    shown = region.buffer(_TOUCHING_MM)
    if shown.covers(shape):
        yield line
        return
    for part in shapely.get_parts(shapely.intersection(shape, shown)):
        if isinstance(part, shapely.LineString) and not part.is_empty:
            yield replace(line, points=shapely.get_coordinates(part), closed=False, shape=0)


def _box_of(element: Element) -> FloatArray:
    """(3, 3): from the unit square to the box around a shape, in its own coordinates."""
    if tag_of(element) not in (*SHAPES, "line"):
        raise Unusable("its clip path counts in parts of a group", "Save it without clip paths")
    boxes = np.array([path.bbox() for path in paths_of(element)], dtype=np.float64)
    low, high = boxes[:, :2].min(axis=0), boxes[:, 2:].max(axis=0)
    across, down = high - low
    return np.array([[across, 0.0, low[0]], [0.0, down, low[1]], [0.0, 0.0, 1.0]])


def _moved(points: FloatArray, to_mm: FloatArray) -> FloatArray:
    moved: FloatArray = points @ to_mm[:2, :2].T + to_mm[:2, 2]
    return moved
