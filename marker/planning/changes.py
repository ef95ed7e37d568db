"""Changes to a job that may save cloth: looser rules of the cloth, other ways to cut the pieces."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from enum import IntEnum
from functools import partial
from typing import Any, TypeVar

from marker.cloth.fabric import Cloth, Nap
from marker.cloth.spread import Spreading
from marker.errors import CannotBeDone
from marker.job import Job
from marker.pattern.bands.strip import Strip
from marker.pattern.derived import shortened
from marker.pattern.edge import Hem
from marker.pattern.piece import Line, Piece
from marker.units import System, cut_length, exact_length

SMALLEST_GAP_MM = 2.0
"""A gap of less is given up altogether, a larger one halved: common practice, no source."""

GRAIN_TOLERANCE_DEG = 2.0
"""How far a piece may lie off grain before it shows: common practice, no source."""

HIDDEN = ("facing", "lining", "interfacing", "pocket", "under")
"""Words in the names of pieces that hardly show, so that another cloth will do for them."""

SEAM_MM = 10.0
"""Allowance of a seam added, where the piece has none of its own: common practice, no source."""

PIECED = ("facing", "belt", "tie", "waistband", "lining", "casing")
"""Words in the names of pieces that are pieced where cloth is short: common practice, no source."""

SHORTEST_PART_MM = 150.0
"""No strip is cut in shorter parts: common practice, no source."""

SHORTER_MM = 20.0
"""By so much a skirt or a sleeve is made shorter: common practice, no source."""

SHALLOWEST_HEM_MM = 6.0
"""No hem is made less deep: common practice, no source."""

_EIGHTH_MM = 25.4 / 8

Part = TypeVar("Part", Cloth, Piece, Strip)


class Resort(IntEnum):
    """Changes of a later resort are taken only where those before are not enough: a garment is made
    shorter SECOND, and its shading suffers LAST."""

    FIRST = 1
    SECOND = 2
    LAST = 3


@dataclass(frozen=True)
class Edit:
    """A value to write in the job file.

    table, names : which tables, such as the pieces of these names. key : the path of the key in
    each of them. value : as TOML holds it.
    """

    table: str
    names: tuple[str, ...]
    key: tuple[str, ...]
    value: str | float | Mapping[str, str]

    @property
    def places(self) -> tuple[tuple[str, ...], ...]:
        """The path of keys and names that leads to each of the values."""
        return tuple((self.table, name, *self.key) for name in self.names)

    def __str__(self) -> str:
        key = ".".join(map(_bare_key, self.key))
        if self.table == "cloth":
            return f"[cloth.{_named(self.names)}] {key} = {_as_toml(self.value)}"
        return f"[[{self.table}]] {_named(self.names)}: {key} = {_as_toml(self.value)}"


@dataclass(frozen=True)
class Change:
    """One thing to give way on.

    what : in words, to be read after 'if you'. edit : what to write in the job file for it.
    relaxes : each layout without it is one with it, so that it never costs cloth.
    resort : when it is taken.
    """

    what: str
    edit: Edit
    apply: Callable[[Job], Job]
    relaxes: bool = False
    resort: Resort = Resort.FIRST


def changes(job: Job, cloth: Cloth, keep_nap: bool = False) -> tuple[Change, ...]:
    """All that may be given way on, for this cloth of the job; none of the pattern where the job's
    own strips can't be cut.

    keep_nap : the nap is not given up.
    """
    found = tuple(_cloth_changes(job, cloth))
    if keep_nap:
        found = tuple(change for change in found if change.resort is not Resort.LAST)
    try:
        return (*found, *_pattern_changes(job, cloth))
    except CannotBeDone:
        return found


def _as_written(job: Job, cloth: Cloth) -> list[Piece]:
    """The pieces of a cloth that are as their own tables draw them: an edit there is enough."""
    return [
        piece for piece in job.pattern.pieces if piece.cloth == cloth.name and not piece.changed
    ]


def _cloth_changes(job: Job, cloth: Cloth) -> Iterator[Change]:
    """What may be given up of this cloth's rules, and which pieces another cloth may yield."""
    yield from _nap(job, cloth)
    if cloth.gap_mm > 0:
        gap = 0.0 if cloth.gap_mm <= SMALLEST_GAP_MM else cloth.gap_mm / 2
        less, now = (exact_length(mm, job.show.lead) for mm in (gap, cloth.gap_mm))
        yield Change(
            f"leave {less} between pieces in place of {now}",
            Edit("cloth", (cloth.name,), ("gap",), less),
            partial(_with_cloth, name=cloth.name, gap_mm=gap),
            relaxes=True,
        )
    yield from _grain(job, cloth)
    if cloth.spread is not Spreading.OPEN and cloth.tube is None:
        yield Change(
            f"lay the cloth open in one ply in place of {cloth.spread}",
            Edit("cloth", (cloth.name,), ("spread",), Spreading.OPEN.value),
            partial(_with_cloth, name=cloth.name, spread=Spreading.OPEN),
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
            f"lay the pieces {nap} in place of {cloth.nap}: where they meet they may look lighter "
            f"and darker, so try it on a scrap first",
            Edit("cloth", (cloth.name,), ("nap",), nap.value),
            partial(_with_cloth, name=cloth.name, nap=nap),
            relaxes=True,
            resort=Resort.LAST,
        )


