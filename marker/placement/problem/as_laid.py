"""A layout laid before, in the terms of the problems that its cutting plan makes."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from marker.errors import CannotBeDone
from marker.layout import Layout, Placement
from marker.placement.problem.cuts import Cut
from marker.placement.problem.cutting_plans import (
    Arranged,
    CuttingPlan,
    flat_length,
    table_start,
    upper_label,
)
from marker.placement.problem.orientations import oriented
from marker.placement.problem.prepare import Stretch
from marker.placement.problem.statement import (
    Arrangement,
    Item,
    Orientation,
    PlacementProblem,
    Position,
    spans,
)
from marker.tolerances import JUDGED_MM

_NEAR_MM = 0.1  # where the stretch beyond two plies begins
_SAME_DEG = 1e-3  # layouts are stored to four decimals


def plan_as_laid(plan: CuttingPlan, layout: Layout) -> tuple[Arranged, ...] | None:
    """Each stretch of a plan as the layout has it; None where the plan cuts not as many pieces.

    Raises CannotBeDone where the layout is of another plan that cuts as many.
    """
    return tuple(_arranged(plan, layout)) if _is_of(plan, layout) else None


def _is_of(plan: CuttingPlan, layout: Layout) -> bool:
    """Whether a plan cuts as many pieces, wanted and not, as the layout has."""
    cuts = [cut for stretch in plan for cut in stretch.cuts]
    spares = sum(cut.spare for cut in cuts)
    wanted = sum(len(cut.keys) for cut in cuts)
    return (wanted, spares) == (len(layout.placements), len(layout.spares))


def _arranged(plan: CuttingPlan, layout: Layout) -> Iterator[Arranged]:
    beyond = layout.spread.one_ply_from_mm if len(plan) > 1 else float("inf")
    split: tuple[list[Placement], list[Placement]] = [], []
    for each in layout.placements:
        split[int(each.outline_mm[:, 0].min() >= beyond - _NEAR_MM)].append(each)
    parts = [replace(layout, placements=tuple(each)) for each in split]
    start = 0.0
    for stretch, own in zip(plan, parts, strict=False):
        part = Arranged(stretch, *as_laid(stretch, _from(own, stretch, start)))
        yield part
        spreading, cloth = layout.spread.spreading, layout.cloth
        start = flat_length(spreading, cloth, [part.length_mm]) + cloth.gap_mm


def _from(layout: Layout, stretch: Stretch, start: float) -> Layout:
    """The layout moved to where its first stretch would lie. start : where its own one lies."""
    if not start:
        return layout
    shift = table_start(layout.spread, stretch.table) - start
    moved = tuple(replace(each, x_mm=each.x_mm + shift) for each in layout.placements)
    return replace(layout, placements=moved)


def as_laid(stretch: Stretch, layout: Layout) -> tuple[PlacementProblem, Arrangement]:
    """A layout as an arrangement of a stretch's problem, which gets further orientations behind its
    own for pieces that are tilted within their grain tolerance.

    layout : all that is cut from the stretch, and nothing else. Raises CannotBeDone for a piece
    that it does not lay, or lays where the problem does not let it lie.
    """
    by_key = defaultdict(list)
    for each in (*layout.placements, *layout.spares):
        by_key[each.key].append(each)
    origin = table_start(layout.spread, stretch.table), stretch.table.start_mm
    problem, arrangement = stretch.problem, []
    for number, cut in enumerate(stretch.cuts):
        seen = [_moved(each, origin) for key in cut.keys for each in by_key.get(key, ())]
        if not seen:
            raise CannotBeDone(f"the layout does not lay {cut.label.key}. Lay the job anew.")
        found = next(_positions(problem, cut, problem.items[number], seen), None)
        if found is None:
            problem = _with_tilts(problem, number, seen)
            found = next(_positions(problem, cut, problem.items[number], seen), None)
        if found is None:
            raise CannotBeDone(
                f"{cut.label.key}, lies where the job no longer lets it lie. Lay the job anew, or "
                f"undo what was changed in it."
            )
        arrangement.append(found)
    return problem, tuple(arrangement)


def _moved(placement: Placement, origin: tuple[float, float]) -> Placement:
    """Seen from where the table begins."""
    return replace(placement, x_mm=placement.x_mm - origin[0], y_mm=placement.y_mm - origin[1])


def _positions(
    problem: PlacementProblem, cut: Cut, item: Item, seen: Sequence[Placement]
) -> Iterator[Position]:
    """Every position of an item that gives one of the placements, as the one on the upper ply."""
    for number, orientation in enumerate(item.orientations):
        upper = upper_label(cut, orientation)
        for each in seen:
            same_hand = each.mirrored == orientation.mirrored
            wanted = each.copy == upper.copy or cut.spare
            if same_hand and wanted and _apart(each, orientation) <= _SAME_DEG:
                x, y = each.x_mm - orientation.shift[0], each.y_mm - orientation.shift[1]
                both = zip(spans(problem, item, orientation, np.inf), (x, y), strict=True)
                if all(low - JUDGED_MM <= at <= high + JUDGED_MM for (low, high, _), at in both):
                    yield Position(x, y, number)


def _apart(placement: Placement, orientation: Orientation) -> float:
    """Degrees between how a piece lies and an orientation."""
    return abs((placement.rotation_deg - orientation.rotation_deg + 180) % 360 - 180)


def _with_tilts(
    problem: PlacementProblem, number: int, seen: Sequence[Placement]
) -> PlacementProblem:
    """The problem with further orientations of an item, turned as it is seen, within the leeway of
    its own ones."""
    item = problem.items[number]
    if item.outlines is None:
        return problem
    shapes, made = list(problem.shapes), []
    for each in seen:
        for own in item.orientations:
            turn = (each.rotation_deg - own.rotation_deg + 180) % 360 - 180
            low, high = own.leeway
            inside = low - _SAME_DEG <= turn <= high + _SAME_DEG
            if inside and own.mirrored == each.mirrored:
                gap = problem.margin
                shape, corner = oriented(item.outlines, each.rotation_deg, each.mirrored, gap)
                leeway = min(low - turn, 0.0), max(high - turn, 0.0)
                shift = (-float(corner[0]) - gap, -float(corner[1]) - gap)
                made.append(
                    replace(
                        own, shape=len(shapes), rotation_deg=each.rotation_deg, shift=shift,
                        leeway=leeway,
                    )
                )  # fmt: skip
                shapes.append(shape)
                break
    items = list(problem.items)
    items[number] = replace(item, orientations=(*item.orientations, *made))
    cores = problem.cores and problem.cores + (np.empty((0, 2)),) * len(made)
    return replace(problem, shapes=tuple(shapes), items=tuple(items), cores=cores)
