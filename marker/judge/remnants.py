"""Does every piece lie on the remnant?"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import shapely
from shapely import Polygon

from marker.cloth.stock import Remnant
from marker.judge.finding import Code, Finding
from marker.judge.laid import LaidPiece
from marker.tolerances import JUDGED_MM


def remnant_findings(laid: Sequence[LaidPiece], remnant: Remnant | None) -> Iterator[Finding]:
    """An OFF_CLOTH for each piece that reaches over an edge or a hole of the remnant by more than
    the tolerance. A hole inside a cut-out does no harm."""
    if remnant is None:
        return
    cloth = Polygon(remnant.outline, remnant.holes)
    within = cloth.buffer(JUDGED_MM)
    for item in laid:
        beyond = shapely.difference(item.shape, within)
        if beyond.area > 0:
            at = beyond.representative_point()
            said = f"{item.shape.difference(cloth).area:.2f} mm² of it lie off {remnant.name!r}"
            yield Finding(Code.OFF_CLOTH, (item.label,), said, (at.x, at.y))
