"""The CP-SAT model of exact placement: a relaxation, never longer than the true optimum.

Positions are rounded down to a grid. The free space around the inner no-fit polygon of each two
oriented shapes is covered by convex slices. Each two items keep their difference of positions in
one of them (no-fit polygon covering models: Alvarez-Valdes, Martinez & Tamarit 2013; Cherri et
al. 2016). No-fit polygons are eroded by what the rounding may move, so that every arrangement of
the problem, rounded, is one of the model.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from math import ceil, floor, gcd, sqrt
from threading import Lock
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
from shapely.affinity import scale
from shapely.geometry import MultiPolygon

from marker.geometry.arrays import FloatArray
from marker.geometry.free_space import Window, free_slices, inner_no_fit, simplify_inward
from marker.placement.exact.symmetry import Reflection, kinds, orbit, reflections
from marker.placement.problem.statement import (
    Obstacle,
    Orientation,
    PlacementProblem,
    Position,
    spans,
)

if TYPE_CHECKING:
    from ortools.sat.python import cp_model

NORMAL_SIZE = 20_000
"""Normals of slices are rounded to integers of about this size: 0.05 mm over a metre."""

_HAIR_MM = 1e-3
"""Slices and the strip's width are widened by this, so that no rounding of floats counts."""


@dataclass(frozen=True)
class Covering:
    """What one model holds.

    items : the items in it, largest first; to leave some out only lowers the optimum.
    unit : grid of the positions, mm. tolerance : of the inner no-fit polygons, mm.
    shortest, longest : the strip lengths asked about, mm. minimal : whether the shortest of these
    is wanted; else any arrangement that fits the longest will do.
    """

    items: tuple[int, ...]
    unit: float
    tolerance: float
    shortest: float
    longest: float
    minimal: bool = True

    def units(self, length: float) -> int:
        """A length in whole units, rounded down."""
        return floor(length / self.unit + 1e-9)


@dataclass
class InnerPolygons:
    """Inner no-fit polygons of a problem's shapes that keep a gap, mm, each made once, whichever
    thread asks first."""

    problem: PlacementProblem
    gap: float
    exact: dict[tuple[int, int, float], MultiPolygon] = field(default_factory=dict)
    simple: dict[tuple[int, int, float, float], MultiPolygon] = field(default_factory=dict)
    lock: Lock = field(default_factory=Lock)

    def of(self, a: int, b: int, unit: float, tolerance: float) -> MultiPolygon:
        """Where b's position less a's means overlap whichever way both were rounded."""
        if a > b:
            return scale(self.of(b, a, unit, tolerance), -1.0, -1.0, origin=(0, 0))
        key = (a, b, unit, tolerance)
        with self.lock:
            if key not in self.simple:
                if key[:3] not in self.exact:
                    shapes = self.problem.shapes
                    erosion = unit * sqrt(2) - self.gap
                    self.exact[key[:3]] = inner_no_fit(shapes[a], shapes[b], erosion)
                self.simple[key] = simplify_inward(self.exact[key[:3]], tolerance)
        return self.simple[key]


@dataclass(frozen=True)
class Model:
    """The CP-SAT model and its variables, one entry an item of the covering, in its order.

    length, x, y : units. chosen : a literal for each orientation.
    """

    covering: Covering
    cp: cp_model.CpModel
    length: cp_model.IntVar
    x: list[cp_model.IntVar]
    y: list[cp_model.IntVar]
    chosen: list[list[cp_model.IntVar]]


def build(problem: PlacementProblem, covering: Covering, inner: InnerPolygons) -> Model:
    """Variables, constraints, objective; the optimum is at most the true one's whole units."""
    model = _variables(problem, covering)
    _inside_strip(problem, model)
    _one_direction_a_group(problem, model)
    _on_repeats(problem, model)
    entries = [_item_entry(problem, model, k) for k in range(len(covering.items))]
    for k, first in enumerate(entries):
        for second in entries[k + 1 :]:
            _apart(problem, model, inner, first, second)
        for obstacle in problem.obstacles:
            if obstacle.x < covering.longest:
                _apart(problem, model, inner, first, _obstacle_entry(model, obstacle))
    _order_equals(problem, model)
    _break_reflections(problem, model)
    if covering.minimal:
        model.cp.minimize(model.length)
    return model


def hint(model: Model, positions: Sequence[Position]) -> None:
    """Start from these positions, one for each item of the problem."""
    for x, y, chosen, item in zip(
        model.x, model.y, model.chosen, model.covering.items, strict=True
    ):
        model.cp.add_hint(x, model.covering.units(positions[item].x))
        model.cp.add_hint(y, model.covering.units(positions[item].y))
        for orientation, literal in enumerate(chosen):
            model.cp.add_hint(literal, orientation == positions[item].orientation)


