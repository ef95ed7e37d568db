"""Can the layout be cut from cloth spread like this: alike on both plies, folds on the fold?"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from shapely import Polygon, STRtree
from shapely.affinity import affine_transform, translate

from marker.cloth.fabric import Cloth
from marker.cloth.folding import refusal
from marker.cloth.spread import Spread, Spreading
from marker.judge.finding import Code, Finding
from marker.judge.laid_pieces import LaidPiece, laid_points
from marker.layout import Layout
from marker.tolerances import JUDGED_MM
from marker.units import fine_length

_Strip = tuple[float, float]


@dataclass(frozen=True)
class _Folded:
    """What divides the two plies on the flat cloth; found from widths alone, as one half of the
    cloth, selvages included, lies on the other half.

    folds : y of the folds along it. divide : x of the one fold or cut across it.
    closed : (low, high) across it, where the ply below ends or is creased.
    """

    spread: Spread
    width: float
    folds: tuple[float, ...] = ()
    divide: float | None = None
    closed: tuple[_Strip, ...] = ()


def spread_findings(layout: Layout, laid: Sequence[LaidPiece]) -> Iterator[Finding]:
    """Every way in which the layout can't be cut from cloth spread like this.

    laid : pieces and spares.
    """
    spread, cloth = layout.spread, layout.cloth
    refused = refusal(spread.spreading, cloth)
    if refused:
        yield Finding(Code.SPREAD, (), refused[0])
        return
    folded = _folded(spread, cloth)
    through = []
    for item in laid:
        low, _, high, _ = item.shape.bounds
        if not spread.one_ply_from_mm or low >= spread.one_ply_from_mm - JUDGED_MM:
            yield from _one_ply_findings(item, folded)
        elif high > spread.one_ply_from_mm + JUDGED_MM:
            said = f"lies {fine_length(high - spread.one_ply_from_mm)} beyond the two plies"
            yield Finding(Code.PLIES, (item.label,), said, (high, item.shape.centroid.y))
        else:
            through.append(_around_to_the_front(item, folded))
    yield from _two_ply_findings(through, folded)


def around_tube(layout: Layout, laid: Sequence[LaidPiece]) -> list[LaidPiece]:
    """The pieces, and those on a tube's two plies again one turn around it, so that what meets
    across the fold where the flat frame begins meets there. Other cloths have nothing around."""
    if layout.spread.spreading is not Spreading.TUBE:
        return list(laid)
    folded, end = _folded(layout.spread, layout.cloth), layout.spread.one_ply_from_mm
    first = [_around_to_the_front(item, folded) for item in laid]
    around = [item for item in first if item.shape.bounds[0] < end - JUDGED_MM]
    return [
        *first,
        *(replace(item, shape=translate(item.shape, 0.0, folded.width)) for item in around),
    ]


def _folded(spread: Spread, cloth: Cloth) -> _Folded:
    width, selvage = cloth.usable_width_mm, cloth.selvage_mm
    folded, middle, whole = _Folded(spread, width), width / 2, width + 2 * selvage
    crease = cloth.tube.crease_mm / 2 if cloth.tube else 0.0
    if spread.spreading is Spreading.FOLDED_LENGTHWISE:
        return replace(folded, folds=(middle,))
    if spread.spreading is Spreading.DOUBLE_FOLD:
        folds = whole / 4 - selvage, 3 * whole / 4 - selvage
        return replace(folded, folds=folds, closed=((middle - selvage, middle + selvage),))
    creases: tuple[float, ...] = ()
    if spread.spreading is Spreading.TUBE:
        folded = replace(folded, folds=(0.0, middle, width))
        creases = width / 4, 3 * width / 4
    if spread.spreading is Spreading.SLIT_OPEN:
        creases = 0.0, middle, width
    if spread.spreading.ends_meet:
        folded = replace(folded, divide=spread.two_ply_mm)
    strips = tuple((at - crease, at + crease) for at in creases if crease)
    return replace(folded, closed=strips)


def _around_to_the_front(item: LaidPiece, folded: _Folded) -> LaidPiece:
    """On a tube, the piece where its middle lies on the first turn; elsewhere as it is."""
    if folded.spread.spreading is not Spreading.TUBE:
        return item
    turns = np.floor(item.shape.centroid.y / folded.width)
    return replace(item, shape=translate(item.shape, 0.0, -turns * folded.width))


def _one_ply_findings(item: LaidPiece, folded: _Folded) -> Iterator[Finding]:
    if item.spare:
        yield Finding(Code.SPARE, (item.label,), "a spare where the cloth lies in one ply")
    if folded.spread.spreading is not Spreading.DOUBLE_FOLD:
        yield from _closed_findings(item, folded.closed)


def _two_ply_findings(through: Sequence[LaidPiece], folded: _Folded) -> Iterator[Finding]:
    tree = STRtree([item.shape for item in through])
    for item in through:
        fold = _fold_under(item, folded)
        yield from _closed_findings(item, folded.closed)
        yield from _crossings(item, folded, fold)
        if fold is not None:
            if not _alike(item.shape, _folded_over(item.shape, fold)):
                said = "its halves on either side of the fold differ"
                yield Finding(Code.PLIES, (item.label,), said, _middle(item))
            continue
        image = _image(item, folded)
        near = [through[k] for k in tree.query(image, predicate="intersects")]
        alike = [each for each in near if _alike(each.shape, image)]
        if not alike:
            said = "nothing alike is cut from the other ply"
            yield Finding(Code.PLIES, (item.label,), said, _middle(item))
        elif item.spare and all(each.spare for each in alike):
            said = "no piece is cut together with it"
            yield Finding(Code.SPARE, (item.label,), said, _middle(item))


def _fold_under(item: LaidPiece, folded: _Folded) -> float | None:
    """The fold on which the piece's fold line lies."""
    if item.piece.fold_line is None:
        return None
    line = laid_points(item.piece.fold_line, item.placement)[:, 1]
    turns = round((item.shape.centroid.y - line.mean()) / folded.width)
    line = line + turns * folded.width
    return next((y for y in folded.folds if np.abs(line - y).max() <= JUDGED_MM), None)


