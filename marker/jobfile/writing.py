"""A job file, and its drawings and rules, for pieces that were drawn elsewhere."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np

from marker.exchange.cloth_facts import NOTHING_TOLD, ClothFacts, as_told
from marker.exchange.flat_piece import FlatPiece
from marker.exchange.laid_flat import sheet
from marker.exchange.sewn_edges import SewnPiece
from marker.exchange.sewn_sizes import GradedPiece, sewn_by_rules
from marker.exchange.svg.svg_text import piece_ids, stitching_id, svg_text
from marker.files.faults import Unusable
from marker.files.toml_edits import assignment, inline, quoted
from marker.files.values import LONGEST_NAME
from marker.geometry.arrays import FloatArray
from marker.jobfile.sizes import BY_SIZE, SIZE, merged
from marker.pattern.inner_marks import InnerMark, MarkKind
from marker.pattern.piece import Line

if TYPE_CHECKING:
    from marker.exchange.importing import Imported

JOB, PATTERN, RULES = "job.toml", "pattern", "rules.toml"
_HEAD = """\
# Imported: {sources}.
# Edges are named by number, from corner to corner around each piece: rename them as you like.
# `marker reference` says what else a job can hold: seams, hems, openings, strips.
"""
_NO_WIDTH = """\
# Its width is not known yet: measure the cloth from edge to edge, and take the # off this line.
# width = "150 cm\""""
_NO_NAP = """\
# Which way its pieces may point is not known yet. In place of the question mark write "either way",
# "one way" (pile, sheen, prints with one way up) or "one way per garment".
nap = "?\""""
_UNKNOWN = "?"
_NO_GRAIN = """\
# The grain of this piece is not known yet. In place of the question mark write the direction that
# runs along the cloth, in degrees: 0 is to the right in the drawing, 90 is up."""
USUAL_SELVAGE_MM = 10.0  # where nothing is known of it; common practice, no source
MOST_MARK_POINTS = 500
_USUAL: dict[str, Any] = {
    "line": str(Line.CUT),
    "cut": 1,
    "pair": False,
    "turns": [0.0, 180.0],
    "grain_tolerance": 0.0,
}


@dataclass(frozen=True)
class JobFiles:
    """What an imported pattern is written as.

    texts : name of file -> its text. left_out : what could not go into it, and why.
    measures_mm : piece -> size -> (across, up) as drawn, of the pieces that did. cloths : name ->
    what is known of it. pieces : the table of each piece.
    """

    texts: Mapping[str, str]
    left_out: Sequence[str]
    measures_mm: Mapping[str, Mapping[str, tuple[float, float]]]
    cloths: Mapping[str, ClothFacts]
    pieces: Sequence[Mapping[str, Any]]


@dataclass(frozen=True)
class _Piece:
    """A piece with what gives it in each size: flat and sewn by size, drawn or the sample alone."""

    flat: Mapping[str, FlatPiece]
    sewn: Mapping[str, SewnPiece]
    graded: GradedPiece | None

    def outlines(self) -> Mapping[str, FloatArray]:
        """Size -> (n, 2) as drawn or graded."""
        if self.graded:
            return self.graded.outlines
        return {size: sewn.drawn.points for size, sewn in self.sewn.items()}


def drawing_name(called: str, several: bool) -> str:
    """The file of a drawing; with a place for the size where there are several."""
    return f"{called}-{SIZE}.svg" if several else f"{called}.svg"


