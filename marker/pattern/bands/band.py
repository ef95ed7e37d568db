"""How a band meets the opening it finishes: its join, its sections, the marks that meet."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from marker.errors import CannotBeDone
from marker.pattern.bands.band_length import lapped_corner
from marker.pattern.bands.marks import SAME_PLACE_MM, BandMark, marks
from marker.pattern.bands.opening_line import EdgePlace, OpeningCorner, OpeningLine
from marker.pattern.bands.sections import Section, Span, on_band, sections
from marker.pattern.bands.strip import AtPoint, Lies, Strip

CLEAR_MM = 25.0  # between a join and the points it keeps clear of: common practice, no source
_TRIALS = 400


@dataclass(frozen=True)
class BandPoint:
    """Where a band goes round a corner of its opening.

    opening_mm, band_mm : around the opening and along the band's seam line, as of a `BandMark`.
    mitre_mm : how far either side of it the mitre begins on the finished band's inner edge. None
        where no finished width is known, and where ends are lapped there.
    """

    made: AtPoint
    turn_rad: float
    opening_mm: float
    band_mm: float
    mitre_mm: float | None
    garment: EdgePlace


@dataclass(frozen=True)
class Band:
    """A band on its opening; distances in mm from where it is joined, or from its first end.

    seam_mm : its length between the joins, before it is stretched.
    joined_at_mm : where that join lies along the opening's walk.
    clear_mm : the least distance, along the band, between a join and a point to be kept clear of;
        None where there is no such point.
    points : where it goes round corners.
    """

    opening: OpeningLine
    seam_mm: float
    joined_at_mm: float
    clear_mm: float | None
    sections: tuple[Section, ...]
    marks: tuple[BandMark, ...]
    points: tuple[BandPoint, ...]

    @property
    def ratio(self) -> float:
        """Band between its joins ÷ opening."""
        return self.seam_mm / self.opening.length_mm

    def inner_mm(self, section: Section, inside_mm: float) -> float:
        """Length of the opening's parallel in this section, so far inside the stitching line."""
        start = self.joined_at_mm + section.start_mm
        turn = self.opening.turn_between(start, start + section.opening_mm)
        return section.opening_mm - turn * inside_mm - self.mitred_mm(section, inside_mm)

    def mitred_mm(self, section: Section, inside_mm: float) -> float:
        """What mitres in this section take from the band's edge so far inside."""
        start = self.joined_at_mm + section.start_mm
        corners = self.opening.corners_between(start, start + section.opening_mm)
        return 2 * sum(corner.mitre_mm(inside_mm) for corner in corners)


def fitted(strip: Strip, opening: OpeningLine, seam_mm: float, parts: int) -> Band:
    """The band of this length on its opening, joined where no point is to be kept clear of.

    Raises CannotBeDone for a point that the opening does not have.
    """
    clear = _clear_places(strip, opening)
    spans = [span for pair in strip.unstretched for span in _spans(strip, opening, pair)]

    def zoned(joined_at: float) -> tuple[Section, ...]:
        return sections(
            strip.name, opening.length_mm, seam_mm, _from_join(opening, joined_at, spans)
        )

    def distance(joined_at: float) -> float:
        """From the nearest join to the nearest point; joins are evenly spaced along the band."""
        here, spacing = zoned(joined_at), seam_mm / parts
        on = [on_band(here, _around(opening, at - joined_at)) % spacing for at in clear]
        if not opening.closed and parts == 1:
            return np.inf
        return min((min(at, spacing - at) for at in on), default=np.inf)

    joined_at = _joined_at(strip, opening, set(points_clear_of(strip, opening)), distance)
    least = distance(joined_at)
    found = zoned(joined_at)
    return Band(
        points=_points(strip, opening, joined_at, found),
        opening=opening,
        seam_mm=seam_mm,
        joined_at_mm=joined_at,
        clear_mm=None if np.isinf(least) else least,
        sections=found,
        marks=marks(opening, joined_at, found),
    )


