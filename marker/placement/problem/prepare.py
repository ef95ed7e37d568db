"""From cuts on a table to a placement problem with what may not be used of the cloth, and back to
placements."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from marker.cloth.fabric import Cloth
from marker.errors import CannotBeDone, Part
from marker.geometry import polygons
from marker.geometry.arrays import FloatArray
from marker.layout import Placement
from marker.placement.problem.cuts import Cut, Label
from marker.placement.problem.orientations import Shapes, item_of, narrowest
from marker.placement.problem.statement import (
    Arrangement,
    Item,
    Obstacle,
    PlacementProblem,
)
from marker.placement.problem.table import Table
from marker.placement.problem.ties import ties_of, why_nowhere
from marker.tolerances import WIDTH_MM
from marker.units import System, cut_length, inches, round_up, shown


@dataclass(frozen=True)
class Stretch:
    """A length of the table that is laid by itself: its problem has an item for each cut."""

    table: Table
    cuts: tuple[Cut, ...]
    problem: PlacementProblem


def stretches(parts: Sequence[tuple[Table, Sequence[Cut]]]) -> tuple[Stretch, ...]:
    """A stretch for each table with its cuts (never none), one behind the other on one cloth.

    Where pieces of a garment must point one way, those on several stretches are held to one.
    Raises CannotBeDone, naming every piece that fits its table in no allowed turn, or finds no
    place on the cloth's pattern.
    """
    shapes = [Shapes() for _ in parts]
    made = [_items(cuts, table, known) for (table, cuts), known in zip(parts, shapes, strict=True)]
    for (table, cuts), items in zip(parts, made, strict=True):
        _refuse_too_wide(cuts, items, table)
    every = {kind: item for items in made for kind, item in items.items()}
    all_cuts = [cut for _, cuts in parts for cut in cuts]
    shared = _shared_directions(all_cuts, every, parts[0][0].cloth)
    if len(parts) > 1:
        shared = {min(shared)}
    groups = _groups(all_cuts)
    return tuple(
        Stretch(table, tuple(cuts), _problem(table, cuts, items, known, shared, groups))
        for (table, cuts), items, known in zip(parts, made, shapes, strict=True)
    )


def placements(
    problem: PlacementProblem, items: Sequence[Label], arrangement: Arrangement
) -> tuple[Placement, ...]:
    """The arrangement in the terms of the pattern: each cut outline turned and moved."""
    result = []
    for label, item, position in zip(items, problem.items, arrangement, strict=True):
        orientation = item.orientations[position.orientation]
        x, y = position.x + orientation.shift[0], position.y + orientation.shift[1]
        result.append(placed(label, orientation.rotation_deg, orientation.mirrored, x, y))
    return tuple(result)


def placed(label: Label, rotation_deg: float, mirrored: bool, x: float, y: float) -> Placement:
    """The label's outline reflected if `mirrored`, turned, then moved by (x, y) mm."""
    outline = polygons.turned(label.piece.outline, rotation_deg, mirrored)
    return Placement(
        piece=label.piece.name,
        size=label.piece.size,
        garment=label.garment,
        copy=label.copy,
        rotation_deg=rotation_deg,
        mirrored=mirrored,
        x_mm=x,
        y_mm=y,
        outline_mm=outline + np.array([x, y]),
    )


def may_lie(cut: Cut, table: Table) -> bool:
    """Whether a cut fits the table in an allowed way."""
    return bool(item_of(cut, table, Shapes()).orientations)


_Made = Mapping[object, Item]
"""One item of each kind of cut; without orientations if it fits in none."""


def _items(cuts: Sequence[Cut], table: Table, shapes: Shapes) -> _Made:
    made: dict[object, Item] = {}
    for cut in cuts:
        if cut.kind not in made:
            made[cut.kind] = item_of(cut, table, shapes)
    return made


def _problem(
    table: Table,
    cuts: Sequence[Cut],
    made: _Made,
    shapes: Shapes,
    shared: set[int],
    groups: Mapping[int, int],
) -> PlacementProblem:
    problem = PlacementProblem(
        shapes=tuple(shapes.outlines),
        items=tuple(_of_group(made[cut.kind], groups[cut.garments[0]], shared) for cut in cuts),
        width=table.strip_mm,
        margin=table.half_gap_mm,
        area=sum(cut.label.piece.area_mm2 / (2 if cut.on_fold else 1) for cut in cuts),
        usable_width=table.width_mm,
        cores=tuple(shapes.cores),
    )
    return with_obstacles(problem, table.flaws)


def _of_group(item: Item, group: int, directions: set[int]) -> Item:
    """The item in these directions; of one group with the garment's others if it has a choice."""
    orientations = tuple(
        orientation for orientation in item.orientations if orientation.direction in directions
    )
    return replace(item, orientations=orientations, group=group if len(directions) > 1 else -1)


def _groups(cuts: Sequence[Cut]) -> dict[int, int]:
    """Garment -> the lowest of those that cuts tie it to, directly or through others."""
    group = {garment: garment for cut in cuts for garment in cut.garments}

    def lowest(garment: int) -> int:
        while group[garment] != garment:
            garment = group[garment]
        return garment

    for cut in cuts:
        ends = sorted({lowest(garment) for garment in cut.garments})
        group[ends[-1]] = ends[0]
    return {garment: lowest(garment) for garment in group}


