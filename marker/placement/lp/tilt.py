"""Grain tolerance: pieces turn a little, together, wherever that shortens the layout.

The search knows each piece in a few tilts. From its layout on, a linear program moves and turns
all pieces at once, to first order (`turning`). The outlines are then turned in truth, their no-fit
polygons made, and the layout drawn together with all angles held. Only what is free of overlap and
shorter by these counts. Turns are short, shorter after a failure and longer after a success, as is
usual for programs that hold to first order only.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from marker.placement.checking import ascending, at_least, positive, share
from marker.placement.lp.poses import PosedLayout, PosePolygons, arranged, posed
from marker.placement.lp.rotations import moves_and_turns
from marker.placement.problem.statement import Arrangement, PlacementProblem

_DUST_DEG = 1e-4


@dataclass(frozen=True)
class TiltParams:
    """How pieces are turned by any angle.

    rounds : solutions at most. first_turn, least_turn : degrees that a piece may turn in one, at
    first and at least; shrink, growth : how these change with a failure and a success.
    reach_mm : how far a piece may move along or across in one solution.
    past_edge_mm, gain_mm : as in `CompactionParams`.
    """

    rounds: int = 60
    first_turn: float = 0.5
    least_turn: float = 0.01
    shrink: float = 0.25
    growth: float = 2.0
    reach_mm: float = 15.0
    past_edge_mm: float = 0.01
    gain_mm: float = 0.01

    def __post_init__(self) -> None:
        at_least(self, 1, "rounds", "growth")
        at_least(self, 0, "past_edge_mm", "gain_mm")
        positive(self, "least_turn", "shrink", "reach_mm")
        share(self, "shrink")
        ascending(self, "least_turn", "first_turn")


def may_tilt(problem: PlacementProblem) -> bool:
    """Whether an item may lie between its orientations."""
    return any(item.outlines is not None and not any(item.repeat) for item in problem.items)


def tilted(
    problem: PlacementProblem,
    arrangement: Arrangement,
    stopped: Callable[[], bool],
    params: TiltParams = TiltParams(),
) -> tuple[PlacementProblem, Arrangement]:
    """The layout with its pieces turned and moved so that it is shorter, or as it is.

    Returns the problem with the orientations that this needs besides its own, behind these, and
    the arrangement in its terms. stopped : asked now and then whether to end early.
    """
    best, polygons, turn = posed(problem, arrangement), PosePolygons(), params.first_turn
    for _ in range(params.rounds):
        if turn < params.least_turn or stopped():
            break
        found = _shorter(problem, best, turn, polygons, params)
        turn *= params.shrink if found is None else params.growth
        best = found or best
        polygons.keep(best)
    return arranged(problem, arrangement, best)


def _shorter(
    problem: PlacementProblem,
    layout: PosedLayout,
    turn: float,
    polygons: PosePolygons,
    params: TiltParams,
) -> PosedLayout | None:
    """A layout of pieces turned by up to `turn` degrees that is shorter by a gain; None if none is
    found."""
    loose = drawn(problem, layout, turn, polygons, params)
    found = loose and drawn(problem, loose, 0.0, polygons, params)
    return found if found and found.end < layout.end - params.gain_mm else None


def drawn(
    problem: PlacementProblem,
    layout: PosedLayout,
    turn: float,
    polygons: PosePolygons,
    params: TiltParams = TiltParams(),
) -> PosedLayout | None:
    """The layout drawn together once with turns up to `turn` degrees; None if that can't be.

    Exactly free of overlap if `turn` is 0, else to first order.
    """
    moves = moves_and_turns(
        layout,
        (problem.width, problem.width + params.past_edge_mm),
        np.radians(turn),
        params.reach_mm,
        polygons,
    )
    if moves is None:
        return None
    poses, at = list(layout.poses), layout.at + moves[:, :2]
    for k, degrees in enumerate(np.degrees(moves[:, 2]).tolist()):
        if abs(degrees) > _DUST_DEG:
            poses[k], at[k] = poses[k].turned(degrees, problem.margin, at[k])
    items = layout.items
    across = np.array([pose.size[1] for pose in poses[:items]])
    low, high = np.array([pose.lane(problem.width) for pose in poses[:items]]).T
    at[:items, 0] = np.maximum(at[:items, 0], 0.0)
    last = np.maximum(high + params.past_edge_mm - across, low)
    at[:items, 1] = np.clip(at[:items, 1], low, last)
    return PosedLayout(tuple(poses), at, items)
