"""Changes in how the cloth may be used: nap, gap, grain, another cloth."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

from marker.cloth.fabric import Cloth, Nap
from marker.cloth.spread import Spreading
from marker.job import Job
from marker.planning.shortage.change import Change, with_cloth, with_pieces, with_strip
from marker.units import metric

SMALLEST_GAP_MM = 2.0
"""A gap of less is given up altogether, a larger one halved: common practice, no source."""

GRAIN_TOLERANCE_DEG = 2.0
"""How far a piece may lie off grain before it shows: common practice, no source."""

HIDDEN = ("facing", "lining", "interfacing", "pocket", "under")
"""Words in the names of pieces that hardly show, so that another cloth will do for them."""


def cloth_changes(job: Job, cloth: Cloth) -> Iterator[Change]:
    """What may be given up of this cloth's rules, and which pieces another cloth may yield."""
    yield from _nap(job, cloth)
    if cloth.gap_mm > 0:
        gap = 0.0 if cloth.gap_mm <= SMALLEST_GAP_MM else cloth.gap_mm / 2
        yield Change(
            f"leave {metric(gap)} between pieces in place of {metric(cloth.gap_mm)}",
            f'[cloth.{cloth.name}] gap = "{gap:g} mm"',
            partial(with_cloth, name=cloth.name, gap_mm=gap),
            relaxes=True,
        )
    yield from _grain(job, cloth)
    if cloth.spread is not Spreading.OPEN and cloth.tube is None:
        yield Change(
            f"lay the cloth open in one ply in place of {cloth.spread}",
            f'[cloth.{cloth.name}] spread = "open"',
            partial(with_cloth, name=cloth.name, spread=Spreading.OPEN),
            relaxes=True,
        )
    yield from _other_cloths(job, cloth)


def _nap(job: Job, cloth: Cloth) -> Iterator[Change]:
    """A looser nap; with one garment, one way per garment frees nothing."""
    looser = {
        Nap.ONE_WAY: [Nap.ONE_WAY_PER_GARMENT, Nap.EITHER_WAY],
        Nap.ONE_WAY_PER_GARMENT: [Nap.EITHER_WAY],
        Nap.EITHER_WAY: [],
    }[cloth.nap]
    for nap in looser:
        if nap is Nap.ONE_WAY_PER_GARMENT and len(job.garments) == 1:
            continue
        yield Change(
            f"lay the pieces {nap} in place of {cloth.nap}",
            f'[cloth.{cloth.name}] nap = "{nap}"',
            partial(with_cloth, name=cloth.name, nap=nap),
            relaxes=True,
        )


def _grain(job: Job, cloth: Cloth) -> Iterator[Change]:
    names = [
        piece.name
        for piece in job.pattern.pieces
        if piece.cloth == cloth.name and piece.grain_tolerance_deg < GRAIN_TOLERANCE_DEG
    ]
    if names:
        yield Change(
            f"let pieces lie up to {GRAIN_TOLERANCE_DEG:g}° off grain",
            f"[[piece]] grain_tolerance = {GRAIN_TOLERANCE_DEG:g} for {_named(names)}",
            partial(with_pieces, names=names, grain_tolerance_deg=GRAIN_TOLERANCE_DEG),
            relaxes=True,
        )


def _other_cloths(job: Job, cloth: Cloth) -> Iterator[Change]:
    for other in job.cloths:
        if other.name == cloth.name:
            continue
        for piece in job.pattern.pieces:
            if piece.cloth == cloth.name and any(word in piece.name for word in HIDDEN):
                yield Change(
                    f"cut {piece.name} from {other.name}, which needs more of that",
                    f'[[piece]] {piece.name}: cloth = "{other.name}"',
                    partial(with_pieces, names=[piece.name], cloth=other.name),
                )
        for strip in job.pattern.strips:
            if strip.cloth == cloth.name:
                yield Change(
                    f"cut {strip.name} from {other.name}, which needs more of that",
                    f'[[strip]] {strip.name}: cloth = "{other.name}"',
                    partial(with_strip, name=strip.name, cloth=other.name),
                )


def _named(names: list[str]) -> str:
    return ", ".join(names)
