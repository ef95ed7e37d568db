"""One worker's arrangement under repair, as flat arrays, and the overlaps in it.

All state is in arrays owned by the caller; random numbers come from a state array, so that a run
is repeatable and several threads can work side by side without the interpreter lock.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from marker.geometry.arrays import FloatArray, IntArray
from marker.geometry.kernels import kernel
from marker.placement.checking import ascending, at_least, positive, share
from marker.placement.problem.statement import (
    Arrangement,
    PlacementProblem,
    Position,
    feasible_positions,
    laid,
    seated,
)
from marker.placement.tables.no_fit_polygons import CODE_BITS, CODES, seen
from marker.placement.tables.overlap_grids import BOUNDARY, OUTSIDE, OverlapGrids

RandomState = NDArray[np.uint64]


@dataclass(frozen=True)
class SeparationParams:
    """How hard separation tries.

    samples : random positions tried over the whole strip each move; near : tried near the item.
    kept : best samples that are refined, besides the present position.
    coarse, fine, finest : steps of the descent, as parts of the item's smaller side: from coarse to
    fine for every candidate, on to finest for the best. lengthen, shorten : how a step changes with
    a gain and a failure.
    prospect : a sample may be so many times as bad as the item's present position, refined: of
    those that were worse, one in seven won by its descent, but they took half of the time.
    reach : first steps that a descent may go before what is near is gathered anew.
    hope : a descent with all its steps still to come may be worse than what it must beat by this
    many times that; the less its steps have become, the less.
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
    heavier: float = 1.2
    heaviest: float = 2.0
    fade: float = 0.95
    bins_per_item: int = 4

    def __post_init__(self) -> None:
        at_least(self, 0, "samples", "near", "hope")
        at_least(self, 1, "kept", "lengthen", "reach", "heavier", "bins_per_item")
        positive(self, "finest", "shorten", "prospect", "fade")
        share(self, "shorten", "fade")
        ascending(self, "finest", "fine", "coarse")
        ascending(self, "heavier", "heaviest")

    @property
    def effort(self) -> Effort:
        """The numbers that kernels read."""
        return Effort(
            self.samples, self.near, self.coarse, self.fine, self.finest, self.lengthen,
            self.shorten, self.prospect, self.reach, self.hope, self.heavier, self.heaviest,
            self.fade,
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
        rng=np.random.SeedSequence(seed).generate_state(1, np.uint64) | np.uint64(1),
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


@kernel(inline=True)
def uniform(rng: RandomState) -> float:
    """Next random number in [0, 1): xorshift64* (Vigna 2016)."""
    s = rng[0]
    s ^= s >> np.uint64(12)
    s ^= s << np.uint64(25)
    s ^= s >> np.uint64(27)
    rng[0] = s
    return float((s * np.uint64(2685821657736338717)) >> np.uint64(11)) / 9007199254740992.0


@kernel(inline=True)
def pair_penalty(grids: OverlapGrids, a: int, b: int, dx: float, dy: float) -> float:
    """Penalty of shape b lying at (dx, dy) from shape a; 0.0 exactly when they do not overlap.

    Their bounding boxes must overlap. Reads scalars, never rows of arrays: numba counts
    references to a row, which costs more than the whole look-up.
    """
    entry = grids.pair[a, b]
    code, p = entry & CODES - 1, entry >> CODE_BITS
    if code != 0:
        along, across = grids.extent[a, 0], grids.extent[a, 1]
        other = grids.extent[b, 0], grids.extent[b, 1]
        dx, dy = seen(code, (dx, dy), (along, across), other)
    gx = (dx - grids.grid[p, 0]) * grids.grid[p, 2]
    gy = (dy - grids.grid[p, 1]) * grids.grid[p, 2]
    column, row = int(gx), int(gy)
    nx = int(grids.grid[p, 3])
    node = int(grids.grid[p, 4]) + row * nx + column
    kind = grids.kind[node]
    if kind == OUTSIDE:
        return 0.0
    if kind == BOUNDARY:
        inside = False
        r = int(grids.grid[p, 5]) + row
        for k in range(grids.row_edges[r], grids.row_edges[r + 1]):
            low = grids.edge[k, 0]
            if low <= dy < grids.edge[k, 1]:
                inside ^= dx < grids.edge[k, 2] + (dy - low) * grids.edge[k, 3]
        if not inside:
            return 0.0
    gx -= column
    gy -= row
    lower = grids.value[node] * (1.0 - gx) + grids.value[node + 1] * gx
    upper = grids.value[node + nx] * (1.0 - gx) + grids.value[node + nx + 1] * gx
    return float(lower * (1.0 - gy) + upper * gy)


@kernel()
def weighted_penalty(
    grids: OverlapGrids, state: State, item: int, shape: int, x: float, y: float, limit: float
) -> float:
    """Sum of weighted penalties of `item` in `shape` at (x, y) against all others, obstacles too.

    Stops early, with any value above it, once the sum passes `limit`.
    """
    total = 0.0
    along, across = grids.extent[shape, 0], grids.extent[shape, 1]
    everywhere = len(state.head) - 1
    last = min(int((x + along) / state.bin_mm), everywhere - 1)
    end = last + (2 if state.movable < len(state.x) else 1)
    for b in range(max(int((x - state.widest) / state.bin_mm), 0), end):
        other = state.head[b if b <= last else everywhere]
        while other >= 0:
            dx, dy = state.x[other] - x, state.y[other] - y
            if (
                -state.along[other] < dx < along
                and -state.across[other] < dy < across
                and other != item
            ):
                penalty = pair_penalty(grids, shape, state.shape[other], dx, dy)
                total += (1.0 + state.extra[item, other]) * penalty
                if total > limit:
                    return float(total)
            other = state.following[other]
    return float(total)


@kernel()
def refresh(grids: OverlapGrids, state: State) -> float:
    """Recompute index and pair penalties; returns their sum, each pair counted once."""
    for b in range(len(state.head)):
        state.head[b] = -1
    for k in range(state.counts[0]):
        _set_penalty(state, state.pairs[k, 0], state.pairs[k, 1], 0.0)
    for entry in range(len(state.x)):
        _link(state, entry)
    for item in range(state.movable):
        _meet(grids, state, item)
    return total_penalty(state)


@kernel()
def total_penalty(state: State) -> float:
    """Sum of all penalties, each pair counted once; 0.0 exactly where there is none."""
    total = 0.0
    for k in range(state.counts[0]):
        total += state.penalty[state.pairs[k, 0], state.pairs[k, 1]]
    return total


@kernel()
def place(
    grids: OverlapGrids, state: State, item: int, choice: int, shape: int, x: float, y: float
) -> None:
    """Move one item, in this orientation, to (x, y)."""
    _part(state, item)
    before = state.previous[item]
    after = state.following[item]
    if before >= 0:
        state.following[before] = after
    else:
        state.head[state.bin[item]] = after
    if after >= 0:
        state.previous[after] = before
    state.x[item], state.y[item] = x, y
    state.choice[item], state.shape[item] = choice, shape
    state.along[item], state.across[item] = grids.extent[shape, 0], grids.extent[shape, 1]
    _link(state, item)
    _meet(grids, state, item)


@kernel()
def _link(state: State, item: int) -> None:
    """Enter an item or obstacle into its bin, into that which every look-up visits if it is longer
    than any item."""
    b = len(state.head) - 1
    if item < state.movable or state.along[item] <= state.widest:
        b = min(max(int(state.x[item] / state.bin_mm), 0), b - 1)
    state.bin[item] = b
    first = state.head[b]
    state.previous[item], state.following[item] = -1, first
    if first >= 0:
        state.previous[first] = item
    state.head[b] = item


@kernel()
def _set_penalty(state: State, item: int, other: int, penalty: float) -> None:
    """Note the penalty of a pair."""
    change = int(penalty > 0.0) - int(state.penalty[item, other] > 0.0)
    state.laps[item] += change
    state.laps[other] += change
    state.penalty[item, other] = state.penalty[other, item] = penalty
    if penalty > 0.0 and not state.listed[item, other]:
        state.listed[item, other] = state.listed[other, item] = True
        state.pairs[state.counts[0], 0], state.pairs[state.counts[0], 1] = item, other
        state.counts[0] += 1


@kernel()
def _part(state: State, item: int) -> None:
    """Forget the penalties of an item that is about to move."""
    everywhere = len(state.head) - 1
    last = min(int((state.x[item] + state.along[item]) / state.bin_mm), everywhere - 1)
    for b in range(max(int((state.x[item] - state.widest) / state.bin_mm), 0), last + 2):
        other = state.head[b if b <= last else everywhere]
        while other >= 0 and state.laps[item] > 0:
            if state.penalty[item, other] > 0.0:
                _set_penalty(state, item, other, 0.0)
            other = state.following[other]


@kernel()
def _meet(grids: OverlapGrids, state: State, item: int) -> None:
    """Note the penalties of an item where it lies."""
    x, y, shape = state.x[item], state.y[item], state.shape[item]
    everywhere = len(state.head) - 1
    last = min(int((x + state.along[item]) / state.bin_mm), everywhere - 1)
    for b in range(max(int((x - state.widest) / state.bin_mm), 0), last + 2):
        other = state.head[b if b <= last else everywhere]
        while other >= 0:
            dx, dy = state.x[other] - x, state.y[other] - y
            if (
                -state.along[other] < dx < state.along[item]
                and -state.across[other] < dy < state.across[item]
                and other != item
            ):
                penalty = pair_penalty(grids, shape, state.shape[other], dx, dy)
                if penalty > 0.0:
                    _set_penalty(state, item, other, penalty)
            other = state.following[other]


@kernel(inline=True)
def seat(value: float, low: float, high: float, step: float) -> float:
    """The nearest of the positions of a `Span` that is not empty."""
    value = min(max(value, low), high)
    if step > 0.0:
        value = low + step * np.floor((value - low) / step + 0.5)
    return value
