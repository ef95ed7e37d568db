"""Edges that begin or end at a notch: the outline gets a vertex there."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from marker.errors import CannotBeDone
from marker.exchange.outlines import Drawn
from marker.files.faults import FaultList, Unusable
from marker.geometry.arrays import FloatArray
from marker.geometry.outline import chords
from marker.jobfile.edges import own_edge
from marker.jobfile.piece_table import PieceTable
from marker.pattern.allowances import allowances
from marker.pattern.edge import Notch, Stretch
from marker.pattern.piece import Line, Piece
from marker.pattern.stitching import notch_point, square_out
from marker.tolerances import SAME_POINT_MM


def with_notched_edges(piece: Piece, table: PieceTable, drawn: Drawn, faults: FaultList) -> Piece:
    """The piece and its edges between notches; every fault of them is noted."""
    for name, ends in table.edges.items():
        if all(isinstance(end, int) for end in ends):
            continue
        with faults.gathering(f"edges.{name}"):
            points = []
            for end in ends:
                if isinstance(end, int):
                    points.append(drawn.points[drawn.corner(end)])
                else:
                    piece, point = _with_vertex(piece, _notch(piece, end))
                    points.append(point)
            stretch = _between(piece, *points)
            edge = own_edge(name, stretch, table, faults)
            piece = replace(piece, edges=piece.edges | {name: edge})
    return piece


def _notch(piece: Piece, name: str) -> Notch:
    named = {notch.name: notch for notch in piece.notches if notch.name}
    if name not in named:
        raise Unusable.unknown("notch", name, named)
    return named[name]


def _between(piece: Piece, first: FloatArray, last: FloatArray) -> Stretch:
    """Stretch between two vertices in the order written."""
    start, end = (_vertex(piece.outline, point) for point in (first, last))
    if start == end:
        raise Unusable("it begins and ends at one point", "Name two different places")
    stretch = Stretch(end, start) if piece.drawn_clockwise else Stretch(start, end)
    if piece.fold:
        count = len(piece.outline)
        folded = chords(piece.fold.start, piece.fold.end, count)
        if np.isin(chords(stretch.start, stretch.end, count), folded).any():
            raise Unusable("the edge runs over the fold, which is not sewn", "Exchange its ends")
    return stretch


def _vertex(outline: FloatArray, point: FloatArray) -> int:
    return int(np.argmin(np.hypot(*(outline - point).T)))


def _with_vertex(piece: Piece, notch: Notch) -> tuple[Piece, FloatArray]:
    """The piece with a vertex where the notch meets the line that was drawn, and that point."""
    try:
        point = notch_point(piece, notch)
    except CannotBeDone as error:
        raise Unusable(str(error).rstrip("."), "Then the edge can end there") from error
    outline = piece.outline
    if piece.line is Line.CUT and allowances(piece).any():
        point = _foot(piece, notch, point)
    if np.hypot(*(outline - point).T).min() <= SAME_POINT_MM:
        return piece, outline[_vertex(outline, point)]
    after = _chord(outline, point) + 1

    def past(vertex: int) -> int:
        return vertex + (vertex >= after)

    fold = piece.fold and Stretch(past(piece.fold.start), past(piece.fold.end))
    edges = {
        name: replace(edge, start=past(edge.start), end=past(edge.end))
        for name, edge in piece.edges.items()
    }
    outline = np.insert(outline, after, point, axis=0)
    return replace(piece, outline=outline, fold=fold, edges=edges), point


def _foot(piece: Piece, notch: Notch, point: FloatArray) -> FloatArray:
    """The point of the cut line that lies square out from one of the stitching line."""
    edge, count = piece.edges[notch.edge], len(piece.outline)
    widths = allowances(piece)[chords(edge.start, edge.end, count)]
    feet = point + np.outer(np.unique(widths), square_out(piece, notch))
    off = [_off(piece.outline, foot) for foot in feet]
    return np.asarray(feet[int(np.argmin(off))])


def _chord(outline: FloatArray, point: FloatArray) -> int:
    """The edge of the outline nearest to a point, by its vertex."""
    return int(np.argmin(_distances(outline, point)))


def _off(outline: FloatArray, point: FloatArray) -> float:
    return float(_distances(outline, point).min())


def _distances(outline: FloatArray, point: FloatArray) -> FloatArray:
    """From a point to each edge of an outline, (n,)."""
    steps = np.roll(outline, -1, axis=0) - outline
    shares = ((point - outline) * steps).sum(axis=1) / (steps**2).sum(axis=1)
    nearest = outline + np.clip(shares, 0.0, 1.0)[:, None] * steps
    return np.asarray(np.hypot(*(nearest - point).T))