def _variables(problem: PlacementProblem, covering: Covering) -> Model:
    from ortools.sat.python import cp_model

    cp = cp_model.CpModel()
    high = covering.units(covering.longest)
    low = covering.units(covering.shortest) if covering.minimal else high
    length = cp.new_int_var(low, high, "length")
    xs, ys, chosen = [], [], []
    for item in covering.items:
        orientations = problem.items[item].orientations
        across = min(problem.extent(each.shape)[1] for each in orientations)
        xs.append(cp.new_int_var(0, high, f"x{item}"))
        ys.append(cp.new_int_var(0, _last_position(problem.width, covering, across), f"y{item}"))
        chosen.append([cp.new_bool_var(f"way{item}.{k}") for k in range(len(orientations))])
        cp.add_exactly_one(chosen[-1])
    return Model(covering, cp, length, xs, ys, chosen)


def _last_position(high: float, covering: Covering, across: float) -> int:
    """The last position for an item of this extent that ends at `high`, units."""
    return max(0, covering.units(high - across + _HAIR_MM))


def _orientations(
    problem: PlacementProblem, model: Model, k: int
) -> list[tuple[Orientation, cp_model.IntVar]]:
    item = problem.items[model.covering.items[k]]
    return list(zip(item.orientations, model.chosen[k], strict=True))


def _inside_strip(problem: PlacementProblem, model: Model) -> None:
    units = model.covering.units
    for k, (x, y) in enumerate(zip(model.x, model.y, strict=True)):
        for orientation, literal in _orientations(problem, model, k):
            along, across = problem.extent(orientation.shape)
            model.cp.add(x + units(along) <= model.length).only_enforce_if(literal)
            low, high = orientation.lane
            last = _last_position(min(high, problem.width), model.covering, across)
            model.cp.add(y <= last).only_enforce_if(literal)
            if low > 0.0:
                model.cp.add(y >= units(low)).only_enforce_if(literal)


def _one_direction_a_group(problem: PlacementProblem, model: Model) -> None:
    back: dict[int, cp_model.IntVar] = {}
    for k, item in enumerate(model.covering.items):
        group = problem.items[item].group
        if group < 0:
            continue
        if group not in back:
            back[group] = model.cp.new_bool_var(f"back{group}")
        for orientation, literal in _orientations(problem, model, k):
            turned = back[group] if orientation.direction else ~back[group]
            model.cp.add_implication(literal, turned)


def _on_repeats(problem: PlacementProblem, model: Model) -> None:
    """Coordinates tied to a repeat take its positions, rounded down as all are."""
    from ortools.sat.python import cp_model

    unit, longest = model.covering.unit, model.covering.longest
    for k, item in enumerate(model.covering.items):
        for orientation, literal in _orientations(problem, model, k):
            both = spans(problem, problem.items[item], orientation, longest)
            for span, variable in zip(both, (model.x[k], model.y[k]), strict=True):
                if span.step > 0.0:
                    count = round((span.high - span.low) / span.step) + 1
                    every = span.low + span.step * np.arange(count)
                    places = np.floor(every / unit + 1e-9).astype(np.int64).tolist()
                    model.cp.add_linear_expression_in_domain(
                        variable, cp_model.Domain.from_values(places)
                    ).only_enforce_if(literal)


class _Entry(NamedTuple):
    """An item or an obstacle. x, y : units. shapes : those of its orientations, each with the
    literal that chooses it, if there is a choice."""

    x: cp_model.IntVar
    y: cp_model.IntVar
    shapes: tuple[tuple[int, cp_model.IntVar | None], ...]
    fixed: Obstacle | None


def _item_entry(problem: PlacementProblem, model: Model, k: int) -> _Entry:
    shapes = tuple((each.shape, literal) for each, literal in _orientations(problem, model, k))
    return _Entry(model.x[k], model.y[k], shapes, None)


def _obstacle_entry(model: Model, obstacle: Obstacle) -> _Entry:
    """The obstacle with its position rounded down, as if it were an item."""
    x, y = model.covering.units(obstacle.x), model.covering.units(obstacle.y)
    shapes = ((obstacle.shape, None),)
    return _Entry(model.cp.new_constant(x), model.cp.new_constant(y), shapes, obstacle)


def _apart(
    problem: PlacementProblem, model: Model, inner: InnerPolygons, first: _Entry, second: _Entry
) -> None:
    """Two entries keep apart: one slice holds, however they lie."""
    covering, cp = model.covering, model.cp
    dx, dy = second.x - first.x, second.y - first.y
    slices = []
    for a, choose_a in first.shapes:
        for b, choose_b in second.shapes:
            window = _window(problem, covering, a, b, second.fixed)
            polygons = inner.of(a, b, covering.unit, covering.tolerance)
            for convex in free_slices(polygons, window, covering.tolerance):
                chosen = cp.new_bool_var("")
                for orientation in (choose_a, choose_b):
                    if orientation is not None:
                        cp.add_implication(chosen, orientation)
                for nx, ny, offset in half_planes(convex, window, covering.unit):
                    cp.add(nx * dx + ny * dy >= offset).only_enforce_if(chosen)
                slices.append(chosen)
    cp.add_bool_or(slices)


