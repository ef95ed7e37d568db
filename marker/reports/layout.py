"""What `marker lay` says of each layout, as JSON and as lines for a person."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import groupby
from pathlib import Path
from typing import Any

from marker.cloth.fabric import Cloth
from marker.cloth.leftover import Remaining
from marker.cloth.repeat import Axis
from marker.cloth.spread import Spreading
from marker.exchange.layout_tables import LayoutTable
from marker.job import Reader
from marker.layout import CheckedLayout, Ending, Layout
from marker.layout.bought import purchase_for
from marker.layout.on_table import on_table
from marker.planning.laid_cloth import LaidCloth
from marker.reports.facts import to_json
from marker.reports.spreads import spread_facts, spread_lines
from marker.reports.yardage import asked_words, fit_words, is_least, purchase_words
from marker.units import (
    System,
    cut_length,
    cut_lengths,
    inches,
    length,
    percent,
    percent_up,
    shown,
)
from marker.words import counted, with_size


@dataclass(frozen=True)
class LaidReport:
    """One layout of a job, as it is written to its file.

    files : all that was written for it. longer : the new layout, where an earlier one stays.
    reader : who reads it. A cutting room is told what is proven of the length, one who sews what
    that means for the cloth she buys.
    """

    laid: LaidCloth
    table: LayoutTable
    files: tuple[Path, ...]
    longer: LaidCloth | None = None
    reader: Reader = Reader.SEWING

    def to_json(self) -> dict[str, Any]:
        """What layout.json holds but the way to the job, the files, and the spreads compared."""
        facts = self.table.as_json() | {"files": [str(path) for path in self.files]}
        if self.laid.tried:
            facts["spreads"] = [to_json(each) for each in spread_facts(self.laid.tried)]
        return facts

    def lines(self) -> Iterator[str]:
        """The same for a person."""
        checked = self.laid.checked
        layout = checked.layout
        if self.laid.tried:
            new = (self.longer or self.laid).checked.layout.spread.spreading
            facts = spread_facts(self.laid.tried)
            stays = self.longer is not None
            yield from spread_lines(layout.cloth.name, facts, new, earlier_stays=stays)
            yield ""
        yield from _layout_lines(self.laid, self.reader)
        yield from _leftover_lines(self.laid.leftovers)
        if len(checked.garments) > 1:
            yield from (f"  bundle {line}" for line in bundle_lines(checked))
        yield f"  wrote  {self.files[0].parent}: {_names(self.files)}"


def layouts_to_json(reports: Sequence[LaidReport]) -> dict[str, Any]:
    """All layouts of a job as one object: the main cloth's, the other cloths' within it."""
    main, *others = [report.to_json() for report in reports]
    return main | {"other_cloths": others}


def _layout_lines(laid: LaidCloth, reader: Reader) -> Iterator[str]:
    """Length, share of the cloth used, what to buy, and what is proven."""
    checked = laid.checked
    layout, cloth = checked.layout, checked.layout.cloth
    remnant = f", remnant '{cloth.remnant.name}'" if cloth.remnant else ""
    yield (
        f"{layout.job_name} on {cloth.name}{remnant}, {cut_lengths(cloth.usable_width_mm)} "
        f"of usable width, nap {cloth.nap.value}"
    )
    yield from _washing_lines(cloth)
    if layout.spread.spreading is not Spreading.OPEN:
        yield f"  spread {spread_line(checked)}"
    yield (
        f"  laid   {counted(len(layout.placements), 'piece')}, checked: complete, none "
        "overlapping, on grain, inside the cloth"
    )
    yield f"  length {cut_lengths(layout.length_mm)}, {_search_words(checked, reader)}"
    yield from matching_lines(layout)
    if reader is Reader.CUTTING_ROOM and not _is_proven(layout):
        yield (
            f"  bound  no layout at this width can be shorter than "
            f"{cut_length(layout.length_lower_bound_mm)}, so at most {percent_up(_gap(layout))} "
            "could still be saved"
        )
    if laid.fit is not None:
        yield f"  have   {fit_words(laid.fit)}"
        return
    yield f"  buy    {purchase_words(laid.purchase)}"
    if reader is Reader.SEWING and layout.length_lower_bound_mm:
        yield f"  least  {_least_words(laid)}"


def _search_words(checked: CheckedLayout, reader: Reader) -> str:
    """How much of the cloth is used, and how the search ended: for one who sews, how long it was;
    what it proved is told her as cloth."""
    layout, used = checked.layout, percent(checked.utilisation)
    after = f"after {layout.seconds:.0f} s"
    if reader is Reader.CUTTING_ROOM:
        return f"marker efficiency {used}; {layout.stopped_because} {after}"
    if layout.stopped_because is Ending.BY_HAND:
        return f"{used} of the cloth used; {Ending.BY_HAND} {after}"
    return f"{used} of the cloth used; found {after}"


def _is_proven(layout: Layout) -> bool:
    return layout.stopped_because in (Ending.PROVEN, Ending.PROVEN_CLOSELY)


def _least_words(laid: LaidCloth) -> str:
    """What must be bought however the pieces are laid."""
    layout = laid.checked.layout
    if _is_proven(layout):
        return "this is the least: no layout is shorter"
    least = purchase_for(laid.checked, layout.length_lower_bound_mm)
    if is_least(laid.purchase, least):
        return "this is the least: a longer search saves no cloth"
    opened = layout.spread.spreading is Spreading.OPEN
    how = "at this width" if opened else "at this width, spread like this"
    asked = asked_words(least.buy_mm, least.yards, named=True)
    return f"nobody can cut it from less than {asked} {how}"


_LEFTOVERS = 3
"""No more remnants are named on the screen; the drawing shows all."""


def _leftover_lines(left: Sequence[Remaining]) -> Iterator[str]:
    """The remnants worth keeping on one line, by the largest rectangle in each, alike ones once, as
    two plies leave them; nothing without any."""
    sizes = [tuple(map(float, one.rectangles[0][1] - one.rectangles[0][0])) for one in left]
    alike = list(Counter(sizes).items())
    said = [
        f"{f'{count} of ' if count > 1 else ''}{_rectangle(along, across)}"
        for (along, across), count in alike[:_LEFTOVERS]
    ]
    rest = sum(count for _, count in alike[_LEFTOVERS:])
    if rest:
        said.append(f"{rest} smaller")
    if said:
        yield f"  left   rectangles, along × across: {', '.join(said)}"


_UNIT = {System.METRIC: ("1 m", 1000.0), System.IMPERIAL: ("1 yd", 914.4)}


def _rectangle(along_mm: float, across_mm: float) -> str:
    """Its sides in the units shown: '43 × 23 cm (16 7/8 in × 8 7/8 in)'."""
    said = {
        System.METRIC: f"{along_mm / 10:.0f} × {across_mm / 10:.0f} cm",
        System.IMPERIAL: f"{inches(along_mm)} × {inches(across_mm)}",
    }
    lead = shown().lead
    return f"{said[lead]} ({said[lead.other]})" if shown().both else said[lead]


def _washing_lines(cloth: Cloth) -> Iterator[str]:
    """What washing does to cloth or pieces; nothing where no shrinkage is known."""
    left, growth, lead = cloth.shrinkage.of_cloth, cloth.shrinkage.growth, shown().lead
    if left != (1.0, 1.0):
        yield (
            f"  washed before it is cut: {cut_length(cloth.width_mm)} wide becomes "
            f"{cut_length(cloth.width_mm * left[1])}, and {_UNIT[lead][0]} of its length "
            f"{cut_length(_UNIT[lead][1] * left[0])}"
        )
    if cloth.shrinkage.grows:
        yield (
            f"  washed after it is cut: pieces are {growth[0]:.4f} times as long along the cloth "
            f"and {growth[1]:.4f} times across it"
        )


def _names(files: Sequence[Path]) -> str:
    """Names of files, the kinds and pages of one drawing together: 'diagram (pdf, svg, png)'."""
    kinds: dict[str, list[str]] = {}
    for path in files:
        of = kinds.setdefault(re.sub(r"-\d+$", "", path.stem), [])
        if path.suffix[1:] not in of:
            of.append(path.suffix[1:])
    return ", ".join(
        f"{stem}.{of[0]}" if len(of) == 1 else f"{stem} ({', '.join(of)})"
        for stem, of in kinds.items()
    )


def spread_line(checked: CheckedLayout) -> str:
    """How the cloth lies, what is cut at once, and which pieces are cut once more than wanted."""
    layout = checked.layout
    spread, cuts = layout.spread, len(on_table(checked))
    said = spread.spreading.value
    if spread.spreading.plies == 2:
        said += f": {cut_lengths(spread.two_ply_mm)} in two plies"
        beyond = layout.length_mm - spread.one_ply_from_mm
        if beyond > layout.cloth.gap_mm:
            said += f", then {cut_lengths(beyond)} laid open"
    said += f"; {counted(cuts, 'outline')} to cut"
    names = Counter(spare.piece for spare in layout.spares)
    if names:
        spares = ", ".join(f"{count} {name}" for name, count in names.items())
        said += f", {counted(names.total(), 'extra piece')} ({spares})"
    return said


def matching_lines(layout: Layout) -> Iterator[str]:
    """What keeping to the repeat costs; nothing where nothing is matched."""
    if layout.unmatched_mm is None:
        return
    yield (
        f"  match  kept to the repeat of {_repeat(layout.cloth)}; takes "
        f"{cut_lengths(layout.matching_mm)} more than the shortest "
        f"layout found without matches, {cut_length(layout.unmatched_mm)}"
    )
    along = layout.cloth.repeat.along
    if along:
        there = cut_length(along.begins_mm)
        at = "at" if there == cut_length(0.0) else f"{there} after"
        yield f"         a repeat begins {at} the start line"
    if layout.spread.two_ply_mm:
        yield "         pin the bars of both plies on each other before cutting"


def _repeat(cloth: Cloth) -> str:
    bars = [(axis, cloth.repeat.on(axis)) for axis in Axis]
    return " and ".join(f"{length(each.every_mm)} {axis}" for axis, each in bars if each)


def _gap(layout: Layout) -> float:
    """How much shorter a layout might still be: 1 - bound ÷ length."""
    return 1 - layout.length_lower_bound_mm / layout.length_mm


def bundles(checked: CheckedLayout) -> Iterator[tuple[int, str, Counter[str]]]:
    """Garment, its size and its pieces, numbered as on the diagram."""
    pieces: list[Counter[str]] = [Counter() for _ in checked.garments]
    for place in checked.layout.placements:
        pieces[place.garment - 1][place.piece] += 1
    for garment, (size, own) in enumerate(zip(checked.garments, pieces, strict=True), start=1):
        yield garment, size, own


def bundle_lines(checked: CheckedLayout) -> Iterator[str]:
    """The same for a person, garments alike in a row in one line; of a remnant only those that
    have pieces on it."""
    there = [bundle for bundle in bundles(checked) if bundle[2]]
    # numbers that follow each other are as far ahead of their places in the list
    ahead = (
        (garment - at, size, pieces, garment) for at, (garment, size, pieces) in enumerate(there)
    )
    for (_, size, pieces), alike in groupby(ahead, key=lambda each: each[:3]):
        first, *others = (garment for *_, garment in alike)
        of = ", ".join(f"{count} {piece}" for piece, count in pieces.items())
        if others:
            yield f"{with_size(f'garments {first} to {others[-1]}', size)}, each: {of}"
        else:
            yield f"{with_size(f'garment {first}', size)}: {of}"


def piece_counts(checked: CheckedLayout) -> Counter[tuple[str, str]]:
    """(piece, size) -> how often it lies in the layout, in the order of placements."""
    return Counter((place.piece, place.size) for place in checked.layout.placements)