def _grain(job: Job, cloth: Cloth) -> Iterator[Change]:
    names = [
        piece.name
        for piece in _as_written(job, cloth)
        if piece.grain_tolerance_deg < GRAIN_TOLERANCE_DEG
    ]
    if names:
        yield Change(
            f"let pieces lie up to {GRAIN_TOLERANCE_DEG:g}° off grain",
            Edit("piece", tuple(names), ("grain_tolerance",), GRAIN_TOLERANCE_DEG),
            partial(_with_pieces, names=names, grain_tolerance_deg=GRAIN_TOLERANCE_DEG),
            relaxes=True,
        )


def _other_cloths(job: Job, cloth: Cloth) -> Iterator[Change]:
    worn = {cloth.name for cloth in job.cloths} - _interfacings(job) - {cloth.name}
    for other in job.cloths:
        if other.name not in worn:
            continue
        for piece in _as_written(job, cloth):
            if any(word in piece.name for word in HIDDEN):
                yield Change(
                    f"cut {piece.name} from {other.name}, which needs more of that",
                    Edit("piece", (piece.name,), ("cloth",), other.name),
                    partial(_with_pieces, names=[piece.name], cloth=other.name),
                )
        for strip in job.pattern.strips:
            if strip.cloth == cloth.name:
                yield Change(
                    f"cut {strip.name} from {other.name}, which needs more of that",
                    Edit("strip", (strip.name,), ("cloth",), other.name),
                    partial(_with_strip, name=strip.name, cloth=other.name),
                )


def _interfacings(job: Job) -> set[str]:
    """Cloths that only stiffen others; nothing that is seen or worn is cut from them."""
    pieces, strips = job.pattern.pieces, job.pattern.strips
    stiffens = {strip.interfacing.cloth for strip in strips if strip.interfacing}
    stiffens |= {piece.cloth for piece in pieces if piece.recipe and piece.recipe.from_cut_line}
    others = {piece.cloth for piece in pieces if not piece.recipe or not piece.recipe.from_cut_line}
    return stiffens - others - {strip.cloth for strip in strips}


def _named(names: Sequence[str]) -> str:
    return ", ".join(names)


def _bare_key(key: str) -> str:
    """A key as TOML writes it."""
    return key if key.isidentifier() else f'"{key}"'


def _as_toml(value: str | float | Mapping[str, str]) -> str:
    if isinstance(value, str):
        return f'"{value}"'
    if isinstance(value, Mapping):
        return "{ " + ", ".join(f"{key} = {_as_toml(each)}" for key, each in value.items()) + " }"
    return f"{value:g}"


def _pattern_changes(job: Job, cloth: Cloth) -> Iterator[Change]:
    """What may be cut otherwise of the pieces and strips of this cloth."""
    pieces = _as_written(job, cloth)
    for piece in pieces:
        yield from _fold_seam(piece, job.show.lead)
        yield from _pieced(piece, job.show.lead)
    yield from _more_joins(job, cloth)
    yield from _narrower_hems(pieces, job.show.lead)
    yield from _shorter(pieces, job.show.lead)


def _own(mm: float, lead: System) -> float:
    """A usual length as the makers of the job measure: whole eighths where inches lead."""
    return round(mm / _EIGHTH_MM) * _EIGHTH_MM if lead is System.IMPERIAL else mm


