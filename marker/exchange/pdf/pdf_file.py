"""All lines and texts of a PDF pattern, its pages put together."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from marker.exchange.pdf.content import ContentReader
from marker.exchange.pdf.looks import SOLID
from marker.exchange.pdf.pages import POINT_MM, Drawn, open_pdf, pages_of
from marker.exchange.pdf.tiles import Grid, Joined, joined_pages
from marker.exchange.strokes import Stroke, Strokes, Text, layer_named
from marker.files.faults import Unusable

_APART_MM = 100.0  # between pages that do not join
_MOST_NAMED = 20


@dataclass(frozen=True)
class Pick:
    """What of a PDF is wanted: pages by number, layers by name, lines by colour and
    dashes; () for all.

    grid : columns and rows that the pages lie in, None to find out."""

    pages: tuple[int, ...] = ()
    layers: tuple[str, ...] = ()
    colours: tuple[str, ...] = ()
    dashes: tuple[str, ...] = ()
    grid: Grid | None = None


EVERYTHING = Pick()


class PdfFile:
    """A PDF opened for import.

    scales : (what says so, mm of one unit). holds : what there is to choose from and what was made
    of it, for the report; known once `strokes` has been called.
    """

    def __init__(self, path: Path, pick: Pick) -> None:
        self._reader = open_pdf(path)
        self._pick = pick
        self.scales = [("the size of its pages", POINT_MM)]
        self.guess_mm = POINT_MM
        self.holds: list[str] = []

    def strokes(self, unit_mm: float | None) -> list[Strokes]:
        """Its lines and texts; `unit_mm` overrides the scale of its pages, None keeps it."""
        found = Strokes()
        reader = ContentReader(self._reader, found.passed_over)
        sheets = [reader.sheet(page) for page in pages_of(self._reader, self._pick.pages)]
        scale = (unit_mm or POINT_MM) / POINT_MM
        found.pages_mm = [(sheet.size_mm[0] * scale, sheet.size_mm[1] * scale) for sheet in sheets]
        self._take_stock([line for sheet in sheets for line in sheet.lines], found.passed_over)
        left = 0.0
        for joined in joined_pages(sheets, self._pick.grid, found.passed_over):
            if len(joined.pages) > 1:
                self.holds.append(f"pages {_listed(joined.pages)}, which join")
            left = self._add(found, joined, left, scale)
        return [found]

    def _take_stock(self, lines: Sequence[Drawn], passed_over: Counter[str]) -> None:
        """Say what there is, and have what is not clear chosen."""
        if not lines:
            lost = ", ".join(f"{count} {what}" for what, count in passed_over.most_common(5))
            raise Unusable(
                "there is no drawn line in it" + (f" ({lost})" if lost else ""),
                "Take a PDF that was drawn, not scanned; or other pages, with --pages",
            )
        layers = Counter(name for line in lines for name in line.layers)
        colours = Counter(line.colour for line in lines)
        dashes = Counter(line.dashes for line in lines)
        self.holds += [f"layer '{name}' ({count})" for name, count in _most(layers)]
        self.holds += [f"colour {name} ({count})" for name, count in _most(colours)]
        if set(dashes) != {SOLID}:
            self.holds += [f"dashes {name} ({count})" for name, count in _most(dashes)]
        _check_known("layer", self._pick.layers, layers)
        _check_known("colour", self._pick.colours, colours)
        _check_known("pattern of dashes", self._pick.dashes, dashes)
        unclear = [name for name in layers if layer_named(name) is None]
        if len(unclear) > 1 and not self._pick.layers:
            raise Unusable(
                "it has several layers, and sizes may lie on them: "
                + ", ".join(f"'{name}' ({count} lines)" for name, count in _most(layers)),
                "Choose with --layer, once for each that is wanted",
            )

    def _wants(self, line: Drawn) -> bool:
        pick = self._pick
        chosen = (
            (pick.layers, line.layers),
            (pick.colours, [line.colour]),
            (pick.dashes, [line.dashes]),
        )
        return all(not wanted or bool(_lower(wanted) & _lower(has)) for wanted, has in chosen)

    def _add(self, found: Strokes, joined: Joined, left: float, scale: float) -> float:
        """Put what is wanted of joined pages to the right of x = `left`; returns where the next may
        begin."""
        wanted = [line for line in joined.lines if self._wants(line)]
        if len(wanted) < len(joined.lines):
            found.passed_over["lines that were not chosen"] += len(joined.lines) - len(wanted)
        if not wanted:
            return left
        lowest = min(float(line.points[:, 0].min()) for line in wanted)
        furthest = max(float(line.points[:, 0].max()) for line in wanted)
        shift = np.array([left - lowest, 0.0])
        for line in wanted:
            layer = next(filter(None, map(layer_named, line.layers)), None)
            found.add(Stroke((line.points + shift) * scale, line.closed, layer))
        for text in joined.texts:
            found.write(Text((text.at + shift) * scale, text.text))
        return left + furthest - lowest + _APART_MM


def _check_known(what: str, wanted: Iterable[str], there: Counter[str]) -> None:
    known = _lower(there)
    for name in wanted:
        if not _lower([name]) <= known:
            raise Unusable.unknown(what, name, there)


def _lower(names: Iterable[str]) -> set[str]:
    """Names by which layers and colours are known: case doesn't count, nor does a colour's '#'."""
    return {name.lower().removeprefix("#") for name in names}


def _most(counts: Counter[str]) -> list[tuple[str, int]]:
    return counts.most_common(_MOST_NAMED)


def _listed(numbers: Sequence[int]) -> str:
    """'1–3, 5'."""
    runs: list[list[int]] = []
    for number in numbers:
        if runs and number == runs[-1][-1] + 1:
            runs[-1].append(number)
        else:
            runs.append([number])
    return ", ".join(f"{run[0]}–{run[-1]}" if len(run) > 1 else f"{run[0]}" for run in runs)
