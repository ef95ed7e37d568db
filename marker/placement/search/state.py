"""One worker's arrangement under repair, as flat arrays for the kernels."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from marker.geometry.arrays import FloatArray, IntArray
from marker.placement.problem.feasible_positions import room_of_ways, seated
from marker.placement.problem.statement import Arrangement, PlacementProblem, Position, laid

RandomState = NDArray[np.uint64]

BINS_PER_ITEM = 4
"""Bins along the strip that the widest item spans: finer ones leave fewer items to look at."""

KEPT = 3
"""Best samples of a move that are refined, besides the present position."""


class Choices(NamedTuple):
    """Orientations of all items, flat.

    start : (n + 1,) item i owns entries start[i] to start[i + 1] of `shape` and `direction`.
    group : (n,) group of each item, or -1.
    """

    start: IntArray
    shape: IntArray
    direction: IntArray
    group: IntArray


class State(NamedTuple):
    """Arrays over n items and after them, but for those that say (n,), m obstacles that stay
    where they are; and an index of the items along the strip.

    movable : n. x, y : positions, mm. choice : (n,) which of its own orientations an item has.
    shape : which shape. along, across : its bounding box, mm.
    room : (w, 6) where each orientation of each item may lie, see `room.room_of_ways`.
    weight, severity : (n + m, n + m) pair weights, at least 1; unweighted pair severities.
    group_direction : direction of each group. rng : random state.
    bin_mm, widest : bin size and the longest any item is along the strip, mm.
    head : (b,) first item whose position lies in a bin, -1 if none; the last bin holds the
        obstacles, however long they are. following, previous : (n + m,) the others of that bin;
        bin : (n + m,) the bin of each.
    moves : (1,) moves made so far.
    least : (1,) least severity of all arrangements met, inf before the first is looked at;
        best_x, best_y, best_choice : (n,) the arrangement that had it.
    value, at : (KEPT + 1,), (KEPT + 1, 3) scratch of a move: severity of each candidate, and its
        x, y and orientation, -1 if there is none.
    nearby, burden : (n + m,) scratch of a descent: what it could meet, and how much of it.
    """

    movable: int
    x: FloatArray
    y: FloatArray
    choice: IntArray
    shape: IntArray
    along: FloatArray
    across: FloatArray
    room: FloatArray
    weight: FloatArray
    severity: FloatArray
    group_direction: IntArray
    rng: RandomState
    bin_mm: float
    widest: float
    head: IntArray
    following: IntArray
    previous: IntArray
    bin: IntArray
    moves: IntArray
    least: FloatArray
    best_x: FloatArray
    best_y: FloatArray
    best_choice: IntArray
    value: FloatArray
    at: FloatArray
    nearby: IntArray
    burden: FloatArray


def choices(problem: PlacementProblem) -> Choices:
    """The flat orientation lists of a problem."""
    counts = [len(item.orientations) for item in problem.items]
    every = [way for item in problem.items for way in item.orientations]
    return Choices(
        start=np.concatenate([[0], np.cumsum(counts)]).astype(np.int64),
        shape=np.array([way.shape for way in every], dtype=np.int64),
        direction=np.array([way.direction for way in every], dtype=np.int64),
        group=np.array([item.group for item in problem.items], dtype=np.int64),
    )


def state_of(
    problem: PlacementProblem, arrangement: Arrangement, length: float, seed: int
) -> State:
    """A fresh state at `arrangement`, its far ends drawn in to a strip of `length`, weights 1.

    Items that are tied to a repeat go to the nearest position it allows. Severities and index are
    filled by `kernels.refresh`.
    """
    count = len(problem.items)
    drawn_in = tuple(
        seated(problem, item, position, length)
        for item, position in zip(problem.items, arrangement, strict=True)
    )
    shape, corners = laid(problem, drawn_in)
    choice = np.array([position.orientation for position in drawn_in], dtype=np.int64)
    extent = np.array([problem.extent(each) for each in range(len(problem.shapes))])
    widest = max(float(extent[way.shape, 0]) for item in problem.items for way in item.orientations)
    bin_mm = widest / BINS_PER_ITEM
    groups = max((item.group for item in problem.items), default=-1) + 1
    direction = np.zeros(max(groups, 1), dtype=np.int64)
    for item, position in zip(problem.items, drawn_in, strict=True):
        if item.group >= 0:
            direction[item.group] = item.orientations[position.orientation].direction
    return State(
        movable=count,
        x=corners[:, 0].copy(),
        y=corners[:, 1].copy(),
        choice=choice,
        shape=shape,
        along=extent[shape, 0],
        across=extent[shape, 1],
        room=room_of_ways(problem, length),
        weight=np.ones((len(shape), len(shape))),
        severity=np.zeros((len(shape), len(shape))),
        group_direction=direction,
        rng=np.random.SeedSequence(seed).generate_state(1, np.uint64) | np.uint64(1),
        bin_mm=bin_mm,
        widest=widest,
        head=np.full(int(length / bin_mm) + 3, -1, dtype=np.int64),
        following=np.full(len(shape), -1, dtype=np.int64),
        previous=np.full(len(shape), -1, dtype=np.int64),
        bin=np.full(len(shape), -1, dtype=np.int64),
        moves=np.zeros(1, dtype=np.int64),
        least=np.full(1, np.inf),
        best_x=corners[:count, 0].copy(),
        best_y=corners[:count, 1].copy(),
        best_choice=choice.copy(),
        value=np.empty(KEPT + 1),
        at=np.empty((KEPT + 1, 3)),
        nearby=np.zeros(len(shape), dtype=np.int64),
        burden=np.zeros(len(shape)),
    )


def arrangement_of(state: State) -> Arrangement:
    """The best arrangement that a state has met."""
    return tuple(
        Position(float(x), float(y), int(choice))
        for x, y, choice in zip(state.best_x, state.best_y, state.best_choice, strict=True)
    )


def keep(state: State, arrangement: Arrangement) -> None:
    """Put an arrangement in the place of the best met."""
    for item, position in enumerate(arrangement):
        state.best_x[item], state.best_y[item] = position.x, position.y
        state.best_choice[item] = position.orientation
