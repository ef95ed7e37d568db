"""What a desk shows of a job and its layouts, as plain values."""

from __future__ import annotations

import hashlib
from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np

from marker.cloth.fabric import Cloth, Nap
from marker.cloth.repeat import Axis
from marker.cloth.spread import Spreading
from marker.drawing.pages.full_size import FullSize
from marker.errors import CannotBeDone
from marker.job import Job, Reader
from marker.layout import Ending, Layout
from marker.planning.remnant_table import room_mm, starts_mm
from marker.reports.kept import KeptFacts
from marker.tolerances import HAIR_MM
from marker.units import NotALength, cut_length, exact_length, parse_length
from marker.web.pictures import layout_figures, piece_picture, points, remnant_figures
from marker.web.process import Values
from marker.web.tabletop import Arrangement, Tabletop, piece_name


def layout_shown(now: Arrangement, cloth: Cloth, reader: Reader) -> dict[str, Any]:
    """What lies on a table, with its picture and its figures. cloth : as the job says it; all of
    its remnants are shown, side by side, as pieces are moved on them. reader : of the figures."""
    scene, checked = now.scenes[0], now.every[0]
    shown: dict[str, Any] = {
        "layout": {
            "cloth": cloth.name,
            "flaws": [points(flaw.outline) for flaw in scene.flaws],
            "folds": [[fold.start, fold.end] for fold in scene.folds],
            "seed": checked.layout.seed,
            "length_mm": scene.length_mm,
            "width_mm": scene.width_mm,
            "remnants": [],
        },
        "pieces": list(_pieces(now, starts_mm(cloth))),
    }
    if not cloth.remnants:
        return shown | {"figures": layout_figures(checked, reader)}
    return shown | {
        "layout": shown["layout"] | _remnants(cloth),
        "figures": remnant_figures(now.every, cloth.remnants),
    }


def bought_shown(tables: Iterable[Tabletop], reader: Reader) -> dict[str, Any]:
    """What to buy of each cloth as it is laid now; figures None where nothing lies there yet.
    totals : currency -> what all of it costs."""
    cloths: list[dict[str, Any]] = []
    totals: Counter[str] = Counter()
    for table in tables:
        figures = None
        if not table.is_empty:
            now, remnants = table.now, table.whole_cloth.remnants
            figures = (
                remnant_figures(now.every, remnants)
                if remnants
                else layout_figures(now.every[0], reader)
            )
            purchase = now.laid[0].purchase
            if purchase.cost is not None and not remnants:
                totals[purchase.currency or ""] += round(100 * purchase.cost)
        cloths.append({"cloth": table.cloth, "figures": figures})
    return {
        "cloths": cloths,
        "totals": {currency: cents / 100 for currency, cents in totals.items()},
    }


def layout_in_little(now: Arrangement, cloth: Cloth) -> dict[str, Any]:
    """The outlines of what lies on a table, and of the remnants that it lies on."""
    starts, layouts = starts_mm(cloth), [each.layout for each in now.every]
    on = _remnants(cloth) if cloth.remnants else {
        "length_mm": layouts[0].length_mm,
        "width_mm": layouts[0].cloth.usable_width_mm,
        "remnants": [],
    }  # fmt: skip
    outlines = [
        each.outline_mm + np.array([0.0, starts.get(_on(layout), 0.0)])
        for layout in layouts
        for each in layout.placements
    ]
    return on | {"outlines": list(map(points, outlines))}


def _remnants(cloth: Cloth) -> dict[str, Any]:
    """All remnants of a cloth on one table, each with the outlines of it and of its holes."""
    starts = starts_mm(cloth)
    return {
        "length_mm": room_mm(cloth),
        "width_mm": max(starts[each.name] + each.across_mm for each in cloth.remnants),
        "remnants": [
            {
                "name": each.name,
                "rings": [
                    points(ring + np.array([0.0, starts[each.name]]))
                    for ring in (each.outline, *each.holes)
                ],
            }
            for each in cloth.remnants
        ],
    }


def _pieces(now: Arrangement, starts: Mapping[str, float]) -> Iterator[dict[str, Any]]:
    """Every piece that lies there. starts : where each remnant begins across the table."""
    for scene, checked in zip(now.scenes, now.every, strict=True):
        on = _on(checked.layout)
        for piece in scene.pieces:
            key = piece_name(piece)
            yield piece_picture(piece, starts.get(on, 0.0)) | {
                "key": key,
                "pinned": now.keys[key] in now.pinned,
                "on": on,
                "begins_mm": starts.get(on, 0.0),
            }


