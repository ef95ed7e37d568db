"""The search of long strips: windows of one layout are shortened side by side.

What workers gain in windows apart from each other adds up, where as many layouts of their own would
leave but the best of them. A window is a strip of its own with ragged ends: what lies before it
stays, what lies beyond follows its far end. Once its trajectory has had the time in which one
settles, all windows are chosen anew, at random.
"""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from functools import partial
from math import ceil
from typing import NamedTuple

import numpy as np

from marker.placement.checking import at_least, positive
from marker.placement.problem.statement import Arrangement, PlacementProblem, strip_length
from marker.placement.search.strategy import HeatParams
from marker.placement.search.subproblem import Window
from marker.placement.search.trajectory import Shared, Trajectory


@dataclass(frozen=True)
class WindowParams:
    """How a long strip is searched.

    window : how long a window is, in widths of the cloth. long : a strip of more widths than this
    is searched by windows.
    spells : as of `SearchParams`. There are always other places to press, and what has
    had one spell in vain hardly ever comes free.
    """

    window: float = 2.0
    long: float = 5.0
    spells: int = 1

    def __post_init__(self) -> None:
        positive(self, "window", "long")
        at_least(self, 1, "spells")


def has_windows(problem: PlacementProblem, layout: Arrangement, params: WindowParams) -> bool:
    """Whether a layout is long enough, and what lies beyond a window may follow its far end.

    It may where nothing stays where it is, and nothing is tied to a repeat along the strip.
    """
    tied = bool(problem.obstacles) or any(item.repeat[0] > 0.0 for item in problem.items)
    return not tied and strip_length(problem, layout) > params.long * problem.width


class Share(NamedTuple):
    """Which of several searches, with the same random numbers, goes on from one layout: number 0 to
    of - 1. Each keeps to windows of its own, so that what they gain adds up."""

    number: int
    of: int


ALONE = Share(0, 1)


class _Session(NamedTuple):
    """A window and those that shorten it, each by itself."""

    window: Window
    trajectories: list[Trajectory]


class _Stage(NamedTuple):
    """A layout, and sessions on windows of it, from its start on."""

    layout: Arrangement
    sessions: list[_Session]

    @property
    def best(self) -> Arrangement:
        """The layout with all that its windows have gained."""
        layout = self.layout
        for window, trajectories in reversed(self.sessions):  # what lies beyond one moves with it
            best = min(trajectories, key=lambda each: each.length)
            layout = window.merged(layout, best.best, best.length)
        return layout

    @property
    def trying(self) -> Arrangement:
        """The same where the items of the first window stand now."""
        window, trajectories = self.sessions[0]
        return window.merged(self.best, trajectories[0].trying, trajectories[0].length)


class Windows:
    """A search of one layout by windows."""

    def __init__(
        self,
        shared: Shared,
        layouts: Sequence[Arrangement],
        rng: np.random.Generator,
        workers: int,
        params: tuple[HeatParams, WindowParams],
        share: Share = ALONE,
    ) -> None:
        """A search from the first of the layouts given."""
        self.workers, self._rng, self._share = workers, rng, share
        self._heats, self._params = params
        problem = shared.problem
        self._shared = replace(shared, search=replace(shared.search, spells=params[1].spells))
        every = (each.shape for item in problem.items for each in item.orientations)
        self._widest = max(problem.extent(shape)[0] for shape in every)
        self._begin(layouts[0])

    @property
    def best(self) -> Arrangement:
        """The shortest layout so far."""
        return self._stage.best

    @property
    def trying(self) -> Arrangement:
        """Where all items stand now, those of one window as they are tried."""
        return self._stage.trying

    @property
    def layouts(self) -> list[Arrangement]:
        """The only one."""
        return [self.best]

    def adopt(self, layout: Arrangement) -> None:
        """Go on from a layout found elsewhere, where it is better."""
        problem = self._shared.problem
        if strip_length(problem, layout) < strip_length(problem, self.best):
            self._begin(layout)

    def begin_again(self) -> None:
        """Go on: of a strip so long there is one layout."""

    def iterate(self, executor: ThreadPoolExecutor, share: float) -> None:
        """Let every worker do its turn on its window. share : part of the allowance used up."""
        if self._turns <= 0 and self._share == ALONE:
            self._begin(self.best)
        self._turns -= 1
        every = [each for session in self._stage.sessions for each in session.trajectories]
        list(executor.map(partial(self._let_work, self._heats.fine(share)), every))

    def _let_work(self, fine: float | None, trajectory: Trajectory) -> None:
        for _ in range(self._heats.turn):
            trajectory.work(fine)

    def _begin(self, layout: Arrangement) -> None:
        """Choose windows, as many as there are workers and find room; workers beyond that share
        them. Searches that share a layout choose the same."""
        problem, shared = self._shared.problem, self._shared
        windows = [Window(problem, layout, *ends) for ends in self._ends(layout)]
        sessions: list[_Session] = [_Session(window, []) for window in windows]
        first = self._share.number * self.workers
        streams = self._rng.spawn(self.workers * self._share.of)[first : first + self.workers]
        for worker, rng in enumerate(streams, first):
            window, trajectories = sessions[worker % len(sessions)]
            start = window.arrangement
            trajectories.append(Trajectory(shared, rng, start, window.subproblem))
        sessions = [session for session in sessions if session.trajectories]
        every = [each for session in sessions for each in session.trajectories]
        most = max(each.moves for each in every)
        for each in every:  # those of fewer items would wait for the others
            each.moves = most
        self._turns = max(self._settling(session) for session in sessions)
        self._stage = _Stage(layout, sessions)

    def _settling(self, session: _Session) -> int:
        """Turns that a trajectory takes to settle."""
        moves = self._heats.turn * session.trajectories[0].moves
        return ceil(self._heats.settling(len(session.window.inside)) / moves)

    def _ends(self, layout: Arrangement) -> list[tuple[float, float]]:
        """Where windows begin and end, mm, at random, so far from each other that no item of one
        meets one of another."""
        length = strip_length(self._shared.problem, layout)
        long = max(self._params.window * self._shared.problem.width, 2 * self._widest)
        every = long + self._widest
        count = max(1, min(self.workers * self._share.of, int((length + self._widest) / every)))
        room = length + self._widest - count * every
        gaps = self._rng.exponential(size=count + 1)
        # half a window may reach over either end, or hardly any window would hold what lies there
        starts = np.cumsum(gaps)[:-1] / gaps.sum() * (room + long) - long / 2
        starts = np.clip(starts, 0.0, room) + every * np.arange(count)
        return [(float(start), float(start + long)) for start in starts]
