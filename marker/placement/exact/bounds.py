"""Lower bounds on the length, each proven by a sentence."""

from __future__ import annotations

from math import inf

from marker.placement.exact.relaxation import relax
from marker.placement.problem.feasible_positions import spans
from marker.placement.problem.statement import Item, Orientation, PlacementProblem


def simple(problem: PlacementProblem) -> float:
    """The larger of two lengths, mm.

    The farthest that an item reaches by itself in its best orientation: it must lie somewhere. The
    area of all items, each with a strip of the gap's width along its length, ÷ usable width and a
    gap: where several lie beside one another at one place along the cloth, a gap lies between
    each two.
    """
    relaxation = relax(problem)
    cores, gap = relaxation.problem, relaxation.gap
    ends = [min(_first_end(cores, item, way) for way in item.orientations) for item in cores.items]
    lengths = [min(cores.extent(way.shape)[0] for way in item.orientations) for item in cores.items]
    area = problem.area + gap * sum(lengths)
    return max(area / (problem.usable_width + gap), *ends, 0.0)


def _first_end(problem: PlacementProblem, item: Item, way: Orientation) -> float:
    """Where an item ends in the first position that its repeat allows it."""
    along, _ = spans(problem, item, way, inf)
    return along.low + problem.extent(way.shape)[0]
