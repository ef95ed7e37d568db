"""Openings for the tests of bands: round ones of known length, and random ones."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from hypothesis import strategies as st

from marker.cloth.behaviour import Direction, Gauge
from marker.cloth.fabric import Cloth
from marker.job import Job
from marker.pattern.bands.strip import Strip
from marker.pattern.edge import Edge, EdgeRef, Stretch
from marker.pattern.pattern import Pattern
from marker.pattern.piece import Line, Piece
from marker.pattern.seams.sewing import Girth, Opening, Place, Spot

# 4 in stretch to 6 in across and to 4 1/2 in along the cloth
JERSEY = Cloth(
    "jersey",
    1500,
    gauge=Gauge({Direction.CROSSGRAIN: 6 * 25.4, Direction.LENGTHGRAIN: 4.5 * 25.4}),
)


def half(name: str, radius: float, depth: float, steps: int = 400) -> Piece:
    """Half a front, its fold at x = 0: an elliptic neck `radius` wide and `depth` deep cut out of
    the middle of the top of a rectangle 400 × 600. Edges: waist, side, shoulder, neck."""
    angles = np.linspace(0.0, -np.pi / 2, steps + 1)
    neck = np.column_stack([radius * np.cos(angles), 600 + depth * np.sin(angles)])
    outline = np.vstack([[[0.0, 0.0], [400.0, 0.0], [400.0, 600.0]], neck])
    last = len(outline) - 1
    edges = {
        "waist": Edge(0, 1),
        "side": Edge(1, 2),
        "shoulder": Edge(2, 3),
        "neck": Edge(3, last),
    }
    return Piece(name, "jersey", outline, fold=Stretch(last, 0), line=Line.STITCHING, edges=edges)


def place(piece: str, at: float | Spot) -> Place:
    return Place(EdgeRef(piece, "neck"), at)


def neckline(shoulder_mm: float = 20.0, passes_mm: float | None = None) -> Opening:
    """Front and back neck with centres, and shoulder points so far from the shoulder seam."""
    return Opening(
        "neckline",
        (EdgeRef("front", "neck"), EdgeRef("back", "neck")),
        points={
            "centre front": place("front", Spot.FOLD),
            "centre back": place("back", Spot.FOLD),
            "front shoulder": place("front", shoulder_mm),
            "back shoulder": place("back", shoulder_mm),
        },
        passes_mm=passes_mm,
    )


SHOULDERS = (("front shoulder", "back shoulder"),)


def round_neck(
    *strips: Strip,
    radius: float = 100.0,
    cloth: Cloth = JERSEY,
    opening: Opening | None = None,
    girths: tuple[Girth, ...] = (),
) -> Job:
    """Front and back that together have a round neck of this radius."""
    pieces = (half("front", radius, radius), half("back", radius, radius))
    pattern = Pattern("38", pieces, strips, openings=(opening or neckline(),), girths=girths)
    return Job("choir dress", "38", (pattern,), (cloth,), {"38": 1})


@dataclass(frozen=True)
class RandomNeck:
    """A job whose neckline is any ellipse in front and another at the back, and a ratio."""

    job: Job
    ratio: float


@st.composite
def random_necks(draw: st.DrawFn) -> RandomNeck:
    width = draw(st.floats(60, 150))
    depths = draw(st.floats(40, 250)), draw(st.floats(20, 150))
    pieces = tuple(
        half(name, width, depth, draw(st.integers(2, 60)))
        for name, depth in zip(("front", "back"), depths, strict=True)
    )
    opening = neckline(draw(st.floats(2, 18)))
    ratio = draw(st.floats(0.6, 1.1))
    pattern = Pattern("38", pieces, openings=(opening,))
    job = Job("choir dress", "38", (pattern,), (JERSEY,), {"38": 1})
    return RandomNeck(job, ratio)
