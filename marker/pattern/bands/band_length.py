"""How long a band is between its joins, how long it is cut, and from how many parts."""

from __future__ import annotations

import math
from dataclasses import dataclass

from marker.cloth.behaviour import Direction
from marker.cloth.fabric import Cloth
from marker.errors import CannotBeDone
from marker.pattern.bands.opening_line import OpeningLine
from marker.pattern.bands.strip import ByRatio, Length, LiesFlat, ShorterBy, Strip
from marker.tolerances import HAIR_MM
from marker.units import metric


@dataclass(frozen=True)
class Parts:
    """The equal parts, joined end to end, that make up one strip; mm."""

    count: int
    length_mm: float


def seam_length_mm(strip: Strip, opening: OpeningLine) -> float:
    """Length of a band between its joins, derived from the stitching line it finishes.

    Inside a line of length L that turns by an angle θ, at a distance w, the parallel line is
    L - θ·w long (geometry): a band of that length lies flat.
    Raises CannotBeDone when nothing is left.
    """
    length = opening.length_mm
    shorter = _shorter_by_mm(strip.length, strip, opening)
    if shorter >= length:
        raise CannotBeDone(
            f"strip {strip.name!r} comes out {metric(shorter - length)} less than nothing: its "
            f"opening {opening.name!r} is {metric(length)} long. Take less off, or check that the "
            f"opening lists every edge."
        )
    return length - shorter


def _shorter_by_mm(rule: Length, strip: Strip, opening: OpeningLine) -> float:
    if isinstance(rule, ByRatio):
        return (1 - rule.ratio) * opening.length_mm
    if isinstance(rule, ShorterBy):
        return rule.mm
    assert isinstance(rule, LiesFlat), f"{strip.name} is cut to a length given"
    assert strip.finished_mm is not None, f"{strip.name} lies flat, but nobody knows how wide"
    return opening.turn_rad * strip.finished_mm


def cut_length_mm(strip: Strip, seam_mm: float, closed: bool) -> float:
    """Cut length of a band: its seam line, and the join that closes it or its two ends."""
    ends = strip.lost_in_join_mm if closed else 2 * strip.join_allowance_mm
    return seam_mm + ends


def fewest_parts(strip: Strip, total_mm: float, cloth: Cloth) -> Parts:
    """Fewest equal parts that fit the cloth, but not fewer than the strip asks for:
    N·L - (N - 1)·loss = total, loss a join (arithmetic).

    Strips along the grain are as long as the cloth and need no join.
    """
    loss = strip.lost_in_join_mm
    longest = longest_part_mm(strip, cloth)
    count = 1
    if total_mm > longest + HAIR_MM:
        _demand_room(strip, longest - loss - HAIR_MM, cloth)
        count = math.ceil((total_mm - loss - HAIR_MM) / (longest - loss))
    count = max(count, strip.least_parts)
    return Parts(count, (total_mm + loss * (count - 1)) / count)


def longest_part_mm(strip: Strip, cloth: Cloth) -> float:
    """The longest strip of this width and direction that the cloth yields in one part, as it is
    before it grows to be cut."""
    usable = cloth.width_for_pattern_mm
    if strip.direction is Direction.LENGTHGRAIN:
        _demand_room(strip, usable - strip.width_mm, cloth)
        return math.inf
    longest = usable
    if strip.direction is Direction.BIAS:  # the box of L x w at 45° is (L + w)/√2 across the cloth
        longest = usable * math.sqrt(2) - strip.width_mm
    _demand_room(strip, longest, cloth)
    return longest


def _demand_room(strip: Strip, room_mm: float, cloth: Cloth) -> None:
    if room_mm < 0:
        raise CannotBeDone(
            f"strip {strip.name!r}, {strip.direction}, {metric(strip.width_mm)} wide with "
            f"{metric(strip.lost_in_join_mm)} lost in each join, does not fit across cloth "
            f"{cloth.name!r}, usable width {metric(cloth.width_for_pattern_mm)}: "
            f"{metric(-room_mm)} too little even in parts. Take a wider cloth, a narrower "
            f"strip or smaller joins."
        )


def adjusted_ratio(ratio: float, over_mm: float, rippled_mm: float) -> float:
    """Ratio of a band after a sample of it, sewn to `over_mm` of an opening, was too long or short.

    rippled_mm : what has to be pinched out of the band for it to lie flat; negative: by how much
        the band draws the opening in. The sample's band was ratio · over long between its joins
        and should have been that much shorter (longer): the new ratio is ratio - rippled ÷ over
        (arithmetic; it leaves the recovery of the cloth aside, so sew another sample).
    Raises CannotBeDone when nothing of the band is left.
    """
    new = ratio - rippled_mm / over_mm
    if new <= 0:
        raise CannotBeDone(
            f"{metric(rippled_mm)} cannot be taken out of a band that is "
            f"{metric(ratio * over_mm)} long. Measure the sample again."
        )
    return new
