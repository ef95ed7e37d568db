"""What is read out of a drawing before anyone knows which piece it belongs to: lines and texts, and
the layers that say what lines are for."""

from __future__ import annotations

import re
from collections import Counter
from dataclasses import dataclass, field, replace
from enum import StrEnum

from marker.files.budget import Budget, Most
from marker.geometry.arrays import FloatArray
from marker.pattern.inner_marks import MarkKind


class Layer(StrEnum):
    """The layers of a pattern drawing, by their names in this project's convention."""

    CUT = "cut line"
    STITCHING = "stitching line"
    CUTOUT = "cut-outs"
    FOLD = "fold line"
    GRAIN = "grain line"
    NOTCHES = "notches"
    INNER = "inner lines"
    INNER_FOLD = "inner fold line"
    ROLL = "roll line"
    PLACEMENT = "placement lines"
    BUTTONHOLES = "buttonholes"
    DARTS = "darts"
    PLEATS = "pleats"
    TUCKS = "tucks"
    GATHERS = "gathers"
    DRILL = "drill holes"
    BUTTONS = "buttons"
    INNER_TEXT = "inner text"
    TURN_POINTS = "turn points"
    LABELS = "labels"


MARK_LAYERS = {
    MarkKind.LINE: Layer.INNER,
    MarkKind.FOLD_LINE: Layer.INNER_FOLD,
    MarkKind.ROLL_LINE: Layer.ROLL,
    MarkKind.PLACEMENT: Layer.PLACEMENT,
    MarkKind.BUTTONHOLE: Layer.BUTTONHOLES,
    MarkKind.DART: Layer.DARTS,
    MarkKind.PLEAT: Layer.PLEATS,
    MarkKind.TUCK: Layer.TUCKS,
    MarkKind.GATHER: Layer.GATHERS,
    MarkKind.DRILL_HOLE: Layer.DRILL,
    MarkKind.BUTTON: Layer.BUTTONS,
    MarkKind.TEXT: Layer.INNER_TEXT,
}
"""The layer of each kind of mark inside a piece."""

_OTHER_NAMES = {  # words that people give their layers
    "cut": Layer.CUT,
    "cutting line": Layer.CUT,
    "outline": Layer.CUT,
    "stitch line": Layer.STITCHING,
    "seam line": Layer.STITCHING,
    "sewing line": Layer.STITCHING,
    "sew line": Layer.STITCHING,
    "cutout": Layer.CUTOUT,
    "cut out": Layer.CUTOUT,
    "hole": Layer.CUTOUT,
    "fold": Layer.FOLD,
    "mirror line": Layer.FOLD,
    "grain": Layer.GRAIN,
    "grainline": Layer.GRAIN,
    "internal line": Layer.INNER,
    "placement": Layer.PLACEMENT,
    "button hole": Layer.BUTTONHOLES,
    "marking": Layer.INNER,
    "text": Layer.LABELS,
}


def _plain(name: str) -> str:
    """'Cut_Lines 2' -> 'cut line': case, joins, a plural s and a number at the end don't count."""
    words = re.sub(r"[\s_-]+", " ", name).strip().lower()
    return re.sub(r"\s*\d+$", "", words).removesuffix("s")


_LONGEST = 60  # a search for digits at the end takes the square of a name's length
_BY_NAME = {_plain(layer): layer for layer in Layer} | {
    _plain(name): layer for name, layer in _OTHER_NAMES.items()
}


def layer_named(name: str) -> Layer | None:
    """The layer that a name means, None for any other name."""
    return _BY_NAME.get(_plain(name)) if len(name) <= _LONGEST else None


_SIZE_WORD = r"(?:size|grösse|größe|groesse|taille|talla|taglia)"
_SIZE = re.compile(
    rf"{_SIZE_WORD}[\s:._-]*([\w/+-]{{1,8}})"
    r"|_?((?:[2-9]x|x{0,4})[sml]|[2-9]?xl|m|[3-9]\d|1[0-8]\d)",
    re.IGNORECASE,
)


def size_named(name: str) -> str:
    """The size that a group's name means: 'Size 12', or what can be nothing else, such as 38, 116
    or XL; small numbers may be those of pieces. "" for any other name."""
    found = _SIZE.fullmatch(name.strip()) if len(name) <= _LONGEST else None
    return (found[1] or found[2]) if found else ""


FLATTEN_MM = 0.02  # how far chords of an imported curve may stray from it
FURTHEST_MM = 1e6  # a kilometre from the drawing's origin


@dataclass(frozen=True, eq=False)
class Stroke:
    """A line of a drawing.

    points : (n, 2) mm, y up; a single point is a mark. A closed line does not repeat its first.
    layer : None where the drawing does not say what the line is for. name : what the drawing calls
    it, "" for nothing. size : the size whose lines it is among, "" where none is said.
    shape : a number that lines of one shape, such as a path with holes, have in common; 0 for a
    line by itself.
    """

    points: FloatArray
    closed: bool
    layer: Layer | None
    name: str = ""
    size: str = ""
    shape: int = 0


@dataclass(frozen=True, eq=False)
class Text:
    """A text and where it begins, (2,) mm, y up. layer, size : as of a stroke."""

    at: FloatArray
    text: str
    layer: Layer | None = None
    size: str = ""


@dataclass(frozen=True)
class ScaleSquare:
    """A square printed to check the scale by.

    across_mm, up_mm : what it measures. says_mm : what it is meant to measure; of an unmarked
    square, which may be meant otherwise, the nearest of the usual sizes.
    """

    across_mm: float
    up_mm: float
    says_mm: float
    marked: bool

    @property
    def off(self) -> float:
        """By how much of what it says the side that is furthest off differs."""
        sides = (self.across_mm, self.up_mm)
        return max((side / self.says_mm - 1.0 for side in sides), key=abs)


@dataclass
class Strokes:
    """The lines and texts of a drawing, or of one block of it, and what of it was passed over.

    name : of the block, "" for a whole drawing. passed_over : what it was -> how many of it.
    pages_mm : (across, up) of the pages it is drawn on. squares : those found among the lines, once
    `pieces_in` has looked. budget : of the file that it is read from.
    """

    name: str = ""
    lines: list[Stroke] = field(default_factory=list)
    texts: list[Text] = field(default_factory=list)
    passed_over: Counter[str] = field(default_factory=Counter)
    pages_mm: list[tuple[float, float]] = field(default_factory=list)
    squares: list[ScaleSquare] = field(default_factory=list)
    budget: Budget = field(default_factory=Budget)

    def write(self, text: Text) -> None:
        """One text more; raises Unusable once there are more than any pattern has."""
        self.texts.append(replace(text, text=_printable(text.text)))
        Most.TEXTS.demand(len(self.texts))
        self.budget.keep_time()

    def add(self, stroke: Stroke) -> None:
        """One line more; raises Unusable once there are more than any pattern has."""
        self.lines.append(stroke)
        Most.LINES.demand(len(self.lines))
        self.budget.take(Most.POINTS, len(stroke.points))

    def note(self, what: str, count: int = 1) -> None:
        """Something more was passed over."""
        if count:
            self.passed_over[_printable(what)] += count


def _printable(text: str) -> str:
    """The text without what would steer a terminal; line ends stay."""
    return "".join(c if c.isprintable() or c == "\n" else " " for c in text)
