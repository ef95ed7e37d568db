"""Outlines corrected in a job file: a corner moved, an edge named, a piece folded."""

from __future__ import annotations

import math
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from svgelements import Path

from marker.errors import CannotBeDone
from marker.exchange.curves import demand_corner, moved_path_data, parse_path
from marker.exchange.svg.drawing import path_in, read_drawing
from marker.files.faults import Unusable
from marker.geometry.arrays import FloatArray
from marker.jobfile.as_written import bare_unit, tables
from marker.jobfile.editing import JobText
from marker.jobfile.reading import read_job
from marker.jobfile.sizes import SIZE
from marker.tolerances import SAME_POINT_MM
from marker.units import System, parse_length

_DRAWN = "piece"


def with_corner_moved(job: JobText, piece: str, corner: int, by_mm: tuple[float, float]) -> JobText:
    """The job with a corner of a piece moved, mm, y up; lines and curves beside it follow.

    corner : its number from 1, in the order drawn. A shape of a drawing becomes a `path` of the job
    file, and the drawing stays as it is. Corners keep their numbers. The text has faults where the
    outline is none any more. Raises CannotBeDone for an outline that no corner is moved of.
    """
    raw = tomllib.loads(job.text)
    table = _own_table(raw, piece)
    if not all(map(math.isfinite, by_mm)):
        raise CannotBeDone("a corner is moved by two lengths in mm.")
    try:
        if isinstance(table.get("points"), list):
            return _with_point(job, table, corner, by_mm, bare_unit(raw) or 1.0)
        return _with_path(job, table, corner, by_mm)
    except Unusable as fault:
        raise CannotBeDone(f"'{piece}': {fault.problem}. {fault.remedy}.") from fault


def edge_named(job: JobText, piece: str, corners: tuple[int, int], name: str) -> JobText:
    """The job with a name for the stretch of a piece from corner to corner, in the order drawn.

    Another name of that stretch goes where nothing refers to it, such as the number of an import.
    """
    named = job.set(_edge(piece, name), list(corners))
    for other, ends in _edges(job, piece).items():
        if ends == list(corners) and other != name and not named.faults:
            without = named.remove(_edge(piece, other))
            named = named if without.faults else without
    return named


def put_on_fold(job: JobText, piece: str, corners: tuple[int, int]) -> JobText:
    """The job with a piece on the fold between two corners, in whichever order they are.

    The fold is not sewn: a mere name of that stretch goes, and an edge that begins or ends with it
    loses it. The text has faults where the piece can't lie on the fold so.
    """
    plain = [job.set((_DRAWN, piece, "fold"), list(fold)) for fold in (corners, corners[::-1])]
    for folded, fold in zip(plain, (corners, corners[::-1]), strict=True):
        if not folded.faults:
            return folded
        for edge, ends in _edges(job, piece).items():
            rest = _without_fold(ends, list(fold))
            if rest != ends:
                place = _edge(piece, edge)
                folded = folded.set(place, rest) if rest else folded.remove(place)
        if not folded.faults:
            return folded
    return plain[0]


def _without_fold(ends: list[Any], fold: list[int]) -> list[Any]:
    """The ends of an edge without the fold that it begins or ends with; none if it is the fold."""
    if ends == fold:
        return []
    if ends[1] == fold[1]:
        return [ends[0], fold[0]]
    return [fold[1], ends[1]] if ends[0] == fold[0] else ends


def _edge(piece: str, name: str) -> tuple[str, ...]:
    return (_DRAWN, piece, "edges", name)


def _edges(job: JobText, piece: str) -> Mapping[str, list[Any]]:
    """The edges that a piece names itself, with the same ends in all sizes."""
    own = _named(tomllib.loads(job.text), _DRAWN, piece) or {}
    return {edge: ends for edge, ends in own.get("edges", {}).items() if isinstance(ends, list)}


@dataclass(frozen=True)
class FixedCorners:
    """Why no corner of a piece is moved. have_numbers : they are those of the drawing all the same,
    so that edges can be named by them."""

    why: str
    have_numbers: bool


