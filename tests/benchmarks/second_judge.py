"""A judge apart from the program: numbers of a layout's file against the text of its job.

It shares no code with `marker` and no library for polygons. Whether two outlines lie over one
another is seen at points: edges cut where they cross, each part by its middle, and points inside.
What is cut from folded cloth is seen by corners: whatever lies above must lie below as well, in the
mirror. It knows what `random_jobs` writes: pieces as they are cut, on one cloth, lengths in mm.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

TOLERANCE_MM = 0.05
_ROUNDED_MM = 0.01  # of outlines stored, as rebuilt
_INSIDE = 40  # points looked at inside each piece

Points = NDArray[np.float64]


def faults_in(layout: Mapping[str, Any], job: Mapping[str, Any]) -> Iterator[str]:
    """Every rule that the layout breaks."""
    pieces = {piece["name"]: piece for piece in job["piece"]}
    cloth = job["cloth"]["jersey"]
    placed, spares = layout["placements"], layout["spares"]
    spread = _Spread.of(cloth, layout)
    laid = [np.array(each["outline_mm"]) for each in (*placed, *spares)]
    outlines = [spread.on_first_turn(outline) for outline in laid]
    yield from _counts(placed, pieces, job["order"]["38"])
    for each, outline in zip((*placed, *spares), outlines, strict=True):
        yield from _shape(each, outline, pieces[each["piece"]])
    for each in placed:
        yield from _turn(each, pieces[each["piece"]])
    yield from _naps(placed, pieces, cloth["nap"])
    yield from _edges(outlines, spread, layout["length_mm"])
    yield from _plies(placed, spares, pieces, outlines, spread)
    for k, outline in enumerate(outlines):
        for other in range(k):
            who = f"{(*placed, *spares)[k]['piece']} and {(*placed, *spares)[other]['piece']}"
            for there in spread.around(outlines[other]):
                if laps(outline, there):
                    yield f"{who} lie over each other"
                elif apart(outline, there) < cloth["gap"] - TOLERANCE_MM:
                    yield f"{who} lie nearer than {cloth['gap']} mm"


@dataclass(frozen=True)
class _Spread:
    """How the cloth lies, in numbers of the cloth opened flat.

    width : between the selvages; all around a tube. plies_end : x where the two plies end, 0 where
    there is one. folds : y of the folds along it. across : x of the fold or cut across it, half the
    length of what lies in two plies. turned : the second length was turned round. turn : once
    around a tube, else 0. closed : strips (low, high) in two plies where one of them is creased or
    ends; creased : those in one ply.
    """

    width: float
    plies_end: float = 0.0
    folds: tuple[float, ...] = ()
    across: float | None = None
    turned: bool = False
    turn: float = 0.0
    closed: tuple[tuple[float, float], ...] = ()
    creased: tuple[tuple[float, float], ...] = ()

    @classmethod
    def of(cls, cloth: Mapping[str, Any], layout: Mapping[str, Any]) -> _Spread:
        """As the job has it; the layout's file says only how long the two plies are."""
        whole, selvage, end = cloth["width"], cloth["selvage"], layout["folding"]["two_ply_mm"]
        width = whole - 2 * selvage
        match cloth.get("spread", "open"):
            case "folded lengthwise":
                return cls(width, end, folds=(whole / 2 - selvage,))
            case "double fold":
                folds = whole / 4 - selvage, 3 * whole / 4 - selvage
                meet = whole / 2 - selvage
                return cls(width, end, folds, closed=((meet - selvage, meet + selvage),))
            case "folded crosswise":
                return cls(width, 2 * end, across=end)
            case "cut and turned":
                return cls(width, 2 * end, across=end, turned=True)
            case "tube":
                creases = _strips((whole / 2, 3 * whole / 2), cloth["tube"]["crease"])
                return cls(2 * whole, end, (0.0, whole, 2 * whole), turn=2 * whole,
                           closed=creases, creased=creases)  # fmt: skip
            case "slit open":
                creases = _strips((0.0, whole, 2 * whole), cloth["tube"]["crease"])
                return cls(2 * whole, creased=creases)
        return cls(width)

    def in_two_plies(self, outline: Points) -> bool:
        """Whether a piece begins where two plies lie."""
        return self.plies_end > 0 and bool(outline[:, 0].min() < self.plies_end - TOLERANCE_MM)

    def on_first_turn(self, outline: Points) -> Points:
        """Moved around the tube until its middle lies on the first turn."""
        if not self.turn or not self.in_two_plies(outline):
            return outline
        y = (outline[:, 1].min() + outline[:, 1].max()) / 2
        back = np.floor((y + TOLERANCE_MM) / self.turn) * self.turn
        return np.asarray(outline - np.array([0.0, back]))

    def around(self, outline: Points) -> list[Points]:
        """The outline, and on a tube its likes a turn on and a turn back."""
        turns = (-1, 0, 1) if self.turn and self.in_two_plies(outline) else (0,)
        return [outline + np.array([0.0, turn * self.turn]) for turn in turns]

    def fold_at(self, outline: Points) -> float | None:
        """The fold that runs along the middle of a piece, if one does."""
        y = (outline[:, 1].min() + outline[:, 1].max()) / 2
        return next((fold for fold in self.folds if abs(fold - y) < TOLERANCE_MM), None)

    def below(self, outline: Points) -> Points:
        """Where the shears cut the other ply, of a piece of either."""
        (x, y), flat = outline.mean(axis=0), np.array([1.0, -1.0])
        if self.across is None:
            fold = min(self.folds, key=lambda fold: abs(fold - y))
            return np.asarray(outline * flat + [0.0, 2 * fold])
        if not self.turned:
            return np.asarray(outline * -flat + [2 * self.across, 0.0])
        along = self.across if x < self.across else -self.across
        return np.asarray(outline * flat + [along, self.width])


