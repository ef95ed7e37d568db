"""Sides that reach the fold: the whole opened edge, with every part of it on both halves."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import groupby

from marker.errors import CannotBeDone
from marker.pattern.edge import EdgeRef
from marker.pattern.piece import Piece
from marker.pattern.stitching import meets_fold_at_end


class UnclearSide(CannotBeDone):
    """Edges of a side that may be read in more than one way."""

    def __init__(self, problem: str, remedy: str) -> None:
        super().__init__(f"{problem}. {remedy}.")
        self.problem, self.remedy = problem, remedy


@dataclass(frozen=True)
class Part:
    """One edge of a side, walked once; both halves of one that ends on the fold.

    on_drawn : whether it is on the half drawn of its piece, or on the other; None where both
        halves have it here, or that is not known.
    """

    ref: EdgeRef
    on_drawn: bool | None = None


@dataclass(frozen=True)
class _Block:
    """Parts of a side that are the same on both halves, in order; or those of one half."""

    parts: tuple[Part, ...]
    whole: bool


def opened_side(pieces: Mapping[str, Piece], refs: Sequence[EdgeRef]) -> tuple[Part, ...]:
    """The edges of a side in sewing order, as they are on the opened garment.

    A side that reaches the fold exists on both halves, and so does every part of it (geometry).
    Edges listed once beside one that ends on the fold are walked again on the other half, in the
    mirror image of their order. Edges all listed twice, and those of a piece that is cut once, are
    walked as they are listed.

    Raises UnclearSide where the list may be read in more than one way.
    """
    parts = tuple(map(Part, refs))
    on_fold = [ref for ref in refs if _on_fold(pieces, ref)]
    halves = [ref for ref in refs if ref not in on_fold and _is_on_both_halves(pieces, ref)]
    if not on_fold or not halves:
        return parts
    counts = Counter((ref.piece, ref.edge) for ref in halves)
    if set(counts.values()) == {2}:
        return parts
    twice = [f"{piece}.{edge}" for (piece, edge), count in counts.items() if count > 1]
    if twice:
        once = next(f"{piece}.{edge}" for (piece, edge), count in counts.items() if count != 2)
        raise _unclear(on_fold[0], f"it lists {twice[0]} more than once, but {once} does not match")
    return _around_fold(pieces, refs, on_fold)


def _around_fold(
    pieces: Mapping[str, Piece], refs: Sequence[EdgeRef], on_fold: Sequence[EdgeRef]
) -> tuple[Part, ...]:
    blocks = [
        block
        for _, run in groupby(refs, key=lambda ref: ref.piece)
        for block in _blocks(pieces, list(run))
    ]
    whole = [k for k, block in enumerate(blocks) if block.whole]
    loose = [k for k, block in enumerate(blocks) if not block.whole]
    in_order = tuple(part for block in blocks for part in block.parts)
    if not loose:
        return in_order
    half = tuple(part for k in loose for part in blocks[k].parts)
    if all(not _is_on_both_halves(pieces, part.ref) for part in half):
        return in_order
    if any(not _is_on_both_halves(pieces, part.ref) for part in half):
        raise _unclear(on_fold[0], "it mixes pieces cut once with pieces cut for both halves")
    if len(whole) == 1 and loose[-1] < whole[0]:
        return in_order + _mirrored(half)
    if len(whole) == 1 and loose[0] > whole[0]:
        return _mirrored(half) + in_order
    if len(whole) == 2 and whole[0] < loose[0] and loose[-1] < whole[1]:
        return in_order + _mirrored(half)
    raise _unclear(on_fold[0], "it has edges on either side of that")


def _blocks(pieces: Mapping[str, Piece], run: list[EdgeRef]) -> list[_Block]:
    """Neighbouring edges of one piece: whole if one at their end is on the fold, or at both."""
    piece = pieces[run[0].piece]
    ends = [k for k, ref in enumerate(run) if _on_fold(pieces, ref)]
    if not ends:
        return [_Block(tuple(map(Part, run)), False)]
    if len(ends) == len(run):
        return [_Block((Part(ref),), True) for ref in run]
    fold, last = run[ends[0]], len(run) - 1
    drawn_first = meets_fold_at_end(piece, fold.edge) != piece.drawn_clockwise
    if ends == [last]:
        half = tuple(Part(ref, drawn_first) for ref in run[:-1])
        return [_Block((*half, Part(fold), *_mirrored(half)), True)]
    if ends == [0]:
        half = tuple(Part(ref, not drawn_first) for ref in run[1:])
        return [_Block((*_mirrored(half), Part(fold), *half), True)]
    if ends == [0, last]:
        half = tuple(Part(ref, not drawn_first) for ref in run[1:-1])
        return [_Block((Part(fold), *half, Part(run[-1]), *_mirrored(half)), True)]
    raise _unclear(fold, "it has edges on either side of that")


def _mirrored(half: Sequence[Part]) -> tuple[Part, ...]:
    """The same edges on the other half, walked back."""
    return tuple(
        Part(
            replace(part.ref, reversed=not part.ref.reversed),
            None if part.on_drawn is None else not part.on_drawn,
        )
        for part in reversed(half)
    )


def _on_fold(pieces: Mapping[str, Piece], ref: EdgeRef) -> bool:
    return meets_fold_at_end(pieces[ref.piece], ref.edge) is not None


def _is_on_both_halves(pieces: Mapping[str, Piece], ref: EdgeRef) -> bool:
    piece = pieces[ref.piece]
    return piece.fold is not None or piece.cut % 2 == 0


def _unclear(fold: EdgeRef, why: str) -> UnclearSide:
    return UnclearSide(
        f"it goes on over the fold at {fold}, and {why}: what is sewn on the other half is not "
        f"clear",
        "List one half, from its free end to the fold, each edge once, and the other half follows "
        "by itself; or list every edge of both halves",
    )
