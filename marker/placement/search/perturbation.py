"""Perturbations: a new start for an attempt, unlike the arrangement it is made from.

Two kinds keep most of what fits together and only break it at a few seams: a stretch of the strip
moves elsewhere, or turns round where it lies. Two disorder pieces: one stretch is shuffled, or two
pieces of like size change places. Which one leads on differs from job to job, so they take turns at
random. A strip so long that its ends know nothing of each other is perturbed within a window.
Their arrangements may overlap and reach over the strip's edges: what starts from them repairs both.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from marker.geometry.arrays import FloatArray, IntArray
from marker.placement.checking import ascending, at_least, positive, share
from marker.placement.problem.statement import (
    Arrangement,
    Item,
    PlacementProblem,
    Position,
    laid,
    strip_length,
)


@dataclass(frozen=True)
class PerturbationParams:
    """How an arrangement is perturbed.

    shortest, longest : length of a stretch that is shuffled, as parts of the strip's.
    large : items that together make up this part of all bounding boxes, largest first, are large.
    likeness : power of the ratio of sizes by which an item is drawn to change places with another:
    what is of like size leaves less to repair.
    window : widths that a window is long, in which a strip of two at least is perturbed.
    """

    shortest: float = 0.05
    longest: float = 0.25
    large: float = 0.75
    likeness: float = 3.0
    window: float = 2.5

    def __post_init__(self) -> None:
        share(self, "shortest", "longest", "large")
        ascending(self, "shortest", "longest")
        at_least(self, 0, "likeness")
        positive(self, "window")


Kind = Callable[
    [PlacementProblem, Arrangement, np.random.Generator, PerturbationParams], Arrangement
]


def perturbed(
    problem: PlacementProblem,
    arrangement: Arrangement,
    rng: np.random.Generator,
    params: PerturbationParams = PerturbationParams(),
    part: bool = False,
) -> Arrangement:
    """The arrangement perturbed in one of the ways that apply to the problem.

    part : it is of a part of all items, so groups may reach beyond it.
    """
    if windows(problem, strip_length(problem, arrangement), params) > 1.0:
        return _perturbed_in_a_window(problem, arrangement, rng, params)
    kinds = _kinds(problem)
    if not part and any(item.group >= 0 for item in problem.items):
        kinds.append(group_turned)
    return kinds[int(rng.integers(len(kinds)))](problem, arrangement, rng, params)


def windows(
    problem: PlacementProblem, length: float, params: PerturbationParams = PerturbationParams()
) -> float:
    """How many windows a strip of this length, mm, has; 1 where it is perturbed as a whole."""
    count = length / (params.window * problem.width)
    return count if count >= 2.0 else 1.0


def _perturbed_in_a_window(
    problem: PlacementProblem,
    arrangement: Arrangement,
    rng: np.random.Generator,
    params: PerturbationParams,
) -> Arrangement:
    """What lies in one window is perturbed as if it were all; a group may reach beyond it, so none
    turns."""
    long = params.window * problem.width
    start = rng.random() * (strip_length(problem, arrangement) - long)
    middles = _middles(problem, arrangement)
    inside = np.flatnonzero((middles >= start) & (middles < start + long))
    if not len(inside):
        return arrangement
    part = replace(problem, items=tuple(problem.items[k] for k in inside), least_length=0.0)
    seen = tuple(_moved(arrangement[k], -start) for k in inside)
    kinds = _kinds(part)
    kind = kinds[int(rng.integers(len(kinds)))]
    moved = list(arrangement)
    for k, position in zip(inside, kind(part, seen, rng, params), strict=True):
        moved[k] = _moved(position, start)
    return tuple(moved)


def _kinds(problem: PlacementProblem) -> list[Kind]:
    """Those that apply to any part of a problem."""
    kinds: list[Kind] = [stretch_moved, stretch_shuffled, two_exchanged]
    grouped = any(item.group >= 0 for item in problem.items)
    # a stretch may hold a part of a group, which must not turn
    if not grouped and any(_half_turned(item, 0) != 0 for item in problem.items):
        kinds.append(stretch_turned)
    return kinds


def _moved(position: Position, by: float) -> Position:
    return Position(position.x + by, position.y, position.orientation)


def shifted(
    problem: PlacementProblem, arrangement: Arrangement, by: float, rng: np.random.Generator
) -> Arrangement:
    """Everything beyond a random place is moved `by` mm towards the start, over what lies there."""
    place = rng.random() * strip_length(problem, arrangement)
    return tuple(_moved(each, -by) if each.x > place else each for each in arrangement)


def stretch_moved(
    problem: PlacementProblem,
    arrangement: Arrangement,
    rng: np.random.Generator,
    _params: PerturbationParams,
) -> Arrangement:
    """The pieces of a stretch go to the end of the strip, those beyond it move up."""
    length = strip_length(problem, arrangement)
    start, end = np.sort(rng.random(2) * length)
    middles = _middles(problem, arrangement)
    by = np.where(middles < start, 0.0, np.where(middles < end, length - end, start - end))
    return tuple(_moved(each, float(far)) for each, far in zip(arrangement, by, strict=True))


def stretch_turned(
    problem: PlacementProblem,
    arrangement: Arrangement,
    rng: np.random.Generator,
    _params: PerturbationParams,
) -> Arrangement:
    """A stretch is turned by half a turn as if it were one piece."""
    inside, start, end = _stretch(problem, arrangement, np.sort(rng.random(2)))
    items = list(arrangement)
    for k in inside:
        along, across = _extent(problem, arrangement, k)
        x, y = start + end - items[k].x - along, problem.width - items[k].y - across
        items[k] = Position(x, y, _half_turned(problem.items[k], items[k].orientation))
    return tuple(items)


def stretch_shuffled(
    problem: PlacementProblem,
    arrangement: Arrangement,
    rng: np.random.Generator,
    params: PerturbationParams,
) -> Arrangement:
    """The pieces of a short stretch take each other's places."""
    part = rng.uniform(params.shortest, params.longest)
    start = rng.random() * (1.0 - part)
    inside, _, _ = _stretch(problem, arrangement, (start, start + part))
    return _exchanged(arrangement, inside, rng.permutation(inside))