def _window(
    problem: PlacementProblem, covering: Covering, a: int, b: int, fixed: Obstacle | None
) -> Window:
    """Every difference of positions that the strip allows two shapes, and a unit more; b may be
    an obstacle."""
    spare = covering.unit + _HAIR_MM
    high_a = _highest(problem, covering, a)
    low_b, high_b = (0.0, 0.0), _highest(problem, covering, b)
    if fixed is not None:
        low_b = high_b = (fixed.x, fixed.y)
    return (
        low_b[0] - high_a[0] - spare,
        low_b[1] - high_a[1] - spare,
        high_b[0] + spare,
        high_b[1] + spare,
    )


def _highest(problem: PlacementProblem, covering: Covering, shape: int) -> tuple[float, float]:
    along, across = problem.extent(shape)
    return max(0.0, covering.longest - along), max(0.0, problem.width - across)


def half_planes(convex: FloatArray, window: Window, unit: float) -> list[tuple[int, int, int]]:
    """nx, ny, c with nx·X + ny·Y >= c for every grid point (X, Y), in units, of a convex polygon.

    convex : (k, 2) mm, counter-clockwise. Edges on the window's frame need no half-plane. The
    rounding of normals only ever adds points.
    """
    found = []
    for a, b in zip(convex, np.roll(convex, -1, axis=0), strict=True):
        size = float(np.hypot(*(b - a)))
        framed = (np.abs(np.stack([a, b]) - np.reshape(window, (2, 1, 2))) < 1e-6).all(axis=1)
        if size < _HAIR_MM or framed.any():
            continue
        normal = np.array([a[1] - b[1], b[0] - a[0]]) / np.abs(b - a).max()
        nx, ny = (int(part) for part in np.rint(normal * NORMAL_SIZE))
        divisor = gcd(nx, ny)
        nx, ny = nx // divisor, ny // divisor
        least = float((convex @ np.array([nx, ny])).min()) - _HAIR_MM * (abs(nx) + abs(ny))
        found.append((nx, ny, ceil(least / unit)))
    return found


def _order_equals(problem: PlacementProblem, model: Model) -> None:
    """Items that are interchangeable lie in their order along the strip."""
    place = {item: k for k, item in enumerate(model.covering.items)}
    for members in kinds(problem, model.covering.items).values():
        for first, second in pairwise(members):
            model.cp.add(model.x[place[first]] <= model.x[place[second]])


def _break_reflections(problem: PlacementProblem, model: Model) -> None:
    """Of an arrangement and its images under the strip's motions only one is kept.

    Either an item without equals keeps half of its orientations, or the sum of positions of all
    items of a kind and its images stays in the strip's first half. Reordering equals does not
    change it. Where the strip has two mirrors, one changes the sum along it alone, the other that
    across. Beside orientations, the sum is kept that is changed by a mirror which leaves them.
    """
    items = model.covering.items
    motions = list(reflections(problem, items))
    if not motions:
        return
    first, *mirrors = motions
    members = orbit(problem, items, items[0], motions)
    for k in range(len(items)):
        left = _halved(problem, model, motions, k)
        if left:
            mirrors = [each for each in mirrors if {each.partner[shape] for shape in left} == left]
            break
    else:
        mirrors = mirrors or [first]
    for mirror in mirrors:
        _keep_in_half(problem, model, mirror.across, members)


def _halved(
    problem: PlacementProblem, model: Model, motions: Sequence[Reflection], k: int
) -> set[int]:
    """Forbid half the orientations of an item that only itself can be the image of; the shapes
    of those that are left, none where that cannot be done."""
    item = model.covering.items[k]
    orientations = [orientation.shape for orientation in problem.items[item].orientations]
    images = [motions[0].partner[shape] for shape in orientations]
    if (
        set(images) != set(orientations)
        or any(image == shape for image, shape in zip(images, orientations, strict=True))
        or len(orbit(problem, model.covering.items, item, motions)) > 1
    ):
        return set()
    for shape, image, literal in zip(orientations, images, model.chosen[k], strict=True):
        if shape > image:
            model.cp.add(literal == 0)
    return {shape for shape, image in zip(orientations, images, strict=True) if shape < image}


def _keep_in_half(
    problem: PlacementProblem, model: Model, across: bool, members: Sequence[int]
) -> None:
    units, axis = model.covering.units, int(across)
    twice: list[cp_model.LinearExprT] = []
    for k, item in enumerate(model.covering.items):
        if item in members:
            twice.append(2 * (model.y[k] if across else model.x[k]))
            for orientation, literal in _orientations(problem, model, k):
                twice.append(units(problem.extent(orientation.shape)[axis]) * literal)
    if across:
        model.cp.add(sum(twice) <= units(len(members) * (problem.width + _HAIR_MM)))
    else:
        model.cp.add(sum(twice) <= len(members) * (model.length + 1))
