"""Labels of marks that stand close together, on as few rows as keep them apart. Paper mm."""

from __future__ import annotations

from collections.abc import Sequence

from marker.drawing.canvas.lettering import text_width

_APART = 1.6


def rows_of(xs: Sequence[float], texts: Sequence[str], size_pt: float) -> list[int]:
    """The row of each label, 0 nearest the marks; a label starts at its mark and runs right.

    xs : ascending. Filled from the right: a label ends before the next one in its row, and before
    every line that runs past that row from a mark to its label in a row further out.
    """
    taken: list[float] = []  # where the leftmost label of each row starts
    rows = [0] * len(xs)
    for k in range(len(xs) - 1, -1, -1):
        end = xs[k] + text_width(texts[k], size_pt) + _APART
        free = [row for row in range(len(taken)) if end <= min(taken[row:])]
        rows[k] = free[0] if free else len(taken)
        taken[rows[k] :] = [xs[k], *taken[rows[k] + 1 :]]
    return rows
