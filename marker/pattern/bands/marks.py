"""Marks on a band and on the garment that meet when the band is sewn on."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from marker.pattern.bands.opening_line import EdgePlace, OpeningLine
from marker.pattern.bands.sections import Section, on_band

SAME_PLACE_MM = 1.0  # marks this near are one mark
NEAR_MM = 15.0  # marks nearer than this read as one sign: common practice, no source
_QUARTERS = ("1/4", "1/2", "3/4")


@dataclass(frozen=True)
class BandMark:
    """One mark.

    opening_mm : around the opening from the band's join, or from its first end.
    band_mm : along the band's seam line, unstretched, from the same place.
    garment : where the mark stands on the pattern.
    letter : what drawings call it, on the band and on the piece; '' where nobody gave it one.
    """

    names: tuple[str, ...]
    opening_mm: float
    band_mm: float
    garment: EdgePlace
    letter: str = ""

    @property
    def name(self) -> str:
        """All that meets here."""
        return ", ".join(self.names)


def marks(
    opening: OpeningLine, joined_at_mm: float, sections: Sequence[Section]
) -> tuple[BandMark, ...]:
    """The join, the opening's points and corners, the seams that end there, and quarter marks by
    seam length, counted from the centre front or else from the join. In order from the join. A
    quarter that comes near another mark is not marked besides."""
    length = opening.length_mm
    places: list[tuple[float, list[str]]] = []
    for name, walked in _named(opening, joined_at_mm):
        at = (walked - joined_at_mm) % length if opening.closed else walked
        at = 0.0 if opening.closed and length - at < SAME_PLACE_MM else at
        apart = [_apart(opening, at, other) for other, _ in places]
        same = [names for (_, names), mm in zip(places, apart, strict=True) if mm < SAME_PLACE_MM]
        if not same:
            if name not in _QUARTERS or min(apart, default=NEAR_MM) >= NEAR_MM:
                places.append((at, [name]))
        elif name not in (*_QUARTERS, "seam") or same[0] == ["join"]:
            same[0].append(name)
    return tuple(
        BandMark(
            tuple(names),
            at,
            on_band(sections, at),
            opening.place(_walked(opening, joined_at_mm, at)),
        )
        for at, names in sorted(places)
    )


def _apart(opening: OpeningLine, at_mm: float, other_mm: float) -> float:
    """Between two places, the shorter way around a closed opening."""
    apart = abs(at_mm - other_mm)
    return min(apart, opening.length_mm - apart) if opening.closed else apart


def _named(opening: OpeningLine, joined_at_mm: float) -> Iterator[tuple[str, float]]:
    """Names and places along the walk, what matters most first."""
    length = opening.length_mm
    if opening.closed:
        yield "join", joined_at_mm
    else:
        yield "end", 0.0
        yield "end", length
    for name, places in opening.points.items():
        for at in places:
            yield name, at
    for corner in opening.corners:
        yield "point", corner.at_mm
    for at in (*opening.walked.joints_mm, *((0.0,) if opening.closed else ())):
        yield "seam", at
    front = opening.centre_front if opening.closed else None
    fronts = () if front is None else opening.points[front]
    first = (fronts or (joined_at_mm,))[0]
    for k, name in enumerate(_QUARTERS, start=1):
        yield name, first + k * length / 4


def _walked(opening: OpeningLine, joined_at_mm: float, at_mm: float) -> float:
    return (joined_at_mm + at_mm) % opening.length_mm if opening.closed else at_mm