def _points(
    strip: Strip, opening: OpeningLine, joined_at_mm: float, found: Sequence[Section]
) -> tuple[BandPoint, ...]:
    lapped = strip.point is AtPoint.LAPPED and lapped_corner(strip, opening)

    def point(corner: OpeningCorner) -> BandPoint:
        at = _around(opening, corner.at_mm - joined_at_mm)
        mitred = corner != lapped and strip.finished_mm is not None and strip.lies is Lies.FLAT
        return BandPoint(
            made=AtPoint.LAPPED if corner == lapped else AtPoint.MITRED,
            turn_rad=corner.turn_rad,
            opening_mm=at,
            band_mm=on_band(found, at),
            mitre_mm=corner.mitre_mm(strip.finished_mm or 0.0) if mitred else None,
            garment=opening.place(corner.at_mm),
        )

    return tuple(sorted(map(point, opening.corners), key=lambda each: each.opening_mm))


def _clear_places(strip: Strip, opening: OpeningLine) -> list[float]:
    """Where no join may come near: points, and corners unless the band is joined there."""
    clear = [at for name in points_clear_of(strip, opening) for at in opening.points[name]]
    if strip.joins_clear_of is None:
        clear += [corner.at_mm for corner in opening.corners]
    joined = opening.points.get(strip.join_at, ())
    if strip.point is AtPoint.LAPPED:
        joined = (lapped_corner(strip, opening).at_mm,)
    corners = [
        corner.at_mm
        for corner in opening.corners
        if any(abs(corner.at_mm - at) < SAME_PLACE_MM for at in joined)
    ]
    return [at for at in clear if all(abs(at - corner) > SAME_PLACE_MM for corner in corners)]


def _joined_at(
    strip: Strip, opening: OpeningLine, clear: set[str], distance: Callable[[float], float]
) -> float:
    """The point asked for; else, of the points that may have a join, the one farthest from those
    that may not; else the place farthest from them."""
    if not opening.closed:
        return 0.0
    if strip.point is AtPoint.LAPPED:
        return lapped_corner(strip, opening).at_mm
    if strip.join_at:
        return _places(strip, opening, strip.join_at)[0]
    named = [at for name, places in opening.points.items() if name not in clear for at in places]
    best = max([0.0] if not named and not clear else named, key=distance, default=0.0)
    if distance(best) >= CLEAR_MM:
        return best
    return max((k * opening.length_mm / _TRIALS for k in range(_TRIALS)), key=distance)


def points_clear_of(strip: Strip, opening: OpeningLine) -> list[str]:
    """The points that joins keep clear of: those asked for, else centre front and shoulders."""
    if strip.joins_clear_of is None:
        front = opening.centre_front
        return [name for name in opening.points if name == front or "shoulder" in name.lower()]
    for name in strip.joins_clear_of:
        _places(strip, opening, name)
    return list(strip.joins_clear_of)


def _places(strip: Strip, opening: OpeningLine, name: str) -> tuple[float, ...]:
    if name not in opening.points:
        raise CannotBeDone(
            f"strip {strip.name!r}: opening {opening.name!r} has no point {name!r}. "
            f"Add it to the opening's `points`."
        )
    return opening.points[name]


def _spans(strip: Strip, opening: OpeningLine, pair: tuple[str, str]) -> list[Span]:
    """From each place of the first point to the nearest place of the second; the end of a span
    that passes the end of the walk lies beyond its length."""
    firsts, seconds = (_places(strip, opening, name) for name in pair)
    length = opening.length_mm
    rounds = (-length, 0.0, length) if opening.closed else (0.0,)
    found = []
    for first in firsts:
        others = [second + more for second in seconds for more in rounds]
        nearest = min(others, key=lambda at: abs(at - first))
        found.append((min(first, nearest), max(first, nearest)))
    return found


def _from_join(opening: OpeningLine, joined_at: float, spans: Iterable[Span]) -> list[Span]:
    """Spans around the opening counted from the join, those that pass it cut in two."""
    found: list[Span] = []
    for start, end in spans:
        low = _around(opening, start - joined_at)
        high = low + end - start
        found.append((low, min(high, opening.length_mm)))
        if high > opening.length_mm:
            found.append((0.0, high - opening.length_mm))
    return found


def _around(opening: OpeningLine, at_mm: float) -> float:
    return at_mm % opening.length_mm if opening.closed else at_mm