def two_exchanged(
    problem: PlacementProblem,
    arrangement: Arrangement,
    rng: np.random.Generator,
    params: PerturbationParams,
) -> Arrangement:
    """A large item changes places with one of another shape, rather of like size."""
    shape, _ = laid(problem, arrangement)
    every = range(len(arrangement))
    size = np.array([np.prod(_extent(problem, arrangement, k)) for k in every])
    first = int(rng.choice(_large(size, params.large)))
    likeness = (np.minimum(size, size[first]) / np.maximum(size, size[first])) ** params.likeness
    likeness[shape[: len(size)] == shape[first]] = 0.0
    if likeness.sum() == 0.0:
        return arrangement
    second = int(rng.choice(len(size), p=likeness / likeness.sum()))
    return _exchanged(arrangement, (first, second), (second, first))


def group_turned(
    problem: PlacementProblem,
    arrangement: Arrangement,
    rng: np.random.Generator,
    _params: PerturbationParams,
) -> Arrangement:
    """All pieces of a group turn round, each where it lies."""
    group = int(rng.choice([item.group for item in problem.items if item.group >= 0]))
    return tuple(
        Position(each.x, each.y, _turned_back(item, each.orientation))
        if item.group == group
        else each
        for item, each in zip(problem.items, arrangement, strict=True)
    )


def _exchanged(
    arrangement: Arrangement, items: Sequence[int] | IntArray, places: Sequence[int] | IntArray
) -> Arrangement:
    """Each of these items at the place of the other named beside it, turned as it was."""
    moved = list(arrangement)
    for item, place in zip(items, places, strict=True):
        there = arrangement[place]
        moved[item] = Position(there.x, there.y, arrangement[item].orientation)
    return tuple(moved)


def _stretch(
    problem: PlacementProblem, arrangement: Arrangement, parts: Sequence[float] | FloatArray
) -> tuple[IntArray, float, float]:
    """The items whose middle lies between two parts of the strip's length, and these in mm."""
    start, end = (float(part) * strip_length(problem, arrangement) for part in parts)
    middles = _middles(problem, arrangement)
    return np.flatnonzero((middles >= start) & (middles < end)), start, end


def _middles(problem: PlacementProblem, arrangement: Arrangement) -> FloatArray:
    """(n,) where along the strip the middle of each item lies, mm."""
    return np.array(
        [each.x + _extent(problem, arrangement, k)[0] / 2 for k, each in enumerate(arrangement)]
    )


def _extent(problem: PlacementProblem, arrangement: Arrangement, item: int) -> tuple[float, float]:
    orientation = problem.items[item].orientations[arrangement[item].orientation]
    return problem.extent(orientation.shape)


def _large(size: FloatArray, share: float) -> IntArray:
    """The large items."""
    order = np.argsort(-size, kind="stable")
    running = np.cumsum(size[order])
    return order[: 1 + int(np.searchsorted(running, share * running[-1]))]


def _miss(item: Item, one: int, other: int) -> float:
    """By how many degrees two orientations are not half a turn apart."""
    orientations = item.orientations
    return abs((orientations[one].rotation_deg - orientations[other].rotation_deg) % 360 - 180)


def _half_turned(item: Item, orientation: int) -> int:
    """The orientation half a turn away, or the same again if there is none."""
    every = range(len(item.orientations))
    return next((k for k in every if _miss(item, k, orientation) < 1e-6), orientation)


def _turned_back(item: Item, orientation: int) -> int:
    """The orientation of the other direction that comes nearest to half a turn away."""
    now = item.orientations[orientation].direction
    back = [k for k, other in enumerate(item.orientations) if other.direction != now]
    return min(back, key=lambda k: _miss(item, k, orientation))
