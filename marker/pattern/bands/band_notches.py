"""The marks of bands, where they stand on the garment's pieces."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from marker.pattern.bands.marks import SAME_PLACE_MM
from marker.pattern.bands.opening_line import EdgePlace
from marker.pattern.bands.strips import StripPlan
from marker.pattern.edge import Notch
from marker.pattern.piece import Piece
from marker.pattern.seams.walk import meets_fold_at_end


@dataclass(frozen=True)
class Halves:
    """On which halves of a piece opened along its fold a notch is cut."""

    drawn: bool = True
    other: bool = True


def band_places(plans: Iterable[StripPlan]) -> dict[str, list[EdgePlace]]:
    """Piece name -> where the marks of a pattern's bands meet it."""
    found: dict[str, list[EdgePlace]] = {}
    for plan in plans:
        for mark in plan.band.marks if plan.band else ():
            found.setdefault(mark.garment.edge.piece, []).append(mark.garment)
    return found


def band_notches(piece: Piece, places: Iterable[EdgePlace]) -> list[tuple[Notch, Halves]]:
    """The notches for them; none at the ends of an edge, where the seam itself is the mark.

    Every place is a notch of its own: marks of several bands may share one.
    """
    return [
        (Notch(place.edge.edge, place.drawn_mm), _halves(piece, place))
        for place in places
        if place.on_fold or SAME_PLACE_MM < place.drawn_mm < place.edge_mm - SAME_PLACE_MM
    ]


def _halves(piece: Piece, place: EdgePlace) -> Halves:
    """Both halves for an edge that does not reach the fold: it is on both. One that does is walked
    with the piece on its left, so that the half drawn comes first if its edge runs to the fold."""
    at_end = meets_fold_at_end(piece, place.edge.edge)
    if at_end is None:
        return Halves()
    drawn_first = at_end != piece.drawn_clockwise
    drawn = drawn_first != place.second_half
    return Halves(drawn=drawn, other=not drawn)
