"""Grade rules out of a job file or a file of their own, and outlines graded by them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np

from marker.exchange.outlines import Drawn, check_outline
from marker.files.faults import FaultList, Unusable
from marker.files.toml import read_toml
from marker.files.wording import validated
from marker.geometry.outline import is_ccw
from marker.geometry.resizing import refitted
from marker.jobfile.as_written import bare_unit
from marker.jobfile.job_table import RuleFileTable, RuleTable
from marker.jobfile.piece_table import PieceTable
from marker.jobfile.sizes import sizes_in
from marker.pattern.grading import GradeRule


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
