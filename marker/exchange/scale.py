"""What one unit of a drawing measures: what says so, what is doubtful about it, what to answer.

Squares that are printed beside a pattern check its scale.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import numpy as np
import shapely

from marker.errors import Fault, FaultyInput
from marker.exchange.strokes import ScaleSquare, Stroke, Text
from marker.geometry.arrays import FloatArray
from marker.units import inches, metric

UNITS = (("mm", 1.0), ("cm", 10.0), ("in", 25.4))
PIXEL = ("1/96 in", 25.4 / 96)  # CSS Values and Units 4, section 6.2
# the longest piece of a garment lies between these: common practice, no source
PLAUSIBLE_MM = (50.0, 4000.0)

Choice = tuple[str, float]
"""A unit as `--units` takes it, and its mm."""


@dataclass(frozen=True)
class Scale:
    """What is known of the scale of one drawing.

    said : what in the drawing says what one unit measures, "" for nothing.
    unit_mm : that measure, or the one that was given instead.
    longest : of its largest piece, in drawing units.
    doubt : why the scale must be asked for, "" when it is known.
    choices : units that it may be drawn in, the likeliest first.
    squares : those printed to check the scale by, measured at `unit_mm`.
    """

    file: Path
    said: str
    unit_mm: float
    longest: float
    doubt: str
    choices: tuple[Choice, ...] = UNITS
    squares: tuple[ScaleSquare, ...] = ()


class ScaleUnknown(FaultyInput):
    """A drawing's scale is missing or can't be right, and nobody has said what it is."""

    def __init__(self, scales: Sequence[Scale]) -> None:
        self.scales = tuple(scales)
        super().__init__(
            Fault(
                str(scale.file),
                f"{scale.doubt}; the longest piece measures {scale.longest:.6g} units, which is "
                + ", ".join(
                    f"{_both(scale.longest * mm)} if a unit is {unit}" for unit, mm in scale.choices
                ),
                "Measure the pattern and say what one unit is: --units "
                + ", ".join(f'"{unit}"' if " " in unit else unit for unit, _ in scale.choices)
                + " or another length",
            )
            for scale in scales
        )


def scale_of(
    file: Path,
    said: Sequence[Choice],
    used_mm: float,
    longest_mm: float,
    squares: Sequence[ScaleSquare],
    usual: Sequence[Choice],
) -> Scale:
    """The scale of a drawing read with `used_mm` to a unit.

    said : what says what one unit measures, and that. longest_mm : of its largest piece, so read.
    usual : units that such a drawing is often made in.
    """
    doubt, choices = "", tuple(usual)
    off = [square for square in squares if abs(square.off) > TRUE]
    if off:
        doubt = square_words(max(off, key=lambda square: abs(square.off)))
        choices = tuple(dict.fromkeys(_true_unit(square, used_mm) for square in off))
        choices = (*choices, *([(f"{used_mm:.6g} mm", used_mm)] if said else usual))
    if not said:
        without = "the drawing does not say what one unit measures"
        doubt = f"{without}; at {used_mm:.4g} mm, {doubt}" if doubt else without
    elif len({mm for _, mm in said}) > 1:
        doubt = "the drawing says that one unit is " + " and ".join(
            f"{mm:g} mm ({what})" for what, mm in said
        )
    elif not doubt and not PLAUSIBLE_MM[0] <= longest_mm <= PLAUSIBLE_MM[1]:
        doubt = f"by {said[0][0]} its longest piece would measure {_both(longest_mm)}"
    return Scale(
        file,
        " and ".join(what for what, _ in said),
        used_mm,
        longest_mm / used_mm,
        doubt,
        choices,
        tuple(squares),
    )


def _true_unit(square: ScaleSquare, used_mm: float) -> Choice:
    """The unit by which a square measures what it says."""
    measured = (square.across_mm + square.up_mm) / 2
    mm = used_mm * square.says_mm / measured
    return f"{mm:.6g} mm", mm


def _both(mm: float) -> str:
    return f"{metric(mm)} ({inches(mm)})"


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