def _strips(middles: tuple[float, ...], width: float) -> tuple[tuple[float, float], ...]:
    return tuple((y - width / 2, y + width / 2) for y in middles if width)


def _counts(
    placed: list[dict[str, Any]], pieces: Mapping[str, dict[str, Any]], garments: int
) -> Iterator[str]:
    found = Counter((each["piece"], each["garment"], each["mirrored"]) for each in placed)
    wanted: Counter[tuple[str, int, bool]] = Counter()
    for name, piece in pieces.items():
        mirrored = piece["cut"] // 2 if piece["pair"] else 0
        for garment in range(1, garments + 1):
            wanted[name, garment, False] += piece["cut"] - mirrored
            wanted[name, garment, True] += mirrored
    if +found != +wanted:
        yield f"laid are {dict(+found - wanted)} too many, {dict(wanted - found)} too few"
    copies = Counter((each["piece"], each["garment"], each["copy"]) for each in placed)
    yield from (f"{copy} is there {count} times" for copy, count in copies.items() if count > 1)


def _whole(piece: Mapping[str, Any]) -> Points:
    """The outline as cut: opened from its fold, which runs from the first corner to the second."""
    points = np.array(piece["points"], dtype=float)
    if "fold" not in piece:
        return points
    start, along = points[0], points[1] - points[0]
    along = along / np.hypot(*along)
    off = points[2:] - start
    mirrored = start + 2 * np.outer(off @ along, along) - off
    return np.concatenate([points[1:], points[:1], mirrored[::-1]])


def _shape(each: Mapping[str, Any], outline: Points, piece: Mapping[str, Any]) -> Iterator[str]:
    """The outline is the piece's own, its grain turned along the cloth, then as is said of it."""
    drawn = _turned(_whole(piece), -piece["grain"])
    if each["mirrored"]:
        drawn = drawn * [1.0, -1.0]
    drawn = _turned(drawn, each["rotation_deg"])
    off = _off(_lean(drawn) - _lean(drawn).mean(axis=0), outline - outline.mean(axis=0))
    if off > _ROUNDED_MM:
        yield f"{each['piece']} has another outline, off by {off:.3f} mm"


