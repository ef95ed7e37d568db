"""Reports of several sizes: measures in a table with a column a size, texts once where alike."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby

PAGE = 110
"""Characters a line may have before further sizes go to a table of their own."""

LONGEST_LABEL = 52
"""Characters of a label that stands beside its cells; a longer one stands above them."""

_GAP = "  "


@dataclass(frozen=True)
class Measure:
    """One cell of the table.

    thing : what is measured; its rows stay together. label : of the row. lead, other : the
    cell, without a unit where the heading says it; both empty for a row that is a heading.
    """

    thing: str
    size: str
    label: str
    lead: str = ""
    other: str = ""


@dataclass(frozen=True)
class Said:
    """Lines about one thing in one size, which they don't name."""

    thing: tuple[str, ...]
    size: str
    lines: tuple[str, ...]


def size_table(measures: Iterable[Measure], sizes: Sequence[str]) -> Iterator[str]:
    """A line a row, a column a size, the other unit below the leading one; of one size, beside."""
    rows: dict[tuple[str, str], dict[str, Measure]] = {}
    for each in measures:
        rows.setdefault((each.thing, each.label), {})[each.size] = each
    things = {thing: place for place, thing in enumerate(dict.fromkeys(t for t, _ in rows))}
    ordered = sorted(rows.items(), key=lambda row: things[row[0][0]])
    table = [(label, cells) for (_, label), cells in ordered]
    if not table:
        return
    if len(sizes) == 1:
        yield from _one_column(table, sizes[0])
        return
    short = [len(label) for label, _ in table if len(label) <= LONGEST_LABEL]
    for block in _blocks(table, sizes, max(short, default=0)):
        yield from _columns(table, block, max(short, default=0))


def _one_column(table: Sequence[tuple[str, dict[str, Measure]]], size: str) -> Iterator[str]:
    width = max((len(label) for label, _ in table if len(label) <= LONGEST_LABEL), default=0)
    for label, cells in table:
        cell = cells[size]
        both = f"{cell.lead} ({cell.other})" if cell.other else cell.lead
        yield f"{_GAP}{label.ljust(width)}{_GAP}{both}".rstrip()


def _blocks(
    table: Sequence[tuple[str, dict[str, Measure]]], sizes: Sequence[str], label: int
) -> Iterator[list[str]]:
    """Sizes that fit a page beside the labels, at least one."""
    block: list[str] = []
    start = used = len(_GAP) + label
    for size in sizes:
        needed = len(_GAP) + _width(table, size)
        if block and used + needed > PAGE:
            yield block
            block, used = [], start
        block.append(size)
        used += needed
    yield block


def _width(table: Sequence[tuple[str, dict[str, Measure]]], size: str) -> int:
    cells = [cells[size] for _, cells in table if size in cells]
    return max([len(size), *(max(len(cell.lead), len(cell.other)) for cell in cells)])


def _columns(
    table: Sequence[tuple[str, dict[str, Measure]]], sizes: Sequence[str], label_width: int
) -> Iterator[str]:
    widths = [_width(table, size) for size in sizes]

    def line(label: str, cells: Iterable[str]) -> str:
        set_right = (cell.rjust(width) for cell, width in zip(cells, widths, strict=True))
        return f"{_GAP}{label.ljust(label_width)}{_GAP}{_GAP.join(set_right)}".rstrip()

    yield line("", sizes)
    for label, cells in table:
        here = [cells.get(size) for size in sizes]
        lead = [cell.lead if cell else "" for cell in here]
        other = [cell.other if cell else "" for cell in here]
        if len(label) > LONGEST_LABEL:
            yield f"{_GAP}{label}"
            label = ""
        if label or any(lead):
            yield line(label, lead)
        if any(other):
            yield line("", other)


def by_size(said: Iterable[Said], sizes: Sequence[str]) -> Iterator[str]:
    """The lines of each thing, indented; where sizes differ, each with its sizes before it."""
    told: dict[tuple[str, ...], list[Said]] = {}
    for each in said:
        told.setdefault(each.lines, []).append(each)
    last = {lines: group[-1].thing for lines, group in told.items()}
    places = {thing: place for place, thing in enumerate(dict.fromkeys(last.values()))}
    ordered = sorted(told, key=lambda lines: places[last[lines]])
    for _, group in groupby(ordered, key=lambda lines: last[lines]):
        for lines in group:
            of = list(dict.fromkeys(each.size for each in told[lines]))
            head = _GAP if of == list(sizes) else f"{_GAP}{', '.join(of)}{_GAP}"
            yield head + lines[0]
            yield from (_GAP + line for line in lines[1:])
