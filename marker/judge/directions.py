"""Does every piece lie along the grain, and point the way the nap allows?"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from enum import Enum

from marker.cloth.fabric import Nap
from marker.judge.finding import Code, Finding
from marker.judge.laid_pieces import LaidPiece

_ANGLE_DUST_DEG = 1e-6


class _Way(Enum):
    """Which way along the cloth an allowed turn points a piece."""

    FORWARD = "with the nap"
    BACKWARD = "against it"


def grain_findings(laid: Sequence[LaidPiece]) -> Iterator[Finding]:
    """A GRAIN for each piece turned to none of its allowed turns, within its tolerance."""
    for item in laid:
        if not _turns_used(item):
            allowed = ", ".join(f"{turn:g}°" for turn in item.piece.turns)
            said = (
                f"turned {item.placement.rotation_deg % 360:g}°; allowed are {allowed}, "
                f"each within {item.piece.grain_tolerance_deg:g}°"
            )
            yield Finding(Code.GRAIN, (item.label,), said, _middle(item))


def nap_findings(laid: Sequence[LaidPiece], nap: Nap) -> Iterator[Finding]:
    """A NAP for each piece that points against the cloth's nap, or the rest of its garment.

    Judged by the allowed turn a piece was laid to, not by its raw angle, so that a tilt within
    grain tolerance does not count as turning round. Turns in [0, 180) point with the nap.
    Pieces off grain point no allowed way and are left to `grain_findings`.
    """
    ways = [(item, _ways(item)) for item in laid if _turns_used(item)]
    if nap is Nap.ONE_WAY:
        for item, possible in ways:
            if _Way.FORWARD not in possible:
                yield Finding(
                    Code.NAP, (item.label,), f"{_turned(item)} on a one-way cloth", _middle(item)
                )
    if nap is Nap.ONE_WAY_PER_GARMENT:
        garments = defaultdict(list)
        for item, possible in ways:
            garments[item.placement.garment].append((item, possible))
        for garment in garments.values():
            yield from _disagreement(garment)


def _disagreement(garment: Sequence[tuple[LaidPiece, set[_Way]]]) -> Iterator[Finding]:
    """The fewer pieces that point another way than the rest of their garment."""
    against = {way: [item for item, ways in garment if way not in ways] for way in _Way}
    fewest = min(against.values(), key=len)
    for item in fewest:
        said = f"{_turned(item)}, the rest of garment {item.placement.garment} the other way"
        yield Finding(Code.NAP, (item.label,), said, _middle(item))


def _turns_used(item: LaidPiece) -> list[float]:
    """The allowed turns the piece may have been laid to, more than one if tolerances meet."""
    slack = item.piece.grain_tolerance_deg + _ANGLE_DUST_DEG
    return [turn for turn in item.piece.turns if _apart(item.placement.rotation_deg, turn) <= slack]


def _apart(a_deg: float, b_deg: float) -> float:
    """Angle between two directions, degrees in [0, 180]."""
    return abs((a_deg - b_deg + 180) % 360 - 180)


def _ways(item: LaidPiece) -> set[_Way]:
    turns = _turns_used(item)
    return {_Way.FORWARD if turn % 360 < 180 else _Way.BACKWARD for turn in turns}


def _turned(item: LaidPiece) -> str:
    return f"turned {item.placement.rotation_deg % 360:g}°"


def _middle(item: LaidPiece) -> tuple[float, float]:
    return item.shape.centroid.x, item.shape.centroid.y
