"""Squares that are printed beside a pattern to check its scale by, and what they measure."""

from __future__ import annotations

import re
from collections.abc import Sequence
from fractions import Fraction

import numpy as np
import shapely

from marker.exchange.strokes import ScaleSquare, Stroke, Text
from marker.geometry.arrays import FloatArray
from marker.units import inches, metric

USUAL_MM = (25.4, 50.0, 50.8, 100.0, 101.6)  # common practice, no source
TRUE = 0.005  # a side this far off, relatively, is as it should be
_UNMARKED = 0.07  # so far off, a square without a word may still be meant as one
_MARKED = 0.30  # so far off, a length written in a square may be its side
_ASKEW = 0.05  # its two sides differ by no more: pages are sometimes printed wider than long
_BESIDE_MM = 12.0  # from a square to a text that speaks of it
_LENGTH = re.compile(
    r"(?<![\w.,/])(\d+\s+\d+/\d+|\d+/\d+|\d+(?:[.,]\d+)?)\s*(mm|cm|inch(?:es)?|in\b|[\"″”])",
    re.IGNORECASE,
)
_WORDS = re.compile(
    r"\b(test|scale|check|control|calibrat\w*|prüf\w*|kontroll\w*|skala|maßstab"
    r"|contr[oô]le|échelle|prueba|escala|prova|scala)\b",
    re.IGNORECASE,
)


def scale_square(ring: Stroke, texts: Sequence[Text], strictly: bool) -> ScaleSquare | None:
    """What a closed line measures and says, if it is a square to check the scale by.

    A text in it, or its name, says its length or what it is for. Without a word it is one where
    it is about as large as those usually are, and bears no name. strictly : then only if it is
    just so large, as where the scale has been told.
    """
    corners = _corners(ring.points)
    if corners is None:
        return None
    across, up = np.ptp(corners, axis=0).tolist()
    words = [text.text for text in texts] + [ring.name]
    said = [mm for word in words for mm in _lengths(word) if _near(across, up, mm, _MARKED)]
    marked = bool(said) or any(_WORDS.search(word) for word in words)
    if not said:
        if not marked and any(word.strip() for word in words):
            return None  # a piece with a name
        within = _MARKED / 2 if marked else TRUE if strictly else _UNMARKED
        said = [mm for mm in USUAL_MM if _near(across, up, mm, within)]
    if not said or (not marked and abs(across - up) > TRUE * up):
        return None
    says = min(said, key=lambda mm: abs(across - mm) + abs(up - mm))
    return ScaleSquare(across, up, says, marked)


def speak_of(ring: Stroke, texts: Sequence[Text], others: Sequence[Stroke]) -> list[Text]:
    """The texts in a ring, or just beside it that name a length and lie in no other ring."""
    region = shapely.Polygon(ring.points)
    found = []
    for text in texts:
        point = shapely.Point(text.at)
        if region.covers(point):
            found.append(text)
        elif region.distance(point) <= _BESIDE_MM and _WORDS.search(text.text):
            around = [other for other in others if other is not ring]
            if not any(
                shapely.Polygon(other.points).covers(point) and not _holds(other, ring)
                for other in around
            ):
                found.append(text)
    return found


def square_words(square: ScaleSquare) -> str:
    """'a test square of 10 cm (4 in) measures 94 mm × 94 mm'."""
    sides = f"{square.across_mm:.2f} × {square.up_mm:.2f} mm"
    meant = f"{metric(square.says_mm)} ({inches(square.says_mm)})"
    if abs(square.off) <= TRUE:
        return f"a test square of {meant} measures {sides}, as it should"
    kind = "a test square" if square.marked else "a square, perhaps a test square,"
    return f"{kind} of {meant} measures {sides}, {100 * (1 + square.off):.2f} % of that"


def _holds(outer: Stroke, inner: Stroke) -> bool:
    return bool(shapely.Polygon(outer.points).contains(shapely.Polygon(inner.points)))


def _near(across: float, up: float, mm: float, share: float) -> bool:
    return abs(across - mm) <= share * mm and abs(up - mm) <= share * mm


def _corners(points: FloatArray) -> FloatArray | None:
    """The four corners of an upright square, nearly, however many points it is drawn with."""
    across, up = np.ptp(points, axis=0)
    if not 0 < across < 2 * max(USUAL_MM) or not abs(across - up) <= _ASKEW * max(across, up):
        return None
    ring = shapely.Polygon(points)
    box = shapely.box(*ring.bounds)
    return points if ring.is_valid and box.area - ring.area <= 0.01 * box.area else None


def _lengths(text: str) -> list[float]:
    """The lengths that a text names, mm."""
    found = []
    for number, unit in _LENGTH.findall(text[:200]):
        parts = [part.replace(",", ".") for part in number.split()]
        value = sum(float(Fraction(part)) for part in parts if not re.search(r"/0+$", part))
        mm = {"mm": 1.0, "cm": 10.0}.get(unit.lower(), 25.4)
        found.append(value * mm)
    return found
