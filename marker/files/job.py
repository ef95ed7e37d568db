"""Reading a job file: every fault in it is found before one complaint is made."""

from __future__ import annotations

import re
import tomllib
from collections import Counter
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from marker.cloth.fabric import Cloth
from marker.files.cloth_tables import CLOTH_TABLES, ClothTable
from marker.files.cloths import cloth_from
from marker.files.faults import FaultList, Unusable
from marker.files.pieces import PieceMaker
from marker.files.reading import read_text
from marker.files.repeats import MatchMaker, check_border
from marker.files.schema import (
    INNER_TABLES,
    GirthTable,
    JobTable,
    MatchTable,
    OpeningTable,
    PieceTable,
    SeamTable,
    StripTable,
    unit_mm,
)
from marker.files.sewing import SewingMaker
from marker.files.strips import strip_from
from marker.files.tables import cloth_names, edge_names, opening_points, sewable_edges, tables
from marker.files.wording import validated
from marker.job import Job
from marker.pattern.girth import Girth
from marker.pattern.match import Match
from marker.pattern.piece import Piece
from marker.pattern.sewing import Opening, Seam
from marker.pattern.strip import Strip
from marker.units import NotALength

MOST_GARMENTS = 2000


def read_job(path: Path) -> Job:
    """The job in a file; raises FaultyInput with every fault, each with its place and remedy."""
    faults = FaultList(path)
    raw: dict[str, Any] = {}
    with faults.gathering(""):
        raw = _parse(read_text(path))
    faults.raise_any()
    top = validated(JobTable, raw, faults, INNER_TABLES)
    unit = _bare_unit(raw)
    cloths = _cloths(raw, unit, faults)
    by_cloth = {cloth.name: cloth for cloth in cloths}
    pieces = _pieces(raw, PieceMaker(path.parent, unit), by_cloth, faults)
    by_name = {piece.name: piece for piece in pieces}
    seams = _seams(raw, unit, SewingMaker(sewable_edges(raw), by_name), faults)
    sewing = SewingMaker(edge_names(raw), by_name)
    openings = _openings(raw, unit, sewing, faults)
    girths = _girths(raw, unit, sewing, faults)
    strips = _strips(raw, unit, faults)
    matches = _matches(raw, unit, MatchMaker(sewing, by_cloth), faults)
    _check_names(raw, faults)
    if top is not None:
        _check_order(top, faults)
    faults.raise_any()
    assert top is not None  # or it had noted a fault
    order = dict(top.order)
    return Job(top.name, top.size, pieces, strips, cloths, order, seams, openings, girths, matches)


def _parse(text: str) -> dict[str, Any]:
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        said = str(error)
        found = re.search(r"\(at (line \d+, column \d+|end of document)\)", said)
        where = found[1] if found else "somewhere"
        raise Unusable(
            f"broken TOML at {where}: {said.split(' (at ')[0].lower()}",
            "Mend that line; texts stand in quotation marks, lists in square brackets",
        ) from error
    except (ValueError, RecursionError) as error:  # numbers of thousands of digits, deep nesting
        raise Unusable("this can't be a job file", "Start from `marker new`") from error


def _bare_unit(raw: Mapping[str, Any]) -> float | None:
    """Millimetres of a bare number; None if the file names no unit.

    Faulty `units` have their own fault; bare numbers then count as mm, so as not to repeat it.
    """
    units = raw.get("units")
    try:
        return None if units is None else unit_mm(str(units).strip())
    except NotALength:
        return 1.0


def _cloths(raw: Mapping[str, Any], unit: float | None, faults: FaultList) -> tuple[Cloth, ...]:
    cloths: list[Cloth] = []
    for name in cloth_names(raw):
        place = faults.under(f"cloth.{name[:60]}")
        if not isinstance(raw["cloth"][name], dict):
            continue  # the top of the file has noted it
        table = validated(ClothTable, raw["cloth"][name], place, CLOTH_TABLES, unit)
        if table is not None:
            cloths.append(cloth_from(name.strip(), table, place))
    return tuple(cloths)


