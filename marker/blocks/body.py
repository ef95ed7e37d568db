"""A body's measures: which there are, what a size table has for them, what no body can have.

Ease is how much larger than the body a garment is, by its kind and by how far its cloth stretches.

Bust, waist and hip by size are EN 13402-3's secondary women's sizes, those of children by height
the same standard's, all from memory. Every other figure is common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, fields

import numpy as np

# size -> bust, waist, hip in mm
SIZES: dict[str, tuple[float, float, float]] = {
    "116": (600, 550, 650),
    "128": (650, 570, 710),
    "140": (710, 590, 780),
    "32": (760, 600, 840),
    "34": (800, 640, 880),
    "36": (840, 680, 920),
    "38": (880, 720, 960),
    "40": (920, 760, 1000),
    "42": (960, 800, 1040),
    "44": (1000, 840, 1080),
    "46": (1040, 880, 1120),
    "48": (1100, 940, 1170),
    "50": (1160, 1000, 1220),
    "52": (1220, 1060, 1270),
    "54": (1280, 1120, 1320),
    "56": (1340, 1180, 1370),
    "58": (1400, 1240, 1420),
    "60": (1460, 1300, 1470),
    "62": (1520, 1360, 1520),
    "64": (1580, 1420, 1570),  # goes on as the sizes before it
    "66": (1640, 1480, 1620),
}
_GIRTHS = ("bust", "waist", "hip")
_ANCHORS = (600.0, 760.0, 880.0, 1040.0, 1520.0)  # busts at which the other measures are listed


@dataclass(frozen=True)
class Measure:
    """A measure of the body.

    says : how it is taken. low_mm, high_mm : what a body can have. at_mm : its usual figure at each
        anchor bust, None for the girths that have a table.
    """

    name: str
    says: str
    low_mm: float
    high_mm: float
    at_mm: tuple[float, ...] | None = None


def _measure(says: str, low: float, high: float, at: tuple[float, ...] | None = None) -> float:
    measured: float = field(metadata={"says": says, "low": low, "high": high, "at": at})
    return measured


@dataclass(frozen=True)
class Body:
    """One body's measures in mm."""

    bust: float = _measure("around the fullest part of the bust", 450, 1800)
    waist: float = _measure("around the waist, where the side bends", 400, 1800)
    hip: float = _measure("around the fullest part of the hips", 450, 1900)
    height: float = _measure(
        "from head to floor, without shoes", 900, 2200, (1160, 1680, 1680, 1680, 1680)
    )
    neck: float = _measure("around the base of the neck", 220, 600, (285, 345, 365, 395, 465))
    head: float = _measure(
        "around the head, over the forehead", 450, 680, (520, 560, 565, 570, 580)
    )
    shoulder: float = _measure(
        "from the base of the neck to the shoulder point", 70, 200, (95, 118, 122, 128, 142)
    )
    shoulders: float = _measure(
        "around shoulders and upper arms, the arms down", 600, 2000, (780, 950, 1040, 1160, 1560)
    )
    back_length: float = _measure("from the nape to the waist", 220, 560, (280, 405, 410, 420, 440))
    arm: float = _measure(
        "from the shoulder point over the bent elbow to the wrist", 300, 800,
        (420, 590, 600, 610, 625),
    )  # fmt: skip
    upper_arm: float = _measure("around the upper arm", 140, 700, (180, 265, 285, 330, 460))
    wrist: float = _measure("around the wrist", 100, 300, (125, 152, 160, 172, 205))
    waist_to_hip: float = _measure(
        "from the waist down to the fullest part of the hips", 90, 300, (130, 200, 205, 210, 220)
    )
    body_rise: float = _measure(
        "from the waist to the seat, at the side, sitting", 150, 450, (205, 262, 275, 295, 345)
    )
    waist_to_floor: float = _measure(
        "from the waist to the floor, at the side", 500, 1400, (690, 1040, 1045, 1050, 1060)
    )

    @classmethod
    def like(cls, given: Mapping[str, float]) -> Body:
        """The measures given, and for the others what the tables have for the first girth of them,
        in whole mm.

        given : name -> mm, at least one of bust, waist and hip.
        """
        column = next(k for k, girth in enumerate(_GIRTHS) if girth in given)
        bust = _along([row[column] for row in SIZES.values()], _column(0), given[_GIRTHS[column]])
        usual = {girth: _along(_column(0), _column(k), bust) for k, girth in enumerate(_GIRTHS)}
        for name, measure in MEASURES.items():
            if measure.at_mm is not None:
                usual[name] = _along(_ANCHORS, measure.at_mm, bust)
        whole = {name: float(round(mm)) for name, mm in usual.items()}
        return cls(**(whole | dict(given)))

    @classmethod
    def of_size(cls, size: str) -> Body:
        """What the tables have for a size, one of `SIZES`."""
        return cls.like(dict(zip(_GIRTHS, SIZES[size], strict=True)))


