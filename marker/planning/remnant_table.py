"""All remnants of a cloth on one table, so that a piece goes from one to another like any move.

Each remnant is a lane of the table; what it lacks of its lane lies there as flaws. A layout of that
table is no layout yet: it is taken apart into one for each remnant that has pieces, and these are
judged together.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from marker import judge
from marker.cloth.fabric import Cloth
from marker.cloth.folding import Lane
from marker.cloth.spread import LAID_OPEN, Spreading
from marker.cloth.stock import Flaw, side_by_side
from marker.errors import CannotBeDone
from marker.geometry.arrays import FloatArray
from marker.layout import CheckedLayout, Layout, Placement
from marker.placement.problem.cuts import Cut
from marker.placement.problem.prepare import stretches
from marker.placement.problem.table import Table
from marker.planning.tasks import ClothLoad, LayingTask
from marker.tolerances import HAIR_MM, JUDGED_MM


def remnant_task(load: ClothLoad) -> LayingTask:
    """What the load's cloth holds, to be laid on all its remnants side by side.

    Raises CannotBeDone for a piece that is wider than each of them in every allowed turn.
    """
    cloth = load.cloth
    starts = starts_mm(cloth)
    made = [Lane(starts[k.name], starts[k.name] + k.across_mm) for k in cloth.remnants]
    lanes = tuple(sorted(made, key=lambda lane: lane.low))
    on_table = replace(cloth, width_mm=lanes[-1].high, remnants=(), flaws=_lacking(cloth))
    return LayingTask(
        load,
        Spreading.OPEN,
        (stretches([(Table(on_table, lanes), [Cut(label) for label in load.items])]),),
        None,
    )


def room_mm(cloth: Cloth) -> float:
    """How far along the table pieces may reach; infinite for a cloth that is no remnants."""
    return max((each.along_mm for each in cloth.remnants), default=float("inf"))


def starts_mm(cloth: Cloth) -> dict[str, float]:
    """Remnant by name -> where it begins across the table; empty for cloth that is no remnants."""
    starts = side_by_side(cloth.remnants, cloth.gap_mm)
    return {each.name: low for each, low in zip(cloth.remnants, starts, strict=True)}


def remnant_at(across_mm: float, cloth: Cloth) -> str:
    """The remnant that lies there across the table; "" for a cloth that is no remnants."""
    starts = starts_mm(cloth)
    for each in cloth.remnants:
        low = starts[each.name]
        if low - HAIR_MM <= across_mm <= low + each.across_mm + HAIR_MM:
            return each.name
    return ""


def together(layouts: Sequence[Layout], cloth: Cloth) -> Layout:
    """Layouts on remnants of a cloth as one on their table. Raises CannotBeDone for a layout on
    something else."""
    placed: list[Placement] = []
    for layout in layouts:
        low = _start_of(layout, cloth)
        placed += [_shifted(each, low) for each in layout.placements]
    first = layouts[0]
    length = max(layout.length_mm for layout in layouts)
    return replace(first, cloth=cloth, placements=tuple(placed), length_mm=length)


def apart(layout: Layout, before: Sequence[Layout], load: ClothLoad) -> tuple[CheckedLayout, ...]:
    """A layout of the table as one for each remnant that has pieces, passed by the judge.

    before : the layouts that it was made from: what they prove of the pieces on a remnant holds as
    long as it has the same ones.
    """
    cloth = load.cloth
    known = {each.cloth.remnants[0].name: each for each in before}
    made = []
    starts = starts_mm(cloth)
    for remnant in cloth.remnants:
        low = starts[remnant.name]
        own = [
            each for each in layout.placements if remnant_at(_middle(each), cloth) == remnant.name
        ]
        if own:
            laid = replace(
                layout, cloth=cloth.on(remnant), spread=LAID_OPEN,
                placements=tuple(_shifted(each, -low) for each in own),
            )  # fmt: skip
            made.append(_measured(laid, known.get(remnant.name), load))
    return judge.check_together(made, load.cut_pieces, load.job.garments)


def _lacking(cloth: Cloth) -> tuple[Flaw, ...]:
    """What the remnants lack of their boxes, and of the length of the longest, on the table."""
    found: list[FloatArray] = []
    room, starts = room_mm(cloth), starts_mm(cloth)
    for remnant in cloth.remnants:
        low = starts[remnant.name]
        found += [outline + np.array([0.0, low]) for outline in remnant.lacking]
        end = remnant.along_mm + cloth.gap_mm / 2  # half a gap of a piece may reach over the edge
        if end + JUDGED_MM < room:
            far = room + cloth.gap_mm
            box = [[end, 0.0], [far, 0.0], [far, remnant.across_mm], [end, remnant.across_mm]]
            found.append(np.array(box) + np.array([0.0, low]))
    return tuple(Flaw("", outline) for outline in found)


def _start_of(layout: Layout, cloth: Cloth) -> float:
    remnant, starts = layout.cloth.remnant, starts_mm(cloth)
    if remnant is None or remnant.name not in starts:
        raise CannotBeDone(
            f"the layout lies on no remnant that {cloth.name} has. Lay the job anew."
        )
    return starts[remnant.name]


def _middle(placement: Placement) -> float:
    """Across the table."""
    return float(placement.outline_mm[:, 1].min() + placement.outline_mm[:, 1].max()) / 2


def _shifted(placement: Placement, across: float) -> Placement:
    outline = placement.outline_mm + np.array([0.0, across])
    return replace(placement, y_mm=placement.y_mm + across, outline_mm=outline)


def _measured(laid: Layout, before: Layout | None, load: ClothLoad) -> Layout:
    """The layout with its own length, and what is known to be the least for its pieces."""
    length = max(float(each.outline_mm[:, 0].max()) for each in laid.placements)
    if before is not None and _same_pieces(before, laid):
        bound, ending = before.length_lower_bound_mm, laid.stopped_because
        if _same_places(before, laid):
            ending = before.stopped_because
    else:
        areas = {(piece.name, piece.size): piece.area_mm2 for piece in load.cut_pieces}
        area = sum(areas[each.piece, each.size] for each in laid.placements)
        bound, ending = area / laid.cloth.usable_width_mm, laid.stopped_because
    return replace(
        laid, length_mm=max(length, bound), length_lower_bound_mm=bound, stopped_because=ending
    )


def _same_pieces(one: Layout, other: Layout) -> bool:
    return {each.key for each in one.placements} == {each.key for each in other.placements}


def _same_places(one: Layout, other: Layout) -> bool:
    where = {each.key: (each.x_mm, each.y_mm, each.rotation_deg) for each in one.placements}
    return all(
        np.allclose(where[each.key], (each.x_mm, each.y_mm, each.rotation_deg), atol=JUDGED_MM)
        for each in other.placements
    )