def _pieces(
    raw: Mapping[str, Any], maker: PieceMaker, cloths: Mapping[str, Cloth], faults: FaultList
) -> tuple[Piece, ...]:
    pieces: list[Piece] = []
    for part, table in tables(raw, "piece"):
        place = faults.under(part)
        valid = validated(PieceTable, table, place, INNER_TABLES, maker.unit_mm)
        if valid is not None:
            cloth = _chosen_cloth(valid.cloth, raw, place)
            piece = maker.piece(valid, cloth, place)
            if piece is not None:
                check_border(piece, cloths.get(cloth), place)
                pieces.append(piece)
    return tuple(pieces)


def _strips(raw: Mapping[str, Any], unit: float | None, faults: FaultList) -> tuple[Strip, ...]:
    strips: list[Strip] = []
    openings = opening_points(raw)
    for part, table in tables(raw, "strip"):
        place = faults.under(part)
        valid = validated(StripTable, table, place, INNER_TABLES, unit)
        if valid is not None:
            cloth = _chosen_cloth(valid.cloth, raw, place)
            strips.append(strip_from(valid, cloth, openings, place))
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


def _seams(
    raw: Mapping[str, Any], unit: float | None, maker: SewingMaker, faults: FaultList
) -> tuple[Seam, ...]:
    seams: list[Seam] = []
    for part, table in tables(raw, "seam"):
        place = faults.under(part)
        valid = validated(SeamTable, table, place, INNER_TABLES, unit)
        seams += [maker.seam(valid, place)] if valid else []
    return tuple(seams)


def _openings(
    raw: Mapping[str, Any], unit: float | None, maker: SewingMaker, faults: FaultList
) -> tuple[Opening, ...]:
    openings: list[Opening] = []
    for part, table in tables(raw, "opening"):
        place = faults.under(part)
        valid = validated(OpeningTable, table, place, INNER_TABLES, unit)
        openings += [maker.opening(valid, place)] if valid else []
    return tuple(openings)


def _girths(
    raw: Mapping[str, Any], unit: float | None, maker: SewingMaker, faults: FaultList
) -> tuple[Girth, ...]:
    girths: list[Girth] = []
    for part, table in tables(raw, "girth"):
        place = faults.under(part)
        valid = validated(GirthTable, table, place, INNER_TABLES, unit)
        girths += [maker.girth(valid, place)] if valid else []
    return tuple(girths)


def _matches(
    raw: Mapping[str, Any], unit: float | None, maker: MatchMaker, faults: FaultList
) -> tuple[Match, ...]:
    matches: list[Match] = []
    for number, (part, table) in enumerate(tables(raw, "match"), 1):
        place = faults.under(part)
        valid = validated(MatchTable, table, place, INNER_TABLES, unit)
        match = valid and maker.match(valid, number, place)
        matches += [match] if match else []
    return tuple(matches)


def _check_names(raw: Mapping[str, Any], faults: FaultList) -> None:
    """Pieces and strips share their names, and there must be at least one of them."""
    _check_unique("pieces or strips", [*tables(raw, "piece"), *tables(raw, "strip")], faults)
    _check_unique("seams", tables(raw, "seam"), faults)
    _check_unique("openings", tables(raw, "opening"), faults)
    _check_unique("girths", tables(raw, "girth"), faults)
    _check_unique("matches", tables(raw, "match"), faults)
    if not raw.get("piece") and not raw.get("strip"):
        faults.add("", "there is no piece to cut", "Add a [[piece]] or a [[strip]]")


def _check_unique(what: str, tables: list[tuple[str, dict[str, Any]]], faults: FaultList) -> None:
    names = Counter(
        table["name"].strip() for _, table in tables if isinstance(table.get("name"), str)
    )
    for name, count in names.items():
        if count > 1:
            faults.add(
                "name",
                f"{count} {what} are called '{name}'",
                "Give each of them a name of its own",
            )


def _check_order(top: JobTable, faults: FaultList) -> None:
    for size in top.order:
        if size != top.size:
            faults.add(
                f"order.{size}",
                f"the pattern is drawn in size '{top.size}' only",
                f"Order size '{top.size}'",
            )
    if sum(top.order.values()) > MOST_GARMENTS:
        faults.add(
            "order",
            f"{sum(top.order.values())} garments are more than {MOST_GARMENTS}",
            "Plan a large order as several jobs",
        )
