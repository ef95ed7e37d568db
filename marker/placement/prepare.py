"""From cut pieces, cloth and garments to a placement problem, and back to a layout."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from types import MappingProxyType

import numpy as np
from shapely.geometry import Polygon

from marker.cloth.fabric import Cloth, Nap
from marker.errors import CannotBeDone
from marker.geometry import polygons
from marker.geometry.arrays import FloatArray
from marker.layout import Placement
from marker.pattern.phases import Hand
from marker.pattern.piece import CutPiece
from marker.placement.obstacles import with_obstacles
from marker.placement.outlines import FIT_MM, Outlines, fitting_tilts, narrowest, oriented
from marker.placement.problem import Arrangement, Item, Orientation, PlacementProblem
from marker.placement.ties import FREE, Tie, why_nowhere
from marker.units import inches, metric, round_up

SIMPLIFY_MM = 0.25
MOST_ITEMS = 2000  # the search keeps a weight for every two of them


@dataclass(frozen=True)
class Label:
    """Which copy of which cut piece an item is."""

    piece: CutPiece
    garment: int
    copy: int
    mirrored: bool

    @property
    def hand(self) -> Hand:
        """The same for all labels that may lie in the same ways."""
        return self.piece.name, self.piece.size, self.mirrored


_Made = dict[Hand, Item]
"""One item of each hand of each piece; without orientations if it fits in none."""


@dataclass
class _Shapes:
    """Distinct oriented outlines met so far, each with its core."""

    outlines: list[FloatArray] = field(default_factory=list)
    cores: list[FloatArray] = field(default_factory=list)
    index: dict[tuple[bytes, bytes], int] = field(default_factory=dict)

    def add(self, outline: FloatArray, core: FloatArray) -> int:
        key = _canonical(outline), _canonical(core)
        if key not in self.index:
            self.index[key] = len(self.outlines)
            self.outlines.append(outline)
            self.cores.append(core)
        return self.index[key]


def labels(cut_pieces: Sequence[CutPiece], garments: Sequence[str]) -> tuple[Label, ...]:
    """Every single outline to be laid, garment by garment.

    Raises CannotBeDone for more than MOST_ITEMS.
    """
    count = len(garments) * sum(piece.copies + piece.mirrored_copies for piece in cut_pieces)
    if count > MOST_ITEMS:
        raise CannotBeDone(
            f"{count} pieces are to be cut from {cut_pieces[0].cloth}, more than the {MOST_ITEMS} "
            f"that can be laid at once. Order fewer garments, or plan them as several jobs."
        )
    return tuple(
        Label(piece, garment, copy, mirrored=copy > piece.copies)
        for garment in range(1, len(garments) + 1)
        for piece in cut_pieces
        for copy in range(1, piece.copies + piece.mirrored_copies + 1)
    )


def placement_problem(
    items: Sequence[Label], cloth: Cloth, tied: Mapping[Hand, Tie] = MappingProxyType({})
) -> PlacementProblem:
    """The problem of laying `items` on `cloth`, clear of its flaws.

    tied : hands that the cloth's pattern ties. Raises CannotBeDone, naming every piece that fits
    the usable width in no allowed turn, or finds no place on the pattern.
    """
    shapes = _Shapes()
    made: _Made = {}
    for label in items:
        if label.hand not in made:
            made[label.hand] = _item(label, cloth, shapes, tied.get(label.hand, FREE))
    _refuse_too_wide(items, made, cloth, tied)
    shared = _shared_directions(items, made, cloth)
    problem = PlacementProblem(
        shapes=tuple(shapes.outlines),
        items=tuple(_of_garment(made[label.hand], label.garment, shared) for label in items),
        width=cloth.usable_width_mm + cloth.gap_mm,
        margin=cloth.gap_mm / 2,
        area=sum(_area(label.piece) for label in items),
        usable_width=cloth.usable_width_mm,
        cores=tuple(shapes.cores),
    )
    return with_obstacles(problem, [flaw.outline for flaw in cloth.flaws], 0.0)


def placements(
    problem: PlacementProblem, items: Sequence[Label], arrangement: Arrangement
) -> tuple[Placement, ...]:
    """The arrangement in the terms of the pattern: each cut outline turned and moved."""
    result = []
    for label, item, position in zip(items, problem.items, arrangement, strict=True):
        way = item.orientations[position.orientation]
        x, y = position.x + way.shift[0], position.y + way.shift[1]
        outline = polygons.turned(label.piece.outline, way.rotation_deg, way.mirrored)
        result.append(
            Placement(
                piece=label.piece.name,
                size=label.piece.size,
                garment=label.garment,
                copy=label.copy,
                rotation_deg=way.rotation_deg,
                mirrored=way.mirrored,
                x_mm=x,
                y_mm=y,
                outline_mm=outline + np.array([x, y]),
            )
        )
    return tuple(result)


def _item(label: Label, cloth: Cloth, shapes: _Shapes, tie: Tie) -> Item:
    """The label's outline in all ways that it may lie and fits the width, of no garment yet."""
    piece, half_gap = label.piece, cloth.gap_mm / 2
    grown = polygons.grow(piece.outline, half_gap)
    outlines = Outlines(piece.outline, polygons.simplify_outward(grown, SIMPLIFY_MM))
    limit = 0.0 if tie.is_tied else piece.grain_tolerance_deg
    core = polygons.shared_by_tilts(piece.outline, limit)
    found: dict[tuple[int, int, tuple[float, float]], Orientation] = {}
    for turn in _turns(piece, cloth.nap, tie):
        upright = polygons.turned(piece.outline, turn, label.mirrored)
        sure = _turned_core(core, turn, label.mirrored)
        direction = int(turn >= 180) if cloth.nap is Nap.ONE_WAY_PER_GARMENT else 0
        for tilt in fitting_tilts(upright, limit, cloth.usable_width_mm):
            rotation = (turn + tilt) % 360
            solid, low = oriented(outlines, rotation, label.mirrored, half_gap)
            shape = shapes.add(solid, sure - low)
            sure = core[:0]  # the first of the tilts stands for all
            shift = (-float(low[0]) - half_gap, -float(low[1]) - half_gap)
            leeway = (-limit - tilt, limit - tilt)
            phase = tie.phase(turn, shift)
            way = Orientation(shape, rotation, label.mirrored, direction, shift, phase, leeway)
            if tie.has_place(phase[1], cloth.usable_width_mm + cloth.gap_mm - solid[:, 1].max()):
                found.setdefault((shape, direction, phase), way)
    return Item(tuple(found.values()), repeat=tie.repeat, outlines=outlines if limit else None)