def _refuse_too_wide(cuts: Sequence[Cut], made: _Made, table: Table) -> None:
    refused = {cut.label.hand[:2]: cut.label for cut in cuts if not made[cut.kind].orientations}
    if refused:
        several = len({cut.label.piece.size for cut in cuts}) > 1
        labels = list(refused.values())
        about = [(Part.PIECE, label.piece.name) for label in labels]
        about += ties_of(label.piece for label in labels if _fits_width(label, table))
        raise CannotBeDone("\n".join(_why_not(labels, table, several)), about)


_STEP_MM = {System.METRIC: 1.0, System.IMPERIAL: 25.4 / 16}  # of a width that is enough


def _why_not(refused: Sequence[Label], table: Table, several_sizes: bool) -> Iterator[str]:
    """Why no allowed turn lays the pieces on the cloth, a line for each, and what would help."""
    cloth = table.cloth
    usable = _usable_mm(table)
    widest: dict[str, tuple[float, str]] = {}
    for label in refused:
        piece, need = label.piece, _needed_mm(label, table)
        name = f"{piece.name} of size {piece.size}" if several_sizes else piece.name
        if need is None:
            yield (
                f"{name} may only lie turned back, which the nap of {cloth.name} forbids. "
                f"Allow it a turn below 180."
            )
        elif _fits_width(label, table):
            yield why_nowhere(piece, label.mirrored, cloth, table.tie(label))
        else:
            widest[piece.name] = max(widest.get(piece.name, (0.0, "")), (need, name))
    step = _STEP_MM[shown().lead]
    for need, name in widest.values():
        more = cut_length(round_up(need, step) - usable)
        yield (
            f"{name} needs {_width(need)} across the cloth, however it may lie: "
            f"{more} more than the {_plain_width(usable)} that {cloth.name} has."
        )
    if widest:
        yield f"A usable width of {_width(max(widest.values())[0])} would do."


def _usable_mm(table: Table) -> float:
    return max(lane.high - lane.low for lane in table.lanes)


def _fits_width(label: Label, table: Table) -> bool:
    """Whether only what ties a piece keeps it from the cloth."""
    need = _needed_mm(label, table)
    return need is not None and need <= _usable_mm(table) + WIDTH_MM


def _needed_mm(label: Label, table: Table) -> float | None:
    """The least that a piece takes across the cloth; None where the nap allows it no turn."""
    piece = label.piece
    return min(
        (
            narrowest(polygons.turned(piece.outline, turn, False), piece.grain_tolerance_deg)
            for turn in table.turns(label)
        ),
        default=None,
    )


def _plain_width(mm: float) -> str:
    """'150 cm', '59 in'."""
    return f"{mm / 10:g} cm" if shown().lead is System.METRIC else inches(mm, 16)


def _width(mm: float) -> str:
    """A width that is surely enough: whole mm or 1/16 in, rounded up."""
    up = {system: round_up(mm, step) for system, step in _STEP_MM.items()}
    enough = {System.METRIC: f"{up[System.METRIC] / 10:g} cm",
              System.IMPERIAL: inches(up[System.IMPERIAL], 16)}  # fmt: skip
    lead = shown().lead
    return f"{enough[lead]} ({enough[lead.other]})" if shown().both else enough[lead]


def _shared_directions(cuts: Sequence[Cut], made: _Made, cloth: Cloth) -> set[int]:
    """Directions in which all pieces of every garment can lie."""
    names = {cut.kind: cut.label.piece.name for cut in cuts}
    can = [
        (names[kind], {orientation.direction for orientation in made[kind].orientations})
        for kind in names
    ]
    shared = set.intersection(*(directions for _, directions in can))
    if not shared:
        ahead = next(name for name, directions in can if directions == {0})
        back = next(name for name, directions in can if directions == {1})
        raise CannotBeDone(
            f"the pieces of a garment must point one way on {cloth.name}, but {ahead} can lie "
            f"along it only and {back} turned back only. Add a turn to one of them.",
            [(Part.PIECE, ahead), (Part.PIECE, back)],
        )
    return shared


def with_obstacles(problem: PlacementProblem, outlines: Sequence[FloatArray]) -> PlacementProblem:
    """The problem with these outlines as further obstacles, from which pieces keep half the gap.

    outlines : (n, 2) each, where they lie on the cloth: mm from its start and near edge, simple,
    counter-clockwise, nowhere narrower than 0.02 mm.
    """
    shapes, obstacles = list(problem.shapes), list(problem.obstacles)
    cores = [problem.core(shape) for shape in range(len(shapes))]
    for outline in outlines:
        low = outline.min(axis=0)
        x, y = low + problem.margin
        obstacles.append(Obstacle(len(shapes), float(x), float(y)))
        shapes.append(outline - low)
        # cores keep the whole gap, pieces owe obstacles only half of it
        cores.append(polygons.shrink(outline, problem.margin) - low)
    return replace(problem, shapes=tuple(shapes), obstacles=tuple(obstacles), cores=tuple(cores))