def _fold_seam(piece: Piece, lead: System) -> Iterator[Change]:
    if piece.opened_along is None:
        return
    seam = piece.allowance_mm or _own(SEAM_MM, lead)
    written = exact_length(seam, lead)
    yield Change(
        f"cut {piece.name} in two halves, with a seam of {written} in place of the fold",
        Edit("piece", (piece.name,), ("fold_seam",), written),
        partial(_with_pieces, names=[piece.name], fold_seam_mm=seam),
    )


def _pieced(piece: Piece, lead: System) -> Iterator[Change]:
    named = any(word in piece.name.lower() for word in PIECED)
    if piece.pieced_mm is not None or piece.fold is not None or not named:
        return
    seam = piece.allowance_mm or _own(SEAM_MM, lead)
    written = exact_length(seam, lead)
    yield Change(
        f"piece {piece.name} from two parts, with a seam of {written}",
        Edit("piece", (piece.name,), ("pieced",), written),
        partial(_with_pieces, names=[piece.name], pieced_mm=seam),
    )


def _more_joins(job: Job, cloth: Cloth) -> Iterator[Change]:
    for plan in job.strip_plans(job.size):
        strip, count = plan.strip, plan.parts.count + 1
        if strip.cloth != cloth.name or plan.cut_length_mm / count < SHORTEST_PART_MM:
            continue
        yield Change(
            f"join {strip.name} from {count} parts in place of {count - 1}",
            Edit("strip", (strip.name,), ("parts",), count),
            partial(_with_strip, name=strip.name, least_parts=count),
        )


def _narrower_hems(pieces: list[Piece], lead: System) -> Iterator[Change]:
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
        step = _EIGHTH_MM if lead is System.IMPERIAL else 1.0
        depth = round(hem.depth_mm / 2 / step) * step
        narrow = replace(hem, depth_mm=depth, under_mm=min(hem.under_mm, depth))
        written = {
            "kind": hem.kind.value,
            "depth": exact_length(depth, lead),
            "under": exact_length(narrow.under_mm, lead),
        }
        yield Change(
            f"make the {name} of {' and '.join(names)} {exact_length(depth, lead)} deep in place "
            f"of {cut_length(hem.depth_mm, lead)}",
            Edit("piece", tuple(names), ("hems", name), written),
            partial(_with_hem, edge=name, names=names, hem=narrow),
        )


def _shorter(pieces: list[Piece], lead: System) -> Iterator[Change]:
    """Skirts and sleeves a little shorter at the hem, all edges of one name together."""
    hemmed: dict[str, list[str]] = defaultdict(list)
    for piece in pieces:
        for name, edge in piece.edges.items():
            if edge.hem is not None and piece.recipe is None and name not in piece.shortened_mm:
                hemmed[name].append(piece.name)
    by_mm = _own(SHORTER_MM, lead)
    by = exact_length(by_mm, lead)
    for name, names in hemmed.items():
        yield Change(
            f"make {' and '.join(names)} {by} shorter at the {name}",
            Edit("piece", tuple(names), ("shorten", name), by),
            partial(_with_shorter, edge=name, names=names, by_mm=by_mm),
            resort=Resort.SECOND,
        )


def _with_shorter(job: Job, edge: str, names: list[str], by_mm: float) -> Job:
    return job.with_pieces(
        lambda piece: shortened(piece, edge, by_mm) if piece.name in names else piece
    )


def _with_hem(job: Job, edge: str, names: list[str], hem: Hem) -> Job:
    def hemmed(piece: Piece) -> Piece:
        if piece.name not in names:
            return piece
        changed = replace(piece.edges[edge], hem=hem)
        return replace(piece, edges={**piece.edges, edge: changed})

    return job.with_pieces(hemmed)


def _with_cloth(job: Job, name: str, **changes: Any) -> Job:
    """The job with some properties of one cloth changed."""
    return replace(job, cloths=tuple(_changed(cloth, {name}, changes) for cloth in job.cloths))


def _with_pieces(job: Job, names: Iterable[str], **changes: Any) -> Job:
    """The job with some properties of some pieces changed, in every size."""
    chosen = set(names)
    return job.with_pieces(lambda piece: _changed(piece, chosen, changes))


def _with_strip(job: Job, name: str, **changes: Any) -> Job:
    """The job with some properties of one strip changed, in every size."""
    return job.with_strips(lambda strip: _changed(strip, {name}, changes))


def _changed(part: Part, names: set[str], changes: dict[str, Any]) -> Part:
    return replace(part, **changes) if part.name in names else part