def _on(layout: Layout) -> str:
    """The remnant that a layout lies on, "" for none."""
    return layout.cloth.remnant.name if layout.cloth.remnant else ""


def kept_shown(together: Sequence[KeptFacts]) -> dict[str, Any]:
    """A layout that is kept, with its figures; several are those on the remnants of a cloth."""
    first = together[0]
    return {
        "id": first.file.name,
        "length_mm": sum(each.length_mm for each in together),
        "buy_text": first.buy_text,
        "cost_text": first.cost and f"{first.cost:.2f} {first.currency}",
        "utilisation": first.utilisation,
        "remnants": [each.cloth for each in together] if len(together) > 1 else [],
        "stands": first.stands,
        "why_not": first.why_not,
    }


def pages_shown(planned: FullSize) -> dict[str, Any]:
    """The full-size pages as they lie joined, with the pieces that they carry, mm."""
    tiling, sizes = planned.tiling, list(planned.scene.sizes)
    printed = {tile.name for tile in planned.printed}
    return {
        "pages": planned.pages,
        "page_mm": tiling.tile(0, 0).paper,
        "sheets": [
            {
                "name": tile.name,
                "corners_mm": np.array(tiling.core(tile)).round(1).tolist(),
                "printed": tile.name in printed,
            }
            for tile in tiling.tiles
        ],
        "pieces": [
            {
                "outline_mm": points(each.outline),
                "to_fold_mm": None if each.to_fold is None else points(each.to_fold),
                "size": sizes.index(each.size) if each.size in sizes else 0,
            }
            for piece in planned.scene.pieces
            for each in piece.in_all_sizes
        ],
    }


def with_width(job: Job, cloth_name: str, width: str) -> Job:
    """The job with another width of one cloth."""
    try:
        mm = parse_length(width)
    except NotALength as error:
        raise CannotBeDone(str(error)) from error
    if not 50 <= mm <= 10_000:
        raise CannotBeDone(f"no cloth is {cut_length(mm)} wide.")
    cloths = [
        replace(cloth, width_mm=mm) if cloth.name == cloth_name else cloth for cloth in job.cloths
    ]
    return replace(job, cloths=tuple(cloths))


def as_typed(cloth: Cloth, text: str, job: Job) -> str:
    """The width of a cloth as a person typed it, or exactly where they typed another one."""
    try:
        same = abs(parse_length(text) - cloth.width_mm) < HAIR_MM
    except NotALength:
        same = False
    return text if same else exact_length(cloth.width_mm, job.show.lead)


def cloth_facts(cloth: Cloth, used: Collection[str]) -> Mapping[str, Any]:
    """used : the cloths that something is cut from."""
    return {
        "name": cloth.name,
        "in_use": cloth.name in used,
        "width_mm": cloth.width_mm,
        "usable_width_mm": cloth.usable_width_mm,
        "nap": cloth.nap.value,
        "spread": cloth.spread.value,
        "selvage_mm": cloth.selvage_mm,
        "gap_mm": cloth.gap_mm,
        "on_hand_mm": cloth.have_mm,
        "end_allowance_mm": cloth.end_allowance_mm,
        "sold_by_mm": cloth.sold_by_mm,
        "repeat_mm": {
            axis.value: bars and bars.every_mm for axis in Axis if (bars := cloth.repeat.on(axis))
        },
        "price": cloth.price and vars(cloth.price),
        "remnants": [
            {"name": each.name, "outline": points(each.outline)} for each in cloth.remnants
        ],
        "naps": [nap.value for nap in Nap],
        "spreads": [spreading.value for spreading in Spreading],
        "flaws": [{"name": flaw.name, "outline": points(flaw.outline)} for flaw in cloth.flaws],
    }


def stage(text: str) -> Values:
    return {"kind": "stage", "text": text}


def ended(endings: Sequence[Ending]) -> str:
    if Ending.BY_HAND in endings:
        return "Stopped: the best layout so far."
    return "Laid and checked."


def file_digest(path: Path) -> str:
    try:
        return hashlib.sha256(path.read_bytes()).hexdigest()
    except OSError as error:
        raise CannotBeDone(f"{path.name} can't be read any more.") from error
