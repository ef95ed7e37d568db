"""Checked match tables as matches, what lies on a border, and whether a layout can keep to them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

import shapely

from marker.cloth.fabric import Cloth
from marker.cloth.repeat import Axis
from marker.errors import CannotBeDone
from marker.files.faults import FaultList, Unusable
from marker.jobfile.as_written import places_of
from marker.jobfile.sewing import SewingMaker
from marker.jobfile.sewing_tables import MatchPlaceTable, MatchTable
from marker.pattern.cutting import cut_pieces
from marker.pattern.pattern import Pattern
from marker.pattern.piece import Piece
from marker.pattern.repeats.match import CannotMatch, Match, MatchPlace
from marker.pattern.repeats.matching import point_of
from marker.pattern.repeats.phases import phases
from marker.units import cut_length


@dataclass(frozen=True)
class MatchMaker:
    """Makes the matches of one job file. cloths : by name, those without fault."""

    sewing: SewingMaker
    cloths: Mapping[str, Cloth]

    def match(self, table: MatchTable, number: int, faults: FaultList) -> Match | None:
        """The match, or None when a point is faulty; every fault of it is noted."""
        places = [
            place
            for k, each in enumerate(table.points, 1)
            if (place := self._place(each, f"points[{k}]", faults))
        ]
        if len(places) < len(table.points):
            return None
        pieces = [self.sewing.pieces[place.place.edge.piece] for place in places]
        with faults.gathering(""):
            cloth = self._cloth(pieces)
            if cloth is None:  # its own fault is noted
                return None
            axes = tuple(table.axes or cloth.repeat.axes)
            at = {
                axis: float(getattr(table.at, axis))
                for axis in Axis
                if getattr(table.at, axis) is not None
            }
            _check_axes(axes, at, cloth, faults)
            if len(places) == 1 and not at:
                raise Unusable("one point alone meets nothing", "Name a second, or say `at` where")
            for piece in pieces:
                _demand_straight(piece, cloth)
            return Match(table.name, number, tuple(places), axes, at)
        return None

    def _place(self, table: MatchPlaceTable, key: str, faults: FaultList) -> MatchPlace | None:
        with faults.gathering(key):
            place = MatchPlace(self.sewing.place(table.place), table.inside)
            piece = self.sewing.sound(place.place.edge)
            if piece is None:  # its own fault is noted
                return None
            point = point_of(piece, place)
            if table.inside and not shapely.Polygon(piece.outline).covers(shapely.Point(point)):
                raise Unusable(
                    f"{cut_length(table.inside)} in from '{table.place}' is outside the piece",
                    "Give less, or measure from another edge",
                )
            return place
        return None

    def _cloth(self, pieces: list[Piece]) -> Cloth | None:
        names = {piece.cloth for piece in pieces}
        if len(names) > 1:
            raise Unusable(
                f"its pieces are cut from different cloths, {' and '.join(sorted(names))}",
                "Match pieces of one cloth",
            )
        cloth = self.cloths.get(names.pop())
        if cloth is not None and not cloth.repeat.axes:
            raise Unusable(
                f"{cloth.name} has no repeat to match",
                f'Say how often its pattern comes again, such as repeat = {{ along = "12 cm" }} '
                f"in [cloth.{cloth.name}]",
            )
        return cloth


def _check_axes(
    axes: tuple[Axis, ...], at: Mapping[Axis, float], cloth: Cloth, faults: FaultList
) -> None:
    for axis in axes:
        if cloth.repeat.on(axis) is None:
            faults.add(
                "axes",
                f"{cloth.name} does not repeat {axis}",
                f"Leave it out, or give repeat.{axis} in [cloth.{cloth.name}]",
            )
    for axis in at:
        if axis not in axes:
            faults.add(f"at.{axis}", f"nothing is matched {axis}", "Leave it out")


def _demand_straight(piece: Piece, cloth: Cloth) -> None:
    """A matched piece lies along its grain exactly, in one direction or end for end."""
    if piece.grain_tolerance_deg:
        raise Unusable(
            f"'{piece.name}' may tilt by {piece.grain_tolerance_deg:g}°, which would set it askew "
            f"on the pattern",
            "Leave out its grain_tolerance, or its match",
        )
    if len({turn % 180 for turn in piece.turns}) > 1:
        raise Unusable(
            f"'{piece.name}' may be turned {', '.join(f'{turn:g}' for turn in piece.turns)}°, and "
            f"the pattern would run through it in different directions",
            "Allow it turns of 0 and 180 only, or of 90 and 270",
        )
    if cloth.repeat.one_way and min(piece.turns) >= 180 and not piece.border:
        raise Unusable(
            f"'{piece.name}' may only lie turned back, and {cloth.name} is uneven",
            "Allow it a turn below 180",
        )


def check_matched(
    pattern: Pattern, cloths: Mapping[str, Cloth], raw: Mapping[str, Any], faults: FaultList
) -> None:
    """Note a fault for a match, or a border edge, that no layout on these cloths can keep to.

    raw : the tables in the pattern's size. All else of them is without fault.
    """
    tied = {place.place.edge.piece for match in pattern.matches for place in match.places}
    pieces = tuple(each for each in pattern.pieces if each.name in tied or each.border)
    alone = replace(pattern, pieces=pieces, strips=())
    for name in dict.fromkeys(piece.cloth for piece in pieces):
        try:
            phases(cut_pieces(alone, (), cloths[name]), cloths[name])
        except CannotMatch as error:
            place = next(iter(places_of(error.about, raw)), "")
            faults.under(place).add("", error.problem, error.remedy)
        except CannotBeDone:
            continue  # a piece that can't be cut is told of when it is


def check_border(piece: Piece, cloth: Cloth | None, faults: FaultList) -> None:
    """Note a fault for a piece with a border edge whose cloth has no border."""
    if piece.border and cloth is not None and cloth.border is None:
        faults.add(
            "border",
            f"{cloth.name} has no border",
            f'Say where it is, such as border = {{ side = "near", line = "5 cm" }} in '
            f"[cloth.{cloth.name}]",
        )
