"""From the lines of a drawing to pieces: which line belongs to which, and what is left over."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely

from marker.exchange.dxf.grading import is_grade_point, with_grade_points
from marker.exchange.flat_piece import FlatPiece
from marker.exchange.marks import (
    GIVEN,
    NOTCH_WITHIN_MM,
    Give,
    notch_marks,
    with_cutout,
    with_mark,
    with_stitching,
)
from marker.exchange.piece_text import read_lines, sounds_like_a_name, with_texts
from marker.exchange.rings import closed_lines, sort_out
from marker.exchange.strokes import Layer, Stroke, Strokes, Text
from marker.files.budget import Most
from marker.files.faults import Unusable
from marker.geometry.arrays import FloatArray
from marker.pattern.inner_marks import MarkKind
from marker.pattern.piece import Line

_LEADER_WITHIN_MM, _IN_LINE_MM = 40.0, 0.01


def pieces_in(found: Strokes, join_mm: float, *, told: bool) -> list[FlatPiece]:
    """The pieces that the lines make, as the drawing orders them; what is left over is noted in
    `found`, and the squares that check its scale are put there.

    Where any line lies on a layer for cut or stitching lines, only lines on named layers count.
    Otherwise each closed line that lies in no other is a piece, unless it is a frame.
    told : the scale has been told. Raises Unusable where outlines are open by more than `join_mm`.
    """
    layered = any(line.layer in (Layer.CUT, Layer.STITCHING) for line in found.lines)
    rings = closed_lines(found, Layer.CUT if layered else None, join_mm)
    if layered:
        _find_squares(found, join_mm, told)
    outlines = sort_out(found, rings, loose=not layered, told=told)
    pieces = []
    for ring, inside in zip(outlines.outer, outlines.within, strict=True):
        holes = [hole for hole in inside if layered or (ring.shape and hole.shape == ring.shape)]
        pieces.append(
            FlatPiece(ring.name, ring.points, ring.size, cutouts=tuple(h.points for h in holes))
        )
        found.note(
            "closed lines inside a piece, on no layer that says what they are",
            len(inside) - len(holes),
        )
    found.note("closed lines inside a cut-out or another line", len(outlines.deeper))
    _place(found, closed_lines(found, Layer.CUTOUT, join_mm), pieces, "cut-outs", with_cutout)
    sewn = sort_out(found, closed_lines(found, Layer.STITCHING, join_mm), loose=False, told=told)
    inner = [line for lines in sewn.within for line in lines] + sewn.deeper
    _place(found, sewn.outer, pieces, "stitching lines", with_stitching, alone=pieces)
    _place(found, inner, pieces, "stitching lines", with_stitching)
    for layer, what, give in GIVEN:
        lines = [line for line in found.lines if line.layer is layer]
        lines = notch_marks(lines) if layer is Layer.NOTCHES else lines
        _place(found, lines, pieces, what, give)
    words = [Stroke(t.at[None], False, t.layer, t.text, t.size) for t in found.texts]
    written = [word for word in words if word.layer is Layer.INNER_TEXT]
    _place(found, written, pieces, "inner texts", with_mark(MarkKind.TEXT))
    if layered:
        others = sum(line.layer is None for line in found.lines)
        found.note("lines on other layers", others)
    return with_grade_points(found, _with_texts(found, pieces))


def _find_squares(found: Strokes, join_mm: float, told: bool) -> None:
    """Of a drawing with layers, the squares that lie on others."""
    apart = Strokes(lines=list(found.lines), texts=found.texts)
    try:
        rings = closed_lines(apart, None, join_mm)
    except Unusable:
        return  # what is open there is no outline
    sort_out(apart, rings, loose=False, told=told)
    marked = [square for square in apart.squares if square.marked]
    if marked:
        found.squares += marked
        found.texts = apart.texts


def _place(
    found: Strokes,
    lines: Sequence[Stroke],
    pieces: list[FlatPiece],
    what: str,
    give: Give,
    alone: list[FlatPiece] | None = None,
) -> None:
    """Give each line to the piece that it lies in, or else to the nearest within reach; a line of
    no size to one piece of each size.

    alone : where a closed line that lies in no piece becomes one itself.
    """
    most = Most.MARKS
    if len(lines) > most.most:
        raise Unusable(f"it has {len(lines)} {what}, more than {most.most}", most.remedy)
    regions = [shapely.Polygon(piece.outline) for piece in pieces]
    tree = shapely.STRtree(regions)
    for line in lines:
        found.budget.keep_time()
        shape = _shape(line)
        near = tree.query(shape, predicate="dwithin", distance=NOTCH_WITHIN_MM)
        order = [int(k) for k in near if line.size in ("", pieces[k].size)]
        if len(order) > 1:
            order.sort(key=lambda k: (_outside(shape, regions[k]), regions[k].area))
        given: set[str] = set()
        for k in order:
            if pieces[k].size in given:
                continue
            changed = give(pieces[k], line)
            if changed is not None:
                pieces[k] = changed
                given.add(pieces[k].size)
        if not given and alone is not None and not order:
            alone.append(FlatPiece(line.name, line.points, line.size, line=Line.STITCHING))
        elif not given:
            found.note(f"{what} that belong to no piece, or to one that has its own")


def _shape(line: Stroke) -> shapely.Geometry:
    if len(line.points) == 1:
        return shapely.Point(line.points[0])
    if line.closed and len(line.points) > 2:
        return shapely.Polygon(line.points)
    return shapely.LineString(line.points)


def _outside(shape: shapely.Geometry, region: shapely.Polygon) -> float:
    """How much of a line, or how far a point, lies outside a region."""
    outside = shapely.difference(shape, region)
    return float(outside.length) + float(shapely.distance(shape, region))


def _with_texts(found: Strokes, pieces: Sequence[FlatPiece]) -> list[FlatPiece]:
    """What is written on each piece; all texts are its where there is one piece only."""
    texts: list[list[str]] = [[] for _ in pieces]
    regions = [shapely.Polygon(piece.outline) for piece in pieces]
    leaders = [line.points for line in found.lines if line.layer is Layer.LABELS]
    for text in found.texts:
        if is_grade_point(text) or text.layer is Layer.INNER_TEXT:
            continue
        owners = _owners(text, _spoken_of(text, leaders), pieces, regions)
        for k in owners:
            texts[k].append(text.text)
        found.note("texts outside every piece", int(not owners))
    told = []
    for piece, lines in zip(pieces, texts, strict=True):
        written = read_lines(lines)
        named = replace(piece, name=piece.name or found.name)
        name = _name_among(written.others)
        if not named.name and name:
            written.others.remove(name)
            named = replace(named, name=name)
        named, unread = with_texts(named, written)
        if written.others:
            named = replace(named, note="; ".join(written.others))
        for line in unread:
            found.note(f"the text '{line[:60]}', which can't be right")
        told.append(named)
    return told


def _name_among(texts: Sequence[str]) -> str:
    """What a piece is called by what is written on it; "" where there is nothing.

    For want of a better name a word or letter alone, but never a number, as of a page.
    """
    better = filter(sounds_like_a_name, texts)
    return next(better, "") or next(filter(str.isalpha, texts), "")


def _owners(
    text: Text, at: FloatArray, pieces: Sequence[FlatPiece], regions: Sequence[shapely.Polygon]
) -> list[int]:
    """The piece of each size that a text stands on, the smallest where it stands on several."""
    if len(pieces) == 1:
        return [0]
    point = shapely.Point(at)
    best: dict[str, int] = {}
    for k, (piece, region) in enumerate(zip(pieces, regions, strict=True)):
        if text.size in ("", piece.size) and region.contains(point):
            own = best.setdefault(piece.size, k)
            if region.area < regions[own].area:
                best[piece.size] = k
    return list(best.values())


def _spoken_of(text: Text, leaders: Sequence[FloatArray]) -> FloatArray:
    """What a text speaks of: where it stands, or where the leader ends that begins in the middle
    above or below it."""
    for leader in leaders:
        across, up = np.abs(leader[0] - text.at)
        if across <= _IN_LINE_MM and up <= _LEADER_WITHIN_MM:
            return np.asarray(leader[-1])
    return text.at
