"""A stored layout, divided among the stretches of the cutting plan that it was laid by."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from marker.layout import Layout, PieceKey, Placement
from marker.placement.problem.cuts import Cut
from marker.placement.problem.cutting_plans import Arranged, CuttingPlan, flat_length, table_start
from marker.placement.problem.pinned import as_laid
from marker.placement.problem.prepare import Stretch

_NEAR_MM = 0.1  # where the stretch beyond two plies begins


def arranged_as(plan: CuttingPlan, layout: Layout) -> tuple[Arranged, ...] | None:
    """Each stretch of a plan as the layout has it; None where the plan cuts not as many pieces.

    Raises CannotBeDone where the layout is of another plan that cuts as many.
    """
    return tuple(_arranged(plan, layout)) if _is_of(plan, layout) else None


def keys_of(cut: Cut) -> Iterator[PieceKey]:
    """All that comes of a cut and is wanted."""
    for label in (cut.label, cut.twin):
        if label is not None:
            yield PieceKey(label.piece.name, label.piece.size, label.garment, label.copy)


def _is_of(plan: CuttingPlan, layout: Layout) -> bool:
    """Whether a plan cuts as many pieces, wanted and not, as the layout has."""
    cuts = [cut for stretch in plan for cut in stretch.cuts]
    spares = sum(cut.spare for cut in cuts)
    wanted = sum(len(list(keys_of(cut))) for cut in cuts)
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
