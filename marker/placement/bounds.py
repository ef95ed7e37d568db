"""Lower bounds on the length, each proven by a sentence."""

from __future__ import annotations

from marker.placement.problem import PlacementProblem


def simple(problem: PlacementProblem) -> float:
    """The larger of area ÷ usable width (pieces do not overlap) and the longest item in its
    shortest allowed orientation (it must lie somewhere), mm. Items that tilt have no shortest."""
    shortest = [
        min(problem.extent(way.shape)[0] for way in item.orientations) - 2 * problem.margin
        for item in problem.items
        if not item.tilts
    ]
    return max(problem.area / problem.usable_width, *shortest, 0.0)


def binding(problem: PlacementProblem) -> bool:
    """Whether what the exact model proves of the shapes and orientations binds the pieces."""
    return not problem.enlarged and not any(item.tilts for item in problem.items)