def _crossings(item: LaidPiece, folded: _Folded, allowed: float | None) -> Iterator[Finding]:
    """A FOLD for each fold or cut that a piece lies across, but for the fold allowed."""
    low_x, low_y, high_x, high_y = item.shape.bounds
    x, y = _middle(item)
    lines = [(fold, low_y, high_y, (x, fold)) for fold in folded.folds if fold != allowed]
    if folded.divide is not None:
        lines.append((folded.divide, low_x, high_x, (folded.divide, y)))
    for line, low, high, place in lines:
        by = min(line - low, high - line)
        if by > JUDGED_MM:
            said = f"lies {fine_length(by)} over the fold, its fold line elsewhere"
            yield Finding(Code.FOLD, (item.label,), said, place)


def _closed_findings(item: LaidPiece, closed: Sequence[_Strip]) -> Iterator[Finding]:
    _, low, _, high = item.shape.bounds
    for start, end in closed:
        by = min(high - start, end - low)
        if by > JUDGED_MM:
            said = f"lies {fine_length(by)} on a crease, or where selvages meet below it"
            yield Finding(Code.FOLD, (item.label,), said, (item.shape.centroid.x, start))


def _image(item: LaidPiece, folded: _Folded) -> Polygon:
    """Where the shape comes to lie when the cloth is folded, and what is cut there with it."""
    shape, divide = item.shape, folded.divide
    if divide is None:
        fold = min(folded.folds, key=lambda y: abs(y - shape.centroid.y))
        over = replace(item, shape=_folded_over(shape, fold))
        return _around_to_the_front(over, folded).shape
    if folded.spread.spreading is Spreading.FOLDED_CROSSWISE:
        return affine_transform(shape, [-1, 0, 0, 1, 2 * divide, 0])
    on = divide if shape.centroid.x < divide else -divide
    return affine_transform(shape, [1, 0, 0, -1, on, folded.width])


def _folded_over(shape: Polygon, fold: float) -> Polygon:
    return affine_transform(shape, [1, 0, 0, -1, 0, 2 * fold])


def _alike(one: Polygon, other: Polygon) -> bool:
    return bool(one.hausdorff_distance(other) <= JUDGED_MM)


def _middle(item: LaidPiece) -> tuple[float, float]:
    return item.shape.centroid.x, item.shape.centroid.y
