"""The cloth of a scene as it lies on the table: its grounds, folds and flaws; mm.

The frame is the table's: x as in `on_table`, y across it from its near edge."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise, starmap

from marker.cloth.fabric import Cloth
from marker.cloth.folding import Lane, lanes, lanes_in_one_ply, seen_through
from marker.cloth.spread import Spreading
from marker.cloth.stock import Flaw
from marker.geometry.arrays import FloatArray
from marker.layout import Layout

_Point = tuple[float, float]
_HAIR_MM = 1e-3


class Ground(StrEnum):
    """What a filled part of the cloth stands for."""

    CLOTH = "cloth"
    TWO_PLIES = "two plies"
    SELVAGE = "selvage"
    END = "end allowance"
    CREASE = "crease"


@dataclass(frozen=True)
class Area:
    """A filled rectangle of cloth: low and high corner (x, y), mm."""

    ground: Ground
    low: _Point
    high: _Point


@dataclass(frozen=True)
class FoldEdge:
    """An edge of the table where the cloth is folded, from start to end."""

    start: _Point
    end: _Point


@dataclass(frozen=True)
class SpreadCloth:
    """What there is of cloth.

    length_mm, width_mm : that pieces can lie on. near_mm : y of the flat cloth at the table's near
    edge. near_edge, start : what is there, in words. one_ply_mm : x from which the cloth lies in
    one ply behind two; None where it does not. lacking : what a remnant lacks.
    """

    length_mm: float
    width_mm: float
    near_mm: float
    near_edge: str
    start: str
    one_ply_mm: float | None
    areas: tuple[Area, ...]
    folds: tuple[FoldEdge, ...]
    flaws: tuple[Flaw, ...]
    lacking: tuple[FloatArray, ...]


def spread_cloth(layout: Layout, end: float) -> SpreadCloth:
    """The cloth of a layout with an end allowance of `end` mm at each end."""
    spread = layout.spread
    if spread.spreading.plies == 1 or spread.two_ply_mm == 0:
        return _one_ply(layout, end)
    cloth, way = layout.cloth, spread.spreading
    across = lanes(way, cloth)
    length = layout.length_mm - (spread.two_ply_mm if way.ends_meet else 0.0)
    beyond_plies = spread.one_ply_from_mm - _HAIR_MM
    continues = any(p.outline_mm[:, 0].min() > beyond_plies for p in layout.placements)
    near = 0.0 if continues else across[0].low
    crosswise = way is Spreading.FOLDED_CROSSWISE
    start, split = 0.0 if crosswise else -end, spread.two_ply_mm if continues else length + end
    width = cloth.usable_width_mm if continues else across[-1].high - near
    areas = list(_stretch(Ground.TWO_PLIES, cloth, across, (start, split), near))
    low, high = areas[0].low[1], areas[0].high[1]
    if end and not crosswise:
        areas.append(Area(Ground.END, (-end, low), (0.0, high)))
    if continues:
        beyond = lanes_in_one_ply(way, cloth)
        areas += _stretch(Ground.CLOTH, cloth, beyond, (split, length + end), near)
        low, high = -cloth.selvage_mm, width + cloth.selvage_mm
    if end:
        areas.append(Area(Ground.END, (length, low), (length + end, high)))
    folds = [FoldEdge((start, y - near), (split, y - near)) for lane in across for y in lane.folds]
    flaws = [(flaw.name, flaw.outline) for flaw in cloth.flaws]
    lacking = [("", outline) for outline in _lacking(cloth)]
    if crosswise:
        folds.append(FoldEdge((0.0, 0.0), (0.0, width)))
    return SpreadCloth(
        length_mm=length,
        width_mm=width,
        near_mm=near,
        near_edge="fold" if across[0].fold_low and not continues else _near_edge(cloth),
        start="FOLD" if crosswise else "START OF CLOTH",
        one_ply_mm=spread.two_ply_mm if continues else None,
        areas=tuple(areas),
        folds=tuple(folds),
        flaws=tuple(starmap(Flaw, _seen(flaws, across, near))),
        lacking=tuple(each for _, each in _seen(lacking, across, near)),
    )


def _one_ply(layout: Layout, end: float) -> SpreadCloth:
    cloth, length, width = layout.cloth, layout.length_mm, layout.cloth.usable_width_mm
    across = lanes(layout.spread.spreading, cloth)
    if layout.spread.spreading.plies == 2:
        across = lanes_in_one_ply(layout.spread.spreading, cloth)
    ground, *edges = _stretch(Ground.CLOTH, cloth, across, (-end, length + end), 0.0)
    (_, low), (_, high) = ground.low, ground.high
    ends = [
        Area(Ground.END, (-end, low), (0.0, high)),
        Area(Ground.END, (length, low), (length + end, high)),
    ]
    return SpreadCloth(
        length_mm=length,
        width_mm=width,
        near_mm=0.0,
        near_edge=_near_edge(cloth),
        start="START OF CLOTH",
        one_ply_mm=None,
        areas=(ground, *(ends if end else []), *edges),
        folds=(),
        flaws=cloth.flaws,
        lacking=_lacking(cloth),
    )


def _near_edge(cloth: Cloth) -> str:
    return "edge" if cloth.tube or cloth.remnant else "selvage"


def _stretch(
    ground: Ground, cloth: Cloth, across: tuple[Lane, ...], along: tuple[float, float], near: float
) -> Iterator[Area]:
    """The ground between two places along the table, then its selvages or creases: beyond the
    lanes where those don't end at a fold, and between them."""
    first, last, selvage = across[0], across[-1], cloth.selvage_mm
    whole = cloth.usable_width_mm
    strips = [(one.high, other.low) for one, other in pairwise(across)]
    low, high = first.low, last.high
    if not first.fold_low:
        low = -selvage
        strips.append((low, first.low))
    if not last.fold_high:
        high = whole + selvage
        strips.append((last.high, high))
    edge = Ground.CREASE if cloth.tube else Ground.SELVAGE
    yield Area(ground, (along[0], low - near), (along[1], high - near))
    for low, high in strips:
        if high > low:
            yield Area(edge, (along[0], low - near), (along[1], high - near))


def _lacking(cloth: Cloth) -> tuple[FloatArray, ...]:
    return cloth.remnant.lacking if cloth.remnant else ()


def _seen(
    outlines: Sequence[tuple[str, FloatArray]], across: tuple[Lane, ...], near: float
) -> list[tuple[str, FloatArray]]:
    return [(name, outline - [0.0, near]) for name, outline in seen_through(outlines, across)]
