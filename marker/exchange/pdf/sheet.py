"""What a page of a PDF shows."""

from __future__ import annotations

from dataclasses import dataclass, field

from marker.geometry.arrays import FloatArray


@dataclass(frozen=True)
class Drawn:
    """A line on a page. points : (n, 2) mm; a closed line does not repeat its first point.

    colour : '#rrggbb', or the name of a printing ink. dashes : such as '3-1.5', mm; 'none' for
    solid lines. layers : those it lies on, outermost first.
    """

    points: FloatArray
    closed: bool
    colour: str
    dashes: str
    layers: tuple[str, ...]


@dataclass(frozen=True)
class Written:
    """A text and where it begins, (2,) mm."""

    at: FloatArray
    text: str


@dataclass
class Sheet:
    """All that a page shows, mm from its lower left corner, y up. number : of the page, from 1.

    clips : outlines of what it shows of larger drawings."""

    number: int
    size_mm: tuple[float, float]
    lines: list[Drawn] = field(default_factory=list)
    texts: list[Written] = field(default_factory=list)
    clips: list[Drawn] = field(default_factory=list)
