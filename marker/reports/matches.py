"""What keeping to the repeat costs, as lines for a person."""

from __future__ import annotations

from collections.abc import Iterator

from marker.cloth.fabric import Cloth
from marker.cloth.repeat import Axis
from marker.layout import Layout
from marker.units import inches, metric


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
