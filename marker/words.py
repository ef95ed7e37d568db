"""Words that several rooms use: a number with what it counts, and the cautions."""

from __future__ import annotations


def counted(number: int, noun: str) -> str:
    """'1 garment', '2 garments', '2 plies', '2 notches'."""
    if number == 1:
        return f"{number} {noun}"
    if noun.endswith("ch"):
        return f"{number} {noun}es"
    return f"{number} {noun[:-1]}ies" if noun.endswith("ly") else f"{number} {noun}s"


BLADES = (
    "Shears, rotary blades and irons cut and burn: take the usual care, and let local rules and "
    "trained practice come first."
)
"""On what is cut or ironed by."""

CORDS = (
    "Cords and ties on children's clothes have rules of their own, such as EN 14682 or ASTM F1816: "
    "look up those that hold where you are."
)
"""Where a strip finishes nothing, and may be a tie."""
