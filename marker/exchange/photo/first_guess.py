"""About where cameras stood and sheets lie, each photo placed by a sheet that it shares."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from marker.exchange.photo.camera import Camera, laid
from marker.exchange.photo.reference import Sighted
from marker.geometry.arrays import FloatArray


def first_guess(seen: Sequence[Sighted]) -> tuple[list[Camera], dict[int, FloatArray]]:
    """Cameras of photos and places (x, y, turn) of sheets; each photo but the first shares a sheet
    with one before it."""
    sheets: dict[int, FloatArray] = {}
    cameras = []
    for own in seen:
        shared = next((sheet for sheet in own.sheets if sheet in sheets), None)
        places = {sheet: _place(own, sheet) for sheet in own.sheets}
        base = np.zeros(3) if shared is None else _after(sheets[shared], _back(places[shared]))
        for sheet in own.sheets:
            sheets.setdefault(sheet, _after(base, places[sheet]))
        cameras.append(own.camera.placed_on(base))
    return cameras, sheets


def _place(own: Sighted, sheet: int) -> FloatArray:
    """Where a sheet lies, as the first guess of the camera sees it."""
    sides = [side for side in own.sides if side.sheet == sheet]
    seen = np.array([own.camera.on_table(side.points).mean(axis=0) for side in sides])
    known = np.array([side.ends.mean(axis=0) for side in sides])
    a, b = known - known.mean(axis=0), seen - seen.mean(axis=0)
    turn = np.arctan2((a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]).sum(), (a * b).sum())
    place = np.array([0.0, 0.0, turn])
    return np.array([*(seen.mean(axis=0) - laid(place, known.mean(axis=0))), turn])


def _after(first: FloatArray, then: FloatArray) -> FloatArray:
    """The place of what lies at `then` on something that lies at `first`."""
    return np.array([*laid(first, then[:2]), first[2] + then[2]])


def _back(place: FloatArray) -> FloatArray:
    """The place of the table as seen from something that lies at `place` on it."""
    return np.array([*laid(np.array([0.0, 0.0, -place[2]]), -place[:2]), -place[2]])
