"""Pieces drawn in the sample size, with the rules of a file beside them for the other sizes."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from pathlib import Path

from marker.exchange.drawn_sizes import Sized, sizes_of
from marker.exchange.dxf.rule_file import Move, RuleFile, moves_mm
from marker.exchange.flat_piece import FlatPiece
from marker.files.faults import FaultList

_MOST_LISTED = 20


def by_rules(
    path: Path,
    rules: RuleFile,
    unit_mm: float | None,
    found: Sequence[FlatPiece],
    sample: str,
    table: str,
) -> Sized:
    """The sample size's pieces and the rules that they name; raises FaultyInput where the file of
    rules does not belong to the drawings.

    unit_mm : instead of what the file says of its unit. sample, table : sample size and name of
        the rule table, as the drawings say, "" where they don't.
    """
    faults = FaultList(path)
    drawn = sizes_of(found)
    if (sample and sample != rules.sample) or (drawn and rules.sample not in drawn):
        faults.add(
            "SAMPLE SIZE",
            f"it is {rules.sample}, and the drawing's is {sample or ', '.join(drawn)}",
            "Name the rule file that belongs to the drawing",
        )
    pieces = [piece for piece in found if piece.size in ("", rules.sample)]
    named = {point.rule for piece in pieces for point in piece.grade_points}
    missing, unused = named - rules.moves.keys(), rules.moves.keys() - named
    if missing:
        faults.add(
            "",
            f"the pieces name rules that are not in it: {_listed(missing)}",
            "Name the rule file that belongs to the drawing",
        )
    elif pieces and not named:
        faults.add("", "no point of the pieces names a rule", "Leave the rule file out")
    moves: dict[int, dict[str, Move]] = {}
    with faults.gathering(""):
        moves = moves_mm(rules, unit_mm)
    faults.raise_any()
    told = []
    if table and rules.name and table.lower() != rules.name.lower():
        told.append(f"the rules: the drawing asks for '{table}', the file calls its '{rules.name}'")
    passed_over = Counter({"pieces of other sizes: the rules make these": len(found) - len(pieces)})
    if unused:
        passed_over[f"rules that no point names: {_listed(unused)}"] = len(unused)
    used = {rule: moves[rule] for rule in sorted(named)}
    return Sized(rules.sample, pieces, rules.sizes, moves=used, passed_over=+passed_over, told=told)


def _listed(numbers: Iterable[int]) -> str:
    each = sorted(numbers)
    more = f" and {len(each) - _MOST_LISTED} more" if len(each) > _MOST_LISTED else ""
    return ", ".join(map(str, each[:_MOST_LISTED])) + more
