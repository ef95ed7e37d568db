"""Pieces derived from pieces: linings, interfacings and facings follow them in every size."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

import numpy as np
import shapely
from shapely.geometry.polygon import orient

from marker.errors import CannotBeDone, Part
from marker.geometry.arrays import BoolArray, FloatArray
from marker.geometry.outline import nearest_along, polyline_length, stretch_points
from marker.geometry.polygons import reflect
from marker.pattern.allowances import Ring, cut_ring, stitching_ring
from marker.pattern.edge import Edge, Notch, Stretch
from marker.pattern.piece import INNER, Line, Piece, Recipe
from marker.pattern.stitching import edge_line, notch_point
from marker.tolerances import SAME_POINT_MM
from marker.units import cut_length

_ROUND = 32  # chords of a quarter circle about the end of an edge


@dataclass(frozen=True)
class _Shape:
    """An outline with its named stretches and its fold, the way a Piece has them."""

    outline: FloatArray
    edges: Mapping[str, Stretch]
    fold: Stretch | None


def derived(base: Piece, recipe: Recipe) -> Piece:
    """The piece that a recipe makes of another one.

    It has the base's grain and what is left of its fold, edges and notches. Where all of the
    stitching line is taken, it has what is taken in along it, too.
    Raises CannotBeDone, naming it, where nothing is left, or it comes in several parts.
    """
    shape = _trimmed(_taken(base, recipe), recipe)
    if recipe.near:
        shape = _near(base, shape, recipe)
    drawn = Piece(
        name=recipe.name,
        cloth=recipe.cloth,
        outline=shape.outline,
        cut=base.cut if recipe.cut is None else recipe.cut,
        pair=base.pair if recipe.pair is None else recipe.pair,
        fold=shape.fold,
        grain_deg=base.grain_deg,
        turns=base.turns if recipe.turns is None else recipe.turns,
        grain_tolerance_deg=base.grain_tolerance_deg,
        line=Line.CUT if recipe.from_cut_line else Line.STITCHING,
        allowance_mm=recipe.allowance_mm,
        edges={name: _own_edge(name, each, recipe) for name, each in shape.edges.items()},
        drawn_clockwise=base.drawn_clockwise,
        cutouts=base.cutouts,
        recipe=recipe,
        top_assumed=base.top_assumed,
    )
    whole = not (recipe.near or recipe.from_cut_line)
    return replace(
        drawn,
        notches=tuple(_notches(base, drawn, recipe)),
        fullness=base.fullness if whole else (),
    )


def shortened(piece: Piece, edge: str, by_mm: float) -> Piece:
    """The piece with one edge moved in by so much, parallel to where it was.

    Raises CannotBeDone where nothing is left.
    """
    whole = _cleaned(piece, Ring.drawn(piece.outline))
    shape = _trimmed(whole, Recipe(piece.name, piece.cloth, piece.name, trims_mm={edge: by_mm}))
    edges = {
        name: replace(each, start=shape.edges[name].start, end=shape.edges[name].end)
        for name, each in piece.edges.items()
    }
    changed = replace(
        piece,
        outline=shape.outline,
        edges=edges,
        fold=shape.fold,
        notches=(),
        shortened_mm={**piece.shortened_mm, edge: by_mm},
    )
    kept = (
        (notch, *nearest_along(edge_line(changed, notch.edge), notch_point(piece, notch)))
        for notch in piece.notches
    )
    notches = (
        replace(notch, at_mm=at)
        for notch, at, off in kept
        if off < SAME_POINT_MM or notch.edge == edge
    )
    return replace(changed, notches=tuple(notches))


def rederived(pieces: Iterable[Piece]) -> tuple[Piece, ...]:
    """The pieces, those that are derived made anew of what they are derived from."""
    found: dict[str, Piece] = {}
    for piece in pieces:
        found[piece.name] = derived(found[piece.recipe.of], piece.recipe) if piece.recipe else piece
    return tuple(found.values())


def _own_edge(name: str, stretch: Stretch, recipe: Recipe) -> Edge:
    own = recipe.edges.get(name, Edge(0, 0))
    return replace(own, start=stretch.start, end=stretch.end)


def _taken(base: Piece, recipe: Recipe) -> _Shape:
    ring = cut_ring(base) if recipe.from_cut_line else stitching_ring(base)
    return _cleaned(base, ring)


def _cleaned(piece: Piece, ring: Ring) -> _Shape:
    """A moved outline without the points that repeat."""
    points = ring.points
    steps = np.hypot(*(np.roll(points, 1, axis=0) - points).T)
    kept = steps > SAME_POINT_MM
    number = (np.cumsum(kept) - 1) % kept.sum()

    def moved(stretch: Stretch) -> Stretch:
        ends = ring.ends(stretch)
        return Stretch(int(number[ends.start]), int(number[ends.end]))

    edges = {name: moved(edge) for name, edge in piece.edges.items()}
    return _Shape(points[kept], edges, moved(piece.fold) if piece.fold else None)


def _trimmed(shape: _Shape, recipe: Recipe) -> _Shape:
    """Each edge so far inside where it was; the fold stays."""
    if not recipe.trim_mm and not any(recipe.trims_mm.values()):
        return shape
    edges = {
        name: Edge(each.start, each.end, allowance_mm=recipe.trims_mm.get(name))
        for name, each in shape.edges.items()
    }
    drawn = Piece(
        recipe.name, recipe.cloth, shape.outline, fold=shape.fold, edges=edges,
        allowance_mm=recipe.trim_mm,
    )  # fmt: skip
    return _cleaned(drawn, stitching_ring(drawn))


def _near(base: Piece, shape: _Shape, recipe: Recipe) -> _Shape:
    """The part of a shape within a distance of some of its edges."""
    lines = [_line(shape, shape.edges[name]) for name in recipe.near]
    fold = None if shape.fold is None else shape.outline[[shape.fold.start, shape.fold.end]]
    if fold is not None:  # both halves, so that the part reaches the fold square
        lines += [reflect(line, fold) for line in lines]
    around = shapely.union_all(
        [shapely.LineString(line).buffer(recipe.within_mm, quad_segs=_ROUND) for line in lines]
    )
    part = shapely.Polygon(shape.outline).intersection(around)
    if not isinstance(part, shapely.Polygon) or part.interiors or part.is_empty:
        raise CannotBeDone(
            f"piece {recipe.name!r}: what lies within {cut_length(recipe.within_mm)} of "
            f"{' and '.join(recipe.near)} of {base.name!r} is not one part without holes. Make it "
            f"wider or narrower, or name edges that follow one another.",
            [(Part.PIECE, recipe.name)],
        )
    outline = shapely.get_coordinates(orient(part).exterior)[:-1]
    edges = {
        name: run
        for name, each in shape.edges.items()
        if (run := _run(outline, _on(outline, _line(shape, each)))) is not None
    }
    own = _on(outline, np.vstack([shape.outline, shape.outline[:1]]))
    inner = _run(outline, ~own)
    if inner is not None:
        edges[INNER] = inner
    on_fold = None if shape.fold is None else _run(outline, _on(outline, _line(shape, shape.fold)))
    return _Shape(outline, edges, on_fold)


def _line(shape: _Shape, stretch: Stretch) -> FloatArray:
    return stretch_points(shape.outline, stretch.start, stretch.end)


def _on(outline: FloatArray, line: FloatArray) -> BoolArray:
    """Which edges of an outline, each by the vertex where it begins, lie on a line."""
    ahead = np.roll(outline, -1, axis=0)
    along = shapely.LineString(line)
    places = (outline, (outline + ahead) / 2, ahead)
    near = [shapely.distance(along, shapely.points(points)) < SAME_POINT_MM for points in places]
    return np.asarray(near[0] & near[1] & near[2])


def _run(outline: FloatArray, there: BoolArray) -> Stretch | None:
    """The longest stretch of neighbouring edges that are there; None for none."""
    count = len(outline)
    if not there.any():
        return None
    if there.all():
        return Stretch(0, 0)
    starts = np.flatnonzero(there & ~np.roll(there, 1))
    best, longest = Stretch(0, 0), 0.0
    for start in map(int, starts):
        end = start
        while there[end % count]:
            end += 1
        length = polyline_length(stretch_points(outline, start, end % count))
        if length > longest:
            best, longest = Stretch(start, end % count), length
    return best


def _notches(base: Piece, drawn: Piece, recipe: Recipe) -> Iterable[Notch]:
    """Those of the base whose place on their edge is there, square in from where they stood."""
    slack = max(recipe.trim_mm, *recipe.trims_mm.values(), 0.0) + SAME_POINT_MM
    for notch in base.notches:
        if notch.edge in drawn.edges:
            line = edge_line(drawn, notch.edge)
            at, off = nearest_along(line, notch_point(base, notch))
            if off <= slack or recipe.from_cut_line:
                yield replace(notch, at_mm=at)