def _off(one: Points, other: Points) -> float:
    """How far two outlines differ at a corner, whichever is their first and whichever way round."""
    return min(
        (
            float(np.abs(np.roll(way, k, axis=0) - other).max())
            for way in (one, one[::-1])
            if len(way) == len(other)
            for k in range(len(way))
        ),
        default=np.inf,
    )


def _lean(points: Points) -> Points:
    """Without the fold's ends, where the outline goes straight on."""
    before, after = points - np.roll(points, 1, axis=0), np.roll(points, -1, axis=0) - points
    bends = np.abs(before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0])
    return np.asarray(points[bends > 1e-9])


def _turned(points: Points, degrees: float) -> Points:
    turned = (points[:, 0] + 1j * points[:, 1]) * np.exp(1j * np.radians(degrees))
    return np.column_stack([turned.real, turned.imag])


def _turn(each: Mapping[str, Any], piece: Mapping[str, Any]) -> Iterator[str]:
    if not _turns_meant(each, piece):
        yield f"{each['piece']} is turned {each['rotation_deg']}°, off its grain"


def _turns_meant(each: Mapping[str, Any], piece: Mapping[str, Any]) -> list[float]:
    turned = each["rotation_deg"]
    slack = piece["grain_tolerance"] + 1e-3
    return [turn for turn in piece["turns"] if abs((turned - turn + 180) % 360 - 180) <= slack]


def _naps(
    placed: list[dict[str, Any]], pieces: Mapping[str, dict[str, Any]], nap: str
) -> Iterator[str]:
    """With the nap are turns of less than 180°."""
    ways: dict[int, set[frozenset[bool]]] = {}
    for each in placed:
        meant = frozenset(turn < 180 for turn in _turns_meant(each, pieces[each["piece"]]))
        if nap == "one way" and True not in meant:
            yield f"{each['piece']} points against the nap"
        ways.setdefault(each["garment"], set()).add(meant)
    if nap == "one way per garment":
        for garment, found in ways.items():
            if not any(all(way in meant for meant in found) for way in (True, False)):
                yield f"the pieces of garment {garment} point both ways"


def _edges(outlines: list[Points], spread: _Spread, length: float) -> Iterator[str]:
    """Off the cloth at either end or side, where it has a side."""
    for outline in outlines:
        low, high = outline.min(axis=0), outline.max(axis=0)
        sides = not (spread.turn and spread.in_two_plies(outline))
        beyond = sides and (low[1] < -TOLERANCE_MM or high[1] > spread.width + TOLERANCE_MM)
        if beyond or low[0] < -TOLERANCE_MM:
            yield f"off the cloth: from {low} to {high}, {spread.width} mm wide"
    last = max(float(outline[:, 0].max()) for outline in outlines)
    if abs(last - length) > 2 * TOLERANCE_MM:
        yield f"{length} mm are claimed, the last point lies at {last}"


def _plies(
    placed: list[dict[str, Any]],
    spares: list[dict[str, Any]],
    pieces: Mapping[str, dict[str, Any]],
    outlines: list[Points],
    spread: _Spread,
) -> Iterator[str]:
    """What is cut in two plies is cut alike in both; what is on no fold does not cross one."""
    every = [*placed, *spares]
    for k, (each, outline) in enumerate(zip(every, outlines, strict=True)):
        name, spare = each["piece"], k >= len(placed)
        double = spread.in_two_plies(outline)
        for low, high in spread.closed if double else spread.creased:
            if (
                outline[:, 1].min() < high - TOLERANCE_MM
                and outline[:, 1].max() > low + TOLERANCE_MM
            ):
                yield f"{name} lies on a crease or where selvages meet"
        if not double:
            if spare:
                yield f"{name} is spare, and lies in one ply"
            continue
        if outline[:, 0].max() > spread.plies_end + TOLERANCE_MM:
            yield f"{name} lies where two plies end"
        fold = spread.fold_at(outline)
        if fold is not None and "fold" in pieces[name]:
            if _off(outline * [1.0, -1.0] + np.array([0.0, 2 * fold]), outline) > _ROUNDED_MM:
                yield f"{name} lies on a fold that is not its own"
            continue
        if _crosses(outline, spread):
            yield f"{name} lies across a fold"
            continue
        below = spread.on_first_turn(spread.below(outline))
        found = [
            j
            for j, other in enumerate(outlines)
            if every[j]["piece"] == name and _off(other, below) <= 2 * _ROUNDED_MM
        ]
        if not found:
            yield f"{name} has nothing like it below"
        elif spare and min(found) >= len(placed):
            yield f"{name} is spare above and below"


