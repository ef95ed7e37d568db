"""A piece's named edges between corners and notches, and what is added beyond them."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from marker.errors import CannotBeDone
from marker.exchange.outlines import Drawn
from marker.files.faults import FaultList, Unusable
from marker.geometry.arrays import FloatArray
from marker.geometry.outline import chords, polyline_length, stretch_points
from marker.jobfile.derived_tables import DerivedTable
from marker.jobfile.piece_table import HemTable, PieceTable
from marker.pattern.allowances import allowances
from marker.pattern.edge import Edge, Hem, HemKind, Notch, Stretch
from marker.pattern.piece import Line, Piece
from marker.pattern.stitching import notch_point, square_out
from marker.tolerances import SAME_POINT_MM
from marker.units import cut_length

TURNED_UNDER = (HemKind.TURNED_TWICE, HemKind.ROLLED)


def edges_from(
    table: PieceTable, drawn: Drawn, fold: Stretch | None, faults: FaultList
) -> dict[str, Edge]:
    """The edges without fault; every fault of the others is noted."""
    _check_names(table, faults)
    edges: dict[str, Edge] = {}
    for name, (first, last) in table.edges.items():
        if isinstance(first, str) or isinstance(last, str):  # ends at a notch, which comes later
            continue
        with faults.gathering(f"edges.{name}"):
            stretch = drawn.stretch(first, last)
            count = len(drawn.points)
            over = chords(stretch.start, stretch.end, count)
            if fold and np.isin(over, chords(fold.start, fold.end, count)).any():
                raise Unusable(
                    "the edge runs over the fold, which is not sewn",
                    f"Perhaps [{last}, {first}] is meant: an edge runs in the order drawn",
                )
            edges[name] = own_edge(name, stretch, table, faults)
    return edges


def own_edge(
    name: str, stretch: Stretch, table: PieceTable | DerivedTable, faults: FaultList
) -> Edge:
    """A stretch with the allowance, hem and corner that the table gives it by name."""
    return Edge(
        stretch.start,
        stretch.end,
        allowance_mm=table.allowances.get(name),
        hem=_hem(name, table, faults),
        corner=table.corners.get(name),
    )


def notches_from(
    table: PieceTable,
    drawn: Drawn,
    edges: dict[str, Edge],
    kept: frozenset[int],
    faults: FaultList,
) -> tuple[Notch, ...]:
    """The notches without fault; every fault of the others is noted.

    kept : notches, by their place in the table, whose distance is not for the outline drawn but for
        what is graded from it.
    """
    notches: list[Notch] = []
    for number, notch in enumerate(table.notches, 1):
        with faults.gathering(f"notches[{number}]"):
            if notch.edge not in table.edges:
                raise Unusable.unknown("edge", notch.edge, table.edges)
            if any(isinstance(end, str) for end in table.edges[notch.edge]):
                raise Unusable(
                    f"'{notch.edge}' itself ends at a notch",
                    "Measure along an edge between two corners",
                )
            if notch.edge not in edges:  # its own fault is noted
                continue
            edge = edges[notch.edge]
            outline = drawn.counter_clockwise
            length = polyline_length(stretch_points(outline, edge.start, edge.end))
            if notch.at > length + SAME_POINT_MM and number - 1 not in kept:
                raise Unusable(
                    f"{cut_length(notch.at)} is beyond the end of '{notch.edge}'",
                    f"That edge is {cut_length(length)} long on this piece",
                )
            notches.append(Notch(notch.edge, notch.at, notch.name or ""))
    return tuple(notches)


def _check_names(table: PieceTable, faults: FaultList) -> None:
    for key in ("allowances", "hems", "corners"):
        for name in getattr(table, key):
            if name not in table.edges:
                with faults.gathering(f"{key}.{name}"):
                    raise Unusable.unknown("edge", name, table.edges)
    for name in table.hems.keys() & table.allowances.keys():
        faults.add(
            f"allowances.{name}",
            "the edge is hemmed, so its hem says how wide the allowance is",
            f"Leave it out, or give depth in hems.{name}",
        )


def _hem(name: str, table: PieceTable | DerivedTable, faults: FaultList) -> Hem | None:
    asked: HemTable | None = table.hems.get(name)
    return None if asked is None else hem_from(asked, f"hems.{name}", faults)


def hem_from(asked: HemTable, place: str, faults: FaultList) -> Hem:
    """The hem of a table that stands at a place; every fault of it is noted."""
    usual = Hem.usual(asked.kind)
    depth = usual.depth_mm if asked.depth is None else asked.depth
    under = min(usual.under_mm, depth) if asked.under is None else asked.under
    if under > 0 and asked.kind not in TURNED_UNDER:
        faults.add(
            f"{place}.under",
            f"nothing is turned under in a hem that is {asked.kind}",
            f"Leave it out, or make the hem {' or '.join(TURNED_UNDER)}",
        )
    elif under > depth:
        faults.add(
            f"{place}.under",
            f"{cut_length(under)} turned under do not fit into a hem {cut_length(depth)} deep",
            "Give at most the depth",
        )
    return Hem(asked.kind, depth, under)


def check_overlaps(edges: dict[str, Edge], count: int, faults: FaultList) -> None:
    """No part of the outline may be given two different allowances."""
    taken: dict[int, tuple[str, float]] = {}
    for name, edge in edges.items():
        wanted = edge.hem.allowance_mm if edge.hem else edge.allowance_mm
        if wanted is None:
            continue
        for chord in map(int, chords(edge.start, edge.end, count)):
            other, already = taken.setdefault(chord, (name, wanted))
            if already != wanted:
                faults.add(
                    f"edges.{name}",
                    f"it shares a stretch with '{other}', whose allowance is "
                    f"{cut_length(already)}, "
                    f"not {cut_length(wanted)}",
                    "Give both the same allowance, or end one where the other begins",
                )
                break


def with_notched_edges(piece: Piece, table: PieceTable, drawn: Drawn, faults: FaultList) -> Piece:
    """The piece and its edges between notches; every fault of them is noted."""
    faulty = _faulty(piece, table)
    for name, ends in table.edges.items():
        if all(isinstance(end, int) for end in ends) or faulty.intersection(ends):
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


def _faulty(piece: Piece, table: PieceTable) -> set[str | None]:
    """Names of notches that the table has and the piece has not: their own faults are noted."""
    return {notch.name for notch in table.notches} - {notch.name for notch in piece.notches}


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
