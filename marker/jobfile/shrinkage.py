"""A checked shrinkage table as a Shrinkage."""

from __future__ import annotations

from marker.cloth.behaviour import NO_SHRINKAGE, Shrinkage, lost
from marker.files.faults import FaultList
from marker.jobfile.cloth_table import ShrinkageTable
from marker.units import percent

# felting takes up to about half, knits that relax grow by a tenth: common practice, no source
LEAST, MOST = -0.2, 0.6


def shrinkage_from(table: ShrinkageTable, faults: FaultList) -> Shrinkage:
    """The shrinkage, by percentages or by a test square; every fault of it is noted."""
    square, percentages = table.test_square, table.percent
    if square and not percentages:
        key, before = "test_square", square.marked
        shares = lost(before, square.along), lost(before, square.across)
    elif percentages and not square:
        key, shares = "percent", (percentages.along / 100, percentages.across / 100)
    else:
        said = "both percentages and a test square are given" if square else "no amount is given"
        faults.add("shrinkage", said, "Give either `percent` or `test_square`")
        return NO_SHRINKAGE
    if not _plausible(f"shrinkage.{key}", shares, faults):
        return NO_SHRINKAGE
    return Shrinkage(*shares, cut=table.cut)


def _plausible(key: str, shares: tuple[float, float], faults: FaultList) -> bool:
    """Whether cloth does that; a share beyond all cloth is a fault."""
    wrong = {
        direction: share
        for direction, share in zip(("along", "across"), shares, strict=True)
        if not LEAST <= share <= MOST
    }
    for direction, share in wrong.items():
        does = f"shrink by {percent(share)}" if share > 0 else f"grow by {percent(-share)}"
        faults.add(
            f"{key}.{direction}",
            f"the cloth would {does}" + (", so nothing of it would be left" if share >= 1 else ""),
            f"Check it: at most {percent(MOST)} may be lost, and {percent(-LEAST)} gained",
        )
    return not wrong
