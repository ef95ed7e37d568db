"""What parameters may be: a fault is found when they are made, not where they are used."""

from __future__ import annotations

from itertools import pairwise
from math import isfinite


def at_least(params: object, least: float, *names: str) -> None:
    """Raises ValueError for the first of these fields that is less, or not finite."""
    for name in names:
        value = getattr(params, name)
        if not (isfinite(value) and value >= least):
            raise ValueError(f"{_said(params, name)}; it must be at least {least:g}")


def positive(params: object, *names: str) -> None:
    """Raises ValueError for the first of these fields that is not above 0 and finite."""
    for name in names:
        value = getattr(params, name)
        if not (isfinite(value) and value > 0):
            raise ValueError(f"{_said(params, name)}; it must be above 0")


def share(params: object, *names: str) -> None:
    """Raises ValueError for the first of these fields that does not lie from 0 to 1."""
    for name in names:
        if not 0.0 <= getattr(params, name) <= 1.0:
            raise ValueError(f"{_said(params, name)}; it must lie from 0 to 1")


def ascending(params: object, *names: str) -> None:
    """Raises ValueError where one of these fields is more than the next."""
    for first, second in pairwise(names):
        if getattr(params, first) > getattr(params, second):
            raise ValueError(f"{_said(params, first)}; it must not be more than {second}")


def _said(params: object, name: str) -> str:
    return f"{type(params).__name__}.{name} is {getattr(params, name)}"
