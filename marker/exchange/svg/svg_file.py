"""All lines and texts of an SVG drawing, whatever a vector editor wrapped them in."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from xml.etree.ElementTree import Element

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from marker.exchange.cloth_facts import read_cloths
from marker.exchange.curves import flatten
from marker.exchange.strokes import (
    FLATTEN_MM,
    Layer,
    Stroke,
    Strokes,
    Text,
    layer_named,
    size_named,
)
from marker.exchange.svg.drawing import (
    SHAPES,
    Drawing,
    own_scale,
    paths_of,
    read_drawing,
    tag_of,
    transform_of,
    user_units,
    view_box,
    viewport,
)
from marker.exchange.svg.seen import Look, Rule, clip_path, clipped, style_rules, window
from marker.files.budget import Budget, Most
from marker.files.faults import Unusable
from marker.geometry.arrays import FloatArray
from marker.tolerances import SAME_POINT_MM

_HOLDERS = {"svg", "g", "a", "switch"}
_NOT_DRAWN = {"defs", "symbol", "clipPath", "mask", "marker", "pattern", "metadata", "style"}
_SAYS_NOTHING = {"title", "desc", "namedview", ""}
_MADE_UP = re.compile(r"([a-z]{1,14}[-_ ]?)?[\d._-]+", re.IGNORECASE)  # 'path1234', 'rect_5-2'
_CODED = re.compile(r"_x([0-9A-Fa-f]{2,5})_")  # '_x5F_', '_x0020_': signs that an id can't hold


@dataclass(frozen=True)
class _Place:
    """Where an element stands: what is around it decides its transform, look, layer and name.

    viewport : width and height that percentages are of, user units. clip : what of it is shown, mm;
    None for all.
    """

    to_mm: FloatArray
    look: Look
    viewport: tuple[float, float]
    layer: Layer | None = None
    size: str = ""
    name: str = ""
    depth: int = 0
    clip: BaseGeometry | None = None


class SvgFile:
    """An SVG drawing opened for import.

    scales : (what says so, mm of one user unit, along x), empty when the drawing does not say.
    guess_mm : what it is read by then, until somebody says it: CSS's pixel.
    cloths : what it says of them.
    """

    def __init__(self, path: Path, budget: Budget) -> None:
        self._budget = budget
        self._drawing: Drawing = read_drawing(path)
        self._rules: list[Rule] = style_rules(self._drawing.root)
        self._shapes = 0
        self._own = own_scale(self._drawing.root)
        self.guess_mm = 25.4 / 96
        told = [e.text or "" for e in self._drawing.root if tag_of(e) == "desc"]
        self.cloths = read_cloths(told)
        self.scales = [("its width, height and viewBox", self._own[0])] if self._own else []

    def strokes(self, unit_mm: float | None) -> list[Strokes]:
        """Its lines and texts; `unit_mm` overrides the drawing's own scale, None keeps it."""
        across, down = (unit_mm or self.guess_mm,) * 2
        if self._own and unit_mm is None:
            across, down = self._own
        found = Strokes(budget=self._budget)
        box = view_box(self._drawing.root)
        if box is not None:
            found.pages_mm.append((float(box[2] * across), float(box[3] * down)))
        shown = (1000.0, 1000.0) if box is None else (float(box[2]), float(box[3]))
        place = _Place(np.diag([across, -down, 1.0]), Look({}), shown)
        self._gather(self._drawing.root, place, found, top=True)
        return [found]

    def _gather(self, element: Element, around: _Place, found: Strokes, top: bool = False) -> None:
        tag = tag_of(element)
        if tag in _NOT_DRAWN or tag in _SAYS_NOTHING:
            return
        self._walk_on(around.depth)
        look = around.look.inside(element, self._rules)
        if not look.shown:
            found.note("hidden elements")
            return
        try:
            place = self._placed(element, around, look, top)
        except Unusable as fault:
            found.note(f"elements that can't be placed ({fault.problem})")
            return
        place = _named(place, element)
        if tag == "use":
            self._gather_use(element, place, found)
        elif tag in _HOLDERS:
            for inner in element:
                self._gather(inner, place, found)
        elif tag in SHAPES or tag == "line":
            self._add_shape(element, place, found)
        elif tag == "text":
            for text in _texts(element, place):
                found.write(text)
        else:
            found.note(f"<{tag}> elements")

    def _placed(self, element: Element, around: _Place, look: Look, top: bool) -> _Place:
        """Where an element stands within what is around it."""
        place = replace(
            around,
            to_mm=around.to_mm @ transform_of(element),
            look=look,
            depth=around.depth + 1,
        )
        if tag_of(element) == "svg" and not top:
            x, y = (
                _length(element.get(key), around.viewport[k]) or 0.0 for k, key in enumerate("xy")
            )
            place = replace(place, to_mm=place.to_mm @ _shift(x, y))
            place = _through_window(place, element, element)
        if look.clip:
            region = clip_path(self._drawing, look.clip, element, place.to_mm)
            place = replace(place, clip=_both(place.clip, region))
        return place

    def _walk_on(self, depth: int) -> None:
        """Count the elements; a few that repeat one another can stand for millions."""
        Most.USE_DEPTH.demand(depth)
        self._budget.take(Most.SVG_ELEMENTS)
        self._budget.take(Most.STYLE_RULES, len(self._rules))

    def _gather_use(self, element: Element, place: _Place, found: Strokes) -> None:
        reference = next(
            (value for key, value in element.items() if key.rsplit("}", 1)[-1] == "href"), ""
        )
        target = self._drawing.by_id.get(reference.strip().removeprefix("#"))
        if target is None:
            found.note("<use> of something that is not there")
            return
        x, y = (_length(element.get(key), place.viewport[k]) or 0.0 for k, key in enumerate("xy"))
        used = replace(place, to_mm=place.to_mm @ _shift(x, y))
        if tag_of(target) != "symbol":
            self._gather(target, used, found)
            return
        try:
            used = _through_window(used, target, element)
        except Unusable as fault:
            found.note(f"elements that can't be placed ({fault.problem})")
            return
        for inner in target:
            self._gather(inner, used, found)

    def _add_shape(self, shape: Element, place: _Place, found: Strokes) -> None:
        if not place.look.lined:
            found.note("shapes without a line")
            return
        tolerance = FLATTEN_MM / max(float(np.linalg.norm(place.to_mm[:2, :2], ord=2)), 1e-12)
        try:
            drawn = [flatten(path, tolerance) for path in paths_of(shape)]
        except Unusable as fault:
            found.note(f"shapes that can't be read ({fault.problem})")
            return
        self._shapes += 1
        number = self._shapes if len(drawn) > 1 else 0
        for points, _, has_z in drawn:
            points = points @ place.to_mm[:2, :2].T + place.to_mm[:2, 2]
            meets = len(points) > 2 and bool(np.hypot(*(points[-1] - points[0])) <= SAME_POINT_MM)
            ring = points[:-1] if meets else points
            line = Stroke(ring, has_z or meets, place.layer, place.name, place.size, number)
            parts = list(clipped(line, place.clip))
            for part in parts:
                found.add(part)
            found.note("lines that lie outside their clip path", int(not parts))


