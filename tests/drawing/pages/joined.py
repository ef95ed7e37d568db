"""Tiled pages laid together by their join marks alone, as a person with tape would."""

from __future__ import annotations

import re
from dataclasses import dataclass

import numpy as np
from pypdf import PageObject

from marker.geometry.arrays import FloatArray
from tests.drawing.pdf_pages import Drawn, drawn_on, paper_of

_CROSS_MM = 8.0  # from tip to tip


@dataclass(frozen=True)
class JoinedPage:
    """A page, where its lower left corner comes to lie, and how badly its marks meet, mm."""

    name: str
    at: FloatArray
    drawn: tuple[Drawn, ...]
    miss_mm: float


def join(pages: list[PageObject]) -> list[JoinedPage]:
    """The pages, the first at (0, 0), each beside the neighbours whose crosses it shares."""
    waiting = {name_of(page): page for page in pages}
    crosses = {name: _crosses(page) for name, page in waiting.items()}
    first = next(iter(waiting))
    placed = {first: JoinedPage(first, np.zeros(2), tuple(drawn_on(waiting.pop(first))), 0.0)}
    while waiting:
        name = next(name for name in waiting if any(_side(name, p) for p in placed))
        offsets = []
        for other, page in placed.items():
            side = _side(name, other)
            if side:
                theirs = crosses[other][_OPPOSITE[side]] + page.at
                offsets += list(theirs - crosses[name][side])
        at = np.mean(offsets, axis=0)
        miss = float(np.abs(offsets - at).max())
        placed[name] = JoinedPage(name, at, tuple(drawn_on(waiting.pop(name))), miss)
    return list(placed.values())


_OPPOSITE = {"left": "right", "right": "left", "top": "foot", "foot": "top"}


def name_of(page: PageObject) -> str:
    """Row and column, from the words at its foot."""
    found = re.search(r"([A-Z]+\d+) · page", page.extract_text())
    assert found
    return found[1]


def _side(name: str, other: str) -> str:
    """On which side of the page `name` the page `other` belongs, '' if it is no neighbour."""
    (row, column), (other_row, other_column) = ((ord(n[0]), int(n[1:])) for n in (name, other))
    steps = {(0, 1): "right", (0, -1): "left", (1, 0): "foot", (-1, 0): "top"}
    return steps.get((other_row - row, other_column - column), "")


def _crosses(page: PageObject) -> dict[str, FloatArray]:
    """Side -> the two marks there, lower or left one first, paper mm."""
    width, height = paper_of(page)
    centres = []
    for drawn in drawn_on(page):
        if len(drawn.runs) == 2 and all(len(run) == 2 for run in drawn.runs):
            middles = [run.mean(axis=0) for run in drawn.runs]
            if np.allclose(middles[0], middles[1], atol=1e-3) and np.allclose(
                drawn.size, _CROSS_MM, atol=1e-3
            ):
                centres.append(middles[0])
    sides: dict[str, list[FloatArray]] = {}
    for x, y in centres:
        margins = {"left": x, "right": width - x, "foot": y, "top": height - y}
        sides.setdefault(min(margins, key=lambda side: margins[side]), []).append(np.array([x, y]))
    assert all(len(marks) == 2 for marks in sides.values())
    return {side: np.array(sorted(marks, key=lambda m: m.sum())) for side, marks in sides.items()}
