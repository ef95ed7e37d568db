"""A number and what it counts."""

from __future__ import annotations


def counted(number: int, noun: str) -> str:
    """'1 garment', '2 garments', '2 plies', '2 notches'."""
    if number == 1:
        return f"{number} {noun}"
    if noun.endswith("ch"):
        return f"{number} {noun}es"
    return f"{number} {noun[:-1]}ies" if noun.endswith("ly") else f"{number} {noun}s"
