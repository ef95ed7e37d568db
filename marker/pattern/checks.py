"""Everything the pattern's checks find, in the order a maker would correct it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
import shapely

from marker.cloth.fabric import Cloth, Nap
from marker.geometry.arrays import FloatArray
from marker.geometry.polygons import reflect
from marker.pattern.bands.band_findings import bands_findings
from marker.pattern.bands.stretch_findings import stretch_findings
from marker.pattern.bands.strip_plan import StripPlan
from marker.pattern.finding import Finding, FindingCode, Severity
from marker.pattern.fullness import Dart
from marker.pattern.pattern import Pattern
from marker.pattern.piece import Line, Piece
from marker.pattern.seams.opening_order import opening_findings
from marker.pattern.seams.seam_report import seam_reports
from marker.pattern.sewn_edges import dart_tip, ends_of
from marker.tolerances import SAME_POINT_MM
from marker.units import cut_length


def pattern_findings(
    pattern: Pattern, plans: Sequence[StripPlan], cloths: Sequence[Cloth]
) -> tuple[Finding, ...]:
    """Hands, allowances, scale, darts and tops first, then seams, openings, bands, and stretch.

    plans : the pattern's strips, planned on these cloths.
    """
    seams = [finding for report in seam_reports(pattern) for finding in report.findings]
    openings = opening_findings(pattern)
    stretch = stretch_findings(pattern, plans, cloths)
    drawn = (*dart_findings(pattern), *top_findings(pattern, cloths))
    return (
        *hand_findings(pattern),
        *allowance_findings(pattern),
        *wide_allowance_findings(pattern),
        *scale_findings(pattern),
        *drawn,
        *seams,
        *openings,
        *bands_findings(plans),
        *stretch,
    )


LEGS_MM = 2.0  # by which the legs of a dart may differ: as seams unless they say otherwise
USUAL_MM, WIDE_MM = 15.0, 100.0  # of seam allowances: common practice, no source
SMALL_MM = 150.0  # of the longest piece of a pattern drawn small: common practice, no source
ALIKE = 0.005  # share of the area by which a mirrored outline may differ


def hand_findings(pattern: Pattern) -> tuple[Finding, ...]:
    """One for each piece that is cut in even number, unlike its mirror image, all one hand."""
    return tuple(
        Finding(
            FindingCode.ONE_HAND,
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


def allowance_findings(pattern: Pattern) -> tuple[Finding, ...]:
    """One for each piece drawn on its stitching line that has no allowance along any edge."""
    return tuple(
        Finding(
            FindingCode.NO_ALLOWANCE,
            Severity.WARNING,
            piece.name,
            "",
            pattern.size,
            f"piece {piece.name!r} is cut on its stitching line: nobody gave it an allowance",
            'Say allowance = "10 mm" or what you sew with, or line = "cut line" if it needs none',
        )
        for piece in pattern.pieces
        if piece.line is Line.STITCHING and not _has_allowance(piece)
    )


def _has_allowance(piece: Piece) -> bool:
    own = (edge.hem or edge.allowance_mm for edge in piece.edges.values())
    return piece.allowance_mm > 0 or any(own)


def wide_allowance_findings(pattern: Pattern) -> tuple[Finding, ...]:
    """One for each piece with a seam allowance that looks like a slip of the unit."""
    widest = {
        piece.name: max(
            piece.allowance_mm, *(edge.allowance_mm or 0.0 for edge in piece.edges.values()), 0.0
        )
        for piece in pattern.pieces
    }
    return tuple(
        Finding(
            FindingCode.WIDE_ALLOWANCE,
            Severity.WARNING,
            name,
            "",
            pattern.size,
            f"piece {name!r} has a seam allowance of {cut_length(mm)}",
            f"Check the unit: seams take {cut_length(USUAL_MM)} or so. Else leave it",
        )
        for name, mm in widest.items()
        if mm > WIDE_MM
    )


def scale_findings(pattern: Pattern) -> tuple[Finding, ...]:
    """One for a pattern of small pieces only: it may be drawn to a scale, or in another unit."""
    if not pattern.pieces:
        return ()
    longest = max(pattern.pieces, key=_longer_side_mm)
    if _longer_side_mm(longest) > SMALL_MM:
        return ()
    return (
        Finding(
            FindingCode.DRAWN_SMALL,
            Severity.WARNING,
            longest.name,
            "",
            pattern.size,
            f"the longest piece, {longest.name!r}, measures {cut_length(_longer_side_mm(longest))}",
            "Check that the pattern is drawn full size, and in the unit that the job says. Else "
            "leave it",
        ),
    )


def _longer_side_mm(piece: Piece) -> float:
    return float(np.ptp(piece.outline, axis=0).max())


def top_findings(pattern: Pattern, cloths: Sequence[Cloth]) -> tuple[Finding, ...]:
    """One for each cloth with a nap where the top of some pieces was assumed, and others lie
    beside them."""
    return tuple(
        finding
        for cloth in cloths
        if cloth.nap is not Nap.EITHER_WAY
        for finding in _assumed_tops(pattern, cloth)
    )


def _assumed_tops(pattern: Pattern, cloth: Cloth) -> Iterator[Finding]:
    own = [piece for piece in pattern.pieces if piece.cloth == cloth.name]
    assumed = [piece for piece in own if piece.top_assumed]
    if not assumed or len(assumed) == len(own):
        return
    names = " and ".join(piece.name for piece in assumed)
    beside = next(piece.name for piece in own if not piece.top_assumed)
    said = ", ".join(f"grain = {piece.grain_deg:g} for {piece.name}" for piece in assumed)
    yield Finding(
        FindingCode.TOP_ASSUMED,
        Severity.WARNING,
        assumed[0].name,
        "",
        pattern.size,
        f"{cloth.name} is laid {cloth.nap}, and nobody said where the top of {names} is: it is "
        f"taken to be the inner arc, so that it lies as {beside} does",
        f"Say {said} if that is so, or turn it by 180",
    )


def dart_findings(pattern: Pattern) -> tuple[Finding, ...]:
    """One for each dart whose legs, sewn together, are not equally long."""
    return tuple(
        _unequal_legs(pattern.size, piece, dart)
        for piece in pattern.pieces
        for dart in piece.fullness
        if isinstance(dart, Dart) and _legs_differ_mm(piece, dart) > LEGS_MM
    )


def _legs_differ_mm(piece: Piece, dart: Dart) -> float:
    start, end = ends_of(piece, dart)
    tip = dart_tip(piece, dart)
    if piece.fold is not None:  # of half a dart at the fold the other leg is its mirror image
        on_fold = piece.outline[[piece.fold.start, piece.fold.end]]
        for point in (start, end):
            if np.hypot(*(reflect(point[np.newaxis], on_fold)[0] - point)) < SAME_POINT_MM:
                return 0.0
    return abs(float(np.hypot(*(start - tip)) - np.hypot(*(end - tip))))


def _unequal_legs(size: str, piece: Piece, dart: Dart) -> Finding:
    """The remedy is the nearest place as far from both feet."""
    start, end = ends_of(piece, dart)
    tip, along = dart_tip(piece, dart), (end - start) / np.hypot(*(end - start))
    better = tip - ((tip - (start + end) / 2) @ along) * along
    lengths = [cut_length(float(np.hypot(*(foot - tip)))) for foot in (start, end)]
    return Finding(
        FindingCode.DART_LEGS,
        Severity.WARNING,
        piece.name,
        "",
        size,
        f"the legs of the dart of {piece.name}.{dart.edge} are {lengths[0]} and {lengths[1]} long",
        f'Put its tip at ["{better[0]:.1f} mm", "{better[1]:.1f} mm"]',
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
