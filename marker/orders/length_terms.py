"""Marker lengths within the CP-SAT model: estimates are linear, each mix laid is a case apart."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from marker.orders.bounds import most_plies
from marker.orders.lengths import Lengths
from marker.orders.order import CutOrder, Limits

if TYPE_CHECKING:
    from ortools.sat.python import cp_model


def garments_mm(lengths: Lengths, order: CutOrder, garments: Sequence[Any]) -> Any:
    """Estimated length of garments, one term a size, without the marker's base."""
    pairs = zip(order.sizes, garments, strict=True)
    return sum(lengths.garment_mm[size] * number for size, number in pairs)


def add_lengths(
    cp: cp_model.CpModel,
    order: CutOrder,
    limits: Limits,
    lengths: Lengths,
    height: Any,
    count: Sequence[Any],
) -> Any:
    """Keep a lay's marker on the table.

    height, count : plies of the lay, garments of its marker. Returns the cloth, mm, that the lay
    takes beyond what its marker was estimated at, below zero where less; 0 for a mix never laid.
    """
    marker_longer: Any = 0
    lay_longer: Any = 0
    highest = sum(most_plies(order, limits, colour) for colour in order.colours)
    for mix, laid in lengths.known.items():
        garments = dict(mix)
        if not garments.keys() <= set(order.sizes):
            continue
        chosen = _chosen(cp, count, [garments.get(size, 0) for size in order.sizes])
        plies = cp.new_int_var(0, highest, "plies of the mix")
        cp.add(plies == height).only_enforce_if(chosen)
        cp.add(plies == 0).only_enforce_if(~chosen)
        longer = laid - lengths.estimate(garments)
        marker_longer += longer * chosen
        lay_longer += longer * plies
    if limits.table_mm is not None:
        estimate = lengths.base_mm + garments_mm(lengths, order, count)
        cp.add(estimate + marker_longer + lengths.end_loss_mm <= limits.table_mm)
    return lay_longer


def _chosen(cp: cp_model.CpModel, count: Sequence[Any], mix: Sequence[int]) -> Any:
    """A literal that is true if, and only if, the marker holds this mix."""
    chosen = cp.new_bool_var("mix")
    same = []
    for variable, number in zip(count, mix, strict=True):
        literal = cp.new_bool_var("same")
        cp.add(variable == number).only_enforce_if(literal)
        cp.add(variable != number).only_enforce_if(~literal)
        same.append(literal)
    cp.add_bool_and(same).only_enforce_if(chosen)
    cp.add_bool_or([~literal for literal in same] + [chosen])
    return chosen
