"""Rectangles: bodies of bags, pockets, curtains."""

from __future__ import annotations

from typing import Any

from marker.blocks.curve import chain
from marker.blocks.draft import FOLD, Draft


def rectangle(name: str, width: float, height: float, **more: Any) -> Draft:
    """Edges 'bottom', 'right', 'top' and 'left'; `more` are fields of Draft."""
    corners = (1j * height, complex(width, height), complex(width), 0j)
    ends = (*corners[1:], corners[0])
    edges = {
        edge: chain(start, end)
        for edge, start, end in zip(("bottom", "right", "top", "left"), corners, ends, strict=True)
    }
    return Draft(name, edges, **more)


def half_rectangle(name: str, width: float, height: float, **more: Any) -> Draft:
    """The half of a rectangle `width` wide, its left edge on the fold."""
    whole = rectangle(name, width / 2, height)
    edges = {FOLD if edge == "left" else edge: lines for edge, lines in whole.edges.items()}
    return Draft(name, edges, **more)
