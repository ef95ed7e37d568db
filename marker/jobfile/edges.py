"""A piece's named edges: where each runs, and what is added beyond it."""

from __future__ import annotations

import numpy as np

from marker.exchange.outlines import Drawn
from marker.files.faults import FaultList, Unusable
from marker.geometry.outline import chords, polyline_length, stretch_points
from marker.jobfile.derived_table import DerivedTable
from marker.jobfile.piece_table import HemTable, PieceTable
from marker.pattern.edge import Edge, Hem, HemKind, Notch, Stretch
from marker.tolerances import SAME_POINT_MM
from marker.units import metric

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
                    f"{metric(notch.at)} is beyond the end of '{notch.edge}'",
                    f"That edge is {metric(length)} long on this piece",
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
    if asked is None:
        return None
    usual = Hem.usual(asked.kind)
    depth = usual.depth_mm if asked.depth is None else asked.depth
    under = min(usual.under_mm, depth) if asked.under is None else asked.under
    if under > 0 and asked.kind not in TURNED_UNDER:
        faults.add(
            f"hems.{name}.under",
            f"nothing is turned under in a hem that is {asked.kind}",
            f"Leave it out, or make the hem {' or '.join(TURNED_UNDER)}",
        )
    elif under > depth:
        faults.add(
            f"hems.{name}.under",
            f"{metric(under)} turned under do not fit into a hem {metric(depth)} deep",
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
                    f"it shares a stretch with '{other}', whose allowance is {metric(already)}, "
                    f"not {metric(wanted)}",
                    "Give both the same allowance, or end one where the other begins",
                )
                break
