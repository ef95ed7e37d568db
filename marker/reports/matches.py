"""Matches and what they cost as plain values for JSON and as lines for a person."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from marker.cloth.fabric import Cloth
from marker.cloth.repeat import Axis
from marker.layout import Layout
from marker.pattern.pattern import Pattern
from marker.pattern.repeats.phases import match_places
from marker.planning.lay import Task
from marker.units import inches, metric


def match_facts(pattern: Pattern, work: Sequence[Task]) -> list[dict[str, Any]]:
    """Each match of a pattern, with where in the repeat its first point lies, as drawn, mm.

    work : tasks with all pieces of this size, and of others.
    """
    found = []
    for task in work:
        own = [piece for piece in task.cut_pieces if piece.size == pattern.size]
        places = match_places(own, task.cloth)
        for match in pattern.matches:
            if match.number in places:
                found.append(
                    {
                        "letter": match.letter,
                        "name": match.name,
                        "size": pattern.size,
                        "cloth": task.cloth.name,
                        "points": [str(place) for place in match.places],
                        "repeat_mm": {
                            axis.value: round(mm, 2) for axis, mm in places[match.number].items()
                        },
                    }
                )
    return found


def match_lines(match: dict[str, Any]) -> Iterator[str]:
    """One of `match_facts` as a line for a person."""
    where = ", ".join(f"{metric(mm)} {axis}" for axis, mm in match["repeat_mm"].items())
    yield f"{match['letter']}  {match['name']}: {' and '.join(match['points'])}; {where}"


def matching_lines(layout: Layout) -> Iterator[str]:
    """What keeping to the repeat costs; nothing where nothing is matched."""
    if layout.unmatched_mm is None:
        return
    yield (
        f"  match  kept to the repeat of {_repeat(layout.cloth)}; takes "
        f"{metric(layout.matching_mm)} ({inches(layout.matching_mm)}) more than the shortest "
        f"layout found without matches, {metric(layout.unmatched_mm)}"
    )
    if layout.spread.two_ply_mm:
        yield "         pin the bars of both plies on each other before cutting"


def _repeat(cloth: Cloth) -> str:
    bars = [(axis, cloth.repeat.on(axis)) for axis in Axis]
    return " and ".join(f"{metric(each.every_mm)} {axis}" for axis, each in bars if each)
