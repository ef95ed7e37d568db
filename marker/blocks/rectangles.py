"""Rectangles: bodies of bags, waistbands, pockets, curtains."""

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


def straight_waistband(waist_mm: float, depth_mm: float, overlap_mm: float) -> Draft:
    """A band folded lengthwise over, `depth_mm` when finished: its edge 'waist' is sewn on, its
    edge 'underlap' reaches beyond the opening."""
    height, length = 2 * depth_mm, waist_mm + overlap_mm
    edges = {
        "waist": chain(1j * height, complex(waist_mm, height)),
        "underlap": chain(complex(waist_mm, height), complex(length, height)),
        "end": chain(complex(length, height), complex(length)),
        "inner": chain(complex(length), 0j),
        "front end": chain(0j, 1j * height),
    }
    return Draft(
        "waistband",
        edges,
        note=f"folded lengthwise; {overlap_mm:.0f} mm underlap",
        grain_deg=0.0,
    )