def _crosses(outline: Points, spread: _Spread) -> bool:
    low, high = outline.min(axis=0) + TOLERANCE_MM, outline.max(axis=0) - TOLERANCE_MM
    along = spread.across is not None and low[0] < spread.across < high[0]
    return along or any(low[1] < fold < high[1] for fold in spread.folds)


def laps(one: Points, other: Points) -> bool:
    """Whether a point of one lies inside the other, further from its edge than the tolerance."""
    if (one.max(axis=0) < other.min(axis=0)).any() or (other.max(axis=0) < one.min(axis=0)).any():
        return False
    return _reaches_into(one, other) or _reaches_into(other, one)


def _reaches_into(one: Points, other: Points) -> bool:
    points = np.concatenate([_parts(one, other), _inner_points(one)])
    return bool((_inside(points, other) & (_distance(points, other) > TOLERANCE_MM)).any())


def _parts(one: Points, other: Points) -> Points:
    """The middle of each part of an outline's edges, which are cut where the other's cross them."""
    middles = []
    c, d = other, np.roll(other, -1, axis=0)
    for a, b in zip(one, np.roll(one, -1, axis=0), strict=True):
        along, across = b - a, d - c
        turn = along[0] * across[:, 1] - along[1] * across[:, 0]
        safe = np.where(turn == 0, 1, turn)
        off = c - a
        t = (off[:, 0] * across[:, 1] - off[:, 1] * across[:, 0]) / safe
        u = (off[:, 0] * along[1] - off[:, 1] * along[0]) / safe
        met = t[(turn != 0) & (t > 0) & (t < 1) & (u >= 0) & (u <= 1)]
        cuts = np.concatenate([[0.0], np.sort(met), [1.0]])
        middles.append(a + ((cuts[:-1] + cuts[1:]) / 2)[:, None] * along)
    return np.concatenate(middles)


def _inner_points(outline: Points) -> Points:
    rng = np.random.default_rng(len(outline))
    spread = rng.uniform(outline.min(axis=0), outline.max(axis=0), (_INSIDE, 2))
    return np.asarray(spread[_inside(spread, outline)])


def _inside(points: Points, outline: Points) -> NDArray[np.bool_]:
    """By how often a ray to the right meets the outline."""
    (x0, y0), (x1, y1) = outline.T, np.roll(outline, -1, axis=0).T
    x, y = points[:, :1], points[:, 1:]
    met = (y0 > y) != (y1 > y)
    at = x0 + (y - y0) * (x1 - x0) / np.where(y0 == y1, 1, y1 - y0)
    return np.asarray((met & (x < at)).sum(axis=1) % 2 == 1)


def _distance(points: Points, outline: Points) -> Points:
    """To the nearest edge."""
    a, along = outline, np.roll(outline, -1, axis=0) - outline
    off = points[:, None] - a
    t = np.clip((off * along).sum(axis=2) / np.maximum((along**2).sum(axis=1), 1e-12), 0, 1)
    return np.asarray(np.hypot(*np.moveaxis(off - t[..., None] * along, 2, 0)).min(axis=1))


def apart(one: Points, other: Points) -> float:
    """Of two outlines that do not cross: from a corner of either to an edge of the other."""
    return float(min(_distance(one, other).min(), _distance(other, one).min()))
