"""Reports of several sizes: what is alike in all of them is said once."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from itertools import groupby
from typing import Any


def by_size(
    facts: Iterable[dict[str, Any]],
    sizes: Sequence[str],
    lines: Callable[[dict[str, Any]], Iterable[str]],
) -> list[str]:
    """The lines of each thing, indented; where sizes differ, those of each with its sizes before.

    facts : each with its `size`. lines : of one of them, without saying its size.
    """
    told: dict[tuple[str, ...], list[str]] = {}
    named: dict[tuple[str, ...], tuple[str, ...]] = {}
    for fact in facts:
        text = tuple(lines(fact))
        told.setdefault(text, []).append(fact["size"])
        named.setdefault(text, _name(fact))
    places = {name: place for place, name in enumerate(dict.fromkeys(named.values()))}
    ordered = sorted(told.items(), key=lambda item: places[named[item[0]]])
    found = []
    for _, group in groupby(ordered, key=lambda item: named[item[0]]):
        for text, of in group:
            alike = list(dict.fromkeys(of)) == list(sizes)
            head = "  " if alike else f"  {', '.join(dict.fromkeys(of))}  "
            first, *rest = text
            found += [head + first, *("  " + line for line in rest)]
    return found


def _name(fact: dict[str, Any]) -> tuple[str, ...]:
    """What the same thing is called in every size."""
    keys = ("piece", "edge", "strip", "name", "seam", "code")
    return tuple(str(fact.get(key, "")) for key in keys)
