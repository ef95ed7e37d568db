"""What is drawn on a page: areas, lines and words in paper mm, kept in the order drawn.

Files of any kind are made of it, and tests read it.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from marker.canvas.fonts import text_width
from marker.geometry.arrays import FloatArray

Colour = str
"""'#rrggbb'."""


@dataclass(frozen=True)
class Clip:
    """A rectangle of the page outside which a mark is not seen: low and high corner."""

    low: tuple[float, float]
    high: tuple[float, float]


@dataclass(frozen=True, eq=False)
class Shape:
    """An area, lines, or both.

    runs : (n, 2) each; one that ends where it began is closed. Areas within areas are left open.
    face, edge : colour of the area and of its line, None for none.
    width, dashes : of the line; dashes on and off in turn, () for a solid one.
    name : what it is, for whoever reads the file. part : the piece it belongs to, "" for none.
    """

    runs: tuple[FloatArray, ...]
    face: Colour | None
    edge: Colour | None
    width: float
    dashes: tuple[float, ...]
    name: str
    part: str
    clip: Clip | None


@dataclass(frozen=True)
class Words:
    """One line of text, its baseline beginning at `at` and turned counter-clockwise."""

    at: tuple[float, float]
    text: str
    size_pt: float
    bold: bool
    colour: Colour
    angle_deg: float
    part: str
    clip: Clip | None

    @property
    def width(self) -> float:
        """Along the baseline, mm."""
        return text_width(self.text, self.size_pt, self.bold)


Mark = Shape | Words


@dataclass
class Page:
    """Width and height, and everything on it, the uppermost last."""

    width: float
    height: float
    marks: list[Mark] = field(default_factory=list)

    @property
    def texts(self) -> list[str]:
        """All its texts, in the order written."""
        return [mark.text for mark in self.marks if isinstance(mark, Words)]

    def named(self, name: str) -> list[Shape]:
        """The shapes of one name."""
        return [mark for mark in self.marks if isinstance(mark, Shape) and mark.name == name]


def is_closed(run: FloatArray) -> bool:
    """It ends where it began."""
    return len(run) > 2 and bool(run[0, 0] == run[-1, 0] and run[0, 1] == run[-1, 1])