def job_files(
    imported: Imported,
    sources: Sequence[str],
    told: ClothFacts = NOTHING_TOLD,
    drawing: str = PATTERN,
) -> JobFiles:
    """The job with its drawings and rules; `sources` are named in its head.

    told : what is known of every cloth, whatever the files say; what nobody knows is left to be
    filled in. drawing : what its drawings are called. Raises Unusable when no piece is left.
    """
    left_out: list[str] = []
    pieces = list(_pieces(imported, left_out))
    if not pieces:
        raise Unusable("no piece in it can be cut", "; ".join(left_out) or "Draw closed outlines")
    texts: dict[str, str] = {JOB: ""}
    tables: list[dict[str, Any]] = [{} for _ in pieces]
    drawing = drawing_name(drawing, bool(imported.drawn))
    ids = piece_ids([piece.flat[imported.size] for piece in pieces])
    for size in imported.drawn or (imported.size,):
        drawn = sheet(imported.title, size, [_as_drawn(p.flat[size], p.sewn[size]) for p in pieces])
        texts[drawing.replace(SIZE, size)] = svg_text(drawn)
        for number, piece in enumerate(pieces):
            marks = _marks(drawn.pieces[number].inner_marks, drawn.height_mm)
            table = _table(piece, size, f"{drawing}#{ids[number]}") | {"marks": marks}
            if imported.no_grain_deg is None and piece.flat[size].grain is None:
                table["grain"] = _UNKNOWN
            tables[number][size] = table
    cloths = _cloths(imported, told)
    used = dict.fromkeys(table[imported.size]["cloth"] for table in tables)
    told_pieces = _told(tables, several=len(used) > 1)
    texts[JOB] = _job_text(imported, told_pieces, sources, {name: cloths[name] for name in used})
    if imported.rules:
        texts[RULES] = _rules_text(imported)
    measures = {
        piece.flat[imported.size].name: {
            size: (float(np.ptp(points[:, 0])), float(np.ptp(points[:, 1])))
            for size, points in piece.outlines().items()
        }
        for piece in pieces
    }
    return JobFiles(texts, left_out, measures, cloths, told_pieces)


def _cloths(imported: Imported, told: ClothFacts) -> dict[str, ClothFacts]:
    """What is known of each cloth that a piece is cut from."""
    names = dict.fromkeys(piece.cloth for piece in imported.pieces)
    return {name: as_told(imported.cloths.get(name, ClothFacts(name)), told) for name in names}


def _cloth_lines(name: str, facts: ClothFacts) -> Iterator[str]:
    yield f"[cloth.{quoted(name)}]"
    yield _NO_WIDTH if facts.width_mm is None else f"width = {_cm(facts.width_mm)}"
    if facts.selvage_mm is None:
        yield f"selvage = {_cm(USUAL_SELVAGE_MM)}          # lost along each edge"
    else:
        yield f"selvage = {_cm(facts.selvage_mm)}"
    yield _NO_NAP if facts.nap is None else f"nap = {quoted(facts.nap)}"
    for key, mm in (("gap", facts.gap_mm), ("end_allowance", facts.ends_mm)):
        if mm is not None:
            yield f"{key} = {_cm(mm)}"


def _cm(mm: float) -> str:
    return f'"{mm / 10:.10g} cm"'


def _marks(marks: Sequence[InnerMark], up: float) -> list[dict[str, Any]]:
    """Marks inside a piece as a job has them, in the numbers of its drawing, whose y points down
    from `up`. What follows from a dart or a pleat is a line here."""
    found: list[dict[str, Any]] = []
    for mark in marks:
        closed = len(mark.points) > 3 and bool((mark.points[0] == mark.points[-1]).all())
        points = mark.points[:-1] if closed else mark.points
        rows = [[_mm(x), _mm(y - up)] for x, y in points]
        kind = MarkKind.LINE if mark.kind.follows else mark.kind
        table: dict[str, Any] = {"kind": str(kind), "points": rows}
        table |= {"closed": True} if closed else {}
        found.append(table | ({"name": mark.name[:LONGEST_NAME]} if mark.name else {}))
    return found


def _pieces(imported: Imported, left_out: list[str]) -> Iterator[_Piece]:
    """The pieces that can go into a job; what can't is noted."""
    for number, own in enumerate(imported.pieces):
        drawn = {size: pieces[number] for size, pieces in imported.drawn.items()}
        flat = drawn or {imported.size: own}
        try:
            no_grain = imported.no_grain_deg or 0.0
            rules = None
            if drawn:
                sample = SewnPiece(own, no_grain)
            else:
                sample, rules = sewn_by_rules(own, no_grain, imported.sizes, imported.rules)
            sewn = {
                size: SewnPiece(each, no_grain, sample) if size != imported.size else sample
                for size, each in flat.items()
            }
            if len({each.fold is None for each in sewn.values()}) > 1:
                raise Unusable("it lies on the fold in some sizes only", "")
        except Unusable as fault:
            left_out.append(f"piece '{own.name}': {fault.problem}")
            continue
        if not all(each.stitching_kept for each in sewn.values()):
            left_out.append(
                f"stitching line of '{own.name}': it keeps no constant distance along each edge"
                f"{' in every size' if rules and rules.grade else ''}; give `allowance` by hand"
            )
        if rules and rules.lost:
            left_out.append(
                f"{rules.lost} grade points of '{own.name}': they lie by no corner, or two by one"
            )
        yield _Piece(flat, sewn, rules)


