"""What an SVG page shows, read by its own attributes; paper mm, y up."""

from __future__ import annotations

import re
from dataclasses import dataclass
from xml.etree import ElementTree

import numpy as np
import shapely
from shapely import affinity
from shapely.geometry.base import BaseGeometry

from marker.geometry.arrays import FloatArray

SVG = "{http://www.w3.org/2000/svg}"


@dataclass(frozen=True)
class ShownLine:
    """A path: what it is named, the piece it belongs to, its runs."""

    name: str
    piece: str
    filled: bool
    runs: tuple[FloatArray, ...]

    @property
    def line(self) -> BaseGeometry:
        """All runs."""
        return shapely.union_all([shapely.LineString(run) for run in self.runs if len(run) > 1])


@dataclass(frozen=True)
class ShownText:
    """A text, the piece it belongs to, and what its letters cover between baseline and tops."""

    text: str
    piece: str
    box: BaseGeometry


def read_svg(svg: bytes) -> tuple[list[ShownLine], list[ShownText]]:
    root = ElementTree.fromstring(svg)
    high = float(root.attrib["viewBox"].split()[3])
    lines: list[ShownLine] = []
    texts: list[ShownText] = []
    for group in (root, *root.iter(f"{SVG}g")):
        piece = group.attrib.get("data-piece", "")
        for path in group.findall(f"{SVG}path"):
            name = path.attrib.get("data-name", "")
            filled = path.attrib["fill"] != "none"
            lines.append(ShownLine(name, piece, filled, _runs(path.attrib["d"], high)))
        for text in group.findall(f"{SVG}text"):
            texts.append(ShownText(text.text or "", piece, _box(text, high)))
    return lines, texts


def _runs(data: str, high: float) -> tuple[FloatArray, ...]:
    runs = []
    for part in filter(None, data.split("M")):
        points = np.array(re.findall(r"(-?[\d.]+) (-?[\d.]+)", part), dtype=np.float64)
        points[:, 1] = high - points[:, 1]
        runs.append(np.vstack([points, points[:1]]) if part.endswith("Z") else points)
    return tuple(runs)


def _box(text: ElementTree.Element, high: float) -> BaseGeometry:
    """Capitals are 0.73 of the size high in DejaVu Sans."""
    x, y = float(text.attrib["x"]), high - float(text.attrib["y"])
    size, long = float(text.attrib["font-size"]), float(text.attrib["textLength"])
    upright = shapely.box(x, y, x + long, y + 0.73 * size)
    turned = re.search(r"rotate\(([-\d.]+)", text.attrib.get("transform", ""))
    box: BaseGeometry = affinity.rotate(
        upright, -float(turned[1]) if turned else 0.0, origin=(x, y)
    )
    return box
