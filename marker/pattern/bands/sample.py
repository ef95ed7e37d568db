"""A sewn sample tells a better ratio."""

from __future__ import annotations

from marker.errors import CannotBeDone
from marker.units import metric


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
