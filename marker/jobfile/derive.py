"""A checked [[derived]] table as a Piece that follows from another."""

from __future__ import annotations

from collections.abc import Collection, Mapping

from marker.errors import CannotBeDone
from marker.files.faults import FaultList, Unusable
from marker.jobfile.derived_table import DerivedTable
from marker.jobfile.edges import own_edge
from marker.pattern.derived import derived
from marker.pattern.edge import Edge
from marker.pattern.piece import INNER, Line, Piece, Recipe


def piece_derived(
    table: DerivedTable,
    cloth: str,
    pieces: Mapping[str, Piece],
    others: Collection[str],
    faults: FaultList,
) -> Piece | None:
    """The piece, None where it can't be; every fault is noted.

    pieces : by name, all those that are drawn. others : names of all that are derived.
    """
    before = len(faults.found)
    with faults.gathering("of"):
        if table.of in others and table.of not in pieces:
            raise Unusable(
                f"'{table.of}' is derived itself", "Name the piece that both of them follow from"
            )
        if table.of not in pieces:
            raise Unusable.unknown("piece", table.of, pieces)
        base = pieces[table.of]
        _check(table, base, faults)
        if len(faults.found) > before:
            return None
        try:
            return derived(base, _recipe(table, cloth, base, faults))
        except CannotBeDone as error:
            raise Unusable(str(error).rstrip("."), "Check trim, trims and near") from error
    return None


def _check(table: DerivedTable, base: Piece, faults: FaultList) -> None:
    known = {*base.edges, *([INNER] if table.near else [])}
    for key in ("allowances", "hems", "corners", "trims"):
        for name in getattr(table, key):
            with faults.gathering(f"{key}.{name}"):
                if name not in known or (key == "trims" and name == INNER):
                    raise Unusable.unknown("edge", name, sorted(known))
    for number, name in enumerate(table.near.edges if table.near else (), 1):
        with faults.gathering(f"near.edges[{number}]"):
            if name not in base.edges:
                raise Unusable.unknown("edge", name, base.edges)
    if table.near and base.cutouts:
        faults.add("near", f"'{base.name}' has cut-outs", "Draw the part as a piece of its own")
    if table.line is Line.CUT and (table.allowance or table.allowances or table.hems):
        faults.add(
            "line",
            "what follows the cut line has no allowances of its own",
            'Leave them out, or say line = "stitching line"',
        )
    cut = base.cut if table.cut is None else table.cut
    if (base.pair if table.pair is None else table.pair) and cut % 2:
        faults.add("cut", f"a pair can't be cut {cut} times", "Give an even number")


def _recipe(table: DerivedTable, cloth: str, base: Piece, faults: FaultList) -> Recipe:
    return Recipe(
        name=table.name,
        cloth=cloth,
        of=base.name,
        from_cut_line=table.line is Line.CUT,
        trim_mm=table.trim,
        trims_mm=dict(table.trims),
        near=tuple(table.near.edges) if table.near else (),
        within_mm=table.near.within if table.near else 0.0,
        cut=table.cut,
        pair=table.pair,
        turns=None if table.turns is None else tuple(dict.fromkeys(table.turns)),
        allowance_mm=table.allowance,
        edges={name: own_edge(name, Edge(0, 0), table, faults) for name in (*base.edges, INNER)},
    )
