"""A checked strip table as a Strip: how long it is, and the edges it finishes."""

from __future__ import annotations

from marker.files.faults import FaultList
from marker.files.references import EdgeNames, edge_ref
from marker.files.schema import StripTable
from marker.pattern.edge import EdgeRef
from marker.pattern.piece import Strip

_LENGTHS = ("length", "ratio", "shorter_by")


def strip_from(table: StripTable, cloth: str, edges: EdgeNames, faults: FaultList) -> Strip:
    """The strip; every fault of it is noted."""
    _check_length(table, faults)
    finishes: list[EdgeRef] = []
    for number, reference in enumerate(table.finishes or [], 1):
        with faults.gathering(f"finishes[{number}]"):
            finishes.append(edge_ref(reference, edges))
    return Strip(
        name=table.name,
        cloth=cloth,
        width_mm=table.width,
        length_mm=table.length,
        finishes=tuple(finishes),
        ratio=table.ratio,
        shorter_by_mm=table.shorter_by,
        closed=table.closed,
        direction=table.direction,
        join_allowance_mm=table.join_allowance,
        cut=table.cut,
    )


def _check_length(table: StripTable, faults: FaultList) -> None:
    given = [key for key in _LENGTHS if getattr(table, key) is not None]
    if len(given) != 1:
        said = "nothing says" if not given else f"{' and '.join(given)} both say"
        faults.add("", f"{said} how long the strip is", "Give one of length, ratio, shorter_by")
    elif table.length is None and not table.finishes:
        faults.add(given[0], "it needs an edge to measure", 'Add finishes = ["piece.edge"]')
    elif table.length is not None and table.finishes:
        faults.add("finishes", "the length is given already", "Leave out length or finishes")
