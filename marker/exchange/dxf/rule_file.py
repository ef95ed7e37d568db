"""Grade-rule files, which ASTM D6673 sets beside a pattern in DXF: how each numbered grade point of
the sample size moves in every size.

The keys of the head and of the rules are from excerpts of the standard. From memory: METRIC means
millimetres and ENGLISH inches. Sizes stand in a row with blanks or commas between. A move is taken
from the sample size's point, not from the size before.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime
from itertools import chain
from pathlib import Path

from marker.exchange.dxf.dxf_text import ascii_text
from marker.exchange.dxf.standard import STANDARD_TEXT, UNIT_WORDS
from marker.exchange.piece_text import pair_in
from marker.files.budget import Most
from marker.files.faults import Unusable
from marker.files.reading import read_bytes
from marker.units import inches, metric

SUFFIX = ".rul"
FURTHEST_MOVE_MM = 1_000.0  # no size is a metre larger: common practice, no source
_RULE = re.compile(r"delta ?#? ?(\d{1,6})", re.IGNORECASE)
_OTHER_LETTER = re.compile(r"\\U\+([0-9A-Fa-f]{4})")  # as DXF has it

Move = tuple[float, float]


@dataclass(frozen=True)
class RuleFile:
    """Grade rules by number, as a file holds them.

    name : of the table, "" when the file does not say.
    sizes, sample : as written. unit_mm : of a move, None when the file does not say.
    moves : rule -> (dx, dy) in each size, from the sample size's point, x right and y up.
    """

    name: str
    sizes: tuple[str, ...]
    sample: str
    unit_mm: float | None
    moves: Mapping[int, tuple[Move, ...]]


def read_rules(path: Path) -> RuleFile:
    """The rules in a file; raises Unusable for what can't be read of them."""
    text = read_bytes(path).decode("latin-1")
    head, rules = _parts(_OTHER_LETTER.sub(lambda found: chr(int(found[1], 16)), text))
    sizes = _sizes(head)
    sample = head.get("sample size", "")
    if sample not in sizes:
        raise Unusable(
            f"its sample size, {sample!r}, is none of its sizes ({', '.join(sizes)})"
            if sample
            else "it names no sample size",
            "Write SAMPLE SIZE: and one of the SIZE LIST",
        )
    moves: dict[int, tuple[Move, ...]] = {}
    for number, (line, words) in rules.items():
        moves[number] = tuple(_pairs(number, line, words, len(sizes)))
        if any(moves[number][sizes.index(sample)]):
            raise Unusable(
                f"rule {number} (line {line}) moves the sample size, {sample}",
                "Its pair for that size must be 0, 0: check the order of the sizes",
            )
    if not moves:
        raise Unusable("there is no rule in it", "Name the grade-rule file of the pattern")
    units = head.get("units", "").lower()
    if units and units not in UNIT_WORDS:
        raise Unusable(f"its units, {units!r}, are not known", "Write UNITS: METRIC or ENGLISH")
    return RuleFile(head.get("grade rule table", ""), sizes, sample, UNIT_WORDS.get(units), moves)


def _parts(text: str) -> tuple[dict[str, str], dict[int, tuple[int, list[str]]]]:
    """The head by its keys in small letters, and of each rule its line and its numbers."""
    head: dict[str, str] = {}
    rules: dict[int, tuple[int, list[str]]] = {}
    words: list[str] | None = None
    for line, written in enumerate(text.splitlines(), 1):
        key, value = pair_in(written)
        if written.strip().lower() == "end":
            return head, rules
        if key == "rule":
            rule = _RULE.fullmatch(" ".join(value.split()))
            if rule is None or int(rule[1]) in rules or len(rules) == Most.RULES.most:
                raise Unusable(_rule_fault(value, rule, line), "Write each as RULE: DELTA 1")
            words = []
            rules[int(rule[1])] = (line, words)
        elif words is not None:
            words += re.split(r"[,;\s]+", written.strip(" \t,;")) if written.strip() else []
        elif key:
            head.setdefault(key, value)
    raise Unusable("it ends in the middle: its END is missing", "Fetch the file again")


def _rule_fault(written: str, rule: re.Match[str] | None, line: int) -> str:
    if rule is None:
        return f"line {line}: {written[:40]!r} is no rule that is read"
    return f"line {line}: rule {rule[1]} is there twice, or there are more than {Most.RULES.most}"


def _sizes(head: Mapping[str, str]) -> tuple[str, ...]:
    """The sizes in their order; names with blanks in them need commas between."""
    listed = head.get("size list", "")
    sizes = tuple(filter(None, (size.strip() for size in listed.split(","))))
    if len(sizes) < 2:
        sizes = tuple(listed.split())
    said = head.get("number of sizes", str(len(sizes)))
    shown = ", ".join(sizes[: Most.RULE_SIZES.most])
    if said != str(len(sizes)) or len(set(sizes)) < len(sizes) or not sizes:
        raise Unusable(
            f"it lists {len(sizes)} sizes ({shown}) and says that there are {said[:20]}, "
            "or lists one twice",
            "Write SIZE LIST: with each size once, and as many as NUMBER OF SIZES says",
        )
    Most.RULE_SIZES.demand(len(sizes))
    return sizes


def _pairs(number: int, line: int, words: list[str], count: int) -> Iterator[Move]:
    try:
        numbers = [float(word) for word in words]
    except ValueError:
        numbers = []
    if len(numbers) != 2 * count or not all(map(math.isfinite, numbers)):
        raise Unusable(
            f"rule {number} (line {line}) does not hold two numbers for each of {count} sizes",
            "Write dx, dy for each size, in the order of SIZE LIST",
        )
    return zip(numbers[::2], numbers[1::2], strict=True)


def moves_mm(rules: RuleFile, unit_mm: float | None) -> dict[int, dict[str, Move]]:
    """Rule -> size -> (dx, dy) in mm; raises Unusable for moves that no pattern makes.

    unit_mm : instead of what the file says of its unit.
    """
    unit = unit_mm or rules.unit_mm
    if unit is None:
        raise Unusable(
            "it does not say what its numbers measure",
            "Write UNITS: METRIC or ENGLISH in it, or say with --units what one unit measures",
        )
    found = {
        number: {
            size: (dx * unit, dy * unit) for size, (dx, dy) in zip(rules.sizes, pairs, strict=True)
        }
        for number, pairs in rules.moves.items()
    }
    for number, by_size in found.items():
        furthest = max(map(abs, chain(*by_size.values())))
        if furthest > FURTHEST_MOVE_MM:
            raise Unusable(
                f"rule {number} moves a point by {metric(furthest)} ({inches(furthest)})",
                "Check UNITS in the file, or say with --units what one unit measures",
            )
    return found


def rules_text(rules: RuleFile, created: datetime) -> str:
    """The rules, which are in mm, as a file of 7-bit ASCII."""
    lines = [
        STANDARD_TEXT,
        "AUTHOR: marker",
        f"CREATION DATE: {created:%m-%d-%Y}",
        f"CREATION TIME: {created:%H:%M}",
        f"GRADE RULE TABLE: {rules.name}",
        "UNITS: METRIC",
        f"NUMBER OF SIZES: {len(rules.sizes)}",
        f"SIZE LIST: {', '.join(rules.sizes)}",
        f"SAMPLE SIZE: {rules.sample}",
    ]
    for number, pairs in rules.moves.items():
        lines.append(f"RULE: DELTA {number}")
        lines += [f"{dx + 0.0:.3f}, {dy + 0.0:.3f}" for dx, dy in pairs]
    return ascii_text("\n".join([*lines, "END", ""]))
