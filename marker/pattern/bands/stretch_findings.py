"""Whether the cloth stretches as far, and the way, that the garment needs."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from marker.cloth.behaviour import Direction
from marker.cloth.fabric import Cloth
from marker.pattern.bands.strip_plan import StripPlan
from marker.pattern.edge import EdgeRef
from marker.pattern.finding import Finding, FindingCode, Severity
from marker.pattern.pattern import Pattern
from marker.pattern.piece import Piece
from marker.pattern.seams.sewing import Girth, Opening
from marker.pattern.seams.walk import walk
from marker.pattern.stitching import edge_line, meets_fold_at_end
from marker.units import cut_length, cut_length_up, percent, percent_up

_HAIR = 1e-6


@dataclass(frozen=True)
class Pull:
    """What an edge's cloth gives around the body, as the piece lies.

    stretch : 0 where the cloth was not measured that way.
    """

    piece: Piece
    cloth: Cloth
    direction: Direction
    stretch: float


def stretch_findings(
    pattern: Pattern, plans: Sequence[StripPlan], cloths: Sequence[Cloth]
) -> tuple[Finding, ...]:
    """Girths that cannot be reached, openings too small for what must pass, pieces laid so that
    the greatest stretch misses the body, cloths that stretch less than the pattern asks.
    """
    found = [finding for cloth in cloths for finding in _declared(cloth, pattern.size)]
    misled = list(_misled(pattern, cloths))
    found += misled
    for girth in pattern.girths:
        if not any(finding.seam == girth.name for finding in misled):
            found += _girth(girth, pattern, cloths)
    for opening in pattern.openings:
        found += _opening(opening, plans, pattern, cloths)
    return tuple(found)


def around_body(piece: Piece, edge: str) -> Direction:
    """The cloth's direction nearest to that of an edge that goes around the body.

    An edge that ends on the fold goes square across it; any other from corner to corner.
    """
    line = edge_line(piece, edge)
    run = line[-1] - line[0]
    if piece.fold is not None and meets_fold_at_end(piece, edge) is not None:
        fold = piece.outline[piece.fold.end] - piece.outline[piece.fold.start]
        run = np.array([-fold[1], fold[0]])
    grain = np.radians(piece.grain_deg)
    along = abs(run[0] * np.cos(grain) + run[1] * np.sin(grain))
    across = abs(run[1] * np.cos(grain) - run[0] * np.sin(grain))
    return Direction.LENGTHGRAIN if along > across else Direction.CROSSGRAIN


def _pulls(pattern: Pattern, cloths: Iterable[Cloth], edges: Iterable[EdgeRef]) -> list[Pull]:
    pieces = {piece.name: piece for piece in pattern.pieces}
    by_name = {cloth.name: cloth for cloth in cloths}
    found = []
    for edge in edges:
        piece = pieces[edge.piece]
        cloth, direction = by_name[piece.cloth], around_body(piece, edge.edge)
        found.append(Pull(piece, cloth, direction, cloth.stretch(direction) or 0.0))
    return found


def _least_stretch(pattern: Pattern, cloths: Iterable[Cloth], edges: Iterable[EdgeRef]) -> float:
    """Of the cloths of these edges, as they lie."""
    return min(pull.stretch for pull in _pulls(pattern, cloths, edges))


def _reach(pattern: Pattern, cloths: Iterable[Cloth], edges: tuple[EdgeRef, ...]) -> float:
    """Length of the edges together when each is stretched as far as its cloth goes."""
    legs = walk(pattern.pieces, edges).legs
    pulls = _pulls(pattern, cloths, [leg.ref for leg in legs])
    return sum(leg.length_mm * (1 + pull.stretch) for leg, pull in zip(legs, pulls, strict=True))


def _declared(cloth: Cloth, size: str) -> Iterator[Finding]:
    gauge = cloth.gauge
    gives = (cloth.stretch(gauge.greatest) or 0.0) if gauge else 0.0
    if gives < cloth.needed_stretch - _HAIR:
        yield Finding(
            code=FindingCode.CLOTH_STRETCHES_TOO_LITTLE,
            severity=Severity.ERROR,
            piece="",
            seam="",
            size=size,
            message=(
                f"the pattern asks {cloth.name} to stretch by {percent(cloth.needed_stretch)}, and "
                f"{_reading(cloth)}"
            ),
            remedy=f"Take a cloth that stretches by {percent_up(cloth.needed_stretch)} or more",
        )


def _reading(cloth: Cloth) -> str:
    if cloth.gauge is None:
        return "no gauge reading of it is given, so that it counts as not stretching"
    gives = cloth.stretch(cloth.gauge.greatest) or 0.0
    return f"it gives {percent(gives)} along the {cloth.gauge.greatest}"


def _misled(pattern: Pattern, cloths: Iterable[Cloth]) -> Iterator[Finding]:
    """One finding for each girth whose pieces could lie so that they stretch further around it."""
    told: set[str] = set()
    for girth in pattern.girths:
        wrong = [
            pull
            for pull in _pulls(pattern, cloths, girth.edges)
            if pull.piece.name not in told
            and (greatest := _greatest(pull.cloth)) is not None
            and greatest is not pull.direction
        ]
        names = dict.fromkeys(pull.piece.name for pull in wrong)
        told.update(names)
        if wrong:
            cloth = wrong[0].cloth
            yield Finding(
                code=FindingCode.GREATEST_STRETCH_NOT_AROUND_BODY,
                severity=Severity.ERROR,
                piece=", ".join(names),
                seam=girth.name,
                size=pattern.size,
                message=(
                    f"{cloth.name} stretches most along the {_greatest(cloth)}, but as the grain "
                    f"line lies its {wrong[0].direction} goes around the body"
                ),
                remedy="Turn the grain line by 90 degrees, or take the gauge readings again",
            )


def _greatest(cloth: Cloth) -> Direction | None:
    """The direction that stretches most, None where the two are alike or not both measured."""
    along, across = cloth.stretch(Direction.LENGTHGRAIN), cloth.stretch(Direction.CROSSGRAIN)
    if along is None or across is None or abs(along - across) < _HAIR or cloth.gauge is None:
        return None
    return cloth.gauge.greatest


def _girth(girth: Girth, pattern: Pattern, cloths: Iterable[Cloth]) -> Iterator[Finding]:
    garment = walk(pattern.pieces, girth.edges).length_mm
    reach = _reach(pattern, cloths, girth.edges)
    least = _least_stretch(pattern, cloths, girth.edges)
    if reach < girth.body_mm - _HAIR:
        yield Finding(
            code=FindingCode.GIRTH_TOO_SMALL,
            severity=Severity.ERROR,
            piece="",
            seam=girth.name,
            size=pattern.size,
            message=(
                f"{girth.name} is {cut_length(garment)} around and must reach "
                f"{cut_length(girth.body_mm)}, "
                f"a stretch of {percent(girth.body_mm / garment - 1)}; the cloth as it lies "
                f"reaches {cut_length(reach)} ({percent(reach / garment - 1)})"
            ),
            remedy=(
                f"Make it {cut_length_up((girth.body_mm - reach) / (1 + least))} longer or more, "
                "or "
                f"take a cloth that stretches by {percent_up(girth.body_mm / garment - 1)}"
            ),
        )


def _opening(
    opening: Opening, plans: Iterable[StripPlan], pattern: Pattern, cloths: Iterable[Cloth]
) -> Iterator[Finding]:
    """Over the head: what the opening, and the band that finishes it, stretch to at most."""
    if opening.passes_mm is None:
        return
    length = walk(pattern.pieces, opening.edges).length_mm
    least = _least_stretch(pattern, cloths, opening.edges)
    rings = [_Ring("", length, _reach(pattern, cloths, opening.edges), least)]
    for plan in plans:
        if plan.band is not None and plan.strip.finishes == opening.name:
            gives = plan.cloth.stretch(plan.strip.direction) or 0.0
            seam = plan.band.seam_mm
            rings.append(_Ring(plan.strip.name, seam, seam * (1 + gives), gives))
    small = [ring for ring in rings if ring.reach_mm < opening.passes_mm - _HAIR]
    if not small:
        return
    worst = min(small, key=lambda ring: ring.reach_mm)
    longer = " and ".join(
        f"{ring.strip or opening.name} {cut_length_up(ring.lacks_mm(opening.passes_mm))} longer"
        for ring in small
    )
    given = worst.reach_mm / worst.finished_mm - 1
    needed = max(opening.passes_mm / ring.finished_mm - 1 for ring in small)
    yield Finding(
        code=FindingCode.OPENING_TOO_SMALL,
        severity=Severity.ERROR,
        piece=worst.strip,
        seam=opening.name,
        size=pattern.size,
        message=(
            f"{worst.strip or opening.name} is {cut_length(worst.finished_mm)} around, "
            f"stretches to {cut_length(worst.reach_mm)} at most ({percent(given)}), "
            f"and {cut_length(opening.passes_mm)} must pass"
        ),
        remedy=(
            f"Make {longer} or more, take a cloth that stretches by {percent_up(needed)}, or let "
            f"it open"
        ),
    )


@dataclass(frozen=True)
class _Ring:
    """An opening, or the band that finishes it ('' for the opening itself), and how far it reaches
    where its cloth gives a share of its length."""

    strip: str
    finished_mm: float
    reach_mm: float
    gives: float

    def lacks_mm(self, passes_mm: float) -> float:
        """What it must be longer for so much to pass: each mm of it gives 1 + its stretch."""
        return (passes_mm - self.reach_mm) / (1 + self.gives)
