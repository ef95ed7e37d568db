"""A checked strip table as a Strip: how long it is, and the seams it finishes."""

from __future__ import annotations

from collections.abc import Collection, Mapping

from marker.files.faults import FaultList, Unusable
from marker.files.schema import StripTable
from marker.pattern.piece import Strip

_LENGTHS = ("length", "ratio", "shorter_by")


def strip_from(
    table: StripTable, cloth: str, seams: Mapping[str, Collection[str]], faults: FaultList
) -> Strip:
    """The strip; every fault of it is noted. seams : piece -> names of its seams."""
    _check_length(table, faults)
    finishes: list[tuple[str, str]] = []
    for number, reference in enumerate(table.finishes or [], 1):
        with faults.gathering(f"finishes[{number}]"):
            finishes.append(_seam(reference, seams))
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
        faults.add(given[0], "it needs a seam to measure", 'Add finishes = ["piece.seam"]')
    elif table.length is not None and table.finishes:
        faults.add("finishes", "the length is given already", "Leave out length or finishes")


def _seam(reference: str, seams: Mapping[str, Collection[str]]) -> tuple[str, str]:
    piece, dot, seam = (part.strip() for part in reference.partition("."))
    if not (piece and dot and seam):
        raise Unusable(f"'{reference}' names no seam", 'Write piece and seam, as "front.neck"')
    if piece not in seams:
        raise Unusable.unknown("piece", piece, seams)
    if seam not in seams[piece]:
        raise Unusable.unknown(f"seam of '{piece}'", seam, seams[piece])
    return piece, seam
