"""Shortening, fitting and staggering text. Paper mm, sizes in points."""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Sequence

from marker.canvas.fonts import text_width

SMALLEST_PT = 5.5
LINE_STEP = 1.25  # distance between baselines, of the size
RISE, DROP = 0.78, 0.24  # of the size, above and below the baseline: tallest letter, deepest
FIGURE_RISE = 0.73  # of the size, height of a figure
_APART = 1.6
_HAIR = 1e-6  # what was fitted to a room still has it
_UNIT = r"(?:mm|cm|m|in|yd|%|\d+/\d+)(?![^\W_])"  # or the fraction of a mixed number
_PARTING = re.compile(rf"(?<!\d)(?<! :) +(?!: )|(?<=\d) +(?!{_UNIT}|: )")


def fit_size(text: str, room_mm: float, size_pt: float, bold: bool = False) -> float:
    """The size, at most `size_pt` and at least the smallest legible, at which the text fits."""
    width = text_width(text, size_pt, bold)
    return size_pt if width <= room_mm else max(SMALLEST_PT, size_pt * room_mm / width)


def shorten(text: str, room_mm: float, size_pt: float, bold: bool = False) -> str:
    """The text, cut short with '…' where it is wider than the room."""
    if text_width(text, size_pt, bold) <= room_mm + _HAIR:
        return text
    longer = range(1, len(text))
    kept = bisect_right(longer, room_mm, key=lambda n: text_width(text[:n] + "…", size_pt, bold))
    return text[:kept].rstrip() + "…"


def wrapped(text: str, room_mm: float, size_pt: float, bold: bool = False) -> list[str]:
    """The text broken between words into lines no wider than the room, where its words allow.

    A figure is not parted from its unit.
    """
    lines: list[str] = []
    for word in _PARTING.split(text.strip()):
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and text_width(longer, size_pt, bold) <= room_mm:
            lines[-1] = longer
        else:
            lines.append(word)
    return lines


def rows_of(xs: Sequence[float], texts: Sequence[str], size_pt: float) -> list[int]:
    """The row of each label, 0 nearest the marks; a label starts at its mark and runs right.

    xs : ascending. Filled from the right. A label ends before the next one in its row, and before
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
