"""Notches along a seam: does each meet one on the other side, both walked from the same end."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from marker.pattern.seams.walk import Mark, Walk
from marker.units import cut_length


@dataclass(frozen=True)
class Place:
    """One place of a mark along a walk."""

    at_mm: float
    mark: Mark


@dataclass(frozen=True)
class Apart:
    """A notch that meets none.

    mark, partner : the notch, and the one on the other side that it should meet, if there is one.
    off_mm : how far apart the two lie.
    moved_mm : where on its drawn edge the notch would meet its partner.
    """

    mark: Mark
    partner: Mark | None = None
    off_mm: float = 0.0
    moved_mm: float = 0.0

    @property
    def problem(self) -> str:
        """What is wrong, for a person."""
        if self.partner is None:
            return f"{_named(self.mark)} meets no notch of the other side"
        apart = cut_length(self.off_mm)
        return f"{_named(self.mark)} and {_named(self.partner)} lie {apart} apart sewn"

    @property
    def remedy(self) -> str:
        """Which notch to move, and where to."""
        if self.partner is None:
            return "Add its partner there, or leave it out"
        return (
            f"Move the notch of {self.mark.ref.piece}.{self.mark.ref.edge} by "
            f"{cut_length(abs(self.moved_mm - self.mark.drawn_mm))}, to "
            f"{cut_length(self.moved_mm)} from "
            "the edge's first corner"
        )


def off_mm(measure_mm: float, own_mm: float, longer_mm: float) -> float:
    """How far apart two places lie when sewn, if one side is longer and eased in anywhere.

    measure_mm, own_mm : along either side from the same end. longer_mm : by how much the second
    side is longer, which shifts its places by anything from 0 to that.
    """
    shift = own_mm - measure_mm
    return max(shift - max(longer_mm, 0.0), min(longer_mm, 0.0) - shift, 0.0)


def notches_apart(measure: Walk, own: Walk, tolerance_mm: float) -> list[Apart]:
    """Notches of either side that meet none of the other, each drawn notch once.

    Sides without any notch ask for none. Ends, and joints between edges, are places to meet too.
    """
    theirs, ours = _places(measure), _places(own)
    if not theirs or not ours:
        return []
    longer = own.length_mm - measure.length_mm
    for mine in list(ours):
        met = [p for p in theirs if off_mm(p.at_mm, mine.at_mm, longer) <= tolerance_mm]
        if met:
            theirs.remove(met[0])  # in order, so that none is left without for another's sake
            ours.remove(mine)
    ours = [p for p in ours if _from_stops(p, measure, -longer) > tolerance_mm]
    theirs = [p for p in theirs if _from_stops(p, own, longer) > tolerance_mm]
    found: dict[tuple[str, str, float], Apart] = {}
    for apart in _paired(theirs, ours, own, longer):
        mark = apart.mark
        found.setdefault((mark.ref.piece, mark.ref.edge, mark.drawn_mm), apart)
    return list(found.values())


def _places(walk: Walk) -> list[Place]:
    places = [Place(at, mark) for mark in walk.marks for at in mark.at_mm]
    return sorted(places, key=lambda place: place.at_mm)


def _from_stops(place: Place, other: Walk, longer_mm: float) -> float:
    """How far from the nearest end or joint of the other side, by which that side is longer."""
    stops = (0.0, *other.joints_mm, other.length_mm)
    return min(off_mm(place.at_mm, stop, longer_mm) for stop in stops)


def _paired(theirs: list[Place], ours: list[Place], own: Walk, longer_mm: float) -> Iterator[Apart]:
    """Each of ours with the nearest of theirs; what remains has no partner."""
    for mine in ours:
        if not theirs:
            yield Apart(mine.mark)
            continue
        partner = min(theirs, key=lambda p: off_mm(p.at_mm, mine.at_mm, longer_mm))
        theirs.remove(partner)
        off = off_mm(partner.at_mm, mine.at_mm, longer_mm)
        beyond = mine.at_mm - partner.at_mm > longer_mm
        target = mine.at_mm - off if beyond else mine.at_mm + off
        yield Apart(mine.mark, partner.mark, off, own.leg_at(mine.at_mm).drawn_at(target))
    yield from (Apart(place.mark) for place in theirs)


def _named(mark: Mark) -> str:
    name = f" {mark.name!r}" if mark.name else ""
    return f"the notch{name} of {mark.ref.piece}.{mark.ref.edge} at {cut_length(mark.drawn_mm)}"
