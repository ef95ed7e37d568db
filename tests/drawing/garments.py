"""Invented pieces with curves, and layouts of them to draw; only the shapes matter."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import cache
from typing import Any

import numpy as np
import shapely
from shapely.affinity import translate
from shapely.geometry.base import BaseGeometry

from marker.cloth.buying import Purchase, purchase
from marker.cloth.fabric import Cloth, Nap, Price
from marker.drawing.scene.layout_scene import Scene, build_scene
from marker.geometry.arrays import FloatArray
from marker.judge import check
from marker.layout import CheckedLayout, Ending, Layout
from marker.pattern.piece import CutPiece
from tests.helpers import SIZE, laid_outline, place
from tests.shapes import polygon, rectangle

JERSEY = Cloth(
    "jersey",
    width_mm=1500.0,
    selvage_mm=10.0,
    end_allowance_mm=20.0,
    price=Price(14.9, 1000.0, "EUR"),
)


@dataclass(frozen=True)
class Put:
    """One piece where it is to lie: lower left corner of its box, cloth mm."""

    piece: CutPiece
    x: float
    y: float
    rotation: float = 0.0
    mirrored: bool = False
    garment: int = 1
    copy: int = 1


def piece(name: str, outline: FloatArray, **more: object) -> CutPiece:
    """A cut piece of the jersey with both turns allowed."""
    plain = CutPiece(name, SIZE, "jersey", outline, (0.0, 180.0))
    return replace(plain, **more)  # type: ignore[arg-type]


def checked(puts: Iterable[Put], cloth: Cloth = JERSEY, name: str = "choir dress") -> CheckedLayout:
    """The layout, through the judge."""
    puts = list(puts)
    laid = tuple(
        place(
            put.piece,
            put.x,
            put.y,
            rotation_deg=put.rotation,
            mirrored=put.mirrored,
            garment=put.garment,
            copy=put.copy,
        )
        for put in puts
    )
    length = max(float(one.outline_mm[:, 0].max()) for one in laid)
    layout = Layout(name, cloth, laid, length, 0.93 * length, Ending.TIME_UP, 1, 20.0)
    pieces = list({put.piece.name: put.piece for put in puts}.values())
    return check(layout, pieces, [SIZE] * max(put.garment for put in puts))


def bought(layout: CheckedLayout) -> Purchase:
    """What is bought for it."""
    return purchase(layout.layout.length_mm, layout.layout.cloth)


def scene_of(layout: CheckedLayout) -> Scene:
    """What there is to draw of it."""
    return build_scene(layout, bought(layout))


def bezier(*controls: tuple[float, float]) -> FloatArray:
    """12 points of a cubic, its last left off so that the next stretch begins there."""
    a, b, c, d = (np.array(point) for point in controls)
    t = np.linspace(0.0, 1.0, 13)[:-1, None]
    curve: FloatArray = (1 - t) ** 3 * a + 3 * t * (1 - t) ** 2 * b + 3 * t**2 * (1 - t) * c
    curve += t**3 * d
    return curve


def inset(outline: FloatArray) -> FloatArray:
    """A stitching line 12 mm inside."""
    return shapely.get_coordinates(shapely.Polygon(outline).buffer(-12.0, join_style="mitre"))[:-1]


def bodice(name: str, neck: float) -> CutPiece:
    """A bodice opened along its fold, hem at x = 0, shoulders at x = 430; `neck` its depth."""
    half = np.vstack(
        [
            polygon((0, 0), (0, 225)),
            bezier((20, 228), (90, 215), (150, 235), (215, 245)),
            bezier((215, 245), (255, 190), (300, 170), (412, 185)),
            bezier((430, 75), (430 - neck * 0.5, 72), (430 - neck, 45), (430 - neck, 0)),
        ]
    )
    other = half[::-1] * [1.0, -1.0]
    outline = np.vstack([half[1:], [[430 - neck, 0.0]], other[:-1]])[::-1]
    fold = polygon((0, 0), (430 - neck, 0))
    notches = half[[8, 20]]
    notches = np.vstack([notches, notches * [1, -1]])
    return piece(name, outline, stitching=inset(outline), fold_line=fold, notches=notches)


def skirt(name: str) -> CutPiece:
    """An A-line panel 600 long with a curved waist and hem."""
    low = bezier((0, -265), (-26, -100), (-26, 100), (0, 265))
    high = bezier((620, 165), (605, 60), (605, -60), (620, -165))
    outline = np.vstack([low, [[0, 265]], high, [[620, -165]]])[::-1]
    return piece(name, outline, stitching=inset(outline), notches=polygon((310, 215), (310, -215)))


def sleeve() -> CutPiece:
    """A short sleeve, cut once in each hand."""
    cap = np.vstack(
        [
            bezier((120, 170), (190, 150), (215, 70), (230, 0)),
            bezier((230, 0), (222, -80), (180, -130), (110, -170)),
        ]
    )
    outline = np.vstack([polygon((0, -155), (110, -170)), cap[::-1], polygon((0, 155))])
    return piece("sleeve", outline, copies=1, mirrored_copies=1, notches=cap[[5]])


COLLAR = piece("collar", rectangle(80, 400), copies=2, note="interface one")
BELT = piece("belt", rectangle(50, 1400), copies=2, note="join the two parts")
POCKET = piece("coin pocket", rectangle(30, 30))
GARMENT = (
    skirt("skirt front"),
    skirt("skirt back"),
    bodice("bodice front", 110.0),
    bodice("bodice back", 40.0),
    sleeve(),
    COLLAR,
    BELT,
    POCKET,
)


@cache
def choir_dresses(garments: int = 2, nap: Nap = Nap.ONE_WAY_PER_GARMENT) -> CheckedLayout:
    """All pieces of some garments, every second garment against the first, nestled roughly."""
    cloth = replace(JERSEY, nap=nap)
    wanted = [
        Put(part, 0.0, 0.0, 180.0 * (1 - garment % 2), copy > part.copies, garment, copy)
        for part in GARMENT
        for garment in range(1, garments + 1)
        for copy in range(1, part.copies + part.mirrored_copies + 1)
    ]
    return checked(nestled(wanted, cloth.usable_width_mm), cloth)


def nestled(puts: Iterable[Put], width: float, step: float = 20.0) -> list[Put]:
    """Each piece in turn at the first free place, trying places nearest the start first."""
    laid: list[Put] = []
    covered: BaseGeometry = shapely.Polygon()
    last_x: dict[tuple[str, float, bool], float] = {}  # its like found no place before that
    for put in puts:
        outline = laid_outline(put.piece.outline, put.rotation, put.mirrored)
        grown = shapely.Polygon(outline - outline.min(axis=0)).buffer(2.0, join_style="mitre")
        ring = shapely.get_coordinates(grown.exterior)
        like = (put.piece.name, put.rotation, put.mirrored)
        x = last_x.get(like, 0.0)
        ys = np.arange(0.0, max(width - np.ptp(outline[:, 1]), 0.0) + 1e-9, step)
        while True:
            free = ~shapely.intersects(covered, _copies(ring, x, ys))
            if free.any():
                break
            x += step
        last_x[like] = x
        laid.append(replace(put, x=x, y=float(ys[np.argmax(free)])))
        covered = covered.union(translate(grown, laid[-1].x, laid[-1].y))
        shapely.prepare(covered)
    return laid


def _copies(ring: FloatArray, x: float, ys: FloatArray) -> Any:
    """The ring moved to each place of a column."""
    places = np.column_stack([np.full_like(ys, x), ys])
    return shapely.polygons(ring + places[:, np.newaxis])


@cache
def single(width: float = 620.0) -> CheckedLayout:
    """One panel by itself."""
    return checked([Put(skirt("skirt"), 0.0, 0.0)], replace(JERSEY, width_mm=width))


@cache
def tiny() -> CheckedLayout:
    """One piece of 3 cm square on a wide cloth."""
    return checked([Put(replace(POCKET, notches=polygon((15, 30))), 0.0, 200.0)])


@cache
def many() -> CheckedLayout:
    """60 small pieces among a few large ones."""
    tabs = replace(piece("tab", rectangle(70, 110)), copies=24)
    loops = replace(piece("loop", rectangle(45, 30)), copies=24)
    parts = [(part, copy) for part in (tabs, loops) for copy in range(1, 25)]
    parts += [(replace(BELT, copies=10), copy) for copy in range(1, 11)]
    parts += [(GARMENT[0], 1), (GARMENT[2], 1)]
    puts = [Put(part, 0.0, 0.0, copy=copy) for part, copy in parts]
    return checked(nestled(puts, JERSEY.usable_width_mm))
