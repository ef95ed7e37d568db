"""Cutting a piece from two parts, joined by a seam across its middle, where cloth is short."""

from __future__ import annotations

from dataclasses import replace
from itertools import compress

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry
from shapely.geometry.polygon import orient

from marker.errors import CannotBeDone, Part
from marker.geometry.arrays import FloatArray
from marker.pattern.inner_marks import InnerMark
from marker.pattern.piece import CutPiece
from marker.units import cut_length

_BEYOND_MM = 1.0


def pieced(whole: CutPiece, allowance_mm: float) -> tuple[CutPiece, CutPiece]:
    """Two parts of a cut piece, each with the allowance beyond a seam straight across the middle of
    its longer side.

    Raises CannotBeDone where such a seam does not make two parts.
    """
    low, high = whole.outline.min(axis=0), whole.outline.max(axis=0)
    axis = int(np.argmax(high - low))
    middle = float(low[axis] + high[axis]) / 2
    first = _part(whole, axis, (-np.inf, middle), allowance_mm)
    return replace(first, name=f"{whole.name} part 1"), replace(
        _part(whole, axis, (middle, np.inf), allowance_mm), name=f"{whole.name} part 2"
    )


def _part(
    whole: CutPiece, axis: int, between: tuple[float, float], allowance_mm: float
) -> CutPiece:
    """What lies between two places along an axis on the stitching line, cut with its allowance."""
    low, high = between
    cut = _clipped(shapely.Polygon(whole.outline, whole.cutouts), axis, low, high, allowance_mm)
    sewn = whole.stitching if len(whole.stitching) else whole.outline
    stitching = _clipped(shapely.Polygon(sewn), axis, low, high, 0.0)
    if not (isinstance(cut, shapely.Polygon) and isinstance(stitching, shapely.Polygon)):
        raise CannotBeDone(
            f"piece {whole.name!r}: a seam across the middle of its longer side does not cut it in "
            f"two. Take out `pieced`, and draw its parts instead.",
            [(Part.PIECE, whole.name)],
        )
    corner = shapely.get_coordinates(cut).min(axis=0)
    at = whole.notches[:, axis]
    kept = (low <= at) & (at <= high)
    marks = [
        mark.mapped(lambda points: points - corner)
        for each in whole.inner_marks
        for mark in _clipped_mark(each, axis, low, high)
    ]
    note = f"one of two parts, joined by a {cut_length(allowance_mm)} seam"
    return replace(
        whole,
        outline=_ring(cut.exterior) - corner,
        stitching=_ring(stitching.exterior) - corner,
        cutouts=tuple(_ring(hole) - corner for hole in cut.interiors),
        notches=whole.notches[kept] - corner,
        notch_letters=tuple(compress(whole.notch_letters, kept)),
        fold_line=None,
        inner_marks=tuple(marks),
        note=", ".join(filter(None, [whole.note, note])),
    )


def _clipped_mark(mark: InnerMark, axis: int, low: float, high: float) -> list[InnerMark]:
    """What of a mark lies between two places along an axis: a line may come apart."""
    if len(mark.points) == 1:
        return [mark] if low <= mark.points[0, axis] <= high else []
    corners = np.array([mark.points.min(axis=0), mark.points.max(axis=0)])
    corners += [[-_BEYOND_MM], [_BEYOND_MM]]
    corners[:, axis] = np.clip([low, high], *corners[:, axis])
    inside = shapely.LineString(mark.points).intersection(shapely.box(*corners.ravel()))
    parts = [part for part in shapely.get_parts(inside) if part.length > 0]
    return [replace(mark, points=shapely.get_coordinates(part)) for part in parts]


def _clipped(
    region: shapely.Polygon, axis: int, low: float, high: float, more: float
) -> BaseGeometry:
    corners = np.array(region.bounds).reshape(2, 2) + np.array([[-_BEYOND_MM], [_BEYOND_MM]])
    corners[:, axis] = np.clip([low - more, high + more], *corners[:, axis])
    inside: BaseGeometry = region.intersection(shapely.box(*corners.ravel()))
    return inside


def _ring(ring: shapely.LinearRing) -> FloatArray:
    """(n, 2), counter-clockwise, first point not repeated."""
    turned = orient(shapely.Polygon(ring)).exterior
    return np.asarray(turned.coords, dtype=np.float64)[:-1]
