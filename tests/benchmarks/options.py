"""Types of command-line options that the harnesses share."""

from __future__ import annotations

import math


def positive(text: str) -> float:
    """A finite number above zero."""
    value = float(text)
    if not 0.0 < value < math.inf:
        raise ValueError(text)
    return value


def positive_count(text: str) -> int:
    """A whole number above zero."""
    value = int(text)
    if value < 1:
        raise ValueError(text)
    return value


def words(text: str) -> list[str]:
    """Names with commas between them."""
    return [word.strip() for word in text.split(",")]


def numbers(text: str) -> list[float]:
    """Numbers with commas between them."""
    return [float(word) for word in text.split(",")]


def changed(text: str) -> list[tuple[str, str]]:
    """Names and what they are set to, such as 'a.b=1,a.c=2'."""
    pairs = [word.strip().partition("=") for word in text.split(",")]
    if not all(name and value for name, _, value in pairs):
        raise ValueError(text)
    return [(name, value) for name, _, value in pairs]


def counts(text: str) -> list[int]:
    """Whole numbers above zero with commas between them."""
    return [positive_count(word) for word in text.split(",")]
