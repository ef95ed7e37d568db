"""Pieces sorted by size: each piece in every size that is drawn or that rules make, or one size."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

from marker.errors import Fault, FaultyInput
from marker.exchange.dxf.rule_file import Move, RuleFile, moves_mm
from marker.exchange.flat_piece import FlatPiece
from marker.files.faults import FaultList

_Key = tuple[str, int]


@dataclass(frozen=True)
class Sized:
    """Pieces sorted by size; sizes and names as the files have them.

    sample, pieces : the sample size and its pieces. sizes : all of them, in order.
    drawn : size -> the same pieces in the same order, where several sizes are drawn.
    moves : rule -> size -> (dx, dy) mm from the sample size, x right and y up as drawn, where rules
        make the other sizes.
    passed_over : what was not used -> how often. told : what was left out, or taken so for want of
        better.
    """

    sample: str
    pieces: Sequence[FlatPiece]
    sizes: Sequence[str]
    drawn: Mapping[str, Sequence[FlatPiece]] = field(default_factory=dict)
    moves: Mapping[int, Mapping[str, Move]] = field(default_factory=dict)
    passed_over: Counter[str] = field(default_factory=Counter)
    told: Sequence[str] = ()


def as_drawn(found: Sequence[FlatPiece], sample: str, size: str | None, place: str) -> Sized:
    """The pieces in every size that is drawn, or in `size` alone; their grade points go unused.

    sample : as the files say, "" where they don't. place : the files, for a message.
    """
    points = sum(len(piece.grade_points) for piece in found)
    what = "grade points" + (": name their rule file (.rul) too" if size is None else "")
    passed_over = +Counter({what: points})
    found = [replace(piece, grade_points=()) for piece in found]
    sizes = sizes_of(found)
    if size is None and len(sizes) > 1:
        return _all_sizes(found, sizes, sample, passed_over)
    chosen = size or (sizes[0] if sizes else sample)
    if sizes and chosen not in sizes:
        raise FaultyInput(
            [
                Fault(
                    place,
                    f"there is no size '{chosen}'",
                    f"Choose with --size one of {', '.join(sizes)}",
                )
            ]
        )
    pieces = [piece for piece in found if piece.size in ("", chosen)]
    return Sized(chosen, pieces, [chosen], passed_over=passed_over)


def sizes_of(found: Sequence[FlatPiece]) -> list[str]:
    """The sizes that the pieces say they have, in the files' order."""
    return list(dict.fromkeys(piece.size for piece in found if piece.size))


def _all_sizes(
    found: Sequence[FlatPiece], sizes: Sequence[str], sample: str, passed_over: Counter[str]
) -> Sized:
    """Each piece in each size. One without a size, or in the sample size alone, is the same in all;
    a size that lacks another is left out."""
    told: list[str] = []
    if sample not in sizes:
        sample = sizes[len(sizes) // 2]
        told.append(f"the sample size: {sample}, the file names none that it draws")
    by_size = {size: _keyed(piece for piece in found if piece.size in ("", size)) for size in sizes}
    own = by_size[sample]
    others = [size for size in sizes if size != sample]
    for key, piece in own.items():
        if not any(key in by_size[size] for size in others):
            told.append(f"'{key[0]}', drawn in size {sample} alone: the same in every size")
            for size in others:
                by_size[size][key] = piece
    kept = []
    for size in sizes:
        lacks = [f"'{key[0]}'" for key in own if key not in by_size[size]]
        if lacks:
            told.append(f"size {size}: left out, {', '.join(lacks)} is not drawn in it")
        else:
            kept.append(size)
        told += [
            f"'{key[0]}' of size {size}: left out, it is not drawn in size {sample}"
            for key in by_size[size]
            if key not in own
        ]
    drawn = {size: [by_size[size][key] for key in own] for size in kept}
    return Sized(sample, drawn[sample], kept, drawn, passed_over=passed_over, told=told)


def _keyed(pieces: Iterable[FlatPiece]) -> dict[_Key, FlatPiece]:
    """The pieces by name, and by which of that name they are."""
    met: Counter[str] = Counter()
    keyed: dict[_Key, FlatPiece] = {}
    for piece in pieces:
        name = _without_size(piece)
        met[name] += 1
        keyed[name, met[name]] = replace(piece, name=name)
    return keyed


def _without_size(piece: FlatPiece) -> str:
    """'front_38' of size 38 -> 'front': names of blocks must differ, so they hold the size."""
    name = piece.name.rstrip()
    if not piece.size or not name.endswith(piece.size):
        return piece.name
    whole = name[: -len(piece.size)]
    plain = whole.rstrip(" \t_-")
    return plain if plain and plain != whole else piece.name


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