def _of_garment(item: Item, garment: int, directions: set[int]) -> Item:
    """The item in these directions; of one group with the garment's others if it has a choice."""
    ways = tuple(way for way in item.orientations if way.direction in directions)
    return replace(item, orientations=ways, group=garment if len(directions) > 1 else -1)


def _turned_core(core: FloatArray, turn: float, mirrored: bool) -> FloatArray:
    turned = polygons.turned(core, turn, mirrored)
    return turned[::-1] if mirrored else turned


def _turns(piece: CutPiece, nap: Nap, tie: Tie) -> tuple[float, ...]:
    """The allowed turns that the nap allows: one way, those that do not point back, [0, 180)."""
    allowed = tuple(tie.origins) if tie.is_tied else piece.turns
    return tuple(turn for turn in allowed if nap is not Nap.ONE_WAY or turn < 180)


def _refuse_too_wide(
    items: Sequence[Label], made: _Made, cloth: Cloth, tied: Mapping[Hand, Tie]
) -> None:
    too_wide = {label.piece.name: label for label in items if not made[label.hand].orientations}
    if not too_wide:
        return
    raise CannotBeDone(
        " ".join(_why_not(label, cloth, tied.get(label.hand, FREE)) for label in too_wide.values())
    )


def _why_not(label: Label, cloth: Cloth, tie: Tie) -> str:
    """Why no allowed turn lays the piece on the cloth, and what would help."""
    piece = label.piece
    turns = _turns(piece, cloth.nap, tie)
    if not turns:
        return (
            f"{piece.name} may only lie turned back, which the nap of {cloth.name} forbids. "
            f"Allow it a turn below 180."
        )
    need = min(
        narrowest(polygons.turned(piece.outline, turn, False), piece.grain_tolerance_deg)
        for turn in turns
    )
    usable = cloth.usable_width_mm
    if need <= usable + FIT_MM:
        return why_nowhere(piece, label.mirrored, cloth, tie)
    return (
        f"{piece.name} needs {_width(need)} across the cloth in its best allowed turn, "
        f"{metric(need - usable)} more than the {usable / 10:g} cm that {cloth.name} has. "
        f"A usable width of {_width(need)} would do."
    )


def _width(mm: float) -> str:
    """A width that is surely enough: whole mm and 1/8 in, rounded up."""
    return f"{round_up(mm, 1) / 10:g} cm ({inches(round_up(mm, 25.4 / 8))})"


def _shared_directions(items: Sequence[Label], made: _Made, cloth: Cloth) -> set[int]:
    """Directions in which all pieces of a garment can lie; every garment has the same pieces."""
    can = {
        label.piece.name: {way.direction for way in made[label.hand].orientations}
        for label in items
    }
    shared = set.intersection(*can.values())
    if not shared:
        ahead = next(name for name, directions in can.items() if directions == {0})
        back = next(name for name, directions in can.items() if directions == {1})
        raise CannotBeDone(
            f"the pieces of a garment must point one way on {cloth.name}, but {ahead} can lie "
            f"along it only and {back} turned back only. Add a turn to one of them."
        )
    return shared


def _area(piece: CutPiece) -> float:
    return float(Polygon(piece.outline).area - sum(Polygon(hole).area for hole in piece.cutouts))


def _canonical(outline: FloatArray) -> bytes:
    """The same bytes for the same outline whichever vertex it starts at."""
    if len(outline) == 0:
        return b""
    grid = np.rint(outline * 1000).astype(np.int64)
    start = int(np.lexsort((grid[:, 1], grid[:, 0]))[0])
    return np.roll(grid, -start, axis=0).tobytes()