def fixed_corners(job: JobText, piece: str) -> FixedCorners | None:
    """Whether `with_corner_moved` would refuse every corner of a piece; None where it would not."""
    raw = tomllib.loads(job.text)
    for have_numbers, demand in ((False, _table_with_corners), (True, _own_table)):
        try:
            demand(raw, piece)
        except CannotBeDone as error:
            return FixedCorners(str(error), have_numbers)
    return None


def _named(raw: Mapping[str, Any], kind: str, name: str) -> dict[str, Any] | None:
    return next((table for _, table in tables(raw, kind) if table.get("name") == name), None)


def _own_table(raw: Mapping[str, Any], piece: str) -> dict[str, Any]:
    """The table of a piece whose drawn corners are those of the pattern, in every size."""
    table = _table_with_corners(raw, piece)
    if "shape" in table:
        raise CannotBeDone(
            f"'{piece}' is drawn by a formula. Change its measures instead: of a rectangle under "
            "'How it is cut', of others in the job file."
        )
    given = table.get("drawing", table.get("path", table.get("points")))
    if isinstance(given, dict) or SIZE in str(given):
        raise CannotBeDone(
            f"'{piece}' is drawn anew in each size. Move the corner in its drawings instead."
        )
    return table


def _table_with_corners(raw: Mapping[str, Any], piece: str) -> dict[str, Any]:
    """The table of a piece whose corners have the numbers of the drawing."""
    table = _named(raw, _DRAWN, piece)
    changes = [change for _, change in tables(raw, "change")]
    if any(piece in (change.get("piece"), *_parts(change)) for change in changes):
        raise CannotBeDone(
            f"'{piece}' is changed after it is drawn. Take its [[change]] away, move the corner, "
            "and put the change back."
        )
    if table is None:
        raise CannotBeDone(f"'{piece}' follows from other pieces. Move the corner in those.")
    return table


def _parts(change: Mapping[str, Any]) -> list[Any]:
    split = change.get("split")
    return split if isinstance(split, list) else []


def _with_point(
    job: JobText, table: Mapping[str, Any], corner: int, by_mm: tuple[float, float], unit: float
) -> JobText:
    points = table["points"]
    demand_corner(corner, len(points))
    there = [[_mm(value, unit) for value in point] for point in points]
    for number, point in enumerate(points):
        if math.dist(there[number], there[corner - 1]) <= SAME_POINT_MM:
            moved = [_moved(value, by, unit) for value, by in zip(point, by_mm, strict=True)]
            job = job.set((_DRAWN, table["name"], "points", number), moved)
    return job


def _mm(value: str | float, unit: float) -> float:
    return parse_length(value) if isinstance(value, str) else value * unit


def _moved(value: str | float, by_mm: float, unit: float) -> str | float:
    """A coordinate, as a bare number or with its unit as before."""
    mm = round(_mm(value, unit) + by_mm, 4)
    return f"{mm:.12g} mm" if isinstance(value, str) else round(mm / unit, 6)


def _with_path(
    job: JobText, table: Mapping[str, Any], corner: int, by_mm: tuple[float, float]
) -> JobText:
    raw = tomllib.loads(job.text)
    if "units" not in raw:  # path data needs them
        lead = read_job(job.path, job.text).show.lead
        job = job.set(("units",), "in" if lead is System.IMPERIAL else "mm")
        raw = tomllib.loads(job.text)
    unit = bare_unit(raw) or 1.0
    path, to_unit = _path(job, table, unit)
    by = complex(by_mm[0], -by_mm[1]) / unit
    data = moved_path_data(path, to_unit, corner, by, SAME_POINT_MM / unit)
    place = (_DRAWN, table["name"])
    for key in ("drawing", "drawing_unit"):
        if key in table:
            job = job.remove((*place, key))
    return job.set((*place, "path"), data)


def _path(job: JobText, table: Mapping[str, Any], unit: float) -> tuple[Path, FloatArray]:
    """The outline of a piece, and (2, 3) what takes it to the job's unit, y down."""
    if "drawing" not in table:
        return parse_path(table["path"]), np.eye(2, 3)
    name, _, element = table["drawing"].rpartition("#")
    path, to_mm = path_in(read_drawing(job.path.parent / name), element, table.get("drawing_unit"))
    return path, to_mm / unit