def down_to_hem(body: Body, share: float) -> float:
    """A usual length of a skirt: a share of the way from waist to floor, in whole cm."""
    return 10.0 * round(share * body.waist_to_floor / 10)


MEASURES: dict[str, Measure] = {
    each.name: Measure(
        each.name,
        each.metadata["says"],
        each.metadata["low"],
        each.metadata["high"],
        each.metadata["at"],
    )
    for each in fields(Body)
}

# (first, second, least and most that the first ÷ the second is on any body)
_RELATIONS = (
    ("waist", "bust", 0.5, 1.4),
    ("waist", "hip", 0.45, 1.45),
    ("hip", "bust", 0.65, 1.7),
    ("neck", "bust", 0.25, 0.62),
    ("shoulders", "bust", 0.85, 1.5),
    ("shoulder", "bust", 0.08, 0.2),
    ("upper_arm", "bust", 0.18, 0.45),
    ("wrist", "upper_arm", 0.3, 0.95),
    ("arm", "height", 0.28, 0.48),
    ("back_length", "height", 0.18, 0.32),
    ("body_rise", "waist_to_floor", 0.17, 0.42),
    ("waist_to_hip", "body_rise", 0.4, 1.1),
    ("waist_to_floor", "height", 0.5, 0.72),
    ("bust", "height", 0.35, 1.15),
)


def contradictions(given: Mapping[str, float]) -> Iterator[tuple[str, str, float, float]]:
    """Pairs of measures that no body has together.

    Yields (first, second, least and most mm that the first can be beside the second).
    """
    for first, second, least, most in _RELATIONS:
        if first in given and second in given:
            low, high = least * given[second], most * given[second]
            if not low <= given[first] <= high:
                yield first, second, low, high


def _column(k: int) -> list[float]:
    return [row[k] for row in SIZES.values()]


def _along(at: tuple[float, ...] | list[float], values: object, x: float) -> float:
    """Straight between the points of a table, and on beyond its ends."""
    xs, ys = np.asarray(at, dtype=float), np.asarray(values, dtype=float)
    k = int(np.clip(np.searchsorted(xs, x) - 1, 0, len(xs) - 2))
    slope = (ys[k + 1] - ys[k]) / (xs[k + 1] - xs[k])
    return float(ys[k] + slope * (x - xs[k]))


_STEP_MM = 5.0  # pattern makers give ease in whole steps
_GIVEN = 0.136  # of a girth, the ease that a knit saves which stretches to twice its length


@dataclass(frozen=True)
class Ease:
    """Ease in mm around bust, waist and hip, in cloth that does not stretch."""

    bust: float
    waist: float
    hip: float

    def girths(self, body: Body, stretch: float = 0.0) -> tuple[float, float, float]:
        """Bust, waist and hip of the garment, mm. stretch : of its cloth, 0.5 for 50 %."""
        bare = (body.bust, body.waist, body.hip)
        ease = (self.bust, self.waist, self.hip)
        bust, waist, hip = (
            girth + _STEP_MM * round((own - _GIVEN * stretch * girth) / _STEP_MM)
            for girth, own in zip(bare, ease, strict=True)
        )
        return bust, waist, hip


CLOSE = Ease(60, 70, 105)
EASY = Ease(120, 200, 120)
LOOSE = Ease(180, 280, 160)
