"""What a pattern file says of the cloths that its pieces are cut from, in one line each.

Formats have no place for it; programs that do not know the line show it as a note, or not at all.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, fields, replace
from enum import StrEnum
from typing import Any

from marker.cloth.fabric import Cloth, Nap
from marker.exchange.piece_text import pair_in
from marker.files.values import LARGEST_SIZE_MM, LONGEST_NAME

KEY = "Cloth Facts"
_MOST = 20
_LONGEST_LINE = 400


class _Word(StrEnum):
    WIDTH = "width"
    SELVAGE = "selvage"
    GAP = "gap"
    ENDS = "ends"
    NAP = "nap"


@dataclass(frozen=True)
class ClothFacts:
    """What is known of a cloth; None where a file does not say. Lengths in mm, ends each."""

    name: str = ""
    width_mm: float | None = None
    selvage_mm: float | None = None
    nap: Nap | None = None
    gap_mm: float | None = None
    ends_mm: float | None = None


NOTHING_TOLD = ClothFacts()


def facts_of(cloth: Cloth) -> ClothFacts:
    """What a pattern file says of a cloth."""
    return ClothFacts(
        cloth.name,
        cloth.width_mm,
        cloth.selvage_mm,
        cloth.nap,
        cloth.gap_mm,
        cloth.end_allowance_mm,
    )


def cloth_line(facts: ClothFacts) -> str:
    """'Cloth Facts: wool | width 1500 mm | nap one way'."""
    lengths = {
        _Word.WIDTH: facts.width_mm,
        _Word.SELVAGE: facts.selvage_mm,
        _Word.GAP: facts.gap_mm,
        _Word.ENDS: facts.ends_mm,
    }
    parts = [f"{word} {mm:.10g} mm" for word, mm in lengths.items() if mm is not None]
    parts += [] if facts.nap is None else [f"{_Word.NAP} {facts.nap}"]
    return f"{KEY}: " + " | ".join([" ".join(facts.name.replace("|", " ").split()), *parts])


def read_cloths(texts: Iterable[str]) -> tuple[ClothFacts, ...]:
    """The cloths that texts speak of; what can't be right of one is not known."""
    found: dict[str, ClothFacts] = {}
    for text in texts:
        key, value = pair_in(text[:_LONGEST_LINE])
        if key != KEY.lower():
            continue
        name, *parts = (part.strip() for part in value.split("|"))
        said = dict(part.partition(" ")[::2] for part in parts)
        if name and len(name) <= LONGEST_NAME and len(found) < _MOST:
            found.setdefault(
                name,
                ClothFacts(
                    name,
                    _mm(said.get(_Word.WIDTH, "")) or None,
                    _mm(said.get(_Word.SELVAGE, "")),
                    next((nap for nap in Nap if nap == said.get(_Word.NAP)), None),
                    _mm(said.get(_Word.GAP, "")),
                    _mm(said.get(_Word.ENDS, "")),
                ),
            )
    return tuple(found.values())


def _mm(text: str) -> float | None:
    number = re.fullmatch(r"(\d{1,6}(?:\.\d{1,9})?) mm", text)
    mm = float(number[1]) if number else None
    return mm if mm is not None and mm <= LARGEST_SIZE_MM else None


def as_told(facts: ClothFacts, told: ClothFacts) -> ClothFacts:
    """The facts of a cloth, what somebody has told of it in their place."""
    return replace(facts, **{key: value for key, value in _known(told).items() if key != "name"})


def _known(facts: ClothFacts) -> dict[str, Any]:
    all_of_it = {field.name: getattr(facts, field.name) for field in fields(facts)}
    return {key: value for key, value in all_of_it.items() if value is not None}
