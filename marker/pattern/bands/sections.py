"""The eased and the plain sections of a band on its opening."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from marker.errors import CannotBeDone, Part
from marker.tolerances import SAME_POINT_MM
from marker.units import cut_length

Span = tuple[float, float]
PLAIN = 0.0005  # less stretch than this is written as 0 %


@dataclass(frozen=True)
class Section:
    """A stretch of the opening and the part of the band that is sewn to it.

    start_mm, end_mm : around the opening from where the band is joined (or from its first end).
    band_start_mm, band_end_mm : along the band's seam line, unstretched, from the same place.
    """

    start_mm: float
    end_mm: float
    band_start_mm: float
    band_end_mm: float
    stretched: bool

    @property
    def opening_mm(self) -> float:
        """Length on the opening."""
        return self.end_mm - self.start_mm

    @property
    def band_mm(self) -> float:
        """Length of the band before it is stretched."""
        return self.band_end_mm - self.band_start_mm

    @property
    def stretch(self) -> float:
        """Local stretch, opening ÷ band - 1; below 0 where the band is eased in."""
        return self.opening_mm / self.band_mm - 1

    @property
    def plain(self) -> bool:
        """Sewn on as long as it is, whether or not it might be stretched."""
        return abs(self.stretch) < PLAIN


def sections(
    name: str, opening_mm: float, band_mm: float, unstretched: Iterable[Span]
) -> tuple[Section, ...]:
    """The sections in order around the opening.

    unstretched : spans of the opening, from the join, where band and opening are equally long;
        they may overlap. The rest shares the whole difference evenly.
    Raises CannotBeDone, naming the strip, when the rest cannot take the difference.
    """
    still = _merged(opening_mm, unstretched)
    rest = opening_mm - sum(end - start for start, end in still)
    left = band_mm - (opening_mm - rest)
    nothing_to_stretch = rest <= SAME_POINT_MM
    if abs(opening_mm - band_mm) > SAME_POINT_MM and (nothing_to_stretch or left <= 0):
        raise CannotBeDone(
            f"strip {name!r}: {cut_length(opening_mm - rest)} of its opening are not stretched, "
            "but "
            f"the band is {cut_length(band_mm)} long for an opening of {cut_length(opening_mm)}, "
            "and "
            f"the rest cannot take the difference. Shorten the spans of `unstretched`, or "
            f"lengthen the band.",
            [(Part.PIECE, name)],
        )
    ratio = 1.0 if nothing_to_stretch else left / rest
    found: list[Section] = []
    at = band = 0.0
    for start, end in [*still, (opening_mm, opening_mm)]:
        for upto, stretched in ((start, True), (end, False)):
            if upto - at > SAME_POINT_MM:
                length = (upto - at) * (ratio if stretched else 1.0)
                found.append(Section(at, upto, band, band + length, stretched))
                at, band = upto, band + length
    return tuple(found)


def on_band(sections: Sequence[Section], at_mm: float) -> float:
    """Where on the band's seam line the place `at_mm` around the opening is sewn."""
    ends = [0.0, *(section.end_mm for section in sections)]
    return float(np.interp(at_mm, ends, [0.0, *(section.band_end_mm for section in sections)]))


def _merged(opening_mm: float, spans: Iterable[Span]) -> list[Span]:
    """The spans in order; those a hair from each other, or from an end, reach it."""
    merged: list[Span] = []
    last = 0.0
    for start, end in sorted(spans):
        begin = last if start <= last + SAME_POINT_MM else start
        upto = opening_mm if end >= opening_mm - SAME_POINT_MM else end
        if merged and begin == last:
            merged[-1] = (merged[-1][0], max(upto, last))
        else:
            merged.append((begin, upto))
        last = merged[-1][1]
    return merged