def _through_window(place: _Place, element: Element, sized: Element) -> _Place:
    """The place inside an element with a viewBox. sized : what says how large it is shown."""
    width, height = (
        place.viewport[k] if (size := _length(sized.get(key), place.viewport[k])) is None else size
        for k, key in enumerate(("width", "height"))
    )
    shown = place.to_mm
    inside = shown @ viewport(element, width, height)
    box = view_box(element)
    clip = place.clip
    if element.get("overflow", "hidden") not in ("visible", "auto") and sized.get("width"):
        clip = _both(clip, window(shown, width, height))
    within = (width, height) if box is None else (float(box[2]), float(box[3]))
    return replace(place, to_mm=inside, viewport=within, clip=clip)


def _both(one: BaseGeometry | None, other: BaseGeometry | None) -> BaseGeometry | None:
    if one is None or other is None:
        return one if other is None else other
    return shapely.intersection(one, other)


def _shift(x: float, y: float) -> FloatArray:
    return np.array([[1.0, 0.0, x], [0.0, 1.0, y], [0.0, 0.0, 1.0]])


def _length(text: str | None, whole: float) -> float | None:
    """A length in user units; a percentage is of `whole`."""
    if text is not None and text.strip().endswith("%"):
        share = user_units(text.strip()[:-1])
        return None if share is None else share * whole / 100
    return None if text is None else user_units(text)


def _named(place: _Place, element: Element) -> _Place:
    """The place with the layer, size and name that an element gives; the outermost layer and size
    hold."""
    given = [value for key, value in element.items() if key.rsplit("}", 1)[-1] == "label"]
    given.append(element.get("id", ""))
    given = [_CODED.sub(lambda code: chr(int(code[1], 16)), name) for name in given]
    if place.layer is None:
        classes = element.get("class", "").split()
        layer = next((layer for name in (*given, *classes) if (layer := layer_named(name))), None)
        if layer is not None:
            return replace(place, layer=layer)
    if tag_of(element) == "g" and not place.size:
        size = next(filter(None, map(size_named, given)), "")
        if size:
            return replace(place, size=size)
    if tag_of(element) == "svg":
        return place
    title = next((inner.text or "" for inner in element if tag_of(inner) == "title"), "")
    words = [title] + [
        re.sub(r"[-_]+", " ", name) for name in given if not _MADE_UP.fullmatch(name)
    ]
    name = next((" ".join(text.split()) for text in words if text.strip()), "")
    return replace(place, name=name or place.name)


def _texts(element: Element, place: _Place) -> Iterator[Text]:
    """The lines of a text element, all where it begins."""
    lines = [line for line in _lines(element) if line]
    begins = [element, *element]
    x, y = (
        next((number for e in begins if (number := _first(e.get(key))) is not None), 0.0)
        for key in ("x", "y")
    )
    at = place.to_mm[:2, :2] @ np.array([x, y]) + place.to_mm[:2, 2]
    yield from (Text(at, line, place.layer, place.size) for line in lines)


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
