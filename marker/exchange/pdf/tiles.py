"""Pages of a tiled pattern put together like a jigsaw: two pages join where the lines that their
frames cut go on from one to the other.

No order of the pages is taken for granted, so that blank ones may be left out. Only where a page
fits several others alike, as along a straight band, their order decides. Told how many columns and
rows there are, they are laid so, row by row from the top left, and the lines have to agree.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence, Set
from dataclasses import dataclass, replace

import numpy as np
import shapely

from marker.exchange.contours import chains, walked
from marker.exchange.pdf.frames import FOOT, LEFT, RIGHT, TOP, Framed, framed
from marker.exchange.pdf.pages import Drawn, Sheet, Written
from marker.exchange.pdf.places import SAME_MM, fits, in_common, ring
from marker.files.faults import Unusable
from marker.geometry.arrays import FloatArray
from marker.words import counted

_STEP = {LEFT: (-1, 0), RIGHT: (1, 0), FOOT: (0, -1), TOP: (0, 1)}
_WORDS = ("left", "right", "lower", "upper")
_REMEDY = (
    "Choose the pattern's own pages with --pages, all of them, or say how they lie with --tiles "
    "COLUMNSxROWS"
)

_SAME_SIZE_MM = 0.3  # pages that differ by less were meant to be alike

Grid = tuple[int, int]
"""Columns and rows of pages."""


@dataclass(frozen=True)
class Joined:
    """Pages that belong together, in mm of one drawing. pages : their numbers."""

    pages: tuple[int, ...]
    lines: tuple[Drawn, ...]
    texts: tuple[Written, ...]


def joined_pages(sheets: Sequence[Sheet], grid: Grid | None, lost: Counter[str]) -> list[Joined]:
    """The pages joined where lines run on; pages that no line leaves stand alone.

    lost : gains what is left out, and the line ends that go on nowhere between pages that are told
    to join. Raises Unusable where pages do not join as they should.
    """
    if grid:
        pages = framed(_filling(sheets, grid), lost)
        links = _told(grid)
        _check_told(pages, links, lost)
    else:
        pages = [
            page for alike in _alike([s for s in sheets if s.lines]) for page in framed(alike, lost)
        ]
        links = _links(pages)
        _check(pages, links)
    return [_together(pages, links, cells) for cells in _groups(pages, links)]


def _filling(sheets: Sequence[Sheet], grid: Grid) -> Sequence[Sheet]:
    """The pages, if they are as many as the grid holds and of one size."""
    columns, rows = grid
    if len(sheets) != columns * rows:
        raise Unusable(
            f"--tiles {columns}x{rows} needs {counted(columns * rows, 'page')}, but there are "
            f"{len(sheets)}",
            "Choose the pattern's own pages with --pages, blank ones too",
        )
    alike = _alike(sheets)
    if len(alike) > 1:
        raise Unusable("its pages are not of one size", "Choose those that join with --pages")
    return alike[0]


def _alike(sheets: Sequence[Sheet]) -> list[list[Sheet]]:
    """Pages of one size together, in order, each of just the size of the first."""
    groups: list[list[Sheet]] = []
    for sheet in sheets:
        for group in groups:
            off = np.abs(np.subtract(group[0].size_mm, sheet.size_mm))
            if (off <= _SAME_SIZE_MM).all():
                group.append(replace(sheet, size_mm=group[0].size_mm))
                break
        else:
            groups.append([sheet])
    return groups


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


def _told(grid: Grid) -> Links:
    """Row by row from the top left."""
    columns, rows = grid
    links: Links = {}
    for page in range(columns * rows):
        if (page + 1) % columns:
            links[page, RIGHT], links[page + 1, LEFT] = page + 1, page
        if page + columns < columns * rows:
            links[page, FOOT], links[page + columns, TOP] = page + columns, page
    return links


def _check_told(pages: Sequence[Framed], links: Links, lost: Counter[str]) -> None:
    for (number, side), other in links.items():
        if side not in (RIGHT, FOOT):
            continue
        both, lone = in_common(pages[number].cut[side], pages[other].cut[side ^ 1])
        if lone > both:
            raise Unusable(
                f"page {pages[other].sheet.number} does not join page {pages[number].sheet.number} "
                f"at its {_WORDS[side]} edge: {counted(lone, 'line')} would end there, and {both} "
                "go on",
                "Check --tiles COLUMNSxROWS and --pages: row by row, from the top left",
            )
        if lone:
            lost["lines that end between two pages"] += lone


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
            partner |= _paired(lines, parts[one], parts[other], axis, seam)
    numbers = tuple(pages[number].sheet.number for number in sorted(cells))
    return Joined(numbers, tuple(_chained(lines, partner)), tuple(texts))


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
        for part in _within(line, low, high)
    ]
    texts = [
        Written(text.at + shift, text.text)
        for text in page.sheet.texts
        if (text.at >= low).all() and (text.at <= high).all()
    ]
    return lines, texts


def _within(line: Drawn, low: FloatArray, high: FloatArray) -> Iterator[Drawn]:
    """What of a line lies between two corners (2,), which may be infinitely far."""
    points = ring(line)
    if (points >= low).all() and (points <= high).all():
        yield line
        return
    least, most = points.min(axis=0), points.max(axis=0)
    if len(points) < 2 or (most < low).any() or (least > high).any():
        return
    corners = np.clip([low, high], least - 1.0, most + 1.0)
    clipped = shapely.clip_by_rect(shapely.LineString(points), *corners.ravel())
    parts = [
        shapely.get_coordinates(part)
        for part in shapely.get_parts(clipped)
        if isinstance(part, shapely.LineString) and not part.is_empty
    ]
    if line.closed and len(parts) > 1 and np.array_equal(parts[0][0], parts[-1][-1]):
        parts[0] = np.concatenate([parts.pop(), parts[0][1:]])  # cut apart where it began
    for part in parts:
        yield replace(line, points=part, closed=False)


def _paired(
    lines: Sequence[Drawn], one: range, other: range, axis: int, at: float
) -> dict[int, int]:
    """End 2k (start of line k) or 2k + 1 -> the end across the seam that it goes on at.

    Several may be cut at one place, as pieces that touch are. Then the direction says which goes on
    as which, then the looks. Of lines that lie on one another the order says it that they are drawn
    in.
    """
    from scipy.optimize import linear_sum_assignment  # it loads for half a second

    here, there = (_ends_at(lines, part, axis, at) for part in (one, other))
    partner: dict[int, int] = {}
    if not here or not there:
        return partner
    places, ways = (np.array([end[k] for end in here]) for k in (1, 2))
    others, back = (np.array([end[k] for end in there]) for k in (1, 2))
    apart = np.abs(places[:, None, 1 - axis] - others[None, :, 1 - axis])
    turned = np.hypot(*(ways[:, None] + back[None]).transpose(2, 0, 1))
    looks, theirs = ([_look(lines[end[0] // 2]) for end in ends] for ends in (here, there))
    unlike = np.array([[look != their for their in theirs] for look in looks])
    order = np.abs(np.arange(len(here))[:, None] - np.arange(len(there))[None])
    cost = apart / SAME_MM + 4.0 * turned + unlike + 1e-6 * order
    cost += np.where(apart > 2 * SAME_MM, 1e3, 0.0)
    for row, column in zip(*linear_sum_assignment(cost), strict=True):
        if apart[row, column] <= 2 * SAME_MM:
            partner[here[row][0]], partner[there[column][0]] = there[column][0], here[row][0]
    return partner


def _look(line: Drawn) -> tuple[str, str, tuple[str, ...]]:
    return line.colour, line.dashes, line.layers


def _ends_at(
    lines: Sequence[Drawn], part: range, axis: int, at: float
) -> list[tuple[int, FloatArray, FloatArray]]:
    """(end, where, unit direction out of the line) of the ends of open lines that lie on a seam."""
    found = []
    for k in part:
        points = lines[k].points
        if lines[k].closed or len(points) < 2:
            continue
        for end, last, before in (
            (2 * k, points[0], points[1]),
            (2 * k + 1, points[-1], points[-2]),
        ):
            if abs(last[axis] - at) < SAME_MM:
                way = last - before
                found.append((end, last, way / max(float(np.hypot(*way)), 1e-9)))
    return found


def _chained(lines: Sequence[Drawn], partner: dict[int, int]) -> Iterator[Drawn]:
    for chain in chains(len(lines), partner):
        first = lines[chain[0][0]]
        if len(chain) == 1:
            yield first
            continue
        points = walked([line.points for line in lines], chain)
        closed = bool(np.hypot(*(points[-1] - points[0])) < 2 * SAME_MM)
        yield replace(first, points=points[:-1] if closed else points, closed=closed)
