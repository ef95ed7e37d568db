"""A job file, and its drawing, for pieces that were drawn elsewhere."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from dataclasses import replace

from marker.files.faults import Unusable
from marker.files.importing import Imported
from marker.files.laid_flat import sheet
from marker.files.sewn_edges import SewnPiece
from marker.files.svg_writing import piece_ids, stitching_id, svg_text
from marker.pattern.flat_piece import FlatPiece
from marker.pattern.piece import Line

DRAWING = "pattern.svg"
_HEAD = """\
# Imported: {sources}.
# Edges are named by number, from corner to corner around each piece: rename them as you like.
# DEVELOPERS.md says what else a job can hold: seams, hems, openings, strips.
name = {name}
size = {size}

[order]
{size} = 1
"""
_CLOTH = """
[cloth.{name}]
width = "150 cm"          # not in the drawing: measure the cloth from edge to edge
selvage = "1 cm"          # lost along each edge
"""


def job_texts(imported: Imported, sources: Sequence[str]) -> tuple[str, str, list[str]]:
    """(job.toml, pattern.svg, what had to be left out); `sources` are named in the job's head.

    Raises Unusable when no piece is left.
    """
    kept: list[FlatPiece] = []
    sewn: list[SewnPiece] = []
    left_out: list[str] = []
    for flat in imported.pieces:
        try:
            piece = SewnPiece(flat, imported.no_grain_deg)
        except Unusable as fault:
            left_out.append(f"piece '{flat.name}': {fault.problem}")
            continue
        if not piece.stitching_kept:
            left_out.append(
                f"stitching line of '{flat.name}': it keeps no constant distance along each edge; "
                "give `allowance` by hand"
            )
        sewn.append(piece)
        kept.append(_as_drawn(flat, piece))
    if not kept:
        raise Unusable("no piece in it can be cut", "; ".join(left_out) or "Draw closed outlines")
    title, size = imported.title, imported.size
    drawing = sheet(title, size, kept)
    ids = piece_ids(drawing.pieces)
    cloths = list(dict.fromkeys(piece.cloth for piece in kept))
    named = "".join(c for c in ", ".join(sources) if c.isprintable())
    text = _HEAD.format(sources=named, name=_quoted(title), size=_quoted(size))
    text += "".join(_CLOTH.format(name=_quoted(cloth)) for cloth in cloths)
    for own_id, flat, each in zip(ids, kept, sewn, strict=True):
        if each.piece.line is Line.STITCHING and len(flat.stitching):
            own_id = stitching_id(own_id)
        text += "\n" + "\n".join(_piece_lines(each, own_id, several=len(cloths) > 1)) + "\n"
    return text, svg_text(drawing), left_out


def _as_drawn(flat: FlatPiece, sewn: SewnPiece) -> FlatPiece:
    """The piece with the points that the job counts its corners by."""
    if sewn.piece.line is flat.line:
        return replace(flat, outline=sewn.drawn.points)
    return replace(flat, stitching=sewn.drawn.points)


def _piece_lines(sewn: SewnPiece, own_id: str, several: bool) -> Iterator[str]:
    piece = sewn.piece
    yield "[[piece]]"
    yield f"name = {_quoted(piece.name)}"
    if several:
        yield f"cloth = {_quoted(piece.cloth)}"
    yield f"drawing = {_quoted(f'{DRAWING}#{own_id}')}"
    if piece.line is not Line.CUT:
        yield f"line = {_quoted(piece.line)}"
    if piece.cut > 1:
        yield f"cut = {piece.cut}"
    if piece.pair:
        yield "pair = true"
    if sewn.fold:
        yield f"fold = {list(sewn.fold)}"
    yield f"grain = {piece.grain_deg:.10g}"
    if piece.turns != (0.0, 180.0):
        yield f"turns = [{', '.join(f'{turn:.10g}' for turn in piece.turns)}]"
    if piece.grain_tolerance_deg:
        yield f"grain_tolerance = {piece.grain_tolerance_deg:.10g}"
    yield _table("edges", {name: str(list(pair)) for name, pair in sewn.corners.items()})
    widths = {name: edge.allowance_mm or 0.0 for name, edge in piece.edges.items()}
    if any(widths.values()):
        yield _table("allowances", {name: _mm(width) for name, width in widths.items()})
    shapes = {name: edge.corner for name, edge in piece.edges.items() if edge.corner}
    if shapes:
        yield _table("corners", {name: _quoted(corner) for name, corner in shapes.items()})
    if piece.notches:
        yield "notches = ["
        for notch in piece.notches:
            yield f"    {{ edge = {_quoted(notch.edge)}, at = {_mm(notch.at_mm)} }},"
        yield "]"


def _table(key: str, values: dict[str, str]) -> str:
    inside = ", ".join(f"{_quoted(name)} = {value}" for name, value in values.items())
    return f"{key} = {{ {inside} }}"


def _mm(length: float) -> str:
    return _quoted(f"{length:.4f}".rstrip("0").rstrip(".") + " mm")


def _quoted(text: str) -> str:
    """A TOML basic string; JSON's escapes are among TOML's."""
    return json.dumps(text, ensure_ascii=False)
