"""How long a band is between its joins, how long it is cut, and from how many parts."""

from __future__ import annotations

import math
from dataclasses import dataclass

from marker.cloth.behaviour import Direction
from marker.cloth.fabric import Cloth
from marker.errors import CannotBeDone, Part
from marker.pattern.bands.opening_line import OpeningCorner, OpeningLine
from marker.pattern.bands.strip import AtPoint, ByRatio, Length, LiesFlat, ShorterBy, Strip
from marker.tolerances import HAIR_MM, SAME_POINT_MM
from marker.units import cut_length


@dataclass(frozen=True)
class Parts:
    """The equal parts, joined end to end, that make up one strip; mm."""

    count: int
    length_mm: float


def seam_length_mm(strip: Strip, opening: OpeningLine) -> float:
    """Length of a band between its joins, derived from the stitching line it finishes.

    A line of length L turns smoothly by an angle θ. The parallel line at a distance w inside is
    L - θ·w long (geometry), so a band of that length lies flat. At a corner only the mitre is
    shorter.
    Raises CannotBeDone when nothing is left.
    """
    length = opening.length_mm
    shorter = _shorter_by_mm(strip.length, strip, opening)
    if shorter >= length:
        raise CannotBeDone(
            f"strip {strip.name!r} comes out {cut_length(shorter - length)} less than nothing: its "
            f"opening {opening.name!r} is {cut_length(length)} long. Take less off, or check "
            "that the "
            f"opening lists every edge.",
            [(Part.PIECE, strip.name)],
        )
    return length - shorter


def _shorter_by_mm(rule: Length, strip: Strip, opening: OpeningLine) -> float:
    if isinstance(rule, ByRatio):
        return (1 - rule.ratio) * opening.length_mm
    if isinstance(rule, ShorterBy):
        return rule.mm
    assert isinstance(rule, LiesFlat), f"{strip.name} is cut to a length given"
    assert strip.finished_mm is not None, f"{strip.name} lies flat, but nobody knows how wide"
    return opening.smooth_turn_rad * strip.finished_mm


def ends_mm(strip: Strip, opening: OpeningLine) -> float:
    """What both ends of a band take beyond its seam line. It is the join that closes it, or two
    allowances with what it goes on beyond its opening, or two ends lapped at a corner."""
    if strip.point is AtPoint.LAPPED:
        return 2 * lap_mm(strip, opening)
    if opening.closed:
        return strip.lost_in_join_mm
    return 2 * strip.join_allowance_mm + sum(strip.laps_mm)


def lap_mm(strip: Strip, opening: OpeningLine) -> float:
    """How far past its point a lapped end is cut, so that all its finished width reaches into the
    allowance of the other side's seam. That is a ÷ sin φ, and w ÷ tan φ where the corner turns by φ
    of less than a quarter (geometry).
    """
    width, turn = strip.finished_mm or 0.0, lapped_corner(strip, opening).turn_rad
    return strip.join_allowance_mm / math.sin(turn) + max(0.0, width / math.tan(turn))


def lapped_corner(strip: Strip, opening: OpeningLine) -> OpeningCorner:
    """The corner where the ends of a lapped band lie over one another: the one that `join_at`
    names, or else the sharpest."""
    asked = opening.points.get(strip.join_at, ())
    named = [
        corner
        for corner in opening.corners
        if any(abs(at - corner.at_mm) < SAME_POINT_MM for at in asked)
    ]
    return max(named or opening.corners, key=lambda corner: corner.turn_rad)


def point_fault(strip: Strip, opening: OpeningLine) -> tuple[str, str] | None:
    """Why the band can't go round the corners of its opening as asked, and the remedy; None if it
    can."""
    corners = opening.corners
    if strip.point is AtPoint.LAPPED:
        if not corners or not opening.closed:
            what = "has none" if opening.closed else "is not closed"
            return (
                f"the ends of a band lap over one another at a corner of a closed opening, and "
                f"{opening.name!r} {what}",
                'Say point = "mitred", or cut a strip for each side',
            )
        lap = lapped_corner(strip, opening)
        asked = opening.points.get(strip.join_at, ())
        if asked and min(abs(each - lap.at_mm) for each in asked) > SAME_POINT_MM:
            return (
                f"a lapped band is joined at a corner, and {strip.join_at!r} is none",
                'Leave out join_at, or say point = "mitred"',
            )
    width = strip.finished_mm or 0.0
    sharpest = max((corner.mitre_mm(width) for corner in corners), default=0.0)
    if sharpest >= opening.length_mm / 2:
        return (
            f"a corner of {opening.name!r} is so sharp that a band {cut_length(width)} wide "
            "would be "
            f"mitred over {cut_length(sharpest)} of each side",
            "Make the band narrower, or the point less sharp",
        )
    return None


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
            f"strip {strip.name!r}, {strip.direction}, {cut_length(strip.width_mm)} wide with "
            f"{cut_length(strip.lost_in_join_mm)} lost in each join, does not fit across cloth "
            f"{cloth.name!r}, usable width {cut_length(cloth.width_for_pattern_mm)}: "
            f"{cut_length(-room_mm)} too little even in parts. Take a wider cloth, a narrower "
            f"strip or smaller joins.",
            [(Part.PIECE, strip.name)],
        )


def adjusted_ratio(ratio: float, over_mm: float, rippled_mm: float) -> float:
    """Ratio of a band after a sample of it, sewn to `over_mm` of an opening, was too long or short.

    rippled_mm : what has to be pinched out of the band for it to lie flat; negative: by how much
        the band draws the opening in. The sample's band was ratio · over long between its joins
        and should have been that much shorter (longer): the new ratio is ratio - rippled ÷ over
        (arithmetic). It leaves the recovery of the cloth aside, so sew another sample.
    Raises CannotBeDone when nothing of the band is left.
    """
    new = ratio - rippled_mm / over_mm
    if new <= 0:
        raise CannotBeDone(
            f"{cut_length(rippled_mm)} cannot be taken out of a band that is "
            f"{cut_length(ratio * over_mm)} long. Measure the sample again."
        )
    return new
