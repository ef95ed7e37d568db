"""A job in its sizes: values by size, and grade rules out of it or out of a file of their own.

A job file of several sizes is one job file for each of them.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any

import numpy as np

from marker.errors import Fault
from marker.exchange.outlines import Drawn, check_outline
from marker.files.faults import FaultList, Unusable
from marker.files.toml import read_toml
from marker.files.wording import validated
from marker.geometry.outline import is_ccw
from marker.geometry.resizing import refitted
from marker.jobfile.as_written import bare_unit, tables
from marker.jobfile.job_table import GRADED, RuleFileTable, RuleTable
from marker.jobfile.piece_table import OUTLINES, PieceTable
from marker.pattern.grading import GradeRule

BY_SIZE, SIZE = "by_size", "{size}"
Numbered = frozenset[tuple[str, int]]
"""Entries of a table's lists: the list's key, and the number counted from 0."""

_PLACES = ("at", "tip", "points")


def sizes_in(raw: Mapping[str, Any]) -> tuple[str, ...]:
    """The sizes as written, none of them empty; the sample size alone where none are listed."""
    listed = raw.get("sizes", [raw.get("size")])
    texts = listed if isinstance(listed, list) else []
    named = (text.strip() for text in texts if isinstance(text, str) and text.strip())
    return tuple(dict.fromkeys(named)) or ("",)


def check_sizes(raw: Mapping[str, Any], faults: FaultList) -> None:
    """The sample size is one of the sizes, and none is listed twice."""
    sizes, listed = sizes_in(raw), raw.get("sizes")
    if not isinstance(listed, list):
        return
    if len(sizes) < len(listed):
        faults.add("sizes", "a size is listed twice, or is no text", "Give each size once")
    if isinstance(raw.get("size"), str) and raw["size"].strip() not in sizes:
        with faults.gathering("size"):
            raise Unusable.unknown("size", raw["size"].strip(), sizes)


def in_size(raw: Mapping[str, Any], size: str, faults: FaultList) -> dict[str, Any]:
    """The job's tables with every value of this size in its place.

    A value by size lists every size and no other; what does not is noted and left as it is.
    """
    sizes = sizes_in(raw)
    sized = dict(raw)
    for kind in GRADED:
        if isinstance(raw.get(kind), list):
            sized[kind] = [
                _sized(table, size, sizes, faults.under(part)) for part, table in tables(raw, kind)
            ]
    return sized


def _sized(
    table: dict[str, Any], size: str, sizes: Iterable[str], faults: FaultList
) -> dict[str, Any]:
    """One piece, strip or seam in a size; its name is the same in all of them."""
    return {
        key: value if key == "name" else _chosen(value, key, size, sizes, faults)
        for key, value in table.items()
    }


def _chosen(value: Any, key: str, size: str, sizes: Iterable[str], faults: FaultList) -> Any:
    if isinstance(value, dict) and BY_SIZE in value:
        with faults.gathering(key):
            return _of_size(value, size, sizes)
        return value
    if isinstance(value, dict):
        return {k: _chosen(v, f"{key}.{k}", size, sizes, faults) for k, v in value.items()}
    if isinstance(value, list):
        return [_chosen(v, f"{key}[{n}]", size, sizes, faults) for n, v in enumerate(value, 1)]
    if key == "drawing" and isinstance(value, str):
        return value.replace(SIZE, size)
    return value


def _of_size(value: dict[str, Any], size: str, sizes: Iterable[str]) -> Any:
    listed = value[BY_SIZE]
    if len(value) > 1 or not isinstance(listed, dict):
        raise Unusable(
            "a value by size stands alone and is a table",
            'Write { by_size = { 38 = "10 cm", 40 = "11 cm" } } and nothing beside by_size',
        )
    for name in listed:
        if name not in sizes:
            raise Unusable.unknown("size", name, sizes)
    missing = [name for name in sizes if name not in listed]
    if missing:
        raise Unusable(f"there is no value for size {', '.join(missing)}", "Give one for each size")
    return listed[size]


def placed_by_size(table: Mapping[str, Any]) -> Numbered:
    """What of a piece's lists as written stands in places given by size."""
    return frozenset(
        (key, number)
        for key in ("notches", "darts", "pleats", "gathers", "marks")
        for number, each in enumerate(_listed(table.get(key)))
        if isinstance(each, dict) and any(_has_value_by_size(each.get(part)) for part in _PLACES)
    )


def _listed(value: Any) -> list[Any]:
    return value if isinstance(value, list) else []


def drawn_by_size(table: Mapping[str, Any]) -> bool:
    """Whether a piece as written has an outline of its own in each size."""
    drawing = table.get("drawing")
    own = isinstance(drawing, str) and SIZE in drawing
    return own or any(_has_value_by_size(table.get(key)) for key in OUTLINES)


def _has_value_by_size(value: Any) -> bool:
    if isinstance(value, dict):
        return BY_SIZE in value or any(map(_has_value_by_size, value.values()))
    return isinstance(value, list) and any(map(_has_value_by_size, value))


def once(found: Mapping[str, Iterable[Fault]]) -> list[Fault]:
    """The faults found in each size, each once; those of some sizes only with these."""
    sizes_of: dict[Fault, dict[str, None]] = {}
    for size, faults in found.items():
        for fault in faults:
            sizes_of.setdefault(fault, {})[size] = None
    return [
        fault
        if len(sizes) == len(found)
        else replace(fault, place=f"{fault.place}, size {', '.join(sizes)}")
        for fault, sizes in sizes_of.items()
    ]


