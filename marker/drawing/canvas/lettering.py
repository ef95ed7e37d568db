"""Measuring and shortening text, paper mm. Sizes are in points; the font comes with matplotlib."""

from __future__ import annotations

from bisect import bisect_right
from functools import cache
from typing import Any

FAMILY = "DejaVu Sans"
SMALLEST_PT = 5.5
MM_PER_PT = 25.4 / 72
LINE_STEP = 1.25  # distance between baselines, of the size
RISE, DROP = 0.78, 0.24  # of the size, above and below the baseline: tallest letter, deepest
FIGURE_RISE = 0.73  # of the size, height of a figure


@cache
def font(bold: bool = False) -> Any:
    """Font properties, without a size."""
    from matplotlib.font_manager import FontProperties

    return FontProperties(family=FAMILY, weight="bold" if bold else "normal")


@cache
def _width_at_100(text: str, bold: bool) -> float:
    from matplotlib.textpath import text_to_path

    sized = font(bold).copy()
    sized.set_size(100)
    width, _, _ = text_to_path.get_text_width_height_descent(text, sized, ismath=False)
    return float(width)


def text_width(text: str, size_pt: float, bold: bool = False) -> float:
    """Width on paper, mm."""
    return _width_at_100(text, bold) * size_pt / 100 * MM_PER_PT if text else 0.0


def fit_size(text: str, room_mm: float, size_pt: float, bold: bool = False) -> float:
    """The size, at most `size_pt` and at least the smallest legible, at which the text fits."""
    width = text_width(text, size_pt, bold)
    return size_pt if width <= room_mm else max(SMALLEST_PT, size_pt * room_mm / width)


def shorten(text: str, room_mm: float, size_pt: float, bold: bool = False) -> str:
    """The text, cut short with '…' where it is wider than the room."""
    if text_width(text, size_pt, bold) <= room_mm:
        return text
    longer = range(1, len(text))
    kept = bisect_right(longer, room_mm, key=lambda n: text_width(text[:n] + "…", size_pt, bold))
    return text[:kept].rstrip() + "…"


def wrapped(text: str, room_mm: float, size_pt: float, bold: bool = False) -> list[str]:
    """The text broken between words into lines no wider than the room, where its words allow."""
    lines: list[str] = []
    for word in text.split():
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and text_width(longer, size_pt, bold) <= room_mm:
            lines[-1] = longer
        else:
            lines.append(word)
    return lines
