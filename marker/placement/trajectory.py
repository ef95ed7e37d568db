"""One line of search: it shortens its own best layout again and again.

Each attempt presses an arrangement into a shorter strip and separates what overlaps. Exploration
shrinks by larger steps and answers failure with disturbed near misses; compression presses the
best layout itself by ever finer steps (schedule after Gardeyn, Vanden Berghe & Wauters 2025).
Every success goes through the compaction, whose result alone counts, and so does every failure:
the linear program may free a near miss at little more than the length aimed for.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from marker.placement.boundary import Boundaries
from marker.placement.compact import compact
from marker.placement.disturb import disturbed, shifted
from marker.placement.nofit import NoFitTable
from marker.placement.problem import Arrangement, PlacementProblem, strip_length
from marker.placement.separate import Effort, restore, separate
from marker.placement.state import Choices, State, arrangement_of, state_of

STRIKE, STRIKES = 50, 4
"""After so many rounds without progress separation goes back to the best arrangement met; after
so many times in a row it is given up."""

MOVES = 5000
"""Moves of one piece of work at most: short enough to be interrupted between two of them."""

WORTHWHILE = 0.98
"""A severity must fall below this many times the least so far to count as progress."""

HOPELESS = 1.02
"""A near miss that the linear program frees only beyond this many times the target is let go."""

LARGEST_SHRINK, SMALLEST_SHRINK = 0.01, 0.001
"""Shrinking while exploring, relative."""

GROWTH, DECAY = 1.5, 0.5
"""How the shrinking grows with a success and falls with a failure."""

FAIR_GAIN = 0.3
"""Part of the shrinking step that a new layout must gain to count as a success."""


@dataclass(frozen=True)
class Shared:
    """What all trajectories read."""

    problem: PlacementProblem
    edges_of: Boundaries
    table: NoFitTable
    choices: Choices
    effort: Effort


class Trajectory:
    """best, length : its best layout, mm."""

    _idle: int  # rounds since the last progress
    _progress: float  # severity then

    def __init__(self, shared: Shared, rng: np.random.Generator, start: Arrangement) -> None:
        self._shared = shared
        self._rng = rng
        self._shrink = LARGEST_SHRINK
        self._near_misses: list[tuple[float, Arrangement]] = []
        self._rounds = max(1, min(STRIKE, MOVES // len(start)))
        self._take(start)
        self._aim(start, self._shrink)

    def adopt(self, layout: Arrangement) -> None:
        """Go on from a layout found elsewhere, if it is better by a fair gain."""
        length = strip_length(self._shared.problem, layout)
        if 1 - length / self.length > FAIR_GAIN * self._shrink:
            self._take(layout)
            self._near_misses.clear()
            self._aim(layout, self._shrink)

    def work(self, fine: float | None) -> None:
        """Separate for a while; conclude the attempt if it came free or came to nothing.

        fine : relative step of compression; None while exploring.
        """
        shared = self._shared
        strikes = self._idle // STRIKE
        least = separate(shared.table, shared.choices, self._state, self._rounds, shared.effort)
        self._idle += self._rounds
        if least < WORTHWHILE * self._progress:
            self._idle, self._progress = 0, least
        if least == 0.0 or self._idle >= STRIKES * STRIKE:
            self._conclude(least, fine)
        elif self._idle // STRIKE > strikes:
            restore(shared.table, shared.choices, self._state)

    def warm_up(self) -> None:
        """Have the separation compiled."""
        shared = self._shared
        separate(shared.table, shared.choices, self._state, 0, shared.effort)
        restore(shared.table, shared.choices, self._state)

    def _take(self, layout: Arrangement) -> None:
        self.best = layout
        self.length = strip_length(self._shared.problem, layout)

    def _aim(self, arrangement: Arrangement, shrink: float) -> None:
        """Start anew from `arrangement`, pressed into a strip shorter than the best layout's."""
        problem = self._shared.problem
        self._target = (self.length + 2 * problem.margin) * (1 - shrink)
        seed = int(self._rng.integers(2**62))
        self._state: State = state_of(problem, arrangement, self._target, seed)
        self._idle = 0
        self._progress = np.inf

    def _conclude(self, least: float, fine: float | None) -> None:
        """Draw the attempt's best arrangement together, and start another attempt."""
        shared = self._shared
        reached = arrangement_of(self._state)
        found = compact(shared.problem, shared.edges_of, reached, hopeless=self._target * HOPELESS)
        before = self.length
        if found is not None and strip_length(shared.problem, found) < before:
            self._take(found)
        if fine is not None:
            by = fine * self.length
            self._aim(shifted(shared.problem, self.best, by, self._rng), fine)
        elif 1 - self.length / before > FAIR_GAIN * self._shrink:
            self._near_misses.clear()
            self._shrink = min(self._shrink * GROWTH, LARGEST_SHRINK)
            self._aim(self.best, self._shrink)
        else:
            self._shrink = max(self._shrink * DECAY, SMALLEST_SHRINK)
            self._aim(self._another_start(least, reached), self._shrink)

    def _another_start(self, least: float, reached: Arrangement) -> Arrangement:
        """One of the near misses so far, disturbed."""
        self._near_misses.append((least, reached))
        self._near_misses.sort(key=lambda entry: entry[0])
        # nearer misses are likelier: the square presses the draw towards the front
        _, start = self._near_misses[int(self._rng.random() ** 2 * len(self._near_misses))]
        return disturbed(self._shared.problem, start, self._rng)
