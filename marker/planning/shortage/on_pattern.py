"""Changes in how pieces are cut: seams for folds, pieced parts, more joins, narrower hems."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import replace
from functools import partial

from marker.cloth.fabric import Cloth
from marker.job import Job
from marker.pattern.edge import Hem
from marker.pattern.piece import Line, Piece
from marker.planning.shortage.change import Change, with_pieces, with_strip
from marker.units import metric

SEAM_MM = 10.0
"""Allowance of a seam added, where the piece has none of its own: common practice, no source."""

PIECED = ("facing", "belt", "tie", "waistband", "lining", "casing")
"""Words in the names of pieces that are pieced where cloth is short: common practice, no source."""

SHORTEST_PART_MM = 150.0
"""No strip is cut in shorter parts: common practice, no source."""

SHALLOWEST_HEM_MM = 6.0
"""No hem is made less deep: common practice, no source."""


def pattern_changes(job: Job, cloth: Cloth) -> Iterator[Change]:
    """What may be cut otherwise of the pieces and strips of this cloth."""
    pieces = [piece for piece in job.pattern.pieces if piece.cloth == cloth.name]
    for piece in pieces:
        yield from _fold_seam(piece)
        yield from _pieced(piece)
    yield from _more_joins(job, cloth)
    yield from _narrower_hems(pieces)


def _fold_seam(piece: Piece) -> Iterator[Change]:
    if piece.opened_along is None:
        return
    seam = piece.allowance_mm or SEAM_MM
    yield Change(
        f"cut {piece.name} in two halves, with a seam of {metric(seam)} in place of the fold",
        f'[[piece]] {piece.name}: fold_seam = "{seam:g} mm"',
        partial(with_pieces, names=[piece.name], fold_seam_mm=seam),
    )


def _pieced(piece: Piece) -> Iterator[Change]:
    named = any(word in piece.name.lower() for word in PIECED)
    if piece.pieced_mm is not None or piece.fold is not None or not named:
        return
    seam = piece.allowance_mm or SEAM_MM
    yield Change(
        f"piece {piece.name} from two parts, with a seam of {metric(seam)}",
        f'[[piece]] {piece.name}: pieced = "{seam:g} mm"',
        partial(with_pieces, names=[piece.name], pieced_mm=seam),
    )


def _more_joins(job: Job, cloth: Cloth) -> Iterator[Change]:
    for plan in job.strip_plans(job.size):
        strip, count = plan.strip, plan.parts.count + 1
        if strip.cloth != cloth.name or plan.cut_length_mm / count < SHORTEST_PART_MM:
            continue
        yield Change(
            f"join {strip.name} from {count} parts in place of {count - 1}",
            f"[[strip]] {strip.name}: parts = {count}",
            partial(with_strip, name=strip.name, least_parts=count),
        )


def _narrower_hems(pieces: list[Piece]) -> Iterator[Change]:
    """Half as deep, all edges of one name and hem together: a hem runs on from piece to piece.

    Only where the stitching line was drawn: a cut line has its hem in it already.
    """
    hemmed: dict[tuple[str, Hem], list[str]] = defaultdict(list)
    for piece in pieces:
        for name, edge in piece.edges.items():
            deep = edge.hem is not None and edge.hem.depth_mm / 2 >= SHALLOWEST_HEM_MM
            if edge.hem is not None and deep and piece.line is Line.STITCHING:
                hemmed[name, edge.hem].append(piece.name)
    for (name, hem), names in hemmed.items():
        depth = round(hem.depth_mm / 2)
        key = name if name.isidentifier() else f'"{name}"'  # as TOML writes it
        narrow = replace(hem, depth_mm=float(depth), under_mm=min(hem.under_mm, depth))
        yield Change(
            f"make the {name} of {' and '.join(names)} {depth} mm deep in place of "
            f"{metric(hem.depth_mm)}",
            f'[[piece]] {", ".join(names)}: hems.{key} = {{ kind = "{hem.kind}", '
            f'depth = "{depth} mm", under = "{narrow.under_mm:g} mm" }}',
            partial(_with_hem, edge=name, names=names, hem=narrow),
        )


def _with_hem(job: Job, edge: str, names: list[str], hem: Hem) -> Job:
    def hemmed(piece: Piece) -> Piece:
        if piece.name not in names:
            return piece
        changed = replace(piece.edges[edge], hem=hem)
        return replace(piece, edges={**piece.edges, edge: changed})

    return job.with_pieces(hemmed)
