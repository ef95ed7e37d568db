"""A job of several sizes as its sample size and the grade rules that give the others."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from marker.errors import CannotBeDone
from marker.exchange.dxf.rule_file import Move, RuleFile
from marker.exchange.flat_piece import FlatPiece, Graded, GradePoint
from marker.exchange.laid_flat import Sheet, pieces_of, sheet
from marker.geometry.arrays import FloatArray
from marker.geometry.resizing import NoCorrespondenceError, corresponding, telling_moves
from marker.job import Job

_WITHIN_MM = 0.005  # coarser, and notches jump: they stand square to short chords of curves
_DECIMALS = 3  # of a move in mm
_REMEDY = "Leave --rules out: then each size is drawn."


class _Rules:
    """Rules numbered as they are met; equal moves are one rule."""

    def __init__(self) -> None:
        self.moves: dict[int, tuple[Move, ...]] = {}
        self._numbers: dict[tuple[Move, ...], int] = {}

    def number(self, moves: FloatArray) -> int:
        """moves : (sizes, 2) mm."""
        rounded = np.round(moves, _DECIMALS) + 0.0
        key = tuple((float(dx), float(dy)) for dx, dy in rounded)
        number = self._numbers.setdefault(key, len(self._numbers) + 1)
        self.moves[number] = key
        return number


def graded_sheet(job: Job) -> tuple[Sheet, RuleFile]:
    """The sample size's pieces as cut, with their grade points, and the rules, in mm.

    Raises CannotBeDone where sizes do not differ, and for a piece that rules can not make: it
    has cut-outs, or not the same corners or notches in every size.
    """
    if len(job.sizes) < 2:
        raise CannotBeDone(f"the pattern comes in size {job.size} only. {_REMEDY}")
    if any("," in size for size in job.sizes):
        raise CannotBeDone(f"a rule file can't hold sizes with a comma in their names. {_REMEDY}")
    rules = _Rules()
    in_sizes = [pieces_of(job, size) for size in job.sizes]
    own = job.sizes.index(job.size)
    pieces = [_graded(in_size, own, rules) for in_size in zip(*in_sizes, strict=True)]
    if not rules.moves:
        raise CannotBeDone(f"every piece is the same in every size. {_REMEDY}")
    return (
        sheet(job.name, job.size, pieces),
        RuleFile(job.name, job.sizes, job.size, 1.0, rules.moves),
    )


def _graded(in_sizes: Sequence[FlatPiece], own: int, rules: _Rules) -> FlatPiece:
    """One piece in every size as its sample size, entry `own`, with grade points."""
    sample = in_sizes[own]
    if not _is_graded(in_sizes):
        return sample
    if any(piece.cutouts for piece in in_sizes):
        raise CannotBeDone(
            f"piece {sample.name!r} has cut-outs, which rules do not grade. {_REMEDY}"
        )
    if len({len(piece.notches) for piece in in_sizes}) > 1:
        raise CannotBeDone(
            f"piece {sample.name!r} has not the same notches in each size. {_REMEDY}"
        )
    outline, points = _ring(
        sample.name, [piece.outline for piece in in_sizes], own, Graded.OUTLINE, rules
    )
    stitching = sample.stitching
    sewn: list[GradePoint] = []
    if len(stitching):
        stitching, sewn = _ring(
            sample.name, [piece.stitching for piece in in_sizes], own, Graded.STITCHING, rules
        )
    notches = np.array([piece.notches for piece in in_sizes]).swapaxes(0, 1)
    for at in notches:
        points.append(GradePoint(at[own], rules.number(at - at[own]), Graded.NOTCH))
    return replace(sample, outline=outline, stitching=stitching, grade_points=(*points, *sewn))


def _is_graded(in_sizes: Sequence[FlatPiece]) -> bool:
    """Whether a piece is not the same in every size."""
    first = list(_lines(in_sizes[0]))
    return any(
        len(lines) != len(first)
        or any(
            a.shape != b.shape or not np.allclose(a, b, rtol=0, atol=10.0**-_DECIMALS)
            for a, b in zip(first, lines, strict=True)
        )
        for lines in map(list, map(_lines, in_sizes[1:]))
    )


def _lines(piece: FlatPiece) -> Iterator[FloatArray]:
    yield from (piece.outline, piece.stitching, piece.notches, *piece.cutouts)


def _ring(
    name: str, rings: Sequence[FloatArray], own: int, of: Graded, rules: _Rules
) -> tuple[FloatArray, list[GradePoint]]:
    """A line of the sample size, with what points the other sizes need, and its grade points."""
    order = [own, *(k for k in range(len(rings)) if k != own)]
    try:
        found = corresponding([rings[k] for k in order], _WITHIN_MM)
    except NoCorrespondenceError:
        raise CannotBeDone(
            f"piece {name!r}: its {of} has not the same corners in every size. {_REMEDY}"
        ) from None
    points = []
    for vertex in telling_moves(found, _WITHIN_MM):
        moves = np.empty((len(rings), 2))
        moves[order] = found[:, vertex] - found[0, vertex]
        points.append(GradePoint(found[0, vertex], rules.number(moves), of))
    return found[0], points
