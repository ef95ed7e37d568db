"""One line of search: it shortens its own best layout again and again.

Each attempt presses an arrangement into a shorter strip and separates what overlaps. Exploration
shrinks by larger steps and answers failure with perturbed near misses; compression presses the
best layout itself by ever finer steps (schedule after Gardeyn, Vanden Berghe & Wauters 2025). In a
strip of several windows a near miss may have missed anywhere. There the best layout itself is
perturbed, in one window, by steps as fine as for one.

Every success goes through the compaction, whose result alone counts, and so does the best of each
spell. The linear program may free a near miss at little more than the length aimed for.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from marker.placement.checking import ascending, at_least, positive, share
from marker.placement.lp.compaction import CompactionParams
from marker.placement.problem.statement import (
    Arrangement,
    PlacementProblem,
    Position,
    strip_length,
)
from marker.placement.search.perturbation import PerturbationParams, perturbed, shifted, windows
from marker.placement.search.separation import restore, separate
from marker.placement.search.state import (
    Choices,
    SeparationParams,
    State,
    arrangement_of,
    keep,
    state_of,
)
from marker.placement.search.subproblem import Subproblem, whole
from marker.placement.tables.no_fit_polygons import NoFitPolygons
from marker.placement.tables.overlap_grids import OverlapGrids


@dataclass(frozen=True)
class SearchParams:
    """How one line of search goes on.

    spell : after so many rounds without progress separation goes back to the best arrangement met.
    spells : after so many spells in a row it is given up.
    moves, most_moves : moves for each item that make a piece of work, and at most. It can be
    interrupted after one, and two trajectories take about as long for one.
    overhead : moves for each item that go with a separation besides its own.
    worthwhile : a penalty must fall below this many times the least so far to count as progress.
    hopeless : a near miss that the linear program frees only beyond this many times the target is
    let go.
    largest_shrink, smallest_shrink : shrinking while exploring, relative.
    growth, decay : how it changes with a success and a failure.
    fair_gain : part of the shrinking step that a new layout must gain to count as a success.
    long : a strip of more widths than this is pressed together at a random place. What overlaps at
    its end would push the rest along for too long.
    """

    spell: int = 50
    spells: int = 4
    moves: int = 20
    most_moves: int = 2000
    overhead: int = 2
    worthwhile: float = 0.98
    hopeless: float = 1.02
    largest_shrink: float = 0.01
    smallest_shrink: float = 0.001
    growth: float = 1.5
    decay: float = 0.5
    fair_gain: float = 0.3
    long: float = 2.5

    def __post_init__(self) -> None:
        at_least(self, 1, "spell", "spells", "moves", "most_moves", "hopeless", "growth")
        at_least(self, 0, "overhead")
        positive(self, "smallest_shrink", "decay", "long")
        share(self, "worthwhile", "largest_shrink", "decay", "fair_gain")
        ascending(self, "smallest_shrink", "largest_shrink")


@dataclass(frozen=True)
class Shared:
    """What all trajectories read. The others are the parameters of what they call."""

    problem: PlacementProblem
    polygons: NoFitPolygons
    grids: OverlapGrids
    choices: Choices
    search: SearchParams = field(default_factory=SearchParams)
    separation: SeparationParams = field(default_factory=SeparationParams)
    perturbation: PerturbationParams = field(default_factory=PerturbationParams)
    compaction: CompactionParams = field(default_factory=CompactionParams)


class Trajectory:
    """best, length : its best layout, mm. moves : how many make a piece of work."""

    _state: State
    _target: float  # length of the strip that it is pressed into, mm, margins included
    _nearest: tuple[float, Arrangement]  # of the attempt: penalty and arrangement
    _progress: float  # penalty when last there was some
    _idle: int  # rounds since then, or since the last spell
    _spells: int  # since then

    def __init__(
        self,
        shared: Shared,
        rng: np.random.Generator,
        start: Arrangement,
        subproblem: Subproblem | None = None,
    ) -> None:
        """subproblem : what it shortens, the whole strip where it is not told."""
        self._shared, self._params = shared, shared.search
        self._subproblem = subproblem or whole(shared.problem, shared.choices)
        self._rng = rng
        self.shrink = self._params.largest_shrink
        self._near_misses: list[tuple[float, Arrangement]] = []
        self.moves = min(self._params.moves * len(start), self._params.most_moves)
        self._rounds = max(1, min(self._params.spell, self._params.most_moves // len(start)))
        self._take(start, self._subproblem.length_of(start))
        self._aim(start, self.shrink)

    @property
    def trying(self) -> Arrangement:
        """Where the items stand now, overlaps and all, whatever thread is moving them."""
        state = self._state
        return tuple(
            Position(float(x), float(y), int(choice))
            for x, y, choice in zip(state.x, state.y, state.choice, strict=False)
        )

    def adopt(self, layout: Arrangement) -> None:
        """Go on from a layout found elsewhere, if it is better by a fair gain."""
        length = strip_length(self._shared.problem, layout)
        if 1 - length / self.length > self._params.fair_gain * self.shrink:
            self._take(layout, length)
            self._near_misses.clear()
            self._aim(layout, self.shrink)

    def work(self, fine: float | None) -> None:
        """One piece of work, in as many attempts as that takes.

        fine : relative step of compression; None while exploring.
        """
        moves = 0
        while moves < self.moves:
            state = self._state
            self._go_on(fine)
            moves += int(state.counts[1]) + self._params.overhead * len(self.best)
            state.counts[1] = 0

    def _take(self, layout: Arrangement, length: float) -> None:
        self.best, self.length = layout, length

    def _aim(self, arrangement: Arrangement, shrink: float) -> None:
        """Start anew from `arrangement`, pressed into a strip shorter than the best layout's."""
        problem = self._subproblem.problem
        self._target = (self.length + 2 * problem.margin) * (1 - shrink)
        if self._subproblem.hung.any():
            by = self.length + 2 * problem.margin - self._target
            arrangement = shifted(problem, arrangement, by, self._rng)
        elif self.length > self._params.long * problem.width:
            beyond = strip_length(problem, arrangement) + 2 * problem.margin - self._target
            arrangement = shifted(problem, arrangement, max(beyond, 0.0), self._rng)
        seed = int(self._rng.integers(2**62))
        problem = self._subproblem.at(self._target)
        self._state = state_of(problem, arrangement, self._target, seed, self._shared.separation)
        self._nearest = np.inf, arrangement
        self._progress = np.inf
        self._idle = self._spells = 0

    def _go_on(self, fine: float | None) -> None:
        """Separate for a while; if it came free or to nothing, see what that is worth."""
        shared, effort = self._shared, self._shared.separation.effort
        least = separate(shared.grids, self._subproblem.choices, self._state, self._rounds, effort)
        self._idle += self._rounds
        if least < self._params.worthwhile * self._progress:
            self._idle, self._spells, self._progress = 0, 0, least
        if least > 0.0 and self._idle < self._params.spell:
            return
        self._idle = 0
        self._spells += 1
        before = self.length
        self._draw_together(least)
        if least == 0.0 or self.length < before or self._spells == self._params.spells:
            self._conclude(before, fine)
        else:
            keep(self._state, self._nearest[1])
            restore(shared.grids, self._subproblem.choices, self._state)

    def _draw_together(self, least: float) -> None:
        """Take over what the linear program makes of the best since the last spell."""
        reached = arrangement_of(self._state)
        self._nearest = min(self._nearest, (least, reached), key=lambda entry: entry[0])
        hopeless = self._target * self._params.hopeless
        shared = self._shared
        found = self._subproblem.drawn_together(
            reached, self._target, hopeless, shared.polygons, shared.compaction
        )
        if found is not None and found[1] < self.length:
            self._take(*found)

    def _conclude(self, before: float, fine: float | None) -> None:
        """Start another attempt; before : length of the best layout before this one ended."""
        if fine is not None:
            by = fine * self.length
            self._aim(shifted(self._subproblem.problem, self.best, by, self._rng), fine)
        elif 1 - self.length / before > self._params.fair_gain * self.shrink:
            self._near_misses.clear()
            self.shrink = min(self.shrink * self._params.growth, self._params.largest_shrink)
            self._aim(self.best, self.shrink)
        else:
            self._near_misses.append(self._nearest)
            count = windows(self._subproblem.problem, self.length, self._shared.perturbation)
            least = self._params.smallest_shrink / count
            self.shrink = max(self.shrink * self._params.decay, least)
            start = self._near_miss() if count == 1.0 else self.best
            part = self._subproblem.length < np.inf
            again = perturbed(
                self._subproblem.problem, start, self._rng, self._shared.perturbation, part
            )
            self._aim(again, self.shrink)

    def _near_miss(self) -> Arrangement:
        """One of those so far."""
        self._near_misses.sort(key=lambda entry: entry[0])
        # nearer misses are likelier: the square presses the draw towards the front
        return self._near_misses[int(self._rng.random() ** 2 * len(self._near_misses))][1]
