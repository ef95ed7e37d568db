"""Placement problems for tests, and a way to lay them that shares no code with the search."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np
from shapely import affinity
from shapely.geometry import Polygon

from marker.cloth.fabric import Cloth
from marker.cloth.spread import Spreading
from marker.geometry.arrays import FloatArray
from marker.placement.problem.cuts import Cut, Label
from marker.placement.problem.prepare import stretches
from marker.placement.problem.statement import (
    Arrangement,
    Item,
    Orientation,
    PlacementProblem,
    Position,
)
from marker.placement.problem.table import one_ply_table
from marker.tolerances import PLAY_MM
from tests.helpers import laid_outline

WIDTH_MM = 1500.0


def problem(
    outlines: Sequence[FloatArray],
    width: float,
    turns: Sequence[float] = (0.0,),
    group: int = -1,
) -> PlacementProblem:
    """One item an outline, each in all turns; a turn of 180° or more is turned back."""
    shapes: list[FloatArray] = []
    items = []
    for outline in outlines:
        orientations = []
        for turn in turns:
            solid = laid_outline(outline, turn, False)
            solid = solid - solid.min(axis=0)
            same = (
                k
                for k, other in enumerate(shapes)
                if other.shape == solid.shape and np.allclose(other, solid)
            )
            shape = next(same, len(shapes))
            if shape == len(shapes):
                shapes.append(solid)
            orientations.append(Orientation(shape, turn, False, int(turn >= 180), (0.0, 0.0)))
        items.append(Item(tuple(orientations), group))
    area = sum(Polygon(outline).area for outline in outlines)
    return PlacementProblem(tuple(shapes), tuple(items), width, 0.0, area, width)


def on_cloth(items: Sequence[Label], cloth: Cloth) -> PlacementProblem:
    """The problem of laying labelled pieces on a cloth in one ply, clear of its flaws."""
    table = one_ply_table(Spreading.OPEN, cloth, {})
    (stretch,) = stretches([(table, [Cut(label) for label in items])])
    return stretch.problem


def without_cores(given: PlacementProblem) -> PlacementProblem:
    """The problem with nothing for the exact model to go by, so that the search is alone."""
    return replace(given, cores=tuple(np.empty((0, 2)) for _ in given.shapes))


def published(path: Path) -> tuple[PlacementProblem, float]:
    """A published instance in its single direction, scaled to the width of cloth; the scale."""
    stored = json.loads(path.read_text())
    scale = WIDTH_MM / stored["sheet_width"]
    outlines = []
    for piece in stored["pieces"]:
        outline = np.array(piece["polygon"], dtype=float) * scale
        ring = Polygon(outline).exterior
        outlines += [outline if ring.is_ccw else outline[::-1]] * piece["quantity"]
    return problem(outlines, WIDTH_MM), scale


def in_a_row(given: PlacementProblem) -> Arrangement:
    """Each item behind the one before, in its first orientation."""
    ends = np.cumsum([0.0] + [given.extent(item.orientations[0].shape)[0] for item in given.items])
    return tuple(Position(float(start), 0.0, 0) for start in ends[:-1])


def greedy(given: PlacementProblem, rng: np.random.Generator, step: float) -> Arrangement:
    """Items in random order, way and height, each as near the start as whole steps allow."""
    laid: dict[int, tuple[Position, Polygon]] = {}
    for item in rng.permutation(len(given.items)).tolist():
        orientations = given.items[item].orientations
        orientation = int(rng.integers(len(orientations)))
        solid = Polygon(given.shapes[orientations[orientation].shape])
        y = float(rng.choice([0.0, 0.5, 1.0])) * (given.width - solid.bounds[3])
        x = 0.0
        while any(
            affinity.translate(solid, x, y).intersection(other).area > 1e-9
            for _, other in laid.values()
        ):
            x += step
        laid[item] = Position(x, y, orientation), affinity.translate(solid, x, y)
    return tuple(laid[item][0] for item in range(len(given.items)))


def overlap(given: PlacementProblem, arrangement: Arrangement) -> float:
    """The largest area any two items share, or that one has outside the strip, mm²; items up to
    the no-fit polygons' play inside one another count as touching."""
    solids = [
        affinity.translate(
            Polygon(given.shapes[item.orientations[position.orientation].shape]),
            position.x,
            position.y,
        ).buffer(-PLAY_MM / 2, join_style="mitre")
        for item, position in zip(given.items, arrangement, strict=True)
    ]
    strip = Polygon([(0, 0), (1e6, 0), (1e6, given.width), (0, given.width)])
    shared = [a.intersection(b).area for k, a in enumerate(solids) for b in solids[:k]]
    return max(shared + [solid.difference(strip).area for solid in solids])