def merged(by_size: Mapping[str, Any]) -> Any:
    """One value for all sizes where they agree, tables and lists of tables part by part; else a
    value by size."""
    first, *others = by_size.values()
    if all(value == first for value in others):
        return first
    if isinstance(first, dict) and all(value.keys() == first.keys() for value in others):
        return {key: merged({s: value[key] for s, value in by_size.items()}) for key in first}
    lengths = {len(value) for value in by_size.values() if isinstance(value, list)}
    if isinstance(first, list) and len(lengths) == 1 and first and isinstance(first[0], dict):
        return [merged({s: value[k] for s, value in by_size.items()}) for k in range(len(first))]
    return {BY_SIZE: dict(by_size)}


@dataclass(frozen=True)
class Grading:
    """The rules by which pieces are graded, and the size that is made of them.

    names : of all rules as written, so that a faulty one does not condemn what refers to it.
    """

    size: str
    sample: str
    rules: Mapping[str, GradeRule] = field(default_factory=dict)
    names: tuple[str, ...] = ()

    def graded(self, table: PieceTable, sample: Drawn, faults: FaultList) -> Drawn | None:
        """The sample's outline in this size, or None where it is faulty; every fault is noted."""
        if not table.grade:
            return sample
        before = len(faults.found)
        vertices: dict[int, GradeRule | None] = {}
        for corner, name in table.grade.items():
            with faults.gathering(f"grade.{corner}"):
                vertices[self._vertex(corner, sample)] = self._rule(name)
        if len(faults.found) > before:
            return None
        with faults.gathering("grade"):
            if sample.cutouts:
                raise Unusable("a full ring is not graded by rules", "Give its radii by size")
            if len(vertices) < 2:
                raise Unusable("it names one point only", "Name two or more corners that move")
            moves = {
                vertex: np.array(rule.moves_mm[self.size])
                for vertex, rule in vertices.items()
                if rule is not None  # or its own fault is noted
            }
            if self.size == self.sample or len(moves) < len(vertices):
                return sample
            points = refitted(sample.points, sorted(set(sample.corners)), moves)
            check_outline(points)
            if is_ccw(points) != is_ccw(sample.points):
                raise Unusable("it turns the outline inside out", "Check the moves of this size")
            return Drawn(points, sample.corners)
        return None

    def _vertex(self, corner: str, drawn: Drawn) -> int:
        if not (corner.isascii() and corner.isdigit()):
            raise Unusable(
                f"'{corner}' is no number of a corner", 'Write { 1 = "waist", 2 = "side" }'
            )
        return drawn.corner(int(corner))

    def _rule(self, name: str) -> GradeRule | None:
        if name not in self.names:
            raise Unusable.unknown("grade rule", name, self.names)
        return self.rules.get(name)


def rules_from(
    raw: Mapping[str, Any], folder: Path, unit: float | None, faults: FaultList
) -> tuple[dict[str, GradeRule], tuple[str, ...]]:
    """The rules without fault and the names of all; every fault of the others is noted."""
    listed = raw.get("rules", {})
    if isinstance(listed, str):
        path = folder / listed
        faults = FaultList(path, found=faults.found)
        listed, unit = _in_file(faults)
    elif not isinstance(listed, dict):
        faults.add("rules", "a table or the name of a file is expected here", "Write [rules.NAME]")
        listed = {}
    sizes, sample = sizes_in(raw), str(raw.get("size", "")).strip()
    found = {}
    for name, table in listed.items():
        rule = _rule(name.strip(), table, unit, faults.under(f"rules.{name[:60]}"))
        if rule is not None and _complete(rule, sizes, sample, faults.under(f"rules.{name[:60]}")):
            found[rule.name] = GradeRule(rule.name, {sample: (0.0, 0.0), **rule.moves_mm})
    return found, tuple(name.strip() for name in listed)


def _in_file(faults: FaultList) -> tuple[dict[str, Any], float | None]:
    """The rules of the list's file as written, and the unit of its bare numbers."""
    raw: dict[str, Any] = {}
    with faults.gathering(""):
        raw = read_toml(faults)
    table = validated(RuleFileTable, raw, faults) if raw else None
    return (table.rules if table else {}), bare_unit(raw)


def _rule(name: str, table: Any, unit: float | None, faults: FaultList) -> GradeRule | None:
    valid = validated(RuleTable, table, faults, unit)
    if valid is None:
        return None
    return GradeRule(name, {size: (dx, dy) for size, (dx, dy) in valid.root.items()})


def _complete(rule: GradeRule, sizes: tuple[str, ...], sample: str, faults: FaultList) -> bool:
    before = len(faults.found)
    for size, move in rule.moves_mm.items():
        if size not in sizes:
            with faults.gathering(size):
                raise Unusable.unknown("size", size, sizes)
        if size == sample and move != (0.0, 0.0):
            faults.add(size, "the sample size does not move", "Leave it out, or write [0, 0]")
    missing = [size for size in sizes if size not in rule.moves_mm and size != sample]
    if missing:
        said = f"there is no move for size {', '.join(missing)}"
        faults.add("", said, "Give dx and dy for each size but the sample's")
    return len(faults.found) == before
