"""Full-size pages of a checked layout, its curves drawn finer than they were laid."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

from marker.cloth.fabric import Nap
from marker.drawing.pages.full_size import FullSize, pages_with_pieces, plan_full_size
from marker.drawing.pages.paper import Paper
from marker.drawing.scene.layout_scene import Scene, build_scene
from marker.drawing.scene.printed_pieces import Facts, PrintedPieces, pattern_facts, single_pieces
from marker.errors import CannotBeDone
from marker.job import Job
from marker.jobfile.reading import read_job
from marker.layout import CheckedLayout
from marker.layout.bought import purchase_for
from marker.pattern.piece import CutPiece

CURVES_MM = 0.02
"""No chord strays further from its curve: less than half of what a sharp pencil draws (no source).
"""


_HEIGHTS_MM = (850.0, 250.0, 400.0, 550.0, 700.0, 1100.0, 1500.0)  # columns of pieces to try


@dataclass(frozen=True)
class PrintRequest:
    """What is printed, and on which paper.

    names : pieces to print, each by itself; none for the whole layout, or for every piece together
    where halves or sizes are asked for. halves : pieces on the fold as one half. sizes : to be
    nested in one another; none for the sizes laid.
    """

    paper: Paper
    names: tuple[str, ...] = ()
    halves: bool = False
    sizes: tuple[str, ...] = ()


def planned_full_size(
    checked: CheckedLayout, job: Job, job_path: Path, request: PrintRequest
) -> tuple[FullSize, ...]:
    """The pages of the layout, of every piece together, or of each piece asked for.

    job : as it is ordered in the layout. job_path : its file, read again for its curves. Raises
    CannotBeDone where that has other pieces now.
    """
    cloth = checked.layout.cloth
    fine = read_job(job_path, curves_mm=CURVES_MM).with_order(job.order)
    patterns = fine.cut_pieces(cloth)
    if list(map(_name, patterns)) != list(map(_name, checked.cut_pieces)):
        raise CannotBeDone(f"{job_path} has changed since it was laid. Lay it again.")
    facts = _facts(fine, {each.size for each in patterns})
    scene = build_scene(checked, purchase_for(checked), patterns=patterns)
    if not (request.names or request.halves or request.sizes):
        return (plan_full_size(_with_facts(scene, facts), request.paper, "whole layout"),)
    printed = PrintedPieces(
        patterns=patterns,
        facts=facts,
        in_sizes=[fine.with_order({size: 1}).cut_pieces(cloth) for size in request.sizes],
        halves=request.halves,
        nap=cloth.nap is not Nap.EITHER_WAY,
    )
    names = {" ".join(name.split()) for name in request.names}
    singles = [
        each for each in single_pieces(checked, scene) if not names or each.drawing.name in names
    ]
    if not request.names:
        ways = [printed.together(scene, singles, high) for high in _HEIGHTS_MM]
        best = min(ways, key=lambda way: pages_with_pieces(way, request.paper))
        return (plan_full_size(best, request.paper, _title_of_all(request)),)
    return tuple(
        plan_full_size(each, request.paper, _title(each)) for each in printed.scenes(scene, singles)
    )


def _name(piece: CutPiece) -> tuple[str, str]:
    return piece.name, piece.size


def _facts(job: Job, sizes: set[str]) -> Facts:
    found: dict[tuple[str, str], tuple[str, ...]] = {}
    for size in sizes:
        found |= pattern_facts(job.in_size(size))
    return found


def _with_facts(scene: Scene, facts: Facts) -> Scene:
    pieces = tuple(
        replace(piece, facts=facts.get((piece.name, piece.size), ())) for piece in scene.pieces
    )
    return replace(scene, pieces=pieces)


def _title(scene: Scene) -> str:
    (piece,) = scene.pieces
    return ", ".join(filter(None, [piece.name, piece.size_words]))


def _title_of_all(request: PrintRequest) -> str:
    halves = ", halves on the fold" if request.halves else ""
    sizes = f", sizes {', '.join(request.sizes)}" if len(request.sizes) > 1 else ""
    return f"every piece{halves}{sizes}"
