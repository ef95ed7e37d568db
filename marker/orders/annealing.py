"""A plan of so many lays, looked for by simulated annealing over mixes and whole plies at once.

A state is a mix and whole plies of every colour for each lay, all limits kept. What counts is how
many garments it cuts too few or too many. A move exchanges garments between two markers, or within
one, or plies within a lay. Moves that cut worse are accepted the more rarely, the colder it is, and
each run cools once. Mixes come to rest first, for a garment exchanged moves all plies of its lay;
then the plies do. After `again` runs they take twice as long.

Kirkpatrick, Gelatt & Vecchi 1983, "Optimization by simulated annealing"; from memory. Products of
plies and garments make this a factorisation into whole numbers that are not negative.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from marker.geometry.kernels import is_compiled, kernel
from marker.geometry.random_numbers import RandomState, random_state, uniform
from marker.orders.budget import Budget
from marker.orders.table import CutTable, IntArray

COMPILING_SECONDS = 10.0
"""The most that compiling takes where two cores have other work as well; else 2 s."""


@dataclass(frozen=True)
class AnnealingParams:
    """How a run cools.

    warm : temperature that it begins at, garments for each ply that a colour has in a lay, in the
    mean of all lays as high as may be. cold : temperature that it ends at, garments. steps : of
    temperature. first : moves of the first run. again : runs before they take twice as long.
    between : share of moves that exchange garments between two markers. within : share of the
    others that exchange garments within one. effort : charged for a million moves, some 0.06 s.
    """

    warm: float = 0.2
    cold: float = 0.3
    steps: int = 256
    first: int = 1 << 21
    again: int = 16
    between: float = 0.2
    within: float = 0.3
    effort: float = 0.06

    def __post_init__(self) -> None:
        if self.warm <= 0 or self.cold <= 0 or self.steps < 1 or self.first < self.steps:
            raise ValueError("temperatures must exceed 0, and each step needs a move")


@dataclass(frozen=True)
class Annealed:
    """What a run came to: mixes (lays, sizes), their plies (lays, colours), and the garments that
    they cut too few or too many."""

    mixes: IntArray
    plies: IntArray
    missed: int


class _State(NamedTuple):
    """least, most : garments that must and may be cut, (colours, sizes). mixes : (lays, sizes).
    plies : (lays, colours). cut : garments cut, (colours, sizes). garments : in each marker.
    heights : plies of each lay. taken : of the table by each marker's garments. each : what a
    garment of each size takes. holds, height, room : the most garments, plies, and mm taken."""

    least: IntArray
    most: IntArray
    mixes: IntArray
    plies: IntArray
    cut: IntArray
    garments: IntArray
    heights: IntArray
    taken: IntArray
    each: IntArray
    holds: int
    height: int
    room: int
    rng: RandomState


def in_time(budget: Budget) -> bool:
    """Whether there is time to compile the kernels, if that has to be done first."""
    left = budget.seconds_left
    return left is None or left > COMPILING_SECONDS or is_compiled(_anneal)


class Annealing:
    """Runs for one number of lays, one after another.

    Where markers must fit a table, estimated lengths count; whether mixes that were laid fit it is
    left to be asked.
    """

    def __init__(
        self, table: CutTable, lays: int, seed: int, params: AnnealingParams | None = None
    ) -> None:
        self.lays = lays
        self._table, self._params = table, params or AnnealingParams()
        self._rng = np.random.default_rng((seed, lays))
        self._runs = self._step = 0
        self._state: _State | None = None

    def work(self, effort: float, budget: Budget) -> Annealed | None:
        """What the run under way comes to; None if the effort was spent before."""
        end = budget.spent + effort
        while budget.spent < end and not budget.used_up:
            state = self._state = self._state or self._begun()
            missed = self._cooled(state, budget)
            if missed == 0 or self._step == self._params.steps:
                self._state, self._step = None, 0
                self._runs += 1
                return Annealed(state.mixes, state.plies, missed)
        return None

    def _cooled(self, state: _State, budget: Budget) -> int:
        """One step of temperature; what is missed after it."""
        params = self._params
        moves = (params.first << (self._runs // params.again)) // params.steps
        warm = max(params.cold, params.warm * state.height / len(state.least))
        temperature = warm * (params.cold / warm) ** (self._step / params.steps)
        self._step += 1
        budget.charge(params.effort * moves / 1e6)
        return int(_anneal(state, moves, temperature, params.between, params.within))

    def _begun(self) -> _State:
        """Full markers and lays at random, what is wanted most the likeliest."""
        table, rng = self._table, self._rng
        sizes, colours = table.least.sum(axis=0), table.least.sum(axis=1)
        each, room = self._lengths()
        mixes = np.zeros((self.lays, len(sizes)), dtype=np.int64)
        for mix in mixes:
            for size in rng.choice(len(sizes), table.holds, p=sizes / sizes.sum()):
                if not mix.any() or mix @ each + each[size] <= room:
                    mix[size] += 1
        plies = rng.multinomial(table.height, colours / colours.sum(), size=self.lays)
        return _State(
            table.least, table.most, mixes, plies, plies.T @ mixes, mixes.sum(axis=1),
            plies.sum(axis=1), mixes @ each, each, table.holds, table.height, room,
            random_state((int(rng.integers(1 << 32)), self.lays)),
        )  # fmt: skip

    def _lengths(self) -> tuple[IntArray, int]:
        """What garments of each size take, mm, and what they may in one marker."""
        table, lengths = self._table, self._table.lengths
        if lengths is None or table.limits.table_mm is None:
            return np.zeros(table.least.shape[1], dtype=np.int64), 0
        each = np.array([lengths.garment_mm[size] for size in table.order.sizes])
        room = lengths.layers * (table.limits.table_mm - lengths.ends_on_table_mm)
        return each, room - lengths.base_mm


@kernel(inline=True)
def _off(cut: int, least: int, most: int) -> int:
    """Garments too few or too many."""
    return max(least - cut, cut - most, 0)


@kernel(inline=True)
def _worse(state: _State, colour: int, size: int, more: int) -> int:
    """Garments more that are missed if so many more are cut."""
    cut = state.cut[colour, size]
    least, most = state.least[colour, size], state.most[colour, size]
    return _off(cut + more, least, most) - _off(cut, least, most)


@kernel(inline=True)
def _accepted(state: _State, worse: int, temperature: float) -> bool:
    """Whether a move that much worse is made (Metropolis)."""
    return worse <= 0 or uniform(state.rng) < np.exp(-worse / temperature)


@kernel(inline=True)
def _one_of(state: _State, number: int) -> int:
    """A random number from 0 to one less than this."""
    return int(uniform(state.rng) * number)


@kernel(inline=True)
def _garment_worse(state: _State, lay: int, size: int, more: int) -> int:
    """Garments more that are missed if a marker holds so many more of a size."""
    worse = 0
    for colour in range(state.plies.shape[1]):
        plies = state.plies[lay, colour]
        if plies:
            worse += _worse(state, colour, size, more * plies)
    return worse


@kernel(inline=True)
def _ply_worse(state: _State, lay: int, colour: int, more: int) -> int:
    """Garments more that are missed if a lay has so many plies more of a colour."""
    worse = 0
    for size in range(state.mixes.shape[1]):
        count = state.mixes[lay, size]
        if count:
            worse += _worse(state, colour, size, more * count)
    return worse


@kernel(inline=True)
def _put_garment(state: _State, lay: int, size: int, more: int) -> None:
    """A marker holds so many more of a size."""
    state.mixes[lay, size] += more
    state.garments[lay] += more
    state.taken[lay] += more * state.each[size]
    for colour in range(state.plies.shape[1]):
        state.cut[colour, size] += more * state.plies[lay, colour]


@kernel(inline=True)
def _put_ply(state: _State, lay: int, colour: int, more: int) -> None:
    """A lay has so many plies more of a colour."""
    state.plies[lay, colour] += more
    state.heights[lay] += more
    for size in range(state.mixes.shape[1]):
        state.cut[colour, size] += more * state.mixes[lay, size]


@kernel()
def _between(state: _State, temperature: float) -> int:
    """Two markers exchange a garment; garments more that are missed."""
    lays, sizes = state.mixes.shape
    one, other = _one_of(state, lays), _one_of(state, lays)
    a, b = _one_of(state, sizes), _one_of(state, sizes)
    if one == other or a == b or not state.mixes[one, a] or not state.mixes[other, b]:
        return 0
    longer = state.each[b] - state.each[a]
    if state.taken[one] + longer > state.room or state.taken[other] - longer > state.room:
        return 0
    worse = 0
    for colour in range(state.plies.shape[1]):
        more = state.plies[other, colour] - state.plies[one, colour]
        if more:
            worse += _worse(state, colour, a, more) + _worse(state, colour, b, -more)
    if not _accepted(state, worse, temperature):
        return 0
    _put_garment(state, one, a, -1)
    _put_garment(state, one, b, 1)
    _put_garment(state, other, b, -1)
    _put_garment(state, other, a, 1)
    return worse


@kernel()
def _within(state: _State, temperature: float) -> int:
    """A garment leaves a marker, another joins, or one of both; garments more that are missed."""
    lays, sizes = state.mixes.shape
    lay = _one_of(state, lays)
    out, into = _one_of(state, sizes + 1), _one_of(state, sizes + 1)  # the last is none
    leaves, joins = out < sizes, into < sizes
    if out == into or (leaves and not state.mixes[lay, out]):
        return 0
    garments, taken = state.garments[lay] + int(joins) - int(leaves), state.taken[lay]
    taken += (state.each[into] if joins else 0) - (state.each[out] if leaves else 0)
    if garments < 1 or garments > state.holds or taken > state.room:
        return 0
    worse = _garment_worse(state, lay, out, -1) if leaves else 0
    worse += _garment_worse(state, lay, into, 1) if joins else 0
    if not _accepted(state, worse, temperature):
        return 0
    if leaves:
        _put_garment(state, lay, out, -1)
    if joins:
        _put_garment(state, lay, into, 1)
    return worse


@kernel()
def _plies(state: _State, temperature: float) -> int:
    """A ply changes colour, or is left out, or put in; garments more that are missed."""
    lays, colours = state.plies.shape
    lay = _one_of(state, lays)
    out, into = _one_of(state, colours + 1), _one_of(state, colours + 1)  # the last is none
    leaves, joins = out < colours, into < colours
    if out == into or (leaves and not state.plies[lay, out]):
        return 0
    if state.heights[lay] + int(joins) - int(leaves) > state.height:
        return 0
    worse = _ply_worse(state, lay, out, -1) if leaves else 0
    worse += _ply_worse(state, lay, into, 1) if joins else 0
    if not _accepted(state, worse, temperature):
        return 0
    if leaves:
        _put_ply(state, lay, out, -1)
    if joins:
        _put_ply(state, lay, into, 1)
    return worse


@kernel()
def _anneal(state: _State, moves: int, temperature: float, between: float, within: float) -> int:
    """So many moves, fewer if nothing is missed; garments missed after them."""
    missed = 0
    for colour in range(state.cut.shape[0]):
        for size in range(state.cut.shape[1]):
            missed += _off(
                state.cut[colour, size], state.least[colour, size], state.most[colour, size]
            )
    for _ in range(moves):
        if missed == 0:
            break
        if uniform(state.rng) < between:
            missed += _between(state, temperature)
        elif uniform(state.rng) < within:
            missed += _within(state, temperature)
        else:
            missed += _plies(state, temperature)
    return missed
