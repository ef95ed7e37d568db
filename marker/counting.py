"""A number and what it counts."""

from __future__ import annotations


def counted(number: int, noun: str) -> str:
    """'1 garment', '2 garments', '1 ply', '2 plies'."""
    if number == 1:
        return f"{number} {noun}"
    return f"{number} {noun[:-1]}ies" if noun.endswith("ly") else f"{number} {noun}s"
