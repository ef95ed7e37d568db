"""A judge apart from the program: numbers of a layout's file against the text of its job.

It shares no code with `marker` and no library for polygons. Whether two outlines lie over one
another is seen at points: edges cut where they cross, each part by its middle, and points inside.
It knows what `random_jobs` writes: pieces as they are cut, on one open cloth, lengths in mm.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
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
    placed = layout["placements"]
    outlines = [np.array(each["outline_mm"]) for each in placed]
    yield from _counts(placed, pieces, job["order"]["38"])
    for each, outline in zip(placed, outlines, strict=True):
        yield from _shape(each, outline, pieces[each["piece"]])
        yield from _turn(each, pieces[each["piece"]])
    yield from _naps(placed, pieces, cloth["nap"])
    yield from _edges(outlines, cloth["width"] - 2 * cloth["selvage"], layout["length_mm"])
    for k, outline in enumerate(outlines):
        for other in range(k):
            who = f"{placed[k]['piece']} and {placed[other]['piece']}"
            if laps(outline, outlines[other]):
                yield f"{who} lie over each other"
            elif apart(outline, outlines[other]) < cloth["gap"] - TOLERANCE_MM:
                yield f"{who} lie nearer than {cloth['gap']} mm"


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
    off = [
        float(
            np.abs(
                np.roll(way - way.mean(axis=0), k, axis=0) - outline + outline.mean(axis=0)
            ).max()
        )
        for way in (_lean(drawn), _lean(drawn)[::-1])
        if len(way) == len(outline)
        for k in range(len(way))
    ]
    if min(off, default=np.inf) > _ROUNDED_MM:
        yield f"{each['piece']} has another outline, off by {min(off, default=np.inf):.3f} mm"


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


def _edges(outlines: list[Points], width: float, length: float) -> Iterator[str]:
    low = np.min([outline.min(axis=0) for outline in outlines], axis=0)
    high = np.max([outline.max(axis=0) for outline in outlines], axis=0)
    if low.min() < -TOLERANCE_MM or high[1] > width + TOLERANCE_MM:
        yield f"off the cloth: from {low} to {high}, {width} mm wide"
    if abs(high[0] - length) > 2 * TOLERANCE_MM:
        yield f"{length} mm are claimed, the last point lies at {high[0]}"


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