def _job_text(
    imported: Imported,
    pieces: Sequence[Mapping[str, Any]],
    sources: Sequence[str],
    cloths: Mapping[str, ClothFacts],
) -> str:
    size = quoted(imported.size)
    named = "".join(c for c in ", ".join(sources) if c.isprintable())
    lines = [_HEAD.format(sources=named), f"name = {quoted(imported.title)}", f"size = {size}"]
    if len(imported.sizes) > 1:
        lines.append(assignment("sizes", list(imported.sizes)))
    if imported.rules:
        lines.append(assignment("rules", RULES))
    lines += ["", "[order]", f"{size} = 1"]
    for name, facts in cloths.items():
        lines += ["", *_cloth_lines(name, facts)]
    for table in pieces:
        lines += ["", "[[piece]]"]
        for key, value in table.items():
            lines += [_NO_GRAIN] if key == "grain" and value == _UNKNOWN else []
            lines.append(assignment(key, value))
    return "\n".join(lines) + "\n"


def _told(
    tables: Sequence[Mapping[str, dict[str, Any]]], several: bool
) -> Sequence[Mapping[str, Any]]:
    """The table of each piece, of those in each size, without what goes without saying."""
    return [_without_usual(merged(by_size), several) for by_size in tables]


def _as_drawn(flat: FlatPiece, sewn: SewnPiece) -> FlatPiece:
    """The piece with the points that the job counts its corners by."""
    if sewn.piece.line is flat.line:
        return replace(flat, outline=sewn.drawn.points)
    return replace(flat, stitching=sewn.drawn.points)


def _table(given: _Piece, size: str, drawing: str) -> dict[str, Any]:
    """The piece's table in one size, with the same keys in each."""
    sewn, piece = given.sewn[size], given.sewn[size].piece
    own_line = piece.line is Line.CUT or not len(given.flat[size].stitching)
    notches = [
        {"edge": notch.edge, "at": _mm(notch.at_mm)}
        if given.graded is None or number not in given.graded.notches
        else {
            "edge": notch.edge,
            "at": {BY_SIZE: {s: _mm(at) for s, at in given.graded.notches[number].items()}},
        }
        for number, notch in enumerate(piece.notches)
    ]
    return {
        "name": piece.name,
        "cloth": piece.cloth,
        "drawing": drawing if own_line else stitching_id(drawing),
        "line": str(piece.line),
        "cut": piece.cut,
        "pair": piece.pair,
        "fold": list(sewn.fold or ()),
        "grain": piece.grain_deg,
        "turns": list(piece.turns),
        "grain_tolerance": piece.grain_tolerance_deg,
        "edges": {name: list(pair) for name, pair in sewn.corners.items()},
        "allowances": {name: _mm(edge.allowance_mm or 0.0) for name, edge in piece.edges.items()},
        "corners": {name: str(edge.corner) for name, edge in piece.edges.items() if edge.corner},
        "notches": notches,
        "grade": {
            str(corner): _rule(rule)
            for corner, rule in (given.graded.grade if given.graded else {}).items()
        },
    }


def _without_usual(table: dict[str, Any], several: bool) -> dict[str, Any]:
    """several : there are several cloths."""
    usual = _USUAL if several else _USUAL | {"cloth": table["cloth"]}
    if all(allowance == _mm(0.0) for allowance in table["allowances"].values()):
        table["allowances"] = {}
    if isinstance(table["drawing"], dict):  # no {size} in a value by size
        listed = table["drawing"][BY_SIZE]
        listed |= {size: name.replace(SIZE, size) for size, name in listed.items()}
    return {
        key: value
        for key, value in table.items()
        if value != usual.get(key, None) and value not in ([], {})
    }


def _rules_text(imported: Imported) -> str:
    """The rules as a file of their own; the sample size does not move."""
    lines = [
        f"# Grade rules: size = [dx, dy] from size {imported.size}, x right and y up as drawn.",
        'units = "mm"',
    ]
    for rule, moves in imported.rules.items():
        lines += ["", f"[rules.{quoted(_rule(rule))}]"]
        lines += [
            f"{quoted(size)} = {inline([round(axis, 4) + 0.0 for axis in move])}"
            for size, move in moves.items()
            if size != imported.size
        ]
    return "\n".join(lines) + "\n"


def _rule(number: int) -> str:
    return f"rule {number}"


def _mm(length: float) -> str:
    return f"{length:.4f}".rstrip("0").rstrip(".") + " mm"
