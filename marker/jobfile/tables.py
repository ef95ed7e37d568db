"""A job file's tables as they stand in it, before any of them is checked."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from marker.files.values import unit_mm
from marker.pattern.bands.strip_plan import LONG_EDGE
from marker.units import NotALength


def bare_unit(raw: Mapping[str, Any]) -> float | None:
    """Millimetres of a bare number; None if the file names no unit.

    Faulty `units` have their own fault; bare numbers then count as mm, so as not to repeat it.
    """
    units = raw.get("units")
    try:
        return None if units is None else unit_mm(str(units).strip())
    except NotALength:
        return 1.0


def tables(raw: Mapping[str, Any], key: str) -> list[tuple[str, dict[str, Any]]]:
    """(place, table) of each [[piece]] or [[strip]] that is a table."""
    listed = raw.get(key, [])
    found: list[tuple[str, dict[str, Any]]] = []
    for number, table in enumerate(listed if isinstance(listed, list) else [], 1):
        if isinstance(table, dict):
            name = table.get("name")
            known = f" ({name})" if isinstance(name, str) and name else ""
            found.append((f"{key} {number}{known[:70]}", table))
    return found


def cloth_names(raw: Mapping[str, Any]) -> list[str]:
    """Names of the cloths as written, the main cloth first."""
    cloths = raw.get("cloth")
    return list(cloths) if isinstance(cloths, dict) else []


def edge_names(raw: Mapping[str, Any]) -> dict[str, set[str]]:
    """Piece -> its edges as written, so that a faulty piece does not condemn what refers to it."""
    named: dict[str, set[str]] = {}
    for _, table in tables(raw, "piece"):
        name, edges = table.get("name"), table.get("edges")
        if isinstance(name, str):
            known = {edge.strip() for edge in edges} if isinstance(edges, dict) else set()
            named.setdefault(name.strip(), set()).update(known)
    return named


def opening_points(raw: Mapping[str, Any]) -> dict[str, set[str]]:
    """Opening -> its points as written, so that a faulty opening does not condemn its bands."""
    named: dict[str, set[str]] = {}
    for _, table in tables(raw, "opening"):
        name, points = table.get("name"), table.get("points")
        if isinstance(name, str):
            known = {point.strip() for point in points} if isinstance(points, dict) else set()
            named.setdefault(name.strip(), set()).update(known)
    return named


def sewable_edges(raw: Mapping[str, Any]) -> dict[str, set[str]]:
    """`_edge_names`, and the long edges of the strips whose length is given."""
    strips = [table for _, table in tables(raw, "strip") if "length" in table]
    names = [table["name"].strip() for table in strips if isinstance(table.get("name"), str)]
    return edge_names(raw) | {name: {LONG_EDGE} for name in names}
