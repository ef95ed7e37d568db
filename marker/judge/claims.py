"""Is what the layout claims true: every piece there once, in the right hand; its lengths?"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence

import numpy as np
import shapely

from marker.cloth.spread import Spreading
from marker.geometry.arrays import FloatArray
from marker.judge.finding import Code, Finding, label
from marker.judge.laid_pieces import LaidPiece
from marker.layout import Layout, Placement
from marker.pattern.piece import CutPiece
from marker.tolerances import JUDGED_MM
from marker.units import fine_area, fine_length

_Key = tuple[int, str]


def count_findings(
    layout: Layout, pieces: Sequence[CutPiece], garments: Sequence[str]
) -> Iterator[Finding]:
    """What is laid against what the garments need."""
    known = {(piece.name, piece.size) for piece in pieces}
    laid: dict[_Key, list[Placement]] = defaultdict(list)
    for placement in layout.placements:
        misfit = _misfit(placement, known, garments)
        if misfit:
            yield misfit
        else:
            laid[placement.garment, placement.piece].append(placement)
    for garment, size in enumerate(garments, start=1):
        of_size = [piece for piece in pieces if piece.size == size]
        if not of_size:
            said = f"garment {garment} is of size {size}, no piece of that size is cut"
            yield Finding(Code.MISSING, (), said)
        for piece in of_size:
            yield from _copies(piece, garment, laid[garment, piece.name])


def _misfit(
    placement: Placement, known: set[tuple[str, str]], garments: Sequence[str]
) -> Finding | None:
    """A piece that belongs to no garment wanted."""
    who = (label(placement),)
    if (placement.piece, placement.size) not in known:
        return Finding(Code.UNKNOWN, who, "no such piece of this size is cut from this cloth")
    if not 1 <= placement.garment <= len(garments):
        return Finding(Code.GARMENT, who, f"garments wanted are numbered 1 to {len(garments)}")
    size = garments[placement.garment - 1]
    if placement.size != size:
        return Finding(Code.GARMENT, who, f"garment {placement.garment} is of size {size}")
    return None


def _copies(piece: CutPiece, garment: int, laid: Sequence[Placement]) -> Iterator[Finding]:
    """Number, hands and copy numbers of one piece in one garment."""
    needed = piece.copies + piece.mirrored_copies
    mirrored = sum(placement.mirrored for placement in laid)
    said = (
        f"garment {garment} needs {piece.copies} as drawn and {piece.mirrored_copies} mirrored, "
        f"{len(laid) - mirrored} and {mirrored} are laid"
    )
    who = tuple(label(placement) for placement in laid) or (f"{piece.name} {piece.size}",)
    if len(laid) != needed:
        yield Finding(Code.MISSING if len(laid) < needed else Code.EXTRA, who, said)
    elif mirrored != piece.mirrored_copies:
        yield Finding(Code.HAND, who, said)
    numbers = [placement.copy for placement in laid]
    if len(set(numbers)) < len(numbers) or not set(numbers) <= set(range(1, needed + 1)):
        yield Finding(
            Code.COPY_NUMBER,
            who,
            f"copies are numbered {sorted(numbers)}, not each once from 1 to {needed}",
        )


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
                said = f"lies {fine_length(by.max())} beyond {side}"
                yield Finding(Code.OFF_CLOTH, (item.label,), said, (x, y))


def length_findings(layout: Layout, laid: Sequence[LaidPiece]) -> Iterator[Finding]:
    """Claimed length against the last point, the lower bound, and the pieces' area.

    The area may exceed length × usable width by the tolerance along every edge, no more.
    """
    length, bound = layout.length_mm, layout.length_lower_bound_mm
    last = max((float(item.shape.bounds[2]) for item in laid), default=0.0)
    if last > length + JUDGED_MM or length > last + _LENGTH_CLAIMED_OVER_MM or length <= 0:
        claimed, there = fine_length(length), fine_length(last)
        said = f"{claimed} of cloth are claimed, the last point lies at {there}"
        yield Finding(Code.LENGTH, (), said)
    if bound > length + JUDGED_MM:
        claimed, proven = fine_length(length), fine_length(bound)
        said = f"the length {claimed} is below its proven lower bound {proven}"
        yield Finding(Code.BOUND, (), said)
    area, cloth = piece_area_mm2(laid), length * layout.cloth.usable_width_mm
    edges = sum(item.shape.length for item in laid)
    if area > cloth + JUDGED_MM * edges:
        said = f"pieces of {fine_area(area)} lie on {fine_area(cloth)} of cloth"
        yield Finding(Code.IMPOSSIBLE, (), said)


def piece_area_mm2(laid: Sequence[LaidPiece]) -> float:
    """Area of all pieces laid, mm², cut-outs not counted."""
    return float(np.sum([item.shape.area for item in laid]))
