"""Lower bounds on the length, each proven by a sentence."""

from __future__ import annotations

from marker.placement.problem import PlacementProblem


def simple(problem: PlacementProblem) -> float:
    """The larger of area ÷ usable width (pieces do not overlap) and the longest item in its
    shortest allowed orientation (it must lie somewhere), mm."""
    longest = max(
        min(problem.extent(way.shape)[0] for way in item.orientations) for item in problem.items
    )
    return max(problem.area / problem.usable_width, longest - 2 * problem.margin)
