"""Does a piece lie on a flaw?"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import shapely
from shapely import Polygon

from marker.cloth.stock import Flaw
from marker.judge.finding import Code, Finding
from marker.judge.laid import LaidPiece
from marker.tolerances import JUDGED_MM


def flaw_findings(laid: Sequence[LaidPiece], flaws: Sequence[Flaw]) -> Iterator[Finding]:
    """A FLAW for each piece that covers some of a flaw, deeper than the tolerance inside either of
    them. A flaw inside a cut-out is cut away."""
    for flaw in flaws:
        spoiled = Polygon(flaw.outline)
        for item in laid:
            if _covers(item.shape, spoiled):
                shared = shapely.intersection(item.shape, spoiled)
                said = f"{shared.area:.2f} mm² of {flaw.name!r} lie in it"
                at = shared.representative_point()
                yield Finding(Code.FLAW, (item.label,), said, (at.x, at.y))


def _covers(piece: Polygon, flaw: Polygon) -> bool:
    """Whether they share a point that lies deep in one of them; neither is wider than the other
    everywhere, so each is shrunk in turn."""
    if not piece.intersects(flaw):
        return False
    deep = piece.buffer(-JUDGED_MM).intersection(flaw).area
    return bool(deep + piece.intersection(flaw.buffer(-JUDGED_MM)).area > 0)
