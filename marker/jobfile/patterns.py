"""The pattern of a job file in each of its sizes: pieces, strips, and what is sewn to what."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import Any, TypeVar

from pydantic import BaseModel

from marker.cloth.fabric import Cloth
from marker.files.faults import FaultList, Unusable
from marker.files.wording import validated
from marker.jobfile.grading import Grading, rules_from
from marker.jobfile.pieces import PieceMaker
from marker.jobfile.repeats import MatchMaker, check_border
from marker.jobfile.schema import (
    GirthTable,
    MatchTable,
    OpeningTable,
    PieceTable,
    SeamTable,
    StripTable,
)
from marker.jobfile.sewing import SewingMaker
from marker.jobfile.sizes import drawn_by_size, in_size, once, placed_by_size, sizes_in
from marker.jobfile.strips import check_band_points, strip_from
from marker.jobfile.tables import cloth_names, edge_names, opening_points, sewable_edges, tables
from marker.pattern.bands.strip import Strip
from marker.pattern.grading import with_true_seams
from marker.pattern.pattern import Pattern
from marker.pattern.piece import Piece
from marker.pattern.repeats.match import Match
from marker.pattern.seams.sewing import Opening

_Table = TypeVar("_Table", bound=BaseModel)
_Thing = TypeVar("_Thing")


def patterns_from(
    raw: Mapping[str, Any],
    folder: Path,
    unit: float | None,
    cloths: Sequence[Cloth],
    faults: FaultList,
) -> dict[str, Pattern]:
    """The pattern in every size; a fault is noted once, with the sizes that have it."""
    sizes, by_cloth = sizes_in(raw), {cloth.name: cloth for cloth in cloths}
    rules, names = rules_from(raw, folder, unit, faults)
    noted = {size: FaultList(faults.file) for size in sizes}
    sized = {size: in_size(raw, size, noted[size]) for size in sizes}
    patterns: dict[str, Pattern] = {}
    by_rules: dict[str, set[str]] = {}
    if not any(each.found for each in noted.values()):
        for size in sizes:
            grading = Grading(size, str(raw.get("size", "")).strip(), rules, names)
            maker = PieceMaker(folder, unit, grading)
            patterns[size] = _pattern(sized[size], raw, maker, by_cloth, noted[size])
            by_rules[size] = maker.by_rules
    faults.found += once({size: each.found for size, each in noted.items()})
    if faults.found:
        return patterns
    own = patterns[str(raw["size"]).strip()]
    return {
        size: with_true_seams(pattern, own, by_rules[size]) if by_rules[size] else pattern
        for size, pattern in patterns.items()
    }


def _pattern(
    sized: Mapping[str, Any],
    raw: Mapping[str, Any],
    maker: PieceMaker,
    cloths: Mapping[str, Cloth],
    faults: FaultList,
) -> Pattern:
    """The pattern in one size; sized, raw : the job's tables in it, and as written."""
    unit = maker.unit_mm
    pieces = _pieces(sized, raw, maker, cloths, faults)
    by_name = {piece.name: piece for piece in pieces}
    sewing = SewingMaker(edge_names(sized), by_name)
    sewn = SewingMaker(sewable_edges(sized), by_name)  # a seam may take a strip's edge, too
    seams = _made(sized, "seam", SeamTable, unit, sewn.seam, faults)
    openings = _made(sized, "opening", OpeningTable, unit, sewing.opening, faults)
    return Pattern(
        maker.grading.size,
        pieces,
        seams=seams,
        openings=openings,
        girths=_made(sized, "girth", GirthTable, unit, sewing.girth, faults),
        strips=_strips(sized, unit, pieces, openings, faults),
        matches=_matches(sized, unit, MatchMaker(sewing, cloths), faults),
    )


def _pieces(
    sized: Mapping[str, Any],
    raw: Mapping[str, Any],
    maker: PieceMaker,
    cloths: Mapping[str, Cloth],
    faults: FaultList,
) -> tuple[Piece, ...]:
    pieces: list[Piece] = []
    for (part, table), (_, written) in zip(
        tables(sized, "piece"), tables(raw, "piece"), strict=True
    ):
        place = faults.under(part)
        valid = validated(PieceTable, table, place, maker.unit_mm)
        if valid is not None:
            cloth = _chosen_cloth(valid.cloth, raw, place)
            if valid.grade and drawn_by_size(written):
                problem = "the piece is drawn in each size and graded by rules too"
                place.add("grade", problem, "Leave it out, or draw the sample size only")
                continue
            piece = maker.piece(valid, cloth, place, placed_by_size(written))
            if piece is not None:
                check_border(piece, cloths.get(cloth), place)
                pieces.append(piece)
    return tuple(pieces)


def _strips(
    raw: Mapping[str, Any],
    unit: float | None,
    pieces: Sequence[Piece],
    openings: Sequence[Opening],
    faults: FaultList,
) -> tuple[Strip, ...]:
    strips: list[Strip] = []
    points, sound = opening_points(raw), not faults.found
    for part, table in tables(raw, "strip"):
        place = faults.under(part)
        valid = validated(StripTable, table, place, unit)
        if valid is not None:
            cloth = _chosen_cloth(valid.cloth, raw, place)
            strips.append(strip_from(valid, cloth, points, place))
            if sound and not faults.found:
                check_band_points(valid, strips[-1], pieces, openings, place)
    return tuple(strips)


def _chosen_cloth(asked: str | None, raw: Mapping[str, Any], faults: FaultList) -> str:
    """The cloth asked for, the main cloth if none is; '' once the file has no cloth at all."""
    known = [name.strip() for name in cloth_names(raw)]
    if asked is None:
        return known[0] if known else ""
    if asked not in known and known:
        with faults.gathering("cloth"):
            raise Unusable.unknown("cloth", asked, known)
    return asked


def _made(
    raw: Mapping[str, Any],
    key: str,
    model: type[_Table],
    unit: float | None,
    make: Callable[[_Table, FaultList], _Thing],
    faults: FaultList,
) -> tuple[_Thing, ...]:
    """What `make` makes of each sound table under this key."""
    made: list[_Thing] = []
    for part, table in tables(raw, key):
        place = faults.under(part)
        valid = validated(model, table, place, unit)
        made += [make(valid, place)] if valid else []
    return tuple(made)


def _matches(
    raw: Mapping[str, Any], unit: float | None, maker: MatchMaker, faults: FaultList
) -> tuple[Match, ...]:
    matches: list[Match] = []
    for number, (part, table) in enumerate(tables(raw, "match"), 1):
        place = faults.under(part)
        valid = validated(MatchTable, table, place, unit)
        match = valid and maker.match(valid, number, place)
        matches += [match] if match else []
    return tuple(matches)
