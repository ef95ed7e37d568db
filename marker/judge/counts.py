"""Is every piece of every garment there, once, in the right hand?"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence

from marker.judge.finding import Code, Finding, label
from marker.layout import Layout, Placement
from marker.pattern.piece import CutPiece

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
