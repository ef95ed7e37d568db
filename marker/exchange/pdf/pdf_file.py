"""All lines and texts of a PDF pattern, its pages put together."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import combinations
from pathlib import Path

import numpy as np
import shapely

from marker.canvas.to_pdf import CREATOR
from marker.exchange.cloth_facts import read_cloths
from marker.exchange.contours import JOIN_MM, joined
from marker.exchange.pdf.content import ContentReader
from marker.exchange.pdf.looks import SOLID
from marker.exchange.pdf.pages import POINT_MM, Drawn, Sheet, open_pdf, pages_of, told_by
from marker.exchange.pdf.tiles import Grid, Joined, joined_pages
from marker.exchange.strokes import Stroke, Strokes, Text, layer_named
from marker.files.budget import Budget
from marker.files.faults import Unusable

_APART_MM = 100.0  # between pages that do not join
_MOST_NAMED = 20
_LEAST_OUTLINE_MM2 = 400.0
_MUCH = 0.5  # of the place that two outlines take together, which both of two sizes cover
_MOST_COMPARED = 200


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
    """A PDF opened for import. is_ours : marker made it, and its lines say what they are for.
    cloths : what it says of them.

    scales : (what says so, mm of one unit). holds : what there is to choose from and what was made
    of it, for the report; known once `strokes` has been called.
    """

    def __init__(self, path: Path, pick: Pick, budget: Budget) -> None:
        self._budget = budget
        self._reader = open_pdf(path)
        self.is_ours = told_by(self._reader, "Creator") == CREATOR
        self.cloths = read_cloths(told_by(self._reader, "Subject").splitlines())
        self._pick = pick
        self.scales = [("the size of its pages", POINT_MM)]
        self.guess_mm = POINT_MM
        self.holds: list[str] = []

    def strokes(self, unit_mm: float | None) -> list[Strokes]:
        """Its lines and texts; `unit_mm` overrides the scale of its pages, None keeps it."""
        found = Strokes(budget=self._budget)
        reader = ContentReader(self._reader, found.passed_over, self._budget)
        sheets = [reader.sheet(page) for page in pages_of(self._reader, self._pick.pages)]
        scale = (unit_mm or POINT_MM) / POINT_MM
        found.pages_mm = [(sheet.size_mm[0] * scale, sheet.size_mm[1] * scale) for sheet in sheets]
        self._refuse_drawings(sheets)
        self._take_stock([line for sheet in sheets for line in sheet.lines], found.passed_over)
        left = 0.0
        every = joined_pages(sheets, self._pick.grid, found.passed_over)
        self._ask_for_looks([line for group in every for line in group.lines])
        for group in every:
            if len(group.pages) > 1:
                self.holds.append(f"pages {_listed(group.pages)}, which join")
            left = self._add(found, group, left, scale)
        return [found]

    def _refuse_drawings(self, sheets: Sequence[Sheet]) -> None:
        """Our own files that are no pattern at full size say of no line what it is for."""
        if self.is_ours and not any(line.layers for sheet in sheets for line in sheet.lines):
            raise Unusable(
                "this is a drawing that marker made, and no pattern at full size",
                "Import what it was drawn from: `marker export JOB.toml --to svg` writes it",
            )

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

    def _ask_for_looks(self, lines: Sequence[Drawn]) -> None:
        """Have colours or dashes chosen where outlines of several lie in one another, as those of
        sizes do."""
        by_look: dict[tuple[str, str], list[Stroke]] = {}
        for line in filter(self._wants, lines):
            if not any(map(layer_named, line.layers)):
                stroke = Stroke(line.points, line.closed, None)
                by_look.setdefault((line.colour, line.dashes), []).append(stroke)
        rings = {
            look: [ring for ring in joined(strokes)[0] if _area(ring) >= _LEAST_OUTLINE_MM2]
            for look, strokes in by_look.items()
        }
        looks = [look for look, found in rings.items() if found]
        mixed = {
            look
            for one, other in combinations(looks, 2)
            if _are_alike(rings[one], rings[other])
            for look in (one, other)
        }
        if not mixed:
            return
        option, known = (0, "colour") if len({colour for colour, _ in mixed}) > 1 else (1, "dashes")
        names = [f"{look[option]} ({len(rings[look])} outlines)" for look in looks if look in mixed]
        raise Unusable(
            f"outlines of several {'colours' if option == 0 else 'kinds of dashes'} lie in one "
            f"another, and sizes may be drawn so: {', '.join(names[:_MOST_NAMED])}",
            f"Choose with --{known}, once for each that is wanted",
        )

    def _wants(self, line: Drawn) -> bool:
        pick = self._pick
        chosen = (
            (pick.layers, line.layers),
            (pick.colours, [line.colour]),
            (pick.dashes, [line.dashes]),
        )
        return all(not wanted or bool(_lower(wanted) & _lower(has)) for wanted, has in chosen)

    def _add(self, found: Strokes, group: Joined, left: float, scale: float) -> float:
        """Put what is wanted of joined pages to the right of x = `left`; returns where the next may
        begin."""
        wanted = [line for line in group.lines if self._wants(line)]
        if len(wanted) < len(group.lines):
            found.passed_over["lines that were not chosen"] += len(group.lines) - len(wanted)
        if not wanted:
            return left
        lowest = min(float(line.points[:, 0].min()) for line in wanted)
        furthest = max(float(line.points[:, 0].max()) for line in wanted)
        shift = np.array([left - lowest, 0.0])
        for line in wanted:
            layer = next(filter(None, map(layer_named, line.layers)), None)
            found.add(Stroke((line.points + shift) * scale, line.closed, layer))
        for text in group.texts:
            found.write(Text((text.at + shift) * scale, text.text))
        return left + furthest - lowest + _APART_MM


def _area(ring: Stroke) -> float:
    return float(shapely.Polygon(ring.points).area) if len(ring.points) > 2 else 0.0


def _are_alike(ones: Sequence[Stroke], others: Sequence[Stroke]) -> bool:
    """Whether any two outlines cover much the same place, and are not one outline drawn twice."""
    regions = [shapely.make_valid(shapely.Polygon(ring.points)) for ring in others]
    tree = shapely.STRtree(regions)
    for ring in ones[:_MOST_COMPARED]:
        region = shapely.make_valid(shapely.Polygon(ring.points))
        for k in tree.query(region, predicate="intersects")[:_MOST_COMPARED]:
            common = shapely.intersection(region, regions[k]).area
            whole = region.area + regions[k].area - common
            same = shapely.hausdorff_distance(region, regions[k]) <= JOIN_MM
            if common > _MUCH * whole and not same:
                return True
    return False


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
