"""When to stop a search: small rules that compose. Each run gets its own."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol

from marker.layout import Ending
from marker.placement.problem.statement import Arrangement, PlacementProblem

REACHED = 1e-6
"""A length this close to its lower bound, relatively, counts as optimal."""


@dataclass(frozen=True)
class Progress:
    """Where a search stands. length and bound in mm.

    arrangement : the best so far, one of `problem`. trying : where items stand when it is called,
    overlaps and all, by any thread at the cost of a copy; None while nothing is being separated.
    """

    seconds: float
    iteration: int
    length: float
    bound: float
    utilisation: float
    problem: PlacementProblem
    arrangement: Arrangement
    trying: Callable[[], Arrangement] | None = None


@dataclass(frozen=True)
class Verdict:
    """What a rule says: the share of the allowance used, in [0, 1], why to stop (None to go on).
    And what is left of the seconds and iterations it limits."""

    share: float
    ending: Ending | None = None
    seconds_left: float | None = None
    iterations_left: int | None = None


Stop = Callable[[Progress], Verdict]


class Flag(Protocol):
    """An event, of a thread or of a process, that somebody may have set."""

    def is_set(self) -> bool: ...


def after_seconds(limit: float, ending: Ending = Ending.TIME_UP) -> Stop:
    """Stop when `limit` seconds have passed. ending : what that is called."""

    def rule(progress: Progress) -> Verdict:
        left = limit - progress.seconds
        if left <= 0:
            return Verdict(1.0, ending, seconds_left=0.0)
        return Verdict(progress.seconds / limit, seconds_left=left)

    return rule


def after_iterations(limit: int) -> Stop:
    """Stop after `limit` iterations."""

    def rule(progress: Progress) -> Verdict:
        left = limit - progress.iteration
        if left <= 0:
            return Verdict(1.0, Ending.ITERATIONS_UP, iterations_left=0)
        return Verdict(progress.iteration / limit, iterations_left=left)

    return rule


def at_bound() -> Stop:
    """Stop when the length has reached its lower bound: nothing shorter exists."""

    def rule(progress: Progress) -> Verdict:
        done = progress.length <= progress.bound * (1 + REACHED)
        return Verdict(0.0, Ending.PROVEN if done else None)

    return rule


def decided(enough: float, hopeless: float) -> Stop:
    """Stop at a layout of length `enough`, or once none is proven to be as short as `hopeless`;
    both mm."""

    def rule(progress: Progress) -> Verdict:
        if progress.length <= enough:
            return Verdict(0.0, Ending.SHORT_ENOUGH)
        return Verdict(0.0, Ending.HOPELESS if progress.bound > hopeless else None)

    return rule


def when_set(event: Flag) -> Stop:
    """Stop when somebody has set `event`."""

    def rule(_progress: Progress) -> Verdict:
        return Verdict(0.0, Ending.BY_HAND if event.is_set() else None)

    return rule


def first_of(*rules: Stop) -> Stop:
    """Stop as soon as one of `rules` says so; the share used is the largest of theirs."""

    def rule(progress: Progress) -> Verdict:
        verdicts = [each(progress) for each in rules]
        seconds = [v.seconds_left for v in verdicts if v.seconds_left is not None]
        iterations = [v.iterations_left for v in verdicts if v.iterations_left is not None]
        return Verdict(
            share=max(verdict.share for verdict in verdicts),
            ending=next((verdict.ending for verdict in verdicts if verdict.ending), None),
            seconds_left=min(seconds, default=None),
            iterations_left=min(iterations, default=None),
        )

    return rule
