"""Does everything lie on the usable cloth, and are the lengths claimed true?"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
import shapely

from marker.cloth.spread import Spreading
from marker.geometry.arrays import FloatArray
from marker.judge.finding import Code, Finding
from marker.judge.laid import LaidPiece
from marker.layout import Layout
from marker.tolerances import JUDGED_MM

_LENGTH_CLAIMED_OVER_MM = 0.1
"""A length may be rounded up by this much; more is cloth nobody cuts."""


def off_cloth_findings(laid: Sequence[LaidPiece], layout: Layout) -> Iterator[Finding]:
    """An OFF_CLOTH for each side of the usable cloth that a piece lies beyond. Around a tube there
    is none across it, but for where it is slit open."""
    width_mm, spread = layout.cloth.usable_width_mm, layout.spread
    for item in laid:
        points: FloatArray = shapely.get_coordinates(item.shape)
        beyond = {
            "the starting end": -points[:, 0],
            "the near selvage": -points[:, 1],
            "the far selvage": points[:, 1] - width_mm,
        }
        if spread.spreading is Spreading.TUBE and item.shape.bounds[0] < spread.one_ply_from_mm:
            beyond = {"the starting end": -points[:, 0]}
        for side, by in beyond.items():
            if by.max() > JUDGED_MM:
                x, y = points[by.argmax()]
                said = f"lies {by.max():.2f} mm beyond {side}"
                yield Finding(Code.OFF_CLOTH, (item.label,), said, (x, y))


def length_findings(layout: Layout, laid: Sequence[LaidPiece]) -> Iterator[Finding]:
    """Claimed length against the last point, the lower bound, and the pieces' area.

    The area may exceed length × usable width by the tolerance along every edge, no more.
    """
    length, bound = layout.length_mm, layout.length_lower_bound_mm
    last = max((float(item.shape.bounds[2]) for item in laid), default=0.0)
    if last > length + JUDGED_MM or length > last + _LENGTH_CLAIMED_OVER_MM or length <= 0:
        said = f"{length:.2f} mm of cloth are claimed, the last point lies at {last:.2f} mm"
        yield Finding(Code.LENGTH, (), said)
    if bound > length + JUDGED_MM:
        said = f"the length {length:.2f} mm is below its proven lower bound {bound:.2f} mm"
        yield Finding(Code.BOUND, (), said)
    area, cloth = piece_area_mm2(laid), length * layout.cloth.usable_width_mm
    edges = sum(item.shape.length for item in laid)
    if area > cloth + JUDGED_MM * edges:
        said = f"pieces of {area:.0f} mm² lie on {cloth:.0f} mm² of cloth"
        yield Finding(Code.IMPOSSIBLE, (), said)


def piece_area_mm2(laid: Sequence[LaidPiece]) -> float:
    """Area of all pieces laid, mm², cut-outs not counted."""
    return float(np.sum([item.shape.area for item in laid]))
