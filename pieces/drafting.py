"""Drafting in code: edges, pieces and the sheet they are drawn on.

Points are complex numbers in mm: x to the right, away from the centre line, and y (the imaginary
part) down the body, as on an SVG sheet. A direction is a complex number of any length.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

ACROSS = 1 + 0j  # direction away from the centre line
CLOCKWISE = 1j  # a direction times this is turned by a right angle, clockwise on the sheet


@dataclass(frozen=True)
class Edge:
    """A straight edge, or a cubic Bézier curve when `handles` are given."""

    start: complex
    end: complex
    handles: tuple[complex, complex] | None = None

    def at(self, t: float) -> complex:
        """Point at parameter t, from 0 at the start to 1 at the end."""
        if self.handles is None:
            return self.start + t * (self.end - self.start)
        s, (first, second) = 1 - t, self.handles
        ends = s**3 * self.start + t**3 * self.end
        return ends + 3 * s * s * t * first + 3 * s * t * t * second

    @property
    def length(self) -> float:
        """Length in mm, of a curve by 400 chords (short by less than 0.001 mm here)."""
        points = [self.at(i / 400) for i in range(401)]
        return sum(abs(q - p) for p, q in pairwise(points))

    def moved(self, by: complex) -> Edge:
        """The same edge, moved."""
        handles = self.handles and (self.handles[0] + by, self.handles[1] + by)
        return Edge(self.start + by, self.end + by, handles)

    @property
    def reversed(self) -> Edge:
        """The same edge, walked the other way."""
        return Edge(self.end, self.start, self.handles and self.handles[::-1])

    def split(self, t: float) -> tuple[Edge, Edge]:
        """The edge in two at parameter t (de Casteljau's construction)."""
        if self.handles is None:
            return Edge(self.start, self.at(t)), Edge(self.at(t), self.end)
        points = [self.start, *self.handles, self.end]
        heads, tails = [points[0]], [points[3]]
        while len(points) > 1:
            points = [p + t * (q - p) for p, q in pairwise(points)]
            heads.append(points[0])
            tails.append(points[-1])
        return (
            Edge(self.start, heads[3], (heads[1], heads[2])),
            Edge(heads[3], self.end, (tails[2], tails[1])),
        )


def line(start: complex, end: complex) -> Edge:
    """Straight edge."""
    return Edge(start, end)


def curve(
    start: complex, leaving: complex, end: complex, arriving: complex, pulls: tuple[float, float]
) -> Edge:
    """Curve that leaves and arrives in the given directions; `pulls` are handle lengths in mm."""
    out, into = pulls
    return Edge(start, end, (start + out * unit(leaving), end - into * unit(arriving)))


def unit(direction: complex) -> complex:
    """The direction with length 1."""
    return direction / abs(direction)


def toward(degrees: float) -> complex:
    """Direction this far below `ACROSS`, length 1."""
    return cmath.rect(1, math.radians(degrees))


def solve(length: Callable[[float], float], wanted: float, low: float, high: float) -> float:
    """The measure between `low` and `high` at which a growing `length` is as wanted (bisection)."""
    if not length(low) <= wanted <= length(high):
        raise ValueError(f"no measure between {low} and {high} gives {wanted:.1f}")
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if length(middle) < wanted else (low, middle)
    return low


@dataclass(frozen=True)
class Draft:
    """One piece: a closed chain of edges, the last one straight; its grain runs up the sheet."""

    name: str
    edges: tuple[Edge, ...]

    @property
    def corner(self) -> complex:
        """Top left corner of the box around the piece."""
        return complex(min(p.real for p in self._points), min(p.imag for p in self._points))

    @property
    def size(self) -> complex:
        """Width and height of that box."""
        far = complex(max(p.real for p in self._points), max(p.imag for p in self._points))
        return far - self.corner

    @property
    def _points(self) -> list[complex]:
        return [edge.at(i / 40) for edge in self.edges for i in range(41)]

    def path(self, at: complex) -> str:
        """SVG path data with the box's top left corner at `at`."""
        edges = [edge.moved(at - self.corner) for edge in self.edges]
        words = [f"M {_pair(edges[0].start)}"]
        for edge in edges:
            if edge.handles:
                words.append(f"C {' '.join(map(_pair, (*edge.handles, edge.end)))}")
            elif edge is not edges[-1]:
                words.append(f"L {_pair(edge.end)}")
        return " ".join([*words, "Z"])


def polygon(name: str, *corners: complex) -> Draft:
    """A piece with straight edges from corner to corner."""
    ends = (*corners[1:], corners[0])
    return Draft(name, tuple(line(p, q) for p, q in zip(corners, ends, strict=True)))


def _pair(point: complex) -> str:
    return f"{point.real:.2f} {point.imag:.2f}"


SHEET_WIDTH_MM, MARGIN_MM = 1600, 50


def sheet(title: str, drafts: Sequence[Draft]) -> str:
    """SVG drawing in millimetres, the pieces in rows, each with its name and grain arrow."""
    width, margin = SHEET_WIDTH_MM, MARGIN_MM
    at, row, body = complex(margin, 2 * margin), 0.0, []
    for draft in drafts:
        if at.real + draft.size.real + margin > width:
            at, row = complex(margin, at.imag + row + margin), 0.0
        body.extend(_drawn(draft, at))
        at, row = at + draft.size.real + margin, max(row, draft.size.imag)
    height = at.imag + row + margin
    return "\n".join(
        [
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{width:.0f}mm" height="{height:.0f}mm"'
            f' viewBox="0 0 {width:.0f} {height:.0f}" fill="none" stroke="black"'
            ' font-family="sans-serif">',
            f"  <title>{title}</title>",
            f'  <text x="{margin:.0f}" y="{margin:.0f}" font-size="30" fill="black"'
            f' stroke="none">{title}</text>',
            *body,
            "</svg>\n",
        ]
    )


def _drawn(draft: Draft, at: complex) -> list[str]:
    """The piece's outline, its name above it, and a grain arrow inside it."""
    middle = at + complex(0.35 * draft.size.real, 0.55 * draft.size.imag)
    tip, tail = middle - 0.25j * draft.size.imag, middle + 0.25j * draft.size.imag
    return [
        f'  <path id="{draft.name.replace(" ", "-")}" d="{draft.path(at)}"/>',
        f'  <text x="{at.real:.2f}" y="{at.imag - 6:.2f}" font-size="14" fill="black"'
        f' stroke="none">{draft.name}</text>',
        f'  <path class="grain" d="M {_pair(tail)} L {_pair(tip)}'
        f' M {_pair(tip - 4 + 8j)} L {_pair(tip)} L {_pair(tip + 4 + 8j)}"/>',
    ]
