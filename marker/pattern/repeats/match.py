"""Points of a garment that must show the same place of the cloth's repeat."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from marker.cloth.repeat import Axis
from marker.errors import CannotBeDone, Part
from marker.geometry.arrays import FloatArray
from marker.pattern.seams.sewing import Place
from marker.units import cut_length
from marker.words import lettered


class CannotMatch(CannotBeDone):
    """What no layout can keep to: a match, or the border edge of a piece.

    match, piece : name of the one that is at fault, the other ''.
    """

    def __init__(self, problem: str, remedy: str, *, match: str = "", piece: str = "") -> None:
        self.problem, self.remedy = problem, remedy
        about = [(Part.MATCH, match), (Part.PIECE, piece)]
        super().__init__(f"{problem}. {remedy}.", [each for each in about if each[1]])


@dataclass(frozen=True)
class MatchPlace:
    """A place on a piece: on the stitching line of an edge, or `inside_mm` square in from it."""

    place: Place
    inside_mm: float = 0.0

    def __str__(self) -> str:
        inside = f", {cut_length(self.inside_mm)} in" if self.inside_mm else ""
        return f"{self.place}{inside}"


@dataclass(frozen=True)
class Match:
    """Two places that lie on each other when sewn, or one that lies on a given place of the repeat.

    number : counted from 1 in the job.
    axes : in which the repeat must meet.
    at_mm : where in the repeat the first place lies, from where that begins; on what is drawn, and
        mirrored on the other hand if the repeat is even. Axes left out are free.
    """

    name: str
    number: int
    places: tuple[MatchPlace, ...]
    axes: tuple[Axis, ...]
    at_mm: Mapping[Axis, float] = field(default_factory=dict)

    @property
    def letter(self) -> str:
        """A to Z, then AA, AB and so on: what drawings call it."""
        return lettered(self.number)


@dataclass(frozen=True, eq=False)
class MatchPoint:
    """Where a match meets a cut piece; twice on a piece opened along its fold.

    place : 0 for the match's first place, 1 for its second.
    point : (2,) mm, in the cut piece's frame.
    side : 1 or -1, reversed on a mirrored copy, and 0 on the fold. Points of the two places are
        sewn together where their sides agree: see `meets`.
    """

    match: Match
    place: int
    point: FloatArray
    side: int

    def laid_side(self, mirrored: bool) -> int:
        """`side` as a copy has it."""
        return -self.side if mirrored else self.side


def tied_along(matches: Iterable[Match]) -> bool:
    """Whether any of these matches asks for a place along the cloth."""
    return any(Axis.ALONG in match.axes for match in matches)


def meets(side: int, other: int) -> bool:
    """Whether points of these sides are sewn together; one on a fold is with every one."""
    return side == other or 0 in (side, other)
