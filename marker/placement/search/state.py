"""One worker's arrangement under repair, as flat arrays for the kernels, and how hard it tries."""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from marker.geometry.arrays import FloatArray, IntArray
from marker.geometry.random_numbers import RandomState, random_state
from marker.placement.checking import ascending, at_least, positive, share
from marker.placement.problem.statement import (
    Arrangement,
    PlacementProblem,
    Position,
    feasible_positions,
    laid,
    seated,
)


@dataclass(frozen=True)
class SeparationParams:
    """How hard separation tries.

    samples : positions tried each move in which the item touches another; near : tried near where
    it lies.
    kept : best samples that are refined, besides the present position.
    coarse, fine, finest : steps of the descent, as parts of the item's smaller side: from coarse to
    fine for every candidate, on to finest for the best. lengthen, shorten : how a step changes with
    a gain and a failure.
    prospect : a sample may be so many times as bad as the item's present position, refined. Of
    those that were worse, one in seven won by its descent, but they took half of the time.
    reach : first steps that a descent may go before what is near is gathered anew.
    hope : a descent at its first step may be worse than what it must beat by this many times that.
    The smaller its steps have become, the less.
    partners : items looked at for one to change places with. unlike : times that it may be as long
    and as wide or as short and as narrow, both multiplied.
    heavier, heaviest : how the weight of a pair in conflict grows in a round, by its penalty.
    fade : what is left of the weight of others.
    bins_per_item : bins along the strip that the widest item spans: finer ones leave fewer items to
    look at.
    """

    samples: int = 24
    near: int = 8
    kept: int = 3
    coarse: float = 0.25
    fine: float = 0.01
    finest: float = 0.0001
    lengthen: float = 1.1
    shorten: float = 0.5
    prospect: float = 5.0
    reach: float = 2.0
    hope: float = 4.0
    partners: int = 4
    unlike: float = 3.0
    heavier: float = 1.2
    heaviest: float = 2.0
    fade: float = 0.95
    bins_per_item: int = 4

    def __post_init__(self) -> None:
        at_least(self, 0, "samples", "near", "hope")
        at_least(self, 0, "partners")
        at_least(self, 1, "kept", "lengthen", "reach", "unlike", "heavier", "bins_per_item")
        positive(self, "finest", "shorten", "prospect", "fade")
        share(self, "shorten", "fade")
        ascending(self, "finest", "fine", "coarse")
        ascending(self, "heavier", "heaviest")

    @property
    def effort(self) -> Effort:
        """The numbers that kernels read."""
        return Effort(
            self.samples, self.near, self.coarse, self.fine, self.finest, self.lengthen,
            self.shorten, self.prospect, self.reach, self.hope, self.partners, self.unlike,
            self.heavier, self.heaviest, self.fade,
        )  # fmt: skip


class Effort(NamedTuple):
    """Numbers of `SeparationParams` that kernels read."""

    samples: int
    near: int
    coarse: float
    fine: float
    finest: float
    lengthen: float
    shorten: float
    prospect: float
    reach: float
    hope: float
    partners: int
    unlike: float
    heavier: float
    heaviest: float
    fade: float


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
    feasible : (w, 6) where each orientation of each item may lie, see `feasible_positions`.
    extra, penalty : (n + m, n + m) float32, by what the weight of a pair exceeds 1; its penalty,
        unweighted. laps : (n + m,) how many others each overlaps.
    pairs, listed : (c, 2) int32 all pairs with a penalty or an extra weight, and maybe some that
        had one; (n + m, n + m) which are there. counts : (2,) how many are there; moves so far.
    group_direction : direction of each group. rng : random state.
    bin_mm, widest : bin size and the longest any item is along the strip, mm.
    head : (b,) first item whose position lies in a bin, -1 if none; the last bin holds obstacles
        that are longer than any item. following, previous : (n + m,) the others of that bin;
        bin : (n + m,) the bin of each.
    least : (1,) least penalty of all arrangements met, inf before the first is looked at;
        best_x, best_y, best_choice : (n,) the arrangement that had it.
    value, at : (k + 1,), (k + 1, 3) scratch of a move: penalty of each candidate, and its
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
    feasible: FloatArray
    extra: NDArray[np.float32]
    penalty: NDArray[np.float32]
    laps: IntArray
    pairs: NDArray[np.int32]
    listed: NDArray[np.bool_]
    counts: IntArray
    group_direction: IntArray
    rng: RandomState
    bin_mm: float
    widest: float
    head: IntArray
    following: IntArray
    previous: IntArray
    bin: IntArray
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
    every = [orientation for item in problem.items for orientation in item.orientations]
    return Choices(
        start=np.concatenate([[0], np.cumsum(counts)]).astype(np.int64),
        shape=np.array([orientation.shape for orientation in every], dtype=np.int64),
        direction=np.array([orientation.direction for orientation in every], dtype=np.int64),
        group=np.array([item.group for item in problem.items], dtype=np.int64),
    )


def state_of(
    problem: PlacementProblem,
    arrangement: Arrangement,
    length: float,
    seed: int,
    params: SeparationParams = SeparationParams(),
) -> State:
    """A fresh state at `arrangement`, its far ends drawn in to a strip of `length`, weights 1.

    Items that are tied to a repeat go to the nearest position it allows. Penalties and index are
    filled by `refresh`.
    """
    count = len(problem.items)
    drawn_in = tuple(
        seated(problem, item, position, length)
        for item, position in zip(problem.items, arrangement, strict=True)
    )
    shape, corners = laid(problem, drawn_in)
    choice = np.array([position.orientation for position in drawn_in], dtype=np.int64)
    extent = np.array([problem.extent(each) for each in range(len(problem.shapes))])
    widest = max(
        float(extent[orientation.shape, 0])
        for item in problem.items
        for orientation in item.orientations
    )
    bin_mm = widest / params.bins_per_item
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
        feasible=feasible_positions(problem, length),
        # none of this takes memory before it is written to
        extra=np.zeros((len(shape), len(shape)), dtype=np.float32),
        penalty=np.zeros((len(shape), len(shape)), dtype=np.float32),
        laps=np.zeros(len(shape), dtype=np.int64),
        pairs=np.empty((count * len(shape), 2), dtype=np.int32),
        listed=np.zeros((len(shape), len(shape)), dtype=np.bool_),
        counts=np.zeros(2, dtype=np.int64),
        group_direction=direction,
        rng=random_state(seed),
        bin_mm=bin_mm,
        widest=widest,
        head=np.full(int(length / bin_mm) + 3, -1, dtype=np.int64),
        following=np.full(len(shape), -1, dtype=np.int64),
        previous=np.full(len(shape), -1, dtype=np.int64),
        bin=np.full(len(shape), -1, dtype=np.int64),
        least=np.full(1, np.inf),
        best_x=corners[:count, 0].copy(),
        best_y=corners[:count, 1].copy(),
        best_choice=choice.copy(),
        value=np.empty(params.kept + 1),
        at=np.empty((params.kept + 1, 3)),
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
