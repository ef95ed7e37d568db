"""Pages of a tiled pattern put together like a jigsaw: two pages join where the lines that their
frames cut go on from one to the other.

No order of the pages is taken for granted, so that blank ones may be left out; only where a page
fits several others alike, as along a straight band, their order decides.
"""

from __future__ import annotations

from collections.abc import Sequence, Set
from dataclasses import dataclass, replace

import numpy as np

from marker.counting import counted
from marker.files.faults import Unusable
from marker.files.pdf_content import Drawn, Sheet, Written
from marker.files.pdf_frames import FOOT, LEFT, RIGHT, TOP, Framed, fits, framed
from marker.files.pdf_seams import chained, paired, within

_STEP = {LEFT: (-1, 0), RIGHT: (1, 0), FOOT: (0, -1), TOP: (0, 1)}
_WORDS = ("left", "right", "lower", "upper")
_REMEDY = "Choose the pattern's own pages with --pages, all of them, or take a file on one page"


@dataclass(frozen=True)
class Joined:
    """Pages that belong together, in mm of one drawing. pages : their numbers."""

    pages: tuple[int, ...]
    lines: tuple[Drawn, ...]
    texts: tuple[Written, ...]


def joined_pages(sheets: Sequence[Sheet]) -> list[Joined]:
    """The pages joined where lines run on; pages that no line leaves stand alone.

    Raises Unusable where a line is cut by a frame and goes on nowhere.
    """
    drawn = [sheet for sheet in sheets if sheet.lines]
    pages = [page for alike in _alike(drawn) for page in framed(alike)]
    links = _links(pages)
    _check(pages, links)
    return [_together(pages, links, cells) for cells in _groups(pages, links)]


def _alike(sheets: Sequence[Sheet]) -> list[list[Sheet]]:
    """Pages of one size together, in order."""
    groups: dict[tuple[int, int], list[Sheet]] = {}
    for sheet in sheets:
        width, height = sheet.size_mm
        groups.setdefault((round(width), round(height)), []).append(sheet)
    return list(groups.values())


Links = dict[tuple[int, int], int]
"""(page, side) -> the page that joins it there."""

Cells = dict[int, tuple[int, int]]
"""page -> its column, from left, and row, from below."""


def _links(pages: Sequence[Framed]) -> Links:
    """Which page joins which: first where just one fits, then, of several, where it already lies,
    or else the next in order."""
    fitting = {
        (page, side): _fitting(pages, page, side) for page in range(len(pages)) for side in _STEP
    }
    links: Links = {}
    for (page, side), others in fitting.items():
        if len(others) == 1 and fitting[others[0], side ^ 1] == [page]:
            links[page, side] = others[0]
    for (page, side), others in fitting.items():
        free = [other for other in others if (other, side ^ 1) not in links]
        if (page, side) in links or not free:
            continue
        cells = _cells(links, page)
        there = [other for other in free if cells.get(other) == _STEP[side]]
        onward = side in (RIGHT, FOOT)  # pages are numbered from the top left
        in_order = [other for other in free if (other > page) == onward]
        chosen = there or sorted(in_order, key=lambda other: abs(other - page))
        if chosen:
            links[page, side], links[chosen[0], side ^ 1] = chosen[0], page
    return links


def _fitting(pages: Sequence[Framed], page: int, side: int) -> list[int]:
    one = pages[page]
    return [
        number
        for number, other in enumerate(pages)
        if number != page and other.sides == one.sides and fits(one.cut[side], other.cut[side ^ 1])
    ]


def _check(pages: Sequence[Framed], links: Links) -> None:
    for number, page in enumerate(pages):
        for side, cut in enumerate(page.cut):
            if cut is not None and len(cut) and (number, side) not in links:
                raise Unusable(
                    f"page {page.sheet.number} cuts {counted(len(cut), 'line')} at its "
                    f"{_WORDS[side]} edge, and no other page takes up just these",
                    _REMEDY,
                )


def _cells(links: Links, first: int) -> Cells:
    """Every page linked to `first`, which is at (0, 0)."""
    cells = {first: (0, 0)}
    waiting = [first]
    while waiting:
        page = waiting.pop()
        for side in _STEP:
            other = links.get((page, side))
            if other is not None and other not in cells:
                cells[other] = _beside(cells[page], side)
                waiting.append(other)
    return cells


def _beside(cell: tuple[int, int], side: int) -> tuple[int, int]:
    return (cell[0] + _STEP[side][0], cell[1] + _STEP[side][1])


def _groups(pages: Sequence[Framed], links: Links) -> list[Cells]:
    """Pages that are linked, group by group; raises Unusable where links contradict."""
    groups: list[Cells] = []
    for page in range(len(pages)):
        if any(page in cells for cells in groups):
            continue
        cells = _cells(links, page)
        at_odds = any(
            cells[other] != _beside(cells[one], side)
            for (one, side), other in links.items()
            if one in cells
        )
        if at_odds or len(set(cells.values())) < len(cells):
            numbers = ", ".join(str(pages[each].sheet.number) for each in sorted(cells))
            raise Unusable(f"pages {numbers} fit one another in more than one way", _REMEDY)
        groups.append(cells)
    return groups


def _together(pages: Sequence[Framed], links: Links, cells: Cells) -> Joined:
    """Pages at their cells, each cut where another joins it, lines going on across."""
    lines: list[Drawn] = []
    texts: list[Written] = []
    parts: dict[int, range] = {}
    for number in sorted(cells):
        shown, written = _shown(pages[number], cells[number], set(cells.values()))
        parts[number] = range(len(lines), len(lines) + len(shown))
        lines += shown
        texts += written
    partner: dict[int, int] = {}
    for (one, side), other in links.items():
        if one in cells and side in (RIGHT, TOP):
            axis = side // 2
            low, high = pages[one].sides[2 * axis : 2 * axis + 2]
            seam = high + cells[one][axis] * (high - low)
            partner |= paired(lines, parts[one], parts[other], axis, seam)
    numbers = tuple(pages[number].sheet.number for number in sorted(cells))
    return Joined(numbers, tuple(chained(lines, partner)), tuple(texts))


def _shown(
    page: Framed, cell: tuple[int, int], taken: Set[tuple[int, int]]
) -> tuple[list[Drawn], list[Written]]:
    """What a page shows within its frame, or to its edge where it has none, moved to its cell."""
    left, right, foot, top = page.sides
    shift = np.array([cell[0] * (right - left), cell[1] * (top - foot)])
    edges = (0.0, page.sheet.size_mm[0], 0.0, page.sheet.size_mm[1])
    window = [
        framed_at if page.cut[side] is not None or _beside(cell, side) in taken else edge
        for side, (framed_at, edge) in enumerate(zip(page.sides, edges, strict=True))
    ]
    low, high = np.array(window[::2]), np.array(window[1::2])
    lines = [
        replace(part, points=part.points + shift)
        for line in page.sheet.lines
        for part in within(line, low, high)
    ]
    texts = [
        Written(text.at + shift, text.text)
        for text in page.sheet.texts
        if (text.at >= low).all() and (text.at <= high).all()
    ]
    return lines, texts
