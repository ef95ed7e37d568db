"""Everything the pattern's checks find, in the order a maker would correct it."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely

from marker.cloth.fabric import Cloth
from marker.geometry.arrays import FloatArray
from marker.pattern.bands.band_findings import bands_findings
from marker.pattern.bands.stretch_findings import stretch_findings
from marker.pattern.bands.strip_plan import StripPlan
from marker.pattern.finding import Finding, Severity
from marker.pattern.pattern import Pattern
from marker.pattern.piece import Piece
from marker.pattern.seams.seam_report import seam_reports


def pattern_findings(
    pattern: Pattern, plans: Sequence[StripPlan], cloths: Sequence[Cloth]
) -> tuple[Finding, ...]:
    """Hands first, then seams, bands, and stretch.

    plans : the pattern's strips, planned on these cloths.
    """
    seams = [finding for report in seam_reports(pattern) for finding in report.findings]
    stretch = stretch_findings(pattern, plans, cloths)
    return (*hand_findings(pattern), *seams, *bands_findings(plans), *stretch)


ALIKE = 0.005  # share of the area by which a mirrored outline may differ


def hand_findings(pattern: Pattern) -> tuple[Finding, ...]:
    """One for each piece that is cut in even number, unlike its mirror image, all one hand."""
    return tuple(
        Finding(
            "one-hand",
            Severity.WARNING,
            piece.name,
            "",
            pattern.size,
            f"piece {piece.name!r} is cut {piece.cut} times and unlike its mirror image, but all "
            "of them are of one hand",
            "Say pair = true, so that half of them are mirrored, unless all are meant alike",
        )
        for piece in pattern.pieces
        if _one_handed(piece)
    )


def _one_handed(piece: Piece) -> bool:
    if piece.pair or piece.fold or piece.cut % 2:
        return False
    return not like_its_mirror_image(piece.outline)


def like_its_mirror_image(outline: FloatArray) -> bool:
    """Whether an outline, turned over, fits on itself.

    An axis of symmetry passes through the centroid, and through a vertex or the middle of an edge.
    """
    whole = shapely.Polygon(outline)
    centre = np.array(whole.centroid.coords[0])
    middles = (outline + np.roll(outline, -1, axis=0)) / 2
    for point in np.concatenate([outline, middles]) - centre:
        length = np.hypot(*point)
        if length > 0 and _overlap(outline - centre, point / length) > 1 - ALIKE:
            return True
    return False


def _overlap(outline: FloatArray, axis: FloatArray) -> float:
    """Share of the outline's area that its image mirrored in the axis covers."""
    image = 2 * np.outer(outline @ axis, axis) - outline
    whole = shapely.Polygon(outline)
    return float(whole.intersection(shapely.Polygon(image)).area / whole.area)
