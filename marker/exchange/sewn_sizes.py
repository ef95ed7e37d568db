"""A flat piece of the sample size in every size, by the rules of its grade points."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace

import numpy as np
import shapely

from marker.errors import CannotBeDone
from marker.exchange.dxf.grading import Rulings
from marker.exchange.dxf.rule_file import Move
from marker.exchange.flat_piece import FlatPiece, Graded, GradePoint
from marker.exchange.sewn_edges import SewnPiece, notches_at
from marker.files.faults import Unusable
from marker.geometry.arrays import FloatArray
from marker.geometry.resizing import refitted
from marker.pattern.allowances import cut_ring
from marker.pattern.edge import Notch
from marker.pattern.grading import graded_piece
from marker.pattern.piece import Line, Piece
from marker.tolerances import SAME_LINE_MM, SAME_POINT_MM

_CUT_WITHIN_MM = 2 * SAME_LINE_MM  # twice, since moves are rounded
Moves = Mapping[int, Mapping[str, Move]]


@dataclass(frozen=True)
class GradedPiece:
    """A sample size's piece with the rules that its corners name.

    grade : corner, counted from 1 -> rule. outlines : size -> (n, 2). notches : number, from 0 ->
        size -> distance along its edge, where that is no share of the sample's. lost : how many
        grade points of the piece lie by none of its points, or by one that has another rule.
    """

    outlines: Mapping[str, FloatArray]
    grade: Mapping[int, int] = field(default_factory=dict)
    notches: Mapping[int, Mapping[str, float]] = field(default_factory=dict)
    lost: int = 0


def sewn_by_rules(
    flat: FlatPiece, no_grain_deg: float, sizes: tuple[str, ...], moves: Moves
) -> tuple[SewnPiece, GradedPiece]:
    """The piece and its sizes; by its cut line alone where allowances do not give that in each of
    them. Raises Unusable where rules can't make one."""
    sewn = SewnPiece(flat, no_grain_deg)
    found = _graded(flat, sewn, sizes, moves)
    if not _keeps_cut_line(flat, sewn, found, moves):
        sewn = SewnPiece(replace(flat, stitching=np.empty((0, 2))), no_grain_deg)
        sewn.stitching_kept = False
        found = _graded(flat, sewn, sizes, moves)
    return sewn, found


def _keeps_cut_line(flat: FlatPiece, sewn: SewnPiece, found: GradedPiece, moves: Moves) -> bool:
    """Whether a piece drawn by its stitching line is cut in every size as its cut line is graded.

    At a corner that is nearly straight, two allowances meet in another way in each size.
    """
    if sewn.piece.line is Line.CUT or flat.line is Line.STITCHING or not found.grade:
        return True
    given = (point for point in flat.grade_points if point.of is Graded.OUTLINE)
    rulings = Rulings(flat.outline, np.empty((0, 2)), given)
    if len(rulings.vertices) < 2:
        return True
    for size, outline in found.outlines.items():
        try:
            cut = cut_ring(_in_size(sewn, outline)).points
        except CannotBeDone:
            return False
        wanted = _outline(flat.outline, rulings, size, moves)
        rings = shapely.LinearRing(cut), shapely.LinearRing(wanted)
        if shapely.hausdorff_distance(*rings) > _CUT_WITHIN_MM:
            return False
    return True


def _in_size(sewn: SewnPiece, outline: FloatArray) -> Piece:
    turned = outline[::-1] if sewn.piece.drawn_clockwise else outline
    return graded_piece(sewn.piece, turned, frozenset())


def _graded(flat: FlatPiece, sewn: SewnPiece, sizes: tuple[str, ...], moves: Moves) -> GradedPiece:
    """The piece in every size; raises Unusable where rules can't make one."""
    same = dict.fromkeys(sizes, sewn.drawn.points)
    if not flat.grade_points:
        return GradedPiece(same)
    if flat.cutouts:
        raise Unusable("it has cut-outs, which rules do not grade", "")
    rulings = Rulings(sewn.drawn.points, flat.notches, _of_line(flat, sewn))
    if len(rulings.vertices) < 2:  # moved as a whole, if at all
        return GradedPiece(same, lost=rulings.lost + len(rulings.vertices))
    outlines = {size: _outline(sewn.drawn.points, rulings, size, moves) for size in sizes}
    return GradedPiece(
        outlines,
        {vertex + 1: rule for vertex, rule in sorted(rulings.vertices.items())},
        _notches(flat, sewn, rulings, outlines, moves),
        rulings.lost,
    )


def _of_line(flat: FlatPiece, sewn: SewnPiece) -> Iterator[GradePoint]:
    """The grade points of the line that the piece is drawn along, and of its notches."""
    along = {
        Graded.NOTCH,
        Graded.STITCHING if sewn.piece.line is Line.STITCHING else Graded.OUTLINE,
    }
    only_line = flat.line is Line.STITCHING
    return (point for point in flat.grade_points if only_line or point.of in along)


def _outline(points: FloatArray, rulings: Rulings, size: str, moves: Moves) -> FloatArray:
    """The outline in a size; corners without a rule move by their share of the way."""
    known = {vertex: np.array(moves[rule][size]) for vertex, rule in rulings.vertices.items()}
    return refitted(points, range(len(points)), known)


def _notches(
    flat: FlatPiece,
    sewn: SewnPiece,
    rulings: Rulings,
    outlines: Mapping[str, FloatArray],
    moves: Moves,
) -> dict[int, dict[str, float]]:
    """Where notches with a rule stand on their edges in each size, if not at the same share."""
    by_size: dict[str, tuple[Notch, ...]] = {}
    by_share: dict[str, tuple[Notch, ...]] = {}
    ruled = sorted(rulings.notches.items())
    edges = [sewn.piece.notches[number].edge for number, _ in ruled]
    for size, outline in outlines.items():
        try:
            piece = _in_size(sewn, outline)
            places = [flat.notches[number] + moves[rule][size] for number, rule in ruled]
            own = [[edge] for edge in edges]
            by_size[size] = tuple(notches_at(piece, zip(places, own, strict=True)))
        except CannotBeDone as error:
            raise Unusable(f"in size {size} {error}", "") from error
        by_share[size] = tuple(piece.notches[number] for number, _ in ruled)
    return {
        number: {size: by_size[size][k].at_mm for size in outlines}
        for k, (number, _) in enumerate(ruled)
        if any(
            abs(by_size[size][k].at_mm - by_share[size][k].at_mm) > SAME_POINT_MM
            for size in outlines
        )
    }
