"""Which copies are cut at one go: singly, as a pair through two plies, or half on the fold."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import groupby

from marker.errors import CannotBeDone
from marker.layout import PieceKey
from marker.pattern.piece import CutPiece
from marker.pattern.repeats.phases import Hand

MOST_ITEMS = 2000  # the search keeps a weight for every two of them


@dataclass(frozen=True)
class Label:
    """Which copy of which cut piece an item is."""

    piece: CutPiece
    garment: int
    copy: int
    mirrored: bool

    @property
    def hand(self) -> Hand:
        """The same for all labels that may lie in the same ways."""
        return self.piece.name, self.piece.size, self.mirrored

    @property
    def key(self) -> PieceKey:
        """Which of the job's pieces it is."""
        return PieceKey(self.piece.name, self.piece.size, self.garment, self.copy)


@dataclass(frozen=True)
class Cut:
    """What the shears cut out at one go.

    label : the copy that comes of it, of one ply or on the fold.
    twin : the copy that comes of the second ply. spare : what comes of that ply is not wanted.
    on_fold : its fold line lies on a fold, one half of it on either ply.
    """

    label: Label
    twin: Label | None = None
    spare: bool = False
    on_fold: bool = False

    @property
    def kind(self) -> tuple[Hand, bool | None, bool, bool]:
        """The same for all cuts that may lie in the same ways."""
        twin = self.twin.mirrored if self.twin else None
        return self.label.hand, twin, self.spare, self.on_fold

    @property
    def keys(self) -> tuple[PieceKey, ...]:
        """All that comes of it and is wanted."""
        return tuple(each.key for each in (self.label, self.twin) if each)

    @property
    def garments(self) -> tuple[int, ...]:
        """Those it belongs to, one or two."""
        return tuple(sorted({each.garment for each in (self.label, self.twin) if each}))


def labels(cut_pieces: Sequence[CutPiece], garments: Sequence[str]) -> tuple[Label, ...]:
    """Every single outline to be laid, garment by garment.

    cut_pieces : of every size among the garments. Raises CannotBeDone for more than MOST_ITEMS.
    """
    wanted = Counter(garments)
    count = sum(wanted[piece.size] * (piece.copies + piece.mirrored_copies) for piece in cut_pieces)
    if count > MOST_ITEMS:
        raise CannotBeDone(
            f"{count} pieces are to be cut from {cut_pieces[0].cloth}, more than the "
            f"{MOST_ITEMS} that can be laid at once. Order fewer garments, or plan them as several "
            f"jobs."
        )
    return tuple(
        Label(piece, garment, copy, mirrored=copy > piece.copies)
        for garment, size in enumerate(garments, start=1)
        for piece in cut_pieces
        if piece.size == size
        for copy in range(1, piece.copies + piece.mirrored_copies + 1)
    )


def cut_through_two_plies(
    items: Sequence[Label], may_lie: Callable[[Cut], bool]
) -> tuple[tuple[Cut, ...], tuple[Label, ...]]:
    """What is cut on the fold or as a pair, and the copies left over.

    Copies are paired within their garment first, then across garments; opposite hands before the
    same hand, which only a piece like its own mirror image allows.
    may_lie : whether a cut finds room in an allowed way on the two plies.
    """
    cuts: list[Cut] = []
    left: list[Label] = []
    by_piece = sorted(items, key=lambda label: label.hand[:2])
    for _, group in groupby(by_piece, key=lambda label: label.hand[:2]):
        found, rest = _of_one_piece(tuple(group), may_lie)
        cuts += found
        left += rest
    order = {id(label): k for k, label in enumerate(items)}
    return (
        tuple(sorted(cuts, key=lambda cut: order[id(cut.label)])),
        tuple(sorted(left, key=lambda label: order[id(label)])),
    )


def _of_one_piece(
    copies: tuple[Label, ...], may_lie: Callable[[Cut], bool]
) -> tuple[list[Cut], list[Label]]:
    if may_lie(Cut(copies[0], on_fold=True)):
        return [Cut(label, on_fold=True) for label in copies], []
    cuts: list[Cut] = []
    left = list(copies)
    for within in (True, False):
        for other_hand in (True, False):
            pairs, left = _pairs(left, within, other_hand, may_lie)
            cuts += pairs
    return cuts, left


def _pairs(
    copies: Sequence[Label], within: bool, other_hand: bool, may_lie: Callable[[Cut], bool]
) -> tuple[list[Cut], list[Label]]:
    """Pairs of one garment or, if not `within`, of any; and what finds no partner."""
    waiting: dict[tuple[int, bool], list[Label]] = {}
    cuts = []
    for label in copies:
        garment = label.garment if within else 0
        partners = waiting.get((garment, label.mirrored != other_hand), [])
        if partners and may_lie(Cut(partners[0], label)):
            cuts.append(Cut(partners.pop(0), label))
        else:
            waiting.setdefault((garment, label.mirrored), []).append(label)
    return cuts, [label for several in waiting.values() for label in several]
