"""All lines and texts of an SVG drawing, whatever a vector editor wrapped them in."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from xml.etree.ElementTree import Element

import numpy as np

from marker.exchange.curves import flatten
from marker.exchange.strokes import FLATTEN_MM, Layer, Stroke, Strokes, Text, layer_named
from marker.exchange.svg.drawing import (
    SHAPES,
    Drawing,
    own_scale,
    paths_of,
    read_drawing,
    tag_of,
    transform_of,
    user_units,
)
from marker.exchange.svg.style import Look, Rule, style_rules
from marker.files.faults import Unusable
from marker.geometry.arrays import FloatArray
from marker.tolerances import SAME_POINT_MM

DEEPEST = 400  # groups, and what <use> repeats inside them
MOST_ELEMENTS = 30_000
MOST_RULES_TRIED = 500_000
_HOLDERS = {"svg", "g", "a", "switch"}
_NOT_DRAWN = {"defs", "symbol", "clipPath", "mask", "marker", "pattern", "metadata", "style"}
_SAYS_NOTHING = {"title", "desc", "namedview", ""}
_MADE_UP = re.compile(r"([a-z]{1,14}[-_ ]?)?[\d._-]+", re.IGNORECASE)  # 'path1234', 'rect_5-2'


@dataclass(frozen=True)
class _Place:
    """Where an element stands: what is around it decides its transform, look, layer and name."""

    to_mm: FloatArray
    look: Look
    layer: Layer | None = None
    name: str = ""
    depth: int = 0


class SvgFile:
    """An SVG drawing opened for import.

    scales : (what says so, mm of one user unit, along x), empty when the drawing does not say.
    """

    def __init__(self, path: Path) -> None:
        self._drawing: Drawing = read_drawing(path)
        self._rules: list[Rule] = style_rules(self._drawing.root)
        self._walked = 0
        self._own = own_scale(self._drawing.root)
        self.scales = [("its width, height and viewBox", self._own[0])] if self._own else []

    def strokes(self, unit_mm: float | None) -> list[Strokes]:
        """Its lines and texts; `unit_mm` overrides the drawing's own scale, None keeps it."""
        across, down = self._own if self._own and unit_mm is None else (unit_mm or 1.0,) * 2
        found = Strokes()
        place = _Place(np.diag([across, -down, 1.0]), Look({}))
        self._gather(self._drawing.root, place, found, top=True)
        return [found]

    def _gather(self, element: Element, around: _Place, found: Strokes, top: bool = False) -> None:
        tag = tag_of(element)
        if tag in _NOT_DRAWN or tag in _SAYS_NOTHING:
            return
        self._walk_on(around.depth)
        look = around.look.inside(element, self._rules)
        if not look.shown:
            found.passed_over["hidden elements"] += 1
            return
        try:
            to_mm = around.to_mm @ transform_of(element)
        except Unusable as fault:
            found.passed_over[f"elements that can't be placed ({fault.problem})"] += 1
            return
        place = replace(around, to_mm=to_mm, look=look, depth=around.depth + 1)
        place = _named(place, element)
        if tag == "use":
            self._gather_use(element, place, found)
        elif tag in _HOLDERS and (top or tag != "svg"):
            for inner in element:
                self._gather(inner, place, found)
        elif tag in SHAPES:
            _add_shape(element, place, found)
        elif tag == "text":
            for text in _texts(element, place):
                found.write(text)
        else:
            found.passed_over[f"<{tag}> elements"] += 1

    def _walk_on(self, depth: int) -> None:
        """Count the elements; a few that repeat one another can stand for millions."""
        self._walked += 1
        if self._walked > MOST_ELEMENTS or self._walked * len(self._rules) > MOST_RULES_TRIED:
            raise Unusable(
                "the drawing has too many elements, or too many rules in its style sheets",
                "Save the pattern's lines alone, as a plain SVG drawing",
            )
        if depth > DEEPEST:
            raise Unusable(
                f"its elements are nested deeper than {DEEPEST}, or repeat themselves",
                "Save it without <use>",
            )

    def _gather_use(self, element: Element, place: _Place, found: Strokes) -> None:
        reference = next(
            (value for key, value in element.items() if key.rsplit("}", 1)[-1] == "href"), ""
        )
        target = self._drawing.by_id.get(reference.strip().removeprefix("#"))
        if target is None:
            found.passed_over["<use> of something that is not there"] += 1
            return
        x, y = (user_units(element.get(key, "0")) or 0.0 for key in ("x", "y"))
        moved = place.to_mm @ np.array([[1.0, 0.0, x], [0.0, 1.0, y], [0.0, 0.0, 1.0]])
        used = replace(place, to_mm=moved)
        if tag_of(target) == "symbol":
            for inner in target:
                self._gather(inner, used, found)
        else:
            self._gather(target, used, found)


def _named(place: _Place, element: Element) -> _Place:
    """The place with the layer and name that an element gives; the outermost layer holds."""
    given = [value for key, value in element.items() if key.rsplit("}", 1)[-1] == "label"]
    given.append(element.get("id", ""))
    if place.layer is None:
        classes = element.get("class", "").split()
        layer = next((layer for name in (*given, *classes) if (layer := layer_named(name))), None)
        if layer is not None:
            return replace(place, layer=layer)
    if tag_of(element) == "svg":
        return place
    title = next((inner.text or "" for inner in element if tag_of(inner) == "title"), "")
    words = [title] + [
        re.sub(r"[-_]+", " ", name) for name in given if not _MADE_UP.fullmatch(name)
    ]
    name = next((" ".join(text.split()) for text in words if text.strip()), "")
    return replace(place, name=name or place.name)


def _add_shape(shape: Element, place: _Place, found: Strokes) -> None:
    if not place.look.lined:
        found.passed_over["shapes without a line"] += 1
        return
    tolerance = FLATTEN_MM / max(float(np.linalg.norm(place.to_mm[:2, :2], ord=2)), 1e-12)
    try:
        drawn = [flatten(path, tolerance) for path in paths_of(shape)]
    except Unusable as fault:
        found.passed_over[f"shapes that can't be read ({fault.problem})"] += 1
        return
    for points, _, has_z in drawn:
        points = points @ place.to_mm[:2, :2].T + place.to_mm[:2, 2]
        meets = len(points) > 2 and bool(np.hypot(*(points[-1] - points[0])) <= SAME_POINT_MM)
        ring = points[:-1] if meets else points
        found.add(Stroke(ring, has_z or meets, place.layer, place.name))


def _texts(element: Element, place: _Place) -> Iterator[Text]:
    """The lines of a text element, all where it begins."""
    lines = [line for line in _lines(element) if line]
    begins = [element, *element]
    x, y = (
        next((number for e in begins if (number := _first(e.get(key))) is not None), 0.0)
        for key in ("x", "y")
    )
    at = place.to_mm[:2, :2] @ np.array([x, y]) + place.to_mm[:2, 2]
    yield from (Text(at, line) for line in lines)


def _lines(element: Element) -> Iterator[str]:
    """Each <tspan> that has a place of its own begins a line."""
    words = [element.text or ""]
    for inner in element:
        if tag_of(inner) != "tspan":
            continue
        if inner.get("y") is not None or inner.get("dy") is not None:
            yield " ".join("".join(words).split())
            words = []
        words += ["".join(inner.itertext()), inner.tail or ""]
    yield " ".join("".join(words).split())


def _first(text: str | None) -> float | None:
    """The first of the numbers that a text's x or y may list."""
    parts = re.split(r"[\s,]+", (text or "").strip())
    return user_units(parts[0])
