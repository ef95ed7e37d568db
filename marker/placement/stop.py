"""When to stop a search: small rules that compose. Each run gets its own."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

REACHED = 1e-6
"""A length this close to its lower bound, relatively, counts as optimal."""


@dataclass(frozen=True)
class Progress:
    """Where a search stands. length and bound in mm."""

    seconds: float
    iteration: int
    length: float
    bound: float
    utilisation: float


@dataclass(frozen=True)
class Verdict:
    """What a rule says: the share of the allowance used, in [0, 1], and why to stop, if so."""

    share: float
    reason: str | None = None


Stop = Callable[[Progress], Verdict]


def after_seconds(limit: float) -> Stop:
    """Stop when `limit` seconds have passed."""

    def rule(progress: Progress) -> Verdict:
        over = progress.seconds >= limit
        return Verdict(min(progress.seconds / limit, 1.0), "time is up" if over else None)

    return rule


def after_iterations(limit: int) -> Stop:
    """Stop after `limit` iterations."""

    def rule(progress: Progress) -> Verdict:
        over = progress.iteration >= limit
        return Verdict(progress.iteration / limit, "iteration limit" if over else None)

    return rule


def at_bound() -> Stop:
    """Stop when the length has reached its lower bound: nothing shorter exists."""

    def rule(progress: Progress) -> Verdict:
        done = progress.length <= progress.bound * (1 + REACHED)
        return Verdict(0.0, "proven shortest" if done else None)

    return rule


def first_of(*rules: Stop) -> Stop:
    """Stop as soon as one of `rules` says so; the share used is the largest of theirs."""

    def rule(progress: Progress) -> Verdict:
        verdicts = [each(progress) for each in rules]
        reasons = [verdict.reason for verdict in verdicts if verdict.reason]
        share = max(verdict.share for verdict in verdicts)
        return Verdict(share, reasons[0] if reasons else None)

    return rule
