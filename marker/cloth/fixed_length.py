"""A cloth of fixed length: does a layout fit it?"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from marker.cloth.fabric import Cloth
from marker.tolerances import JUDGED_MM


class Answer(StrEnum):
    """Whether a layout fits what there is; without one that does, whether that is proven."""

    FITS = "fits"
    NOT_FOUND = "not found"
    IMPOSSIBLE = "impossible"


@dataclass(frozen=True)
class Fit:
    """What a layout needs of the cloth there is, mm, ends and washing included. Cloth that is there
    already need not be whole repeats.

    least_needed_mm : no layout of these pieces on this cloth needs less (proven).
    """

    have_mm: float
    needed_mm: float
    least_needed_mm: float

    @property
    def spare_mm(self) -> float:
        """What is left over; below 0 what is short."""
        return self.have_mm - self.needed_mm

    @property
    def answer(self) -> Answer:
        """Fits, or not found, or proven impossible."""
        if self.spare_mm >= -JUDGED_MM:
            return Answer.FITS
        if self.least_needed_mm > self.have_mm + JUDGED_MM:
            return Answer.IMPOSSIBLE
        return Answer.NOT_FOUND

    def as_dict(self) -> dict[str, Any]:
        """Plain values for JSON."""
        return {
            "have_mm": round(self.have_mm, 4),
            "needed_mm": round(self.needed_mm, 4),
            "least_needed_mm": round(self.least_needed_mm, 4),
            "spare_mm": round(self.spare_mm, 4),
            "answer": self.answer.value,
        }


def fit(length_mm: float, bound_mm: float, cloth: Cloth) -> Fit | None:
    """What a layout of this length with this lower bound means on a cloth of fixed length, None
    where the cloth is bought."""
    if cloth.have_mm is None:
        return None
    return Fit(cloth.have_mm, needed_mm(length_mm, cloth), needed_mm(bound_mm, cloth))


def needed_mm(length_mm: float, cloth: Cloth) -> float:
    """Cloth, as it is before any washing, that a layout of this length takes with both ends."""
    return (length_mm + 2 * cloth.end_allowance_mm) / cloth.shrinkage.of_cloth[0]


def room_mm(cloth: Cloth) -> float:
    """The longest layout for which the cloth there suffices, mm; endless where it is bought."""
    if cloth.have_mm is None:
        return float("inf")
    return cloth.have_mm * cloth.shrinkage.of_cloth[0] - 2 * cloth.end_allowance_mm
